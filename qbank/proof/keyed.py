"""What a part is keyed with, beside it in the margin: key, band, slips, feedback."""

from __future__ import annotations

import math

from qbank.expressions.symbols import with_unit
from qbank.item import (
    Choice,
    Inline,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Part,
    WrongValue,
)
from qbank.proof.asked import entries_mixed, letter
from qbank.proof.markup import inline
from qbank.proof.text import escape
from qbank.proof.words import ENGLISH, SheetWords
from qbank.rendering.plain import number_text, wrong_number_text


def key_notes(part: Part, name: str) -> str:
    """The key of a part and all that goes with it; `name` is that of its response field."""
    match part:
        case NumberEntry():
            return _number(part)
        case Choice():
            return _choice(part)
        case Ordering():
            return _ordering(part, name)
        case Matching():
            return _matching(part)


def key_text(part: Part, name: str) -> str:
    """The key in a few characters, in the letters of the response field."""
    match part:
        case NumberEntry(key_shown=shown):
            return shown
        case Choice(options=options):
            return ", ".join(letter(k) for k, option in enumerate(options) if option.correct)
        case Ordering():
            return order_text(part, entries_mixed(part, name))
        case Matching():
            return pairs_text(part, part.targets)


def order_text(part: Ordering, shown: tuple[Option, ...]) -> str:
    """The right order, in the letters of the entries as they are shown."""
    places = {entry.identifier: letter(place) for place, entry in enumerate(shown)}
    return " ".join(places[entry.identifier] for entry in part.entries)


def pairs_text(part: Matching, shown: tuple[Option, ...]) -> str:
    """The right pairs: the number of each source with the letter of its target as shown."""
    sources = {source.identifier: place for place, source in enumerate(part.sources, 1)}
    targets = {target.identifier: letter(place) for place, target in enumerate(shown)}
    return ", ".join(
        f"{sources[source]}–{targets[target]}"
        for source, target in part.pairs
        if source in sources and target in targets
    )


def accepted(part: NumberEntry, words: SheetWords = ENGLISH) -> str:
    """The accepted band with its unit; a dash where the bank states none."""
    band = part.tolerance
    if math.isnan(band.low) and math.isnan(band.high):
        return "–"
    low, high = (words.number(number_text(end)) for end in (band.low, band.high))
    return with_unit(f"{low} {words.to} {high}", part.unit)


def wrong_value(part: NumberEntry, wrong: WrongValue, words: SheetWords = ENGLISH) -> str:
    """The value of a slip as an answer of the part is shown."""
    return with_unit(words.number(wrong_number_text(part, wrong)), part.unit)


def _number(part: NumberEntry) -> str:
    band = part.tolerance
    stated = f" ({escape(band.stated)})" if band.stated else ""
    key = "none" if math.isnan(part.key) else f"<strong>{escape(part.key_shown)}</strong>"
    rows = [("Key", key)]
    rows.append(("Accepted", f"{escape(accepted(part))}{stated}"))
    if band.slack is not None:
        rows.append(("Rounding slack", _distance(band.slack, part.unit)))
    if band.slip_distance is not None:
        rows.append(("Nearest slip", f"{_distance(band.slip_distance, part.unit)} away"))
    notes = _list(rows)
    if part.wrong_values:
        lines = "".join(
            f"<tr><td>{escape(wrong_value(part, wrong))}</td><td>{escape(wrong.slip)}</td></tr>"
            for wrong in part.wrong_values
        )
        notes += (
            '<table class="slips"><thead><tr><th scope="col">wrong value</th>'
            f'<th scope="col">slip</th></tr></thead><tbody>{lines}</tbody></table>'
        )
    return notes


def _distance(value: float, unit: str) -> str:
    return escape(with_unit(number_text(value, 4), unit))


def _choice(part: Choice) -> str:
    right = "".join(
        f'<li><span class="letter">{letter(place)}</span> {inline(option.content)}</li>'
        for place, option in enumerate(part.options)
        if option.correct
    )
    notes = _list([("Key", f'<ul class="right">{right or "<li>none</li>"}</ul>')])
    notes += _slip_table(
        "wrong option",
        [
            (letter(place), escape(option.slip))
            for place, option in enumerate(part.options)
            if option.slip
        ],
    )
    return notes + _told(
        [
            (letter(place), inline(option.feedback))
            for place, option in enumerate(part.options)
            if option.feedback and not option.slip
        ]
    )


def _ordering(part: Ordering, name: str) -> str:
    letters = {e.identifier: letter(k) for k, e in enumerate(entries_mixed(part, name))}
    right = "".join(
        f'<li><span class="letter">{letters[entry.identifier]}</span> {inline(entry.content)}</li>'
        for entry in part.entries
    )
    return _list([("Key", f'<ol class="right">{right}</ol>'), _shares(part.partial)])


def _matching(part: Matching) -> str:
    contents = {o.identifier: inline(o.content) for o in (*part.sources, *part.targets)}
    right = "".join(
        f"<li>{contents[source]} → {contents[target]}</li>"
        for source, target in part.pairs
        if source in contents and target in contents
    )
    notes = _list([("Key", f'<ul class="right">{right}</ul>'), _shares(part.partial)])
    return notes + _slip_table(
        "wrong target",
        [(contents[t.identifier], escape(t.slip)) for t in part.targets if t.slip],
    )


def _slip_table(head: str, rows: list[tuple[str, str]]) -> str:
    """What slips lead to and the slips, both as markup; empty where there is none."""
    if not rows:
        return ""
    lines = "".join(f"<tr><td>{what}</td><td>{slip}</td></tr>" for what, slip in rows)
    return (
        f'<table class="slips"><thead><tr><th scope="col">{head}</th>'
        f'<th scope="col">slip</th></tr></thead><tbody>{lines}</tbody></table>'
    )


def _shares(partial: bool) -> tuple[str, str]:
    return "Points", "a share for each right one" if partial else "all or none"


def _list(rows: list[tuple[str, str]]) -> str:
    """A description list of texts that are markup already."""
    return f"<dl>{''.join(f'<dt>{label}</dt><dd>{text}</dd>' for label, text in rows)}</dl>"


def _told(rows: list[tuple[str, str]]) -> str:
    """The feedback of each option, folded away."""
    if not rows:
        return ""
    return f"<details><summary>Feedback on each option</summary>{_list(rows)}</details>"


def slips_told(item: Item) -> str:
    """The feedback of each slip once, whatever parts it shows in; empty where there is none."""
    told: dict[tuple[str, str], None] = {}
    for part in item.parts:
        pairs: list[tuple[str, tuple[Inline, ...]]] = []
        match part:
            case NumberEntry(wrong_values=wrong_values):
                pairs = [(wrong.slip, wrong.feedback) for wrong in wrong_values]
            case Choice(options=options):
                pairs = [(option.slip, option.feedback) for option in options if option.slip]
            case Ordering(entries=entries):
                pairs = [(entry.slip, entry.feedback) for entry in entries if entry.slip]
            case Matching(sources=sources, targets=targets):
                pairs = [(o.slip, o.feedback) for o in (*sources, *targets) if o.slip]
        for slip, feedback in pairs:
            if feedback:
                told[escape(slip), inline(feedback)] = None
    return _list(list(told)) if told else ""
