"""Which items of a bank are siblings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from hashlib import sha256

from qbank.item import Display, Image, Item, Paragraph
from qbank.rendering.plain import inline_text

_NUMERAL = re.compile(r"[-\u2212]?\d+(?:[.,]\d+)*(?:\s*×\s*10[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)?")


def pool_keys(items: Iterable[Item]) -> Iterator[str]:
    """For each item a text that its siblings share: the family it says it is of, or, where it
    says none, its wording with the numbers taken out and the kinds of its parts."""
    for item in items:
        if item.provenance is not None and item.provenance.family:
            yield f"family {item.provenance.family}"
        else:
            yield _wording(item)


def _wording(item: Item) -> str:
    pieces = [item.title]
    for block in item.stem:
        match block:
            case Paragraph(content=content):
                pieces.append(inline_text(content))
            case Display(math=math):
                pieces.append(math.plain)
            case Image(alt=alt):
                pieces.append(alt)
            case _:
                pieces.append(f"table {len(block.header)}")
    pieces += [f"{type(part).__name__} {inline_text(part.prompt)}" for part in item.parts]
    return sha256(_NUMERAL.sub("#", "\n".join(pieces)).encode(errors="replace")).hexdigest()
