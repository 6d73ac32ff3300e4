"""Solved instances as items: stem, parts, feedback and worked solution, in words and formulas."""
