"""Which items of a test one candidate meets, and in which order (mapping note, f).

`select` counts the direct children of a section; a required child always comes in. Selection
happens first, then shuffling; a fixed child keeps its place. A child section moves as one,
unless it is invisible and says keepTogether="false": then its items mix with their parent's [M].
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lxml import etree

from qbank.scoring.chance import Chance
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_CONTAINER, MAX_DEPTH
from qbank.scoring.names import child, children, get, name_of_tag, named_children

_UNJUDGED = frozenset(["preCondition", "branchRule", "adaptiveSelection", "assessmentSectionRef"])


@dataclass(frozen=True, slots=True)
class Selected:
    """One item a candidate meets; `identifier` tells repeats of one reference apart."""

    identifier: str
    ref: etree._Element
    sections: tuple[str, ...]

    @property
    def href(self) -> str:
        return get(self.ref, "href") or ""

    @property
    def categories(self) -> tuple[str, ...]:
        return tuple((get(self.ref, "category") or "").split())


@dataclass(slots=True)
class _Block:
    """A child of a section once chosen: one item, or the items of a section that move as one."""

    items: list[tuple[etree._Element, tuple[str, ...]]]
    fixed: bool


def select_items(root: etree._Element, chance: Chance, warnings: list[str]) -> list[Selected]:
    """The items of a test in the order one candidate meets them; the same for the same chance.

    Raises ScoringError for sections too deep and more items than a test can have. What is not
    judged, such as branches, is added to `warnings`.
    """
    chosen: list[tuple[etree._Element, tuple[str, ...]]] = []
    for part in children(root, "testPart"):
        chosen.extend(_section(part, (), chance, warnings, 0))
    if len(chosen) > MAX_CONTAINER:
        raise ScoringError(f"a test shows more than {MAX_CONTAINER} items")
    met: dict[str, int] = {}
    found = []
    for ref, sections in chosen:
        name = ref.get("identifier") or ""
        met[name] = met.get(name, 0) + 1
        found.append(Selected(name if met[name] == 1 else f"{name}.{met[name]}", ref, sections))
    return found


def _section(
    section: etree._Element,
    sections: tuple[str, ...],
    chance: Chance,
    warnings: list[str],
    depth: int,
) -> list[tuple[etree._Element, tuple[str, ...]]]:
    """The items of a section or test part, selected and in order."""
    if depth > MAX_DEPTH:
        raise ScoringError(f"sections stand more than {MAX_DEPTH} deep{at(section)}")
    sections = (*sections, section.get("identifier") or "")
    kids = []
    for name, element in named_children(section):
        if name in ("assessmentSection", "assessmentItemRef"):
            kids.append(element)
        elif name in _UNJUDGED:
            _say(warnings, f"'{name}'{at(element)} is not judged here")
    blocks: list[_Block] = []
    for kid in _selected(section, kids, chance, warnings):
        fixed = get(kid, "fixed") == "true"
        if name_of_tag(kid.tag) == "assessmentItemRef":
            blocks.append(_Block([(kid, sections)], fixed))
            continue
        items = _section(kid, sections, chance, warnings, depth + 1)
        if get(kid, "keepTogether") == "false" and get(kid, "visible") == "false":
            blocks.extend(_Block([item], fixed) for item in items)
        else:
            blocks.append(_Block(items, fixed))
    ordering = child(section, "ordering")
    if ordering is not None and get(ordering, "shuffle") == "true":
        _shuffle(blocks, chance)
    return [item for block in blocks for item in block.items]


def _say(warnings: list[str], message: str) -> None:
    if message not in warnings:
        warnings.append(message)


def _selected(
    section: etree._Element, kids: list[etree._Element], chance: Chance, warnings: list[str]
) -> Iterator[etree._Element]:
    """The children that come in, in the order of the document."""
    selection = child(section, "selection")
    text = None if selection is None else get(selection, "select")
    if selection is None or text is None:
        return iter(kids)
    if not text.strip().isdigit() or len(text) > 9:
        raise ScoringError(f'select="{text[:20]}"{at(selection)} is no whole number')
    count = int(text)
    repeated = get(selection, "withReplacement") == "true"
    if count > MAX_CONTAINER:
        raise ScoringError(f"a test shows more than {MAX_CONTAINER} items")
    required = [n for n, kid in enumerate(kids) if get(kid, "required") == "true"]
    others = [n for n in range(len(kids)) if n not in required]
    wanted = count - len(required)
    if wanted < 0:
        _say(warnings, f"more children are required{at(section)} than are selected: all come in")
        wanted = 0
    if not repeated and wanted > len(others):
        _say(warnings, f"{count} of {len(kids)} are to be selected{at(section)}: all come in")
        wanted = len(others)
    picked = list(required)
    for _ in range(wanted if kids else 0):
        if repeated:
            picked.append(chance.below(len(kids)))
        else:
            picked.append(others.pop(chance.below(len(others))))
    return (kids[n] for n in sorted(picked))


def _shuffle(blocks: list[_Block], chance: Chance) -> None:
    """Shuffle in place, leaving fixed blocks where they stand."""
    free = [n for n, block in enumerate(blocks) if not block.fixed]
    moved = [blocks[n] for n in free]
    chance.shuffle(moved)
    for n, block in zip(free, moved, strict=True):
        blocks[n] = block
