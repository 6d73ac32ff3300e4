"""Grading responses by the rules of the standards, independent of how items are made."""
