"""Judges a family before it is trusted, as a careful colleague would."""
