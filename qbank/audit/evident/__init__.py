"""Defects that one item shows by itself, or two items beside each other."""
