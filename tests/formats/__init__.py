"""Tests of the formats."""
