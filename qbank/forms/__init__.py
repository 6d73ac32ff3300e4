"""Parallel forms: a blueprint in, sets of items of equal difficulty out."""
