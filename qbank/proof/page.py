"""The page: put together from its sections and written whole or not at all."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from typing import Any

from qbank.errors import OutputError
from qbank.formats.textfile import write_text
from qbank.proof.forms import Form, arrange
from qbank.proof.gather import Proof
from qbank.proof.instances import articles
from qbank.proof.overview import overview
from qbank.proof.sheets import answer_sheets, marking_guides, question_sheets
from qbank.proof.spread import spread
from qbank.proof.text import escape

MOST_LOST = 100  # sentences on what was not understood


@dataclass(frozen=True, slots=True)
class ProofReport:
    """A proof sheet that is complete and in place.

    instances  drawn or found in the bank; `shown` of them are on the page
    checks_made, checks_passed  over all instances; both 0 where nothing could be checked
    differing  items of a bank whose family gives another key or band
    lost       what a bank says that was not understood, a sentence each
    """

    path: Path
    title: str
    instances: int
    shown: int
    forms: int
    checks_made: int
    checks_passed: int
    differing: int
    lost: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The report as plain values."""
        return {
            "path": str(self.path),
            "title": self.title,
            "instances": self.instances,
            "shown": self.shown,
            "forms": self.forms,
            "checks_made": self.checks_made,
            "checks_passed": self.checks_passed,
            "differing": self.differing,
            "lost": list(self.lost),
        }


def write_page(proof: Proof, path: Path, forms: int) -> ProofReport:
    """Write the page to `path`; what was there stays whole until the new one is complete.

    Raises OutputError when it cannot be written, ValueError unless 1 <= forms <= 26.
    """
    arranged = arrange([shown.item for shown in proof.shown], forms) if proof.shown else ()
    if path.is_dir():
        raise OutputError(
            f"cannot write '{path}': it is a folder",
            hint="name a file with --out, such as proof.html",
        )
    write_text(path, page(proof, arranged))
    return ProofReport(
        path=path,
        title=proof.title,
        instances=proof.total,
        shown=len(proof.shown),
        forms=len(arranged),
        checks_made=proof.checks.made if proof.checks else 0,
        checks_passed=proof.checks.passed if proof.checks else 0,
        differing=sum(bool(shown.evidence.differences) for shown in proof.shown),
        lost=proof.lost,
    )


def page(proof: Proof, forms: tuple[Form, ...]) -> Iterator[str]:
    """The HTML of the page, piece by piece."""
    style = _resource("style.css") + _page_marks(forms)
    script = _resource("script.js")
    yield _head(proof.title, style, script)
    yield _banner(proof)
    yield '<main id="main" tabindex="-1">\n'
    yield from _proof(proof)
    title = proof.title
    yield from _view(
        "questions",
        "Question sheets",
        "The same questions under each letter, with siblings of one another or, where there are "
        "none, with the options in another order. Each form begins on a page of its own.",
        question_sheets(title, forms),
    )
    yield from _view(
        "answers",
        "Answer sheet",
        "For students to fill in by hand.",
        answer_sheets(title, forms) if forms else iter(()),
    )
    yield from _view(
        "marking",
        "Marking guide",
        "Keys, accepted values and points of each form.",
        marking_guides(title, forms),
    )
    yield "</main>\n</body>\n</html>\n"


def _resource(name: str) -> str:
    return files("qbank.proof").joinpath(name).read_text(encoding="utf-8")


def _page_marks(forms: tuple[Form, ...]) -> str:
    """Rules that put the letter of its form beside the number of each printed page."""
    return "".join(
        f'@page form-{form.letter} {{ @bottom-right {{ content: "{form.letter} · " counter(page); '
        f"font: 9pt sans-serif; }} }}\n.form-{form.letter} {{ page: form-{form.letter}; }}\n"
        for form in forms
    )


def _head(title: str, style: str, script: str) -> str:
    """The head, with a policy that lets nothing run or load but what stands in the page."""
    policy = "; ".join(
        [
            "default-src 'none'",
            f"style-src '{_digest(style)}'",
            f"script-src '{_digest(script)}'",
            "img-src data:",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        '<meta name="referrer" content="no-referrer">\n'
        f"<title>Proof sheet: {escape(title)}</title>\n"
        f"<style>{style}</style>\n<script>{script}</script>\n</head>\n<body>\n"
    )


def _digest(text: str) -> str:
    """The hash by which a Content Security Policy names an inline style or script."""
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode('ascii')}"


def _banner(proof: Proof) -> str:
    facts = "".join(
        f"<div><dt>{escape(label)}</dt><dd>{escape(text)}</dd></div>" for label, text in proof.facts
    )
    links = "".join(
        f'<li><a href="#{name}"{current}>{label}</a></li>'
        for name, label, current in (
            ("proof", "Proof", ' aria-current="page"'),
            ("questions", "Question sheets", ""),
            ("answers", "Answer sheet", ""),
            ("marking", "Marking guide", ""),
        )
    )
    return (
        '<a class="skip" href="#main">Skip to the content</a>\n'
        f'<header><div class="page-head"><h1>{escape(proof.title)}</h1>'
        f'<dl class="facts">{facts}</dl><p class="note">{escape(_extent(proof))}</p>{_lost(proof)}'
        "</div>"
        f'<nav class="views" aria-label="What is shown and printed"><ul>{links}</ul>'
        '<button type="button" id="print">Print this</button></nav></header>\n'
    )


def _extent(proof: Proof) -> str:
    """How much of the whole is on the page."""
    if len(proof.shown) == proof.total:
        all_of_them = "the one instance" if proof.total == 1 else f"all {proof.total:,} instances"
        return f"This page shows {all_of_them}."
    return (
        f"This page shows the first {len(proof.shown):,} of {proof.total:,} instances; the "
        "spread is that of all."
    )


def _lost(proof: Proof) -> str:
    """What of a bank was not understood, folded away."""
    if not proof.lost:
        return ""
    told = "".join(f"<li>{escape(sentence)}</li>" for sentence in proof.lost[:MOST_LOST])
    if len(proof.lost) > MOST_LOST:
        told += f"<li>and {len(proof.lost) - MOST_LOST:,} more</li>"
    return (
        f"<details><summary>Not understood in the bank: {len(proof.lost):,}</summary>"
        f"<ul>{told}</ul></details>"
    )


def _proof(proof: Proof) -> Iterator[str]:
    yield (
        '<section class="view" id="proof" aria-labelledby="proof-title">'
        '<h2 id="proof-title" class="aside">Proof</h2><nav class="contents" aria-label="On this '
        'page"><a href="#table">Table of instances</a> <a href="#spread">Spread</a> '
        '<a href="#each">Instances one by one</a></nav>\n'
        '<section id="table" aria-labelledby="table-title"><h2 id="table-title">Table of '
        "instances</h2>\n"
    )
    if proof.shown:
        yield from overview(proof)
    else:
        yield "<p>There are no instances.</p>"
    yield (
        '</section>\n<section id="spread" aria-labelledby="spread-title">'
        '<h2 id="spread-title">Spread</h2>\n'
    )
    yield from spread(proof)
    yield (
        '</section>\n<section id="each" aria-labelledby="each-title">'
        '<h2 id="each-title">Instances one by one</h2>\n'
    )
    yield from articles(proof)
    yield "</section></section>\n"


def _view(name: str, title: str, note: str, content: Iterator[str]) -> Iterator[str]:
    yield (
        f'<section class="view" id="{name}" aria-labelledby="{name}-title">'
        f'<h2 id="{name}-title">{title}</h2><p class="note">{note}</p>\n'
    )
    yield from content
    yield "</section>\n"
