"""Which items of a test one candidate meets, and in which order (mapping note, f).

`select` counts the direct children of a section; a required child always comes in. Selection
happens first, then shuffling; a fixed child keeps its place. A child section moves as one,
unless it is invisible and says keepTogether="false": then its items mix with their parent's [M].
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator
from dataclasses import dataclass

from lxml import etree

from qbank.scoring.chance import Chance
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_CONTAINER, MAX_SECTIONS
from qbank.scoring.names import child, get
from qbank.scoring.plan import Node


@dataclass(frozen=True, slots=True)
class Selected:
    """One item a candidate may meet; `identifier` tells repeats of one reference apart.

    `chain` holds the part and the sections it stands in, from the outermost.
    """

    identifier: str
    node: Node
    chain: tuple[Node, ...]

    @property
    def ref(self) -> etree._Element:
        return self.node.element

    @property
    def href(self) -> str:
        """Where its item is, from the test."""
        return posixpath.join(self.node.folder, get(self.ref, "href") or "")

    @property
    def sections(self) -> tuple[str, ...]:
        return tuple(name for node in self.chain for name in node.identifiers)

    @property
    def categories(self) -> tuple[str, ...]:
        return tuple((get(self.ref, "category") or "").split())


Chosen = tuple[Node, tuple[Node, ...]]


@dataclass(slots=True)
class _Block:
    """A child of a section once chosen: one item, or the items of a section that move as one."""

    items: list[Chosen]
    fixed: bool


def select_items(parts: list[Node], chance: Chance, warnings: list[str]) -> list[list[Selected]]:
    """The items of each part in the order one candidate meets them; the same for the same chance.

    Raises ScoringError for more items than a test can have. What is not as the standard says is
    added to `warnings`.
    """
    met: dict[str, int] = {}
    selector = _Selector(chance, warnings)
    found = []
    for part in parts:
        row = []
        for node, chain in selector.section(part, ()):
            name = node.identifier
            met[name] = met.get(name, 0) + 1
            row.append(Selected(name if met[name] == 1 else f"{name}.{met[name]}", node, chain))
        found.append(row)
    return found


def mixes(section: Node) -> bool:
    """Whether a section's items mix with those of its parent."""
    return section.says("keepTogether", "false") and section.says("visible", "false")


class _Selector:
    """Selects for one candidate, counting what it meets: sections may be selected repeatedly."""

    def __init__(self, chance: Chance, warnings: list[str]) -> None:
        self._chance = chance
        self._warnings = warnings
        self._items = self._sections = 0

    def section(self, section: Node, chain: tuple[Node, ...]) -> list[Chosen]:
        """The items of a section or test part, selected and in order."""
        self._sections += 1
        if self._sections > MAX_SECTIONS:
            raise ScoringError(f"a test shows more than {MAX_SECTIONS} sections")
        chain = (*chain, section)
        blocks: list[_Block] = []
        for kid in self._selected(section.element, section.children):
            fixed = kid.says("fixed", "true")
            if kid.kind == "assessmentItemRef":
                self._items += 1
                if self._items > MAX_CONTAINER:
                    raise ScoringError(f"a test shows more than {MAX_CONTAINER} items")
                blocks.append(_Block([(kid, chain)], fixed))
                continue
            items = self.section(kid, chain)
            if mixes(kid):
                blocks.extend(_Block([item], fixed) for item in items)
            else:
                blocks.append(_Block(items, fixed))
        ordering = child(section.element, "ordering")
        if ordering is not None and get(ordering, "shuffle") == "true":
            _shuffle(blocks, self._chance)
        return [item for block in blocks for item in block.items]

    def _selected(self, section: etree._Element, kids: list[Node]) -> Iterator[Node]:
        """The children that come in, in the order of the document."""
        selection = child(section, "selection")
        text = None if selection is None else get(selection, "select")
        if selection is None or text is None:
            return iter(kids)
        if not re.fullmatch("[0-9]{1,9}", text.strip()):
            raise ScoringError(f'select="{text[:20]}"{at(selection)} is no whole number')
        count = int(text)
        repeated = get(selection, "withReplacement") == "true"
        if count > MAX_CONTAINER:
            raise ScoringError(f"a test shows more than {MAX_CONTAINER} items")
        required = [n for n, kid in enumerate(kids) if kid.says("required", "true")]
        others = [n for n, kid in enumerate(kids) if not kid.says("required", "true")]
        wanted = count - len(required)
        if wanted < 0:
            self._say(f"more children are required{at(section)} than are selected: all come in")
            wanted = 0
        if not repeated and wanted > len(others):
            self._say(f"{count} of {len(kids)} are to be selected{at(selection)}: all come in")
            wanted = len(others)
        picked = list(required)
        for _ in range(wanted if kids else 0):
            if repeated:
                picked.append(self._chance.below(len(kids)))
            else:
                picked.append(others.pop(self._chance.below(len(others))))
        return (kids[n] for n in sorted(picked))

    def _say(self, message: str) -> None:
        if message not in self._warnings:
            self._warnings.append(message)


def _shuffle(blocks: list[_Block], chance: Chance) -> None:
    """Shuffle in place, leaving fixed blocks where they stand."""
    free = [n for n, block in enumerate(blocks) if not block.fixed]
    moved = [blocks[n] for n in free]
    chance.shuffle(moved)
    for n, block in zip(free, moved, strict=True):
        blocks[n] = block
