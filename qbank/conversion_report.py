"""What became of a bank that was converted, as data."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from qbank.formats.base import WriteReport
from qbank.formats.source import Loss
from qbank.place import Place


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An item that was read and not written, and why."""

    item: str
    place: Place
    why: str

    def __str__(self) -> str:
        return f"{self.place}: item '{self.item}' is left out: {self.why}"


@dataclass(frozen=True, slots=True)
class Unsaid:
    """Something that items say and the target has no words for; no items for a whole bank.

    `kind` is a key of `KINDS` or, for what was written and read back otherwise, a field of the
    item such as `parts.wrong_values.value`.
    """

    kind: str
    items: tuple[str, ...]

    def __str__(self) -> str:
        said = KINDS.get(self.kind) or f"{_field(self.kind)} is read back otherwise than it was"
        count = len(self.items)
        return f"{said}: {count} item{'s' if count > 1 else ''}" if count else said


KINDS = {
    "tolerance": "the format has no accepted band around a number",
    "several_parts": "the format has items of one part only",
    "feedback": "the format has no feedback",
    "hints": "the format has no hints",
    "arranging": "the format has no order and no pairs; they become multiple choices",
    "mathml": "the format has no MathML; formulas become plain text",
    "pools": "the format has no test that shows one item of a pool",
    "key": "the key is not written as a machine reads it, and is rewritten",
    "band": "the bank states no accepted band; 1 % or 1.5 units in the last place is set",
    "picture": "a picture is named that the bank does not hold, and is left out",
    "parts.tolerance.slack": "the format does not say how far honest rounding moves an answer",
    "parts.tolerance.slip_distance": "the format does not say how near the nearest slip lies",
    "identifier": "the identifier is no name that every format can hold, and is replaced",
}


# What the fields of an item are called, as far as their names are not words already.
_FIELDS = {
    "stem": "the stem",
    "parts": "a part",
    "solution": "the worked solution",
    "caution": "the caution",
    "hints": "the hints",
    "metadata": "the metadata",
    "provenance": "the origin",
    "prompt": "the prompt",
    "key_text": "the key as a machine reads it",
    "key_shown": "the key as it is shown",
    "tolerance": "the accepted band",
    "low": "the lower end",
    "high": "the upper end",
    "stated": "the wording",
    "wrong_values": "a wrong answer",
    "value": "the value",
    "options": "an option",
    "entries": "an entry",
    "sources": "a source",
    "targets": "a target",
    "pairs": "the pairs",
    "feedback": "the feedback",
    "shuffle": "whether options may be mixed",
    "inline": "whether it stands within its sentence",
    "partial": "whether a share earns points",
    "multiple": "whether several may be picked",
}


def _field(kind: str) -> str:
    """A field such as `parts.wrong_values.value` in words.

    >>> _field("parts.wrong_values.value")
    'the value of a wrong answer of a part'
    """
    names = reversed(kind.split("."))
    return " of ".join(_FIELDS.get(name, f"the {name.replace('_', ' ')}") for name in names)


@dataclass(frozen=True, slots=True)
class ConvertReport:
    """What became of a bank.

    losses      what the reader could not carry
    unreadable  what it could not read at all, a sentence each
    left_out    items that the target cannot take
    unsaid      what the target does not say of the items written, by kind
    cautions    what the target loses beyond that, where it cannot be read back item by item
    """

    source: Path
    source_format: str
    package: WriteReport
    read: int
    losses: tuple[Loss, ...] = ()
    unreadable: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    unsaid: tuple[Unsaid, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def lossless(self) -> bool:
        """Whether the package says all that the bank says."""
        return not (
            self.losses
            or self.unreadable
            or self.left_out
            or self.unsaid
            or self.cautions
            or self.package.notes
        )

    def as_json(self) -> dict[str, Any]:
        return {
            "source": {"path": str(self.source), "format": self.source_format, "items": self.read},
            "package": {
                "path": str(self.package.path),
                "format": self.package.format,
                "items": self.package.items,
                "notes": list(self.package.notes),
            },
            "lossless": self.lossless,
            "losses": [
                {"code": loss.code, **_place(loss.place), "item": loss.item, "what": loss.what}
                for loss in self.losses
            ],
            "unreadable": list(self.unreadable),
            "left_out": [
                {"item": left.item, **_place(left.place), "why": left.why} for left in self.left_out
            ],
            "unsaid": [
                {"kind": unsaid.kind, "count": len(unsaid.items), "items": list(unsaid.items)}
                for unsaid in self.unsaid
            ],
            "cautions": list(self.cautions),
        }


def _place(place: Place) -> dict[str, Any]:
    return {"file": place.file, "line": place.line, "column": place.column}
