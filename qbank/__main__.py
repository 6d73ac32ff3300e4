"""`python -m qbank` is the `qbank` command."""

from qbank.cli.main import run

if __name__ == "__main__":
    run()
