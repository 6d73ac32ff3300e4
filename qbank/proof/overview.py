"""The table of instances, which can be sorted, filtered by case, and jumped from."""

from __future__ import annotations

import math
from collections.abc import Iterator

from qbank.item import NumberEntry, Part
from qbank.proof.asked import short_name
from qbank.proof.gather import Proof, Shown
from qbank.proof.instances import instance_name, titles_tell
from qbank.proof.keyed import key_text
from qbank.proof.text import attribute, escape


def overview(proof: Proof) -> Iterator[str]:
    """Controls and table, piece by piece."""
    cases = [case for case in dict.fromkeys(shown.case for shown in proof.shown) if case]
    options = "".join(f'<option value="{attribute(c)}">{escape(c)}</option>' for c in cases)
    yield '<div class="tools">'
    if cases:
        yield (
            '<p><label for="case">Case</label> <select id="case"><option value="">all</option>'
            f"{options}</select></p>"
        )
    yield (
        f'<form id="jump"><label for="jump-number">Go to instance</label> <input id="jump-number" '
        f'type="number" min="1" max="{len(proof.shown)}" required> <button>Go</button></form>'
        f'<p role="status" id="shown">{len(proof.shown):,} instances</p>'
        '<p class="note">Select a heading to sort by it, a number to see the instance.</p></div>'
    )
    yield from _table(proof)


def _table(proof: Proof) -> Iterator[str]:
    shapes = {tuple(map(_shape, shown.item.parts)) for shown in proof.shown}
    titled = titles_tell(proof)
    in_columns = len(shapes) == 1 and not titled
    with_case = any(shown.case for shown in proof.shown)
    heads = ["number", *(["title"] if titled else []), *(["case"] if with_case else [])]
    if in_columns:
        heads += [
            f"part {number}, {short_name(part)}"
            for number, part in enumerate(proof.shown[0].item.parts, 1)
        ]
    else:
        heads.append("keys")
    columns = "".join(
        f'<th scope="col"><button type="button" class="sort">{escape(head)}</button></th>'
        for head in heads
    )
    yield (
        '<div class="scroll" id="instances-region" role="region" tabindex="0" '
        'aria-label="Instances and their keys">'
        f'<table id="instances"><thead><tr>{columns}</tr></thead><tbody>'
    )
    for shown in proof.shown:
        yield _row(shown, titled, in_columns, with_case)
    yield "</tbody></table></div>\n"


def _shape(part: Part) -> tuple[str, str]:
    return type(part).__name__, part.unit if isinstance(part, NumberEntry) else ""


def _row(shown: Shown, titled: bool, in_columns: bool, with_case: bool) -> str:
    name = instance_name(shown.number)
    cells = [
        f'<th scope="row" data-sort="{shown.number}"><a href="#{name}">{shown.number}</a></th>'
    ]
    if titled:
        cells.append(f"<td>{escape(shown.item.title)}</td>")
    if with_case:
        cells.append(f"<td>{escape(shown.case)}</td>")
    keys = [
        (part, key_text(part, f"{name}-part-{number}"))
        for number, part in enumerate(shown.item.parts, 1)
    ]
    if in_columns:
        cells += [
            f'<td data-sort="{part.key!r}" class="number">{escape(text)}</td>'
            if isinstance(part, NumberEntry) and not math.isnan(part.key)
            else f"<td>{escape(text)}</td>"
            for part, text in keys
        ]
    else:
        cells.append(f"<td>{escape('; '.join(text for _, text in keys))}</td>")
    return f'<tr data-case="{attribute(shown.case)}">{"".join(cells)}</tr>\n'
