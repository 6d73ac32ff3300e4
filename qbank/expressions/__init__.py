"""Expressions: units, the language of formulas, their evaluation and how numbers are written."""
