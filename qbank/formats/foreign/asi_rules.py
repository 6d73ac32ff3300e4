"""What response processing of QTI 1.2.1 gives for each response (mapping note, g5).

A condition is reduced to what it accepts of each response: a region of numbers, or the values
that must be and must not be among those given. Other conditions are left to trying.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from lxml import etree

from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.numbers import as_number
from qbank.formats.foreign.regions import EVERYTHING, Region, compared
from qbank.formats.qti_tree import KINDS, attribute, child, children, local

MAX_NESTING = 60
_BOUNDS = {"vargte": "gte", "vargt": "gt", "varlte": "lte", "varlt": "lt"}


@dataclass(slots=True)
class Asked:
    """What a condition asks of one response.

    every  values that must be among those given; `alike` are alternatives, one of which must be
    region  where numbers are compared
    """

    every: list[str] = field(default_factory=list)
    alike: list[str] = field(default_factory=list)
    region: Region = EVERYTHING
    compares: bool = False


@dataclass(slots=True)
class AsiRule:
    """One respcondition that was understood."""

    title: str
    asked: dict[str, Asked]
    points: float | None  # None where it sets no score
    adds: bool
    shown: tuple[str, ...]
    element: etree._Element


class AsiRules:
    """The conditions of one item; `opaque` says that some give points and are not understood."""

    def __init__(self, item: etree._Element, losses: Losses) -> None:
        self.rules: list[AsiRule] = []
        self.opaque = False
        self.maximum: float | None = None
        blocks = list(children(item, "resprocessing"))
        if not blocks:
            losses.add("scoring", "the item has no response processing", item)
            return
        if len(blocks) > 1:
            losses.add("scoring", "only the first of several resprocessing blocks is read",
                       blocks[1])  # fmt: skip
        outcomes = child(blocks[0], "outcomes")
        names = []
        for declared in () if outcomes is None else children(outcomes, "decvar"):
            name = attribute(declared, "varname") or "SCORE"
            names.append(name)
            if name == "SCORE" or len(names) == 1:
                self.maximum = as_number(attribute(declared, "maxvalue"))
        self._score = "SCORE" if "SCORE" in names or len(names) != 1 else names[0]
        for condition in children(blocks[0], "respcondition"):
            self._condition(condition)

    def _condition(self, condition: etree._Element) -> None:
        test: etree._Element | None = None
        points: float | None = None
        adds = False
        shown = []
        for element in condition:
            if not isinstance(tag := element.tag, str):
                continue
            kind = KINDS[tag]
            if kind == "conditionvar":
                test = element if test is None else test
            elif kind == "displayfeedback":
                shown.append(element.get("linkrefid", ""))
            elif kind == "setvar" and (element.get("varname") or "SCORE") == self._score:
                action = element.get("action") or "Set"
                value = as_number(element.text or "")
                if value is None or action in ("Multiply", "Divide"):
                    self.opaque = True
                    continue
                points = (points or 0.0) + (-value if action == "Subtract" else value)
                adds = action != "Set"
        asked: dict[str, Asked] = {}
        understood = test is not None and self._all(test, asked, 0)
        if not understood:
            self.opaque = self.opaque or bool(points)
            if points or test is None:
                return
        title = attribute(condition, "title")
        self.rules.append(AsiRule(title, asked, points, adds, tuple(shown), condition))

    def _all(self, test: etree._Element, asked: dict[str, Asked], depth: int) -> bool:
        """Take the children of a condition, all of which must hold."""
        for element in test:
            if isinstance(element.tag, str) and not self._one(element, asked, depth):
                return False
        return True

    def _one(self, element: etree._Element, asked: dict[str, Asked], depth: int) -> bool:
        name = local(str(element.tag))
        if depth > MAX_NESTING:
            return False
        if name == "and":
            return self._all(element, asked, depth + 1)
        if name in ("other", "unanswered", "durequal", "durlt", "durgte"):
            return name == "other"
        response = attribute(element, "respident")
        text = (element.text or "").strip()
        if name in ("varequal", "varsubset", "varsubstring") and response:
            if name == "varsubstring":
                return False
            about = asked.setdefault(response, Asked())
            about.every.extend([v.strip() for v in text.split(",")] if name == "varsubset"
                               else [text])  # fmt: skip
            return True
        if name in _BOUNDS and response:
            bound = as_number(text)
            if bound is None:
                return False
            about = asked.setdefault(response, Asked())
            about.compares = True
            about.region = about.region & compared(_BOUNDS[name], bound)
            return True
        if name == "not":
            return self._denied(element, asked, depth)
        return name == "or" and self._either(element, asked, depth)

    def _denied(self, element: etree._Element, asked: dict[str, Asked], depth: int) -> bool:
        """What must not hold: numbers outside a region; options not chosen say nothing more."""
        inner: dict[str, Asked] = {}
        if not self._all(element, inner, depth + 1) or len(inner) > 1:
            return not inner
        for response, about in inner.items():
            mine = asked.setdefault(response, Asked())
            if about.compares and not about.every:
                mine.compares = True
                mine.region = mine.region & ~about.region
        return True

    def _either(self, element: etree._Element, asked: dict[str, Asked], depth: int) -> bool:
        """Alternatives for one response."""
        if (same := _listed(element)) is not None:
            response, texts = same
            asked.setdefault(response, Asked()).alike.extend(texts)
            return True
        found: list[tuple[str, Asked]] = []
        for child_ in element:
            if not isinstance(child_.tag, str):
                continue
            inner: dict[str, Asked] = {}
            if not self._one(child_, inner, depth + 1) or len(inner) != 1:
                return False
            found.extend(inner.items())
        if not found or len({response for response, _ in found}) != 1:
            return False
        about = asked.setdefault(found[0][0], Asked())
        region = Region(())
        for _, each in found:
            if each.compares and not each.every:
                region = region | each.region
                about.compares = True
            elif len(each.every) == 1 and not each.compares:
                about.alike.append(each.every[0])
            elif each.alike and not each.every:
                about.alike.extend(each.alike)
            else:
                return False
        if about.compares:
            about.region = about.region & region
        return True


def _listed(element: etree._Element) -> tuple[str, list[str]] | None:
    """The one response and the texts it may equal, where nothing else is asked."""
    texts = []
    response = ""
    for test in element:
        if not isinstance(tag := test.tag, str) or KINDS[tag] != "varequal":
            return None
        given = test.get("respident", "")
        if not given or (response and given != response):
            return None
        response = given
        texts.append((test.text or "").strip())
    return (response, texts) if texts else None
