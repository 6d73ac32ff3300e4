"""A part of an item as the student meets it on a screen: prompt, and a field for the response."""

from __future__ import annotations

import math
from collections.abc import Sequence
from hashlib import sha256

from qbank.item import Choice, Matching, NumberEntry, Option, Ordering, Part
from qbank.proof.markup import inline
from qbank.proof.text import escape, points_text
from qbank.rendering.plain import inline_text


def letter(place: int) -> str:
    """The letter of an option, counted from 0: a to z, then aa, ab and on.

    >>> letter(0), letter(25), letter(26)
    ('a', 'z', 'aa')
    """
    head, last = divmod(place, 26)
    return (letter(head - 1) if head else "") + chr(ord("a") + last)


def shuffled(options: Sequence[Option], salt: str) -> tuple[Option, ...]:
    """The options in an order that hangs on `salt` and their identifiers alone."""
    return tuple(
        sorted(
            options,
            key=lambda o: sha256(f"{salt}/{o.identifier}".encode(errors="replace")).hexdigest(),
        )
    )


def entries_mixed(part: Ordering, salt: str) -> tuple[Option, ...]:
    """The entries in an order that is not the right one."""
    mixed = shuffled(part.entries, salt)
    if mixed == part.entries and len(mixed) > 1:
        return (*mixed[1:], mixed[0])
    return mixed


def lettered(mark: str, option: Option) -> str:
    """An option after its letter or number."""
    return f'<span class="letter">{mark}</span> <span>{inline(option.content)}</span>'


def response_field(part: Part, name: str) -> str:
    """The prompt and the field of a part; `name` is unique on the page and a safe identifier."""
    prompt = f'<p class="prompt" id="{name}-prompt">{inline(part.prompt)}</p>'
    match part:
        case NumberEntry():
            return prompt + _number(part, name)
        case Choice(inline=True):
            return prompt + f"<p>{_selection(part.options, f'{name}-prompt')}</p>"
        case Choice():
            return _group(prompt, _options(part, name), name)
        case Ordering():
            return _group(prompt, _places(part, name), name)
        case Matching():
            return _group(prompt, _pairs(part, name), name)


def _group(prompt: str, fields: str, name: str) -> str:
    return f'<div role="group" aria-labelledby="{name}-prompt">{prompt}{fields}</div>'


def _number(part: NumberEntry, name: str) -> str:
    band = part.tolerance
    unit = f' <span class="unit">{escape(part.unit)}</span>' if part.unit else ""
    judged = ""
    if not (math.isnan(band.low) or math.isnan(band.high)):  # else there is nothing to judge by
        judged = f' data-low="{band.low!r}" data-high="{band.high!r}"'
    return (
        f'<p class="entry"><input type="text" inputmode="decimal" autocomplete="off" size="12" '
        f'aria-labelledby="{name}-prompt" aria-describedby="{name}-verdict"{judged}>{unit} '
        f'<output class="verdict" id="{name}-verdict"></output></p>'
    )


def _selection(options: Sequence[Option], labelled_by: str) -> str:
    """A drop-down, which holds characters only."""
    choices = "".join(
        f"<option>{escape(letter(place))} · {escape(inline_text(option.content))}</option>"
        for place, option in enumerate(options)
    )
    return f'<select aria-labelledby="{labelled_by}"><option value="">…</option>{choices}</select>'


def _options(part: Choice, name: str) -> str:
    kind = "checkbox" if part.multiple else "radio"
    rows = "".join(
        f'<li><label><input type="{kind}" name="{name}"> '
        f"{lettered(letter(place), option)}</label></li>"
        for place, option in enumerate(part.options)
    )
    return f'<ul class="options">{rows}</ul>'


def _places(part: Ordering, name: str) -> str:
    size = len(part.entries)
    rows = "".join(
        f'<li><label><input type="number" min="1" max="{size}" class="place"> '
        f"{lettered(letter(place), entry)}</label></li>"
        for place, entry in enumerate(entries_mixed(part, name))
    )
    return f'<ul class="options">{rows}</ul>'


def _pairs(part: Matching, name: str) -> str:
    rows = "".join(
        f'<li><span id="{name}-source-{place}">{inline(source.content)}</span> '
        f"{_selection(part.targets, f'{name}-source-{place}')}</li>"
        for place, source in enumerate(part.sources, 1)
    )
    targets = "".join(
        f"<li>{lettered(letter(place), target)}</li>" for place, target in enumerate(part.targets)
    )
    return f'<ul class="options">{rows}</ul><ul class="options targets">{targets}</ul>'


def stated_points(points: float) -> str:
    """Points with their word.

    >>> stated_points(1), stated_points(0.5)
    ('1 point', '0.5 points')
    """
    return points_text(points, "point", "points")


def short_name(part: Part) -> str:
    """What a part is called in a table: its unit, or what kind of response it takes."""
    match part:
        case NumberEntry(unit=unit):
            return f"in {unit}" if unit else "number"
        case Choice(multiple=multiple):
            return "all that hold" if multiple else "option"
        case Ordering():
            return "order"
        case Matching():
            return "pairs"
