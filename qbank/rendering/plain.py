"""An item as plain data for JSON, and its content as plain text."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any, Literal

from qbank.expressions.formula_writer import numeral_for_people
from qbank.expressions.numbers import NumberFormat, format_number
from qbank.item import Inline, Item, Math, NumberEntry, WrongValue


def inline_text(content: Sequence[Inline]) -> str:
    """Text and formulas in a row, as plain text."""
    return "".join(part.plain if isinstance(part, Math) else part for part in content)


def number_text(value: float, figures: int = 12) -> str:
    """A bound or an amount as people read it, with a decimal point, in at most so many figures.

    >>> number_text(-0.25), number_text(27.918), number_text(1.5e-7)
    ('−0.25', '27.918', '1.5 × 10⁻⁷')
    """
    text = f"{value:.{figures}g}"
    return numeral_for_people(text) or text


def wrong_number_text(part: NumberEntry, wrong: WrongValue) -> str:
    """The value of a slip as an answer of the part is shown, without its unit."""
    if part.figures is None and part.decimals is None:
        return number_text(wrong.value)
    notation: Literal["auto", "scientific"] = "scientific" if "×" in part.key_shown else "auto"
    return format_number(wrong.value, NumberFormat(part.figures, part.decimals, notation))


def item_as_json(item: Item) -> dict[str, Any]:
    """The item as dictionaries, lists, texts and numbers; each value carries what it is.

    A formula is its `mathml` and `plain`; blocks and parts name their `kind`; pictures are base64.
    """
    plain = _plain(item)
    if not isinstance(plain, dict):  # _plain turns dataclasses into dictionaries
        raise TypeError(f"expected an item, got {type(item).__name__}")
    return plain


_KINDS = {
    "Paragraph": "paragraph",
    "Display": "formula",
    "Table": "table",
    "Image": "image",
    "NumberEntry": "number",
    "Choice": "choice",
    "Ordering": "ordering",
    "Matching": "matching",
}


def _plain(value: object) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        kind = _KINDS.get(type(value).__name__)
        named = {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
        return {"kind": kind, **named} if kind else named
    if isinstance(value, tuple | list):
        return [_plain(part) for part in value]
    if isinstance(value, bytes):
        return b64encode(value).decode("ascii")
    return value
