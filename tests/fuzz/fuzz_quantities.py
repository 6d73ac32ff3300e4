"""Fuzzes quantities in text, expressions and units; see `tests.fuzz.run`."""

from tests.fuzz.run import fuzz

if __name__ == "__main__":
    fuzz("quantities")
