"""One finding on the page: the stem beside the recomputation."""

from __future__ import annotations

from collections.abc import Iterator

from qbank.audit.question import Question
from qbank.audit.report.worst import MEANING, confidence_text, level_text, named
from qbank.audit.verdict import Cause, Judgement
from qbank.proof.text import attribute, escape, number


def article(place: int, judgement: Judgement, question: Question | None) -> str:
    """The finding numbered `place`, with its question where that is at hand."""
    severity = "" if judgement.severity is None else judgement.severity.value
    mark = f'<span class="severity {attribute(severity)}">{escape(severity)}</span> '
    left = f'<div class="asked">{_question(question)}</div>' if question else ""
    kind = "finding both" if question else "finding"
    return (
        f'<article class="{kind}" id="finding-{place}" data-place="{place}">'
        f"<h3>{place}. {escape(named(judgement))}</h3>"
        f'<p class="about">{mark if severity else ""}{_about(judgement)}</p>'
        f'<div class="beside">{left}<dl class="told">{"".join(_told(judgement))}</dl></div>'
        "</article>\n"
    )


def _about(judgement: Judgement) -> str:
    said = [escape(judgement.verdict.value)]
    if judgement.level is not None:
        meaning = attribute(MEANING[judgement.level])
        said.append(f'<span title="{meaning}">level {escape(level_text(judgement.level))}</span>')
    if judgement.confidence < 1:
        said.append(f"confidence {escape(confidence_text(judgement.confidence))}")
    if judgement.code:
        said.append(f"<code>{escape(judgement.code)}</code>")
    return " · ".join(said)


def _told(judgement: Judgement) -> Iterator[str]:
    place = judgement.place
    rows = [
        ("States", judgement.states),
        ("Should be", judgement.expected or ", ".join(judgement.correct)),
        ("Accepted", _band(judgement)),
        ("How", judgement.how),
        ("Cause", "" if judgement.cause is None else _cause(judgement.cause)),
        *(("Or", _cause(other)) for other in judgement.others),
        ("Family", " · ".join(filter(None, (judgement.family, judgement.case)))),
        ("At", f"{place.file}:{place.line}"),
    ]
    for label, text in rows:
        if text:
            strong = ' class="key"' if label in ("States", "Should be") else ""
            yield f"<div><dt>{label}</dt><dd{strong}>{escape(text)}</dd></div>"


def _band(judgement: Judgement) -> str:
    if judgement.low == judgement.low and judgement.high == judgement.high:
        return f"{number(judgement.low)} to {number(judgement.high)}"
    return ""


def _cause(cause: Cause) -> str:
    return cause.says


def _question(question: Question) -> str:
    """Stem and prompt, the numbers read in them marked."""
    text = question.text
    pieces: list[str] = []
    at = 0
    for quantity in sorted(question.quantities, key=lambda q: q.start):
        if not at <= quantity.start <= quantity.end <= len(text):
            continue  # overlapping readings: the first stays
        symbol = f' title="{attribute(quantity.symbol)}"' if quantity.symbol else ""
        said = escape(text[quantity.start : quantity.end])
        pieces += [escape(text[at : quantity.start]), f"<mark{symbol}>{said}</mark>"]
        at = quantity.end
    pieces.append(escape(text[at:]))
    body = "".join(pieces)
    stem, _, prompt = body.partition("\n")
    shown = f"<p>{stem}</p>" + (f'<p class="prompt">{prompt}</p>' if prompt else "")
    options = "".join(
        f'<li class="keyed">{escape(option.text)} <span class="note">(keyed)</span></li>'
        if option.keyed
        else f"<li>{escape(option.text)}</li>"
        for option in question.options
    )
    return shown + (f"<ul>{options}</ul>" if options else "")
