"""All that the reader of families refuses in a file, not only the first fault.

The reader stops at a fault. Here what is at fault is put aside, the smallest part of the file that
will do, and the file is read again, until it is read to its end or nothing can be put aside.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import replace
from pathlib import Path

from qbank.errors import ExpressionError, FamilyError
from qbank.expressions.units import parse_unit
from qbank.family.loader import family_of
from qbank.family.nodes import Entry, Listing, Mapping, Node, Scalar
from qbank.family.reader import decode, read_bytes, read_nodes

MOST_FAULTS = 20
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:_[A-Za-z0-9]+)*")
_OPTIONAL = ("rules", "confirm", "slips", "ask", "settings")  # sections whose entries can go
_SAYING = ("laws", "rules", "confirm", "slips", "ask")  # sections of expressions
_QUANTITIES = ("given", "let", "find")
_HEADING = {"version": "1.0.0", "subject": "none", "language": "en"}  # what any file may say
_CHOSEN = ("shares", "coinciding")  # keys of the heading that may be left out
# what the text under a key may be wherever it stands; {unit} is what follows its last digit
_HARMLESS = {
    "draw": "1 .. 2 by 1 {unit}",
    "list": "1, 2 {unit}",
    "fixed": "1 {unit}",
    "figures": "3",
    "decimals": "1",
    "tolerance": "1 %",
    "points": "1",
    "notation": "auto",
    "partial": "no",
}
_UNIT = re.compile(r"[^\d]*\Z")
_MEANT = re.compile(r"Did you mean (\S+)\?")

Step = str | int
Trail = tuple[Step, ...]


def read_faults(path: Path) -> tuple[list[FamilyError], bool]:
    """The faults of a family file, and whether it was read to its end with them put aside.

    A fault is left out rather than one invented: where putting something aside may itself have
    caused the next fault, reading stops. Raises FamilyError where there is no file, or it is no
    plain YAML data.
    """
    root: Node = read_nodes(decode(read_bytes(path), str(path)), str(path))
    faults: list[FamilyError] = []
    seen: set[int] = set()  # where the nodes at fault begin
    fault = _fault_of(root, path)
    while fault is not None and len(faults) < MOST_FAULTS:
        faults.append(fault)
        trail = _trail(root, fault)
        seen.add(_start(root, trail))
        for cured, doubtful in (
            *_as_meant(root, trail, fault),
            *_cures(root, trail, len(faults), path.stem),
        ):
            found = _fault_of(cured, path)
            if found is None or _is_another(cured, found, seen, doubtful):
                root, fault = cured, found
                break
        else:
            return faults, False
    return faults, fault is None


def _fault_of(root: Node, path: Path) -> FamilyError | None:
    try:
        family_of(root, str(path))
    except FamilyError as fault:
        return fault
    return None


def _is_another(
    root: Node, fault: FamilyError, seen: Collection[int], doubtful: Collection[str]
) -> bool:
    """Whether a fault is one of its own, and not what putting something aside has done."""
    trail = _trail(root, fault)
    return bool(trail) and _start(root, trail) not in seen and trail[0] not in doubtful


def _start(root: Node, trail: Trail) -> int:
    node = _at(root, trail)
    return -1 if node is None else node.start


# ---------------------------------------------------------------------------- putting aside

# a file, and the sections in which a next fault may be the doing of the cure
Cure = tuple[Node, Collection[str]]


def _as_meant(root: Node, trail: Trail, fault: FamilyError) -> Iterator[Cure]:
    """The file with a misspelt key as the fault's hint says it is meant."""
    meant = _MEANT.fullmatch(fault.hint or "")
    parent = _at(root, trail[:-1]) if trail else None
    if meant is None or not isinstance(parent, Mapping) or meant[1] in parent.entries:
        return
    entries = {}
    for name, entry in parent.entries.items():
        if name == trail[-1] and entry.key.place == fault.place:
            entries[meant[1]] = Entry(replace(entry.key, text=meant[1]), entry.value)
        else:
            entries[name] = entry
    if meant[1] in entries:
        renamed = replace(parent, entries=entries)
        yield (_with(root, trail[:-1], renamed) if len(trail) > 1 else renamed), ()


def _cures(root: Node, trail: Trail, number: int, stem: str) -> Iterator[Cure]:
    """The file without what stands at a trail, in several ways, the gentlest first.

    Each may fail. The stem of the item is left alone, because what it shows cannot be put aside;
    `stem` is the name that the file has.
    """
    if not trail or not isinstance(root, Mapping) or trail[:2] == ("text", "stem"):
        return
    section = trail[0]
    at = _at(root, trail)
    heading = {**_HEADING, "family": stem}.get(section) if isinstance(section, str) else None
    if heading is not None and isinstance(at, Scalar):
        yield _with(root, trail, replace(at, text=heading)), ()
    if isinstance(at, Scalar) and len(trail) > 2 and (text := _harmless(str(trail[-1]), at.text)):
        yield _with(root, trail, replace(at, text=text)), ()
    if section in _CHOSEN:
        yield _with(root, trail[:1], None), ()
    if isinstance(at, Scalar) and (section in _SAYING or trail[-1] in {"equals", "when"}):
        names = [name for name in _names_in(root, at.text) if name not in trail]
        zero = " + ".join([f"0*{name}" for name in names] or ["0"])
        unknowns = "".join(f" + 0*{name}" for name in _declared(root, ("find",)))
        for text in (f"{zero}{unknowns} + 0*{number} = 0", zero, f"{zero} == 0", "0 == 0"):
            yield _with(root, trail, replace(at, text=text)), ()
    if section in {"given", "let"} and len(trail) == 2 and isinstance(trail[1], str):
        for cured in _with_use(root, trail[1]):
            yield cured, ("rules", "text")
    dropped = trail[:2] if section in _OPTIONAL else trail[:3]
    if section == "ask" and len(_items(root, "ask")) < 2:
        return  # with nothing left that is asked, that would be the next fault
    if section in _OPTIONAL or trail[:2] in {("text", "hints"), ("text", "solution")}:
        uses = ("given", "let", "cases", "figure", "settings")
        slips = ("ask",) if section == "slips" else ()
        yield _with(root, dropped, None), (*uses, *slips)


def _harmless(key: str, text: str) -> str:
    """What may stand under a key in place of what is refused; empty where nothing surely may."""
    harmless = _HARMLESS.get(key, "")
    if "{unit}" in harmless:
        unit = _UNIT.search(text)
        try:  # without its unit every use of the quantity would be at fault
            return harmless.format(unit=parse_unit(unit[0].strip() if unit else "").text)
        except ExpressionError:
            return ""
    return harmless


def _with_use(root: Mapping, name: str) -> Iterator[Node]:
    """The file with a rule that uses a quantity, with a stem that shows it, and with both."""
    stem = _at(root, ("text", "stem"))
    if not isinstance(stem, Scalar):
        return
    for need, field in (
        (f"0*{name} == 0", f"{{{name}}}"),
        (f"0*count({name}) == 0", f"{{table {name}}}"),
    ):
        parts = {"need": need, "because": "it is put aside"}
        entries = {
            key: Entry(replace(stem, text=key), replace(stem, text=text))
            for key, text in parts.items()
        }
        rule = Mapping(entries, root.source, root.start, root.end)
        listing = Listing((*_items(root, "rules"), rule), root.source, root.start, root.end)
        entry = Entry(replace(stem, text="rules"), listing)
        used = replace(root, entries={**root.entries, "rules": entry})
        shown = replace(stem, text=f"{stem.text}\n\n{field}")
        yield used
        yield _with(root, ("text", "stem"), shown)
        yield _with(used, ("text", "stem"), shown)


def _items(root: Mapping, section: str) -> tuple[Node, ...]:
    entry = root.entries.get(section)
    return entry.value.items if entry and isinstance(entry.value, Listing) else ()


def _declared(root: Mapping, sections: tuple[str, ...]) -> list[str]:
    names: list[str] = []
    for section in sections:
        entry = root.entries.get(section)
        if entry and isinstance(entry.value, Mapping):
            names += entry.value.entries
    return names


def _names_in(root: Mapping, text: str) -> list[str]:
    """The quantities and constants an expression mentions, once each."""
    known = set(_declared(root, _QUANTITIES))
    for case in _declared(root, ("cases",)):
        constants = _at(root, ("cases", case, "set"))
        known |= set(constants.entries) if isinstance(constants, Mapping) else set()
    return [name for name in dict.fromkeys(_NAME.findall(text)) if name in known]


# ---------------------------------------------------------------------------- the tree


def _trail(root: Node, fault: FamilyError) -> Trail:
    """Keys and positions that lead to the smallest node a fault stands in."""
    if fault.place is None or not isinstance(root, Mapping):
        return ()
    index = root.source.line_starts[fault.place.line - 1] + fault.place.column - 1
    trail: list[Step] = []
    node: Node = root
    while True:
        step = _inside(node, index)
        if step is None:
            return tuple(trail)
        trail.append(step)
        node = _child(node, step)


def _inside(node: Node, index: int) -> Step | None:
    """The entry or item of a node that holds a position; an entry's key belongs to it."""
    spans: list[tuple[Step, int, int]] = []
    if isinstance(node, Mapping):
        for key, entry in node.entries.items():
            spans.append((key, entry.key.start, max(entry.value.end, entry.key.end)))
    elif isinstance(node, Listing):
        spans = [(position, item.start, item.end) for position, item in enumerate(node.items)]
    for step, start, end in spans:
        if start <= index < end:
            return step
    # a fault in text that was put in may stand behind the end of what it replaced
    return next((step for step, _, end in spans if index == end), None)


def _child(node: Node, step: Step) -> Node:
    if isinstance(node, Mapping) and isinstance(step, str):
        return node.entries[step].value
    if isinstance(node, Listing) and isinstance(step, int):
        return node.items[step]
    raise KeyError(step)


def _at(root: Node, trail: Trail) -> Node | None:
    node = root
    for step in trail:
        try:
            node = _child(node, step)
        except (KeyError, IndexError):
            return None
    return node


def _with(node: Node, trail: Trail, new: Node | None) -> Node:
    """The tree with another node at the end of a trail, or without that node."""
    step, rest = trail[0], trail[1:]
    child = _with(_child(node, step), rest, new) if rest else new
    if isinstance(node, Mapping) and isinstance(step, str):
        entries = dict(node.entries)
        if child is None:
            del entries[step]
        else:
            entries[step] = Entry(entries[step].key, child)
        return replace(node, entries=entries)
    if isinstance(node, Listing) and isinstance(step, int):
        kept = () if child is None else (child,)
        return replace(node, items=(*node.items[:step], *kept, *node.items[step + 1 :]))
    raise KeyError(step)
