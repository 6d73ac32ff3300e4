"""Drawings: shapes that draw themselves on a canvas, labels kept clear of lines, SVG."""
