"""What tests share: the repository's root and a place for the files of the open standards."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# A busy machine is no fault of the code, and a run repeats: QBANK_HYPOTHESIS=roam explores anew.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("roam", deadline=None)
settings.load_profile(os.environ.get("QBANK_HYPOTHESIS", "steady"))

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def root() -> Path:
    """The root of the repository."""
    return ROOT


@pytest.fixture(scope="session")
def standards() -> Path:
    """The folder with schema files of the open standards; the test skips where there is none."""
    folder = Path(os.environ.get("QBANK_STANDARDS", ROOT.parent / "shared" / "standards"))
    if not folder.is_dir():
        pytest.skip(f"no schema files of the standards in {folder}; name them in QBANK_STANDARDS")
    return folder
