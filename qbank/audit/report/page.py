"""An audit as one page for a browser: nothing is loaded, and nothing runs but what stands in it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping, Sequence
from hashlib import sha256
from importlib.resources import files

from qbank.audit.question import Question
from qbank.audit.report.articles import article
from qbank.audit.report.aside import assignments, reading, remarks, section, unchecked, worth_a_look
from qbank.audit.report.worst import (
    LEVELS,
    MEANING,
    accusing,
    confidence_text,
    count,
    headline,
    level_text,
    numbered,
)
from qbank.audit.verdict import Audit, Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.proof.text import attribute, escape

# A browser grows slow on more; the table for a spreadsheet has all.
MOST_FINDINGS = 5000
_COLUMNS = (
    ("No.", "number"),
    ("Item", ""),
    ("Part", ""),
    ("Severity", ""),
    ("Verdict", ""),
    ("Rests on", "wide"),
    ("States", ""),
    ("Should be", ""),
    ("Cause", "wide"),
    ("Confidence", "number wide"),
)


def as_page(audit: Audit, questions: Iterable[Question] = ()) -> str:
    """The page as HTML. Of the keys that `questions` holds the stem is shown beside the finding,
    with the numbers that were read in it marked."""
    asked = {(question.item, question.part): question for question in questions}
    return "".join(_page(audit, asked))


def _page(audit: Audit, asked: Mapping[tuple[str, str], Question]) -> Iterator[str]:
    style = _resource("qbank.proof", "style.css") + _resource(__package__ or "", "report.css")
    yield _head(audit.bank, style, _resource(__package__ or "", "report.js"))
    yield _banner(audit)
    yield '<main id="main" tabindex="-1">\n'
    everything = accusing(audit)
    found = everything[:MOST_FINDINGS]
    yield from _overview(audit)
    yield from _findings(found, len(everything))
    yield from _one_by_one(found, asked)
    yield from remarks(audit)
    yield from unchecked(audit)
    yield from worth_a_look(audit)
    yield from assignments(audit)
    yield from reading(audit)
    yield "</main>\n</body>\n</html>\n"


def _resource(package: str, name: str) -> str:
    return files(package).joinpath(name).read_text(encoding="utf-8")


def _head(bank: str, style: str, script: str) -> str:
    """The head, with a policy that lets nothing run or load but what stands in the page."""
    policy = "; ".join(
        [
            "default-src 'none'",
            f"style-src '{_digest(style)}'",
            f"script-src '{_digest(script)}'",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )
    return (
        '<!DOCTYPE html>\n<html lang="en" data-view="proof">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        '<meta name="referrer" content="no-referrer">\n'
        f"<title>Bank check: {escape(bank)}</title>\n"
        f"<style>{style}</style>\n<script>{script}</script>\n</head>\n<body>\n"
    )


def _digest(text: str) -> str:
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode('ascii')}"


def _banner(audit: Audit) -> str:
    counts = count(audit)
    facts = (
        ("Format", audit.format or "not known"),
        ("Items read", f"{audit.items:,}"),
        ("Keys", f"{counts.keys:,}"),
        ("Checked", f"{counts.checked:,}"),
        ("Not checked", f"{counts.keys - counts.checked:,}"),
    )
    told = "".join(f"<div><dt>{escape(a)}</dt><dd>{escape(b)}</dd></div>" for a, b in facts)
    loud = "alarm" if counts.nothing else "verdict-line"
    return (
        '<a class="skip" href="#main">Skip to the content</a>\n'
        f'<header><div class="page-head"><h1>{escape(audit.bank)}</h1>'
        f'<dl class="facts">{told}</dl><p class="{loud}">{escape(headline(audit))}</p></div>'
        '<nav class="contents" aria-label="On this page"><a href="#counts">Counts</a> '
        '<a href="#findings">Findings</a> <a href="#each">Findings one by one</a> '
        '<a href="#remarks">Right with a remark</a> <a href="#unchecked">Not checked</a> '
        '<a href="#look">Worth a look</a> '
        '<a href="#assignments">How stems were read</a> <a href="#reading">What was read</a>'
        "</nav></header>\n"
    )


# ---------------------------------------------------------------------------- counts


def _overview(audit: Audit) -> Iterator[str]:
    cells = count(audit).cells
    yield section("counts", "Counts")
    verdicts = [v for v in Verdict if any(cells[level, v] for level in (*Level, None))]
    levels = [level for level in Level if any(cells[level, v] for v in verdicts)]
    if not verdicts:
        yield "<p>No keys were found.</p></section>\n"
        return
    yield (
        '<div class="scroll" tabindex="0" role="region" aria-label="Judgements by what they rest '
        'on"><table><caption>Judgements by what they rest on, the strongest first</caption>'
        '<thead><tr><th scope="col">Rests on</th>'
    )
    yield "".join(f'<th scope="col" class="number">{escape(v.value)}</th>' for v in verdicts)
    yield "</tr></thead><tbody>"
    rows: list[tuple[Level | None, str, str]] = [
        (level, level_text(level), MEANING[level]) for level in levels
    ]
    if any(cells[None, v] for v in verdicts):
        rows.append((None, "nothing", "no level applies"))
    for level, name, meaning in rows:
        numbers = "".join(f'<td class="number">{cells[level, v] or "–"}</td>' for v in verdicts)
        yield (
            f'<tr><th scope="row">{escape(name)}<p class="note">{escape(meaning)}</p></th>'
            f"{numbers}</tr>"
        )
    yield "</tbody></table></div></section>\n"


# ---------------------------------------------------------------------------- findings


def _findings(found: Sequence[Judgement], total: int) -> Iterator[str]:
    yield section("findings", "Findings")
    if not found:
        yield "<p>There are none.</p></section>\n"
        return
    if total > len(found):
        yield (
            f"<p>This page shows the worst {len(found):,} of {numbered(total, 'finding')}; a "
            "report as .csv or .json has all.</p>"
        )
    yield _tools(found)
    heads = "".join(
        f'<th scope="col" class="{kind}">{name}</th>' if kind else f'<th scope="col">{name}</th>'
        for name, kind in _COLUMNS
    )
    yield (
        '<div class="scroll" id="table-region" tabindex="0" role="region" aria-label="Table of '
        'findings"><table id="table"><caption>The worst first: by severity, by what it rests on, '
        f"by confidence</caption><thead><tr>{heads}</tr></thead><tbody>\n"
    )
    for place, judgement in enumerate(found, 1):
        yield _row(place, judgement)
    yield "</tbody></table></div></section>\n"


def _tools(found: Sequence[Judgement]) -> str:
    severities = [s for s in Severity if any(j.severity is s for j in found)]
    verdicts = [v for v in Verdict if any(j.verdict is v for j in found)]
    levels = [level for level in Level if any(j.level is level for j in found)]
    selects = "".join(
        _select(name, label, choices)
        for name, label, choices in (
            ("severity", "Severity", [(s.value, s.value) for s in severities]),
            ("verdict", "Verdict", [(v.name, v.value) for v in verdicts]),
            ("level", "Rests on", [(str(int(v)), f"{int(v)} {LEVELS[v]}") for v in levels]),
        )
    )
    return (
        f'<form class="tools" id="tools" hidden>{selects}'
        '<p><label for="words">Words</label> <input id="words" type="search" '
        'autocomplete="off"></p>'
        f'<p role="status" id="shown">{numbered(len(found), "finding")}</p></form>\n'
    )


def _select(name: str, label: str, choices: Sequence[tuple[str, str]]) -> str:
    options = "".join(
        f'<option value="{attribute(value)}">{escape(text)}</option>' for value, text in choices
    )
    return (
        f'<p><label for="{name}">{label}</label> <select id="{name}" data-filter="{name}">'
        f'<option value="">all</option>{options}</select></p>'
    )


def _row(place: int, judgement: Judgement) -> str:
    severity, level = judgement.severity, judgement.level
    rank = 9 if severity is None else severity.rank
    depth = 9 if level is None else int(level)
    shown = "" if severity is None else severity.value
    cause = "" if judgement.cause is None else judgement.cause.code
    expected = judgement.expected or ", ".join(judgement.correct) or "not known"
    confidence = judgement.confidence if judgement.confidence == judgement.confidence else -1
    return (
        f'<tr data-severity="{attribute(shown)}" data-verdict="{judgement.verdict.name}" '
        f'data-level="{depth}" data-place="{place}">'
        f'<td class="number" data-sort="{place}">{place}</td>'
        f'<th scope="row"><a href="#finding-{place}">{escape(judgement.item)}</a></th>'
        f"<td>{escape(judgement.part)}</td>"
        f'<td data-sort="{rank}"><span class="severity {attribute(shown)}">{escape(shown)}'
        "</span></td>"
        f"<td>{escape(judgement.verdict.value)}</td>"
        f'<td class="wide" data-sort="{depth}">{escape(level_text(level))}</td>'
        f"<td>{escape(judgement.states)}</td><td>{escape(expected)}</td>"
        f'<td class="wide">{escape(cause)}</td>'
        f'<td class="number wide" data-sort="{confidence:.6g}">'
        f"{escape(confidence_text(judgement.confidence))}</td></tr>\n"
    )


def _one_by_one(
    found: Sequence[Judgement], asked: Mapping[tuple[str, str], Question]
) -> Iterator[str]:
    yield section("each", "Findings one by one")
    if not found:
        yield "<p>There are none.</p>"
    for place, judgement in enumerate(found, 1):
        yield article(place, judgement, asked.get((judgement.item, judgement.part)))
    yield "</section>\n"
