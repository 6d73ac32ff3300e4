"""The sample exports are what the main job makes now, byte for byte, and are sound packages."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

import qbank
from qbank.cli.main import exit_code_of

FORMATS = ("qti-2.1", "qti-3.0", "csv")


def files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def command(root) -> list[str]:
    """The command of the contributors' page that makes the samples."""
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    line = re.search(r"qbank (make .*--name sample.*)", text)
    assert line, "DEVELOPERS.md says no command that makes the samples"
    return shlex.split(line[1])


def test_making_the_samples_again_changes_nothing(command, root, tmp_path, capsys):
    assert exit_code_of([*command, "--out", str(tmp_path)]) == 0, capsys.readouterr().err
    for name in FORMATS:
        made, kept = (files(folder / f"sample-{name}") for folder in (tmp_path, root / "exports"))
        assert made, name
        assert list(made) == list(kept), f"make the samples again: qbank {' '.join(command)}"
        for path, data in made.items():
            assert data == kept[path], f"{name}/{path} differs from what the main job makes"


@pytest.mark.parametrize("name", FORMATS)
def test_the_samples_are_sound(name, root):
    package = root / "exports" / f"sample-{name}"
    assert not qbank.validate_package(package)
    assert len(list(qbank.read_items(package))) == 3
