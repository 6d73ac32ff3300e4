"""Shapes: each module draws one kind of thing on a canvas, from numbers, words and labels."""
