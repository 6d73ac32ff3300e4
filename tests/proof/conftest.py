"""Pages made once for all tests of the proof sheet."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import lxml.html
import pytest

import qbank
from qbank.family.model import Family
from qbank.proof.page import ProofReport
from qbank.proof.proving import write_proof
from tests.proof.browser import Browser
from tests.proof.reading import tree

COUNT, SHOWN = 300, 9


@dataclass(frozen=True)
class Made:
    family: Family
    report: ProofReport
    html: str
    tree: lxml.html.HtmlElement


@pytest.fixture(scope="session", params=["stepped-drum", "two-means", "buffer"])
def made(request, tmp_path_factory) -> Made:
    """A page of a family with cases and a figure, of one with data lists, of one with neither."""
    family = qbank.load_family(qbank.find_family(request.param))
    path = tmp_path_factory.mktemp("proof") / f"{request.param}.html"
    report = write_proof(family, count=COUNT, seed=5, out=path, forms=3, most=SHOWN)
    html = path.read_text(encoding="utf-8")
    return Made(family, report, html, tree(html))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Headless Chromium; the test skips where there is none."""
    if shutil.which("chromium") is None:
        pytest.skip("no chromium on the PATH (Debian's package of that name)")
    opened = Browser()
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def full_page(tmp_path_factory) -> Path:
    """A page of 200 instances, the most a page has unless more are asked for."""
    path = tmp_path_factory.mktemp("proof") / "full.html"
    report = write_proof("stepped-drum", count=200, out=path)
    assert report.shown == 200
    return path
