"""An item as plain data for JSON, and its content as plain text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from qbank.item import Inline, Item, Math


def inline_text(content: Sequence[Inline]) -> str:
    """Text and formulas in a row, as plain text."""
    return "".join(part.plain if isinstance(part, Math) else part for part in content)


def item_as_json(item: Item) -> dict[str, Any]:
    """The item as dictionaries, lists, texts and numbers; each value carries what it is.

    A formula is its `mathml` and `plain`; blocks and parts name their `kind`.
    """
    plain = _plain(item)
    if not isinstance(plain, dict):  # _plain turns dataclasses into dictionaries
        raise TypeError(f"expected an item, got {type(item).__name__}")
    return plain


_KINDS = {
    "Paragraph": "paragraph",
    "Display": "formula",
    "Table": "table",
    "NumberEntry": "number",
    "Choice": "choice",
}


def _plain(value: object) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        kind = _KINDS.get(type(value).__name__)
        named = {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
        return {"kind": kind, **named} if kind else named
    if isinstance(value, tuple | list):
        return [_plain(part) for part in value]
    return value
