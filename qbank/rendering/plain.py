"""An item as plain data for JSON, and its content as plain text."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from qbank.item import Inline, Item, Math


def inline_text(content: Sequence[Inline]) -> str:
    """Text and formulas in a row, as plain text."""
    return "".join(part.plain if isinstance(part, Math) else part for part in content)


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
