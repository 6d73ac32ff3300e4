"""Stems and keys of JSON Lines, without building the rest of each record.

The records below name the same fields as `jsonl_codec`; those of which nothing is kept are left
as the bytes they are. msgspec decodes a line straight into them, several times as fast as `json`
makes values of it. A record that is not like this is read by the exact reader, which takes it or
says what is wrong with it.
"""

from __future__ import annotations

import math

import msgspec
from msgspec import Raw, Struct

from qbank import item
from qbank.formats.skimming import PRESENT

_NONE = Raw(b"")


class _Strict(Struct, forbid_unknown_fields=True, gc=False):
    """A record that takes no fields but its own."""


class _Tagged(Struct, forbid_unknown_fields=True, gc=False, tag_field="type"):
    """A record among others, told apart by `type`."""


class _Math(_Strict):
    mathml: str
    plain: str


_Content = list[str | _Math]


class _Paragraph(_Tagged, tag="paragraph"):
    content: _Content


class _Display(_Tagged, tag="display"):
    math: _Math


class _Table(_Tagged, tag="table"):
    caption: str
    header: list[_Content]
    rows: list[list[_Content]]
    row_headers: bool = False


class _Image(_Tagged, tag="image"):
    name: str
    media_type: str
    data: str
    alt: str
    description: str = ""
    width: int = 0
    height: int = 0


_Block = _Paragraph | _Display | _Table | _Image


class _Unread(_Tagged, tag="paragraph"):
    content: Raw


class _UnreadDisplay(_Tagged, tag="display"):
    math: Raw


class _UnreadTable(_Tagged, tag="table"):
    caption: Raw
    header: Raw
    rows: Raw
    row_headers: bool = False


_SolutionBlock = _Unread | _UnreadDisplay | _UnreadTable | _Image


class _Tolerance(_Strict):
    low: float | None
    high: float | None
    stated: str
    slack: float | None = None
    slip_distance: float | None = None


class _WrongValue(_Strict):
    slip: str
    value: float
    low: float
    high: float
    feedback: Raw


class _Option(_Strict):
    identifier: str
    content: _Content
    correct: bool
    feedback: Raw = _NONE
    slip: str | None = None


class _Number(_Tagged, tag="number"):
    identifier: str
    prompt: _Content
    key: float | None
    key_text: str
    key_shown: str
    unit: str
    tolerance: _Tolerance
    points: float
    figures: int | None = None
    decimals: int | None = None
    wrong_values: list[_WrongValue] = []


class _Choice(_Tagged, tag="choice"):
    identifier: str
    prompt: _Content
    options: list[_Option]
    points: float
    multiple: bool = False
    inline: bool = False
    shuffle: bool = True


class _Ordering(_Tagged, tag="ordering"):
    identifier: str
    prompt: _Content
    entries: list[_Option]
    points: float
    partial: bool = False


class _Matching(_Tagged, tag="matching"):
    identifier: str
    prompt: _Content
    sources: list[_Option]
    targets: list[_Option]
    pairs: list[tuple[str, str]]
    points: float
    partial: bool = False


_Part = _Number | _Choice | _Ordering | _Matching


class _Provenance(_Strict):
    family: str
    version: str
    digest: str
    seed: int
    index: int
    case: str = ""


class _Item(_Strict):
    identifier: str
    title: str
    language: str
    stem: list[_Block]
    parts: list[_Part]
    solution: list[_SolutionBlock] = []
    caution: Raw = _NONE
    hints: Raw = _NONE
    metadata: Raw = _NONE
    provenance: _Provenance | None = None


_DECODER = msgspec.json.Decoder(_Item)


def skim(line: bytes) -> item.Item | None:
    """The item of one line as `skimmed` leaves it; None where the exact reader has to decide."""
    try:
        record = _DECODER.decode(line)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        return None
    origin = record.provenance
    return item.Item(
        record.identifier,
        record.title,
        record.language,
        tuple(map(_block, record.stem)),
        tuple(map(_part, record.parts)),
        tuple(_image(block) for block in record.solution if type(block) is _Image),
        provenance=None
        if origin is None
        else item.Provenance(
            origin.family, origin.version, origin.digest, origin.seed, origin.index, origin.case
        ),
    )


def _block(block: _Block) -> item.Block:
    match block:
        case _Paragraph():
            return item.Paragraph(_inlines(block.content))
        case _Display():
            return item.Display(_math(block.math))
        case _Image():
            return _image(block)
    header = tuple(map(_inlines, block.header))
    rows = tuple(tuple(map(_inlines, row)) for row in block.rows)
    return item.Table(block.caption, header, rows, block.row_headers)


def _image(image: _Image) -> item.Image:
    return item.Image(
        image.name,
        image.media_type,
        PRESENT if image.data else b"",
        image.alt,
        image.description,
        image.width,
        image.height,
    )


def _inlines(content: _Content) -> tuple[item.Inline, ...]:
    return tuple([piece if type(piece) is str else _math(piece) for piece in content])  # type: ignore[arg-type]


def _math(math: _Math) -> item.Math:
    return item.Math("" if math.plain else math.mathml, math.plain)


def _part(part: _Part) -> item.Part:
    prompt = _inlines(part.prompt)
    match part:
        case _Number():
            return _number(part, prompt)
        case _Choice():
            return item.Choice(
                part.identifier,
                prompt,
                _options(part.options),
                part.points,
                part.multiple,
                part.inline,
                part.shuffle,
            )
        case _Ordering():
            entries = _options(part.entries)
            return item.Ordering(part.identifier, prompt, entries, part.points, part.partial)
    return item.Matching(
        part.identifier,
        prompt,
        _options(part.sources),
        _options(part.targets),
        tuple(part.pairs),
        part.points,
        part.partial,
    )


def _number(part: _Number, prompt: tuple[item.Inline, ...]) -> item.NumberEntry:
    band = part.tolerance
    return item.NumberEntry(
        part.identifier,
        prompt,
        _stated(part.key),
        part.key_text,
        part.key_shown,
        part.unit,
        item.Tolerance(
            _stated(band.low), _stated(band.high), band.stated, band.slack, band.slip_distance
        ),
        part.points,
        part.figures,
        part.decimals,
        tuple(
            [
                item.WrongValue(wrong.slip, wrong.value, wrong.low, wrong.high, ())
                for wrong in part.wrong_values
            ]
        ),
    )


def _options(options: list[_Option]) -> tuple[item.Option, ...]:
    return tuple(
        [
            item.Option(one.identifier, _inlines(one.content), one.correct, (), one.slip)
            for one in options
        ]
    )


def _stated(value: float | None) -> float:
    return math.nan if value is None else value
