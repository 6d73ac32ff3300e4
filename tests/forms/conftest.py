"""Families loaded once, and a folder with two small ones."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest

from qbank.family.loader import load_family
from tests.forms.blueprints import FEW, PULL

load_once = lru_cache(load_family)


@pytest.fixture(autouse=True)
def families_are_loaded_once(monkeypatch):
    """What is drawn does not hang on it; the tests take a third of the time."""
    monkeypatch.setattr("qbank.forms.slots.load_family", load_once)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a family of 12 instances and one of many, where blueprints are put."""
    (tmp_path / "few.yaml").write_text(FEW, encoding="utf-8")
    (tmp_path / "pull.yaml").write_text(PULL, encoding="utf-8")
    return tmp_path
