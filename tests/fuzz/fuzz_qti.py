"""Fuzzes QTI documents: the tolerant reader and the scorer; see `tests.fuzz.run`."""

from tests.fuzz.run import fuzz

if __name__ == "__main__":
    fuzz("qti")
