"""Fuzzes family files; see `tests.fuzz.run`."""

from tests.fuzz.run import fuzz

if __name__ == "__main__":
    fuzz("family")
