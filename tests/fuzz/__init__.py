"""Readers of strangers' files fed with broken ones; see `run`."""
