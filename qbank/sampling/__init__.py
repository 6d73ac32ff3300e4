"""Draws instances: counter-based random numbers, distinct by construction, kept by rules."""
