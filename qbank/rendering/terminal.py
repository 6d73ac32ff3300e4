"""An item as text for a terminal: stem, parts with keys and distractors, worked solution."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from qbank.expressions.formula_writer import Words
from qbank.expressions.numbers import NumberFormat, format_number
from qbank.expressions.symbols import with_unit
from qbank.item import (
    Block,
    Choice,
    Display,
    Image,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Part,
    Table,
)
from qbank.rendering.messages import messages_for
from qbank.rendering.plain import inline_text, number_text, wrong_number_text

INDENT = "    "
GAP = "  "
_SIZE = NumberFormat(figures=2)
NARROWEST = 20  # columns below which text is not wrapped further


def show_text(item: Item, width: int = 80) -> str:
    """The whole item, no line wider than `width` unless a single word is."""
    words = messages_for(item.language).words
    lines: list[str] = [item.title, "=" * min(len(item.title), width)]
    for block in item.stem:
        lines += ["", *block_lines(block, width)]
    for number, part in enumerate(item.parts, 1):
        lines += ["", *_part_lines(number, part, width, words)]
    for number, hint in enumerate(item.hints, 1):
        lines += ["", *_wrapped(f"Hint {number}: {inline_text(hint)}", width)]
    if item.solution:
        lines += ["", "Worked solution", "-" * len("Worked solution")]
        for block in item.solution:
            lines += ["", *block_lines(block, width)]
    if item.caution:
        lines += ["", *_wrapped(f"Caution: {item.caution}", width)]
    lines += ["", *_wrapped(origin(item), width)]
    return "\n".join(line.rstrip() for line in lines)


def block_lines(block: Block, width: int) -> list[str]:
    """A paragraph wrapped, a formula indented, or a table in columns."""
    match block:
        case Paragraph(content=content):
            return _wrapped(inline_text(content), width)
        case Display(math=math):
            return _wrapped(math.plain, width, INDENT, INDENT + GAP)
        case Table():
            return _table_lines(block, width)
        case Image(name=name, alt=alt, description=description):
            return _wrapped(" ".join(filter(None, (f"[{name}: {alt}]", description))), width)


def _wrapped(text: str, width: int, first: str = "", later: str | None = None) -> list[str]:
    return textwrap.wrap(
        text,
        max(width, NARROWEST),
        initial_indent=first,
        subsequent_indent=first if later is None else later,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _table_lines(table: Table, width: int) -> list[str]:
    """Columns side by side; where they do not fit, the widest are wrapped within their cells."""
    rows = [[inline_text(cell) for cell in row] for row in (table.header, *table.rows)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    room = max(width, NARROWEST) - len(GAP) * (len(widths) - 1)
    while sum(widths) > room and max(widths) > 1:
        widths[widths.index(max(widths))] -= 1
    lines = _wrapped(table.caption, width) if table.caption else []
    for number, row in enumerate(rows):
        lines += _row_lines(row, widths)
        if number == 0:
            lines.append(GAP.join("-" * size for size in widths))
    return lines


def _row_lines(row: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    cells = [textwrap.wrap(cell, size) or [""] for cell, size in zip(row, widths, strict=True)]
    for k in range(max(map(len, cells))):
        yield GAP.join(
            (cell[k] if k < len(cell) else "").ljust(size)
            for cell, size in zip(cells, widths, strict=True)
        )


def _part_lines(number: int, part: Part, width: int, words: Words) -> list[str]:
    points = f"{part.points:g} point{'' if part.points == 1 else 's'}"
    lines = _wrapped(f"{number}. {inline_text(part.prompt)} ({points})", width, "", INDENT[:3])
    match part:
        case NumberEntry():
            return lines + _entry_lines(part, width, words)
        case Choice():
            return lines + _choice_lines(part, width)
        case Ordering():
            return lines + _ordering_lines(part, width)
        case Matching():
            return lines + _matching_lines(part, width)


def _entry_lines(part: NumberEntry, width: int, words: Words) -> list[str]:
    band = part.tolerance
    low, high = (words.number(number_text(end)) for end in (band.low, band.high))
    lines = [f"{INDENT}Answer: {part.key_shown}"]
    lines.append(f"{INDENT}accepted {low} to {high} ({band.stated})")
    lines += _wrapped(_window(part, words), width, INDENT, INDENT + GAP)
    for wrong in part.wrong_values:
        value = with_unit(words.number(wrong_number_text(part, wrong)), part.unit)
        told = f"{value} would be {wrong.slip}: {inline_text(wrong.feedback)}"
        lines += _wrapped(told, width, f"{INDENT}- ", INDENT + GAP)
    return lines


def _window(part: NumberEntry, words: Words) -> str:
    """What the tolerance lies between, where that was measured."""
    band = part.tolerance
    if band.slack is None:
        return ""
    said = f"rounding on the way can move it by {_amount(band.slack, part.unit, words)}"
    if band.slip_distance is None:
        return said
    return f"{said}; the nearest slip lies {_amount(band.slip_distance, part.unit, words)} away"


def _amount(size: float, unit: str, words: Words) -> str:
    """A difference; one of temperatures is told in kelvin."""
    return with_unit(words.number(format_number(size, _SIZE)), "K" if unit == "°C" else unit)


def _choice_lines(part: Choice, width: int) -> list[str]:
    lines: list[str] = []
    for option in part.options:
        mark = "right" if option.correct else "wrong"
        told = f"{mark}: {inline_text(option.content)}"
        lines += _wrapped(told, width, f"{INDENT}{option.identifier} ", INDENT + GAP * 2)
        lines += _feedback_lines(option, width)
    return lines


def _feedback_lines(option: Option, width: int) -> list[str]:
    if not option.feedback:
        return []
    why = f"{option.slip}: " if option.slip else ""
    return _wrapped(why + inline_text(option.feedback), width, INDENT + GAP * 2)


def _ordering_lines(part: Ordering, width: int) -> list[str]:
    """The entries in their right order."""
    lines: list[str] = []
    for place, entry in enumerate(part.entries, 1):
        told = f"{place}. {inline_text(entry.content)}"
        lines += _wrapped(told, width, f"{INDENT}{entry.identifier} ", INDENT + GAP * 2)
        lines += _feedback_lines(entry, width)
    return lines


def _matching_lines(part: Matching, width: int) -> list[str]:
    """Each source with its target, then the targets nothing goes with."""
    texts = {entry.identifier: inline_text(entry.content) for entry in part.sources + part.targets}
    lines: list[str] = []
    for source, target in part.pairs:
        told = f"{texts[source]} → {texts[target]}"
        lines += _wrapped(told, width, f"{INDENT}{source} {target} ", INDENT + GAP * 2)
    used = {target for _, target in part.pairs}
    for entry in part.targets:
        if entry.identifier not in used:
            told = f"nothing → {texts[entry.identifier]}"
            lines += _wrapped(told, width, f"{INDENT}{entry.identifier} ", INDENT + GAP * 2)
            lines += _feedback_lines(entry, width)
    return lines


def origin(item: Item) -> str:
    """Which instance of which family an item is."""
    source = item.provenance
    if source is None:
        return item.identifier
    if source.index < 0:
        return f"{item.identifier}: {source.family} {source.version}, data given by hand"
    return (
        f"{item.identifier}: {source.family} {source.version}, "
        f"seed {source.seed}, index {source.index}"
    )
