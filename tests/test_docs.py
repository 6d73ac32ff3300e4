"""The README says what is so: its printed parts are current and its examples run."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys

import pytest

import qbank
from qbank.audit.verdict import Verdict
from qbank.cli.main import cli, exit_code_of
from tests.docs import README, renewed

TEXT = README.read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """The fenced code blocks of one language."""
    return re.findall(rf"```{language}\n(.*?)```", TEXT, re.DOTALL)


def test_the_printed_parts_are_current():
    assert renewed(TEXT) == TEXT, "run: python -m tests.docs"


def command_blocks() -> list[tuple[str, ...]]:
    """The qbank commands of each of the README's shell blocks, but for those that set up."""
    found = []
    for block in blocks("sh"):
        lines = tuple(line for line in block.splitlines() if line.startswith("qbank "))
        if lines:
            found.append(lines)
    return found


@pytest.fixture
def kettle(tmp_path, monkeypatch):
    """A folder with the README's own family, and it is the working folder."""
    family = next(block for block in blocks("yaml") if block.startswith("family: kettle"))
    (tmp_path / "kettle.yaml").write_text(family, encoding="utf-8")
    blueprint = next(block for block in blocks("yaml") if block.startswith("title: Midterm"))
    (tmp_path / "midterm.yaml").write_text(blueprint, encoding="utf-8")
    (table,) = blocks("csv")
    (tmp_path / "inherited.csv").write_text(table, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("commands", command_blocks(), ids=lambda commands: commands[0])
def test_the_commands_run(commands, kettle, capsys):
    for command in commands:
        code = exit_code_of(shlex.split(command)[1:])
        captured = capsys.readouterr()
        found = int(command.startswith("qbank check"))  # the README's bank has a wrong key
        assert code == found, (command, captured.err)
        assert captured.out, command


def test_the_bank_of_the_readme_has_the_one_wrong_key_it_names(kettle, capsys):
    audit = qbank.check_bank("inherited.csv", families=["kettle.yaml"])
    (wrong,) = [judgement for judgement in audit.judgements if judgement.accuses]
    assert (wrong.item, wrong.code) == ("4", "slip:losses-upside-down")
    assert all(judgement.verdict is not Verdict.UNCHECKED for judgement in audit.judgements)


def test_every_command_is_in_the_readme():
    shown = {line.split()[1] for block in command_blocks() for line in block}
    assert set(cli.commands) <= shown


def test_the_python_examples_run(kettle):
    for block in blocks("python"):
        done = subprocess.run([sys.executable, "-c", block], capture_output=True, text=True)
        assert done.returncode == 0, done.stderr


def test_the_family_of_the_readme_is_as_good_as_a_shipped_one(kettle):
    family = qbank.load_family(qbank.find_family("kettle.yaml"))
    assert sum(map(len, qbank.generate(family, count=500, seed=1))) == 500


def test_the_contributors_page_names_what_exists(root):
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    for path in re.findall(r"`((?:qbank|tests|families|exports|\.ci)(?:/[\w/.-]*)?)`", text):
        assert (root / path).exists(), path
