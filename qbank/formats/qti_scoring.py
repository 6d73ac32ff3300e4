"""What a QTI item of ours declares and what its rules do, by the elements."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from lxml import etree

from qbank.formats.qti_tree import KINDS, any_of, attribute, child, values

DECLARATIONS = frozenset(["responseDeclaration", "outcomeDeclaration"])
RULES = any_of("responseIf", "responseElseIf")


class Declared(NamedTuple):
    """A response or an outcome: its key where it has one, with the words that explain it."""

    cardinality: str
    base_type: str
    interpretation: str
    keys: list[str]
    keys_shown: str

    @property
    def is_arranged(self) -> bool:
        """Whether the response is an order or pairs."""
        return self.cardinality == "ordered" or self.base_type == "directedPair"


def declared(element: etree._Element) -> Declared:
    """What an element declares."""
    correct = child(element, "correctResponse")
    return Declared(
        element.get("cardinality", ""),
        attribute(element, "baseType"),
        element.get("interpretation", ""),
        values(correct),
        "" if correct is None else correct.get("interpretation", ""),
    )


@dataclass(slots=True)
class Scoring:
    """What the rules do with one response."""

    points: float = 0.0
    partial: bool = False
    band: tuple[float, float] = (0.0, 0.0)
    wrong: list[tuple[str, float, float]] = field(default_factory=list)
    labels: dict[str, str] = field(default_factory=dict)  # option -> feedback identifier
    target_labels: dict[str, str] = field(default_factory=dict)  # the same of a matching's targets


def scoring(root: etree._Element, known: dict[str, Declared]) -> dict[str, Scoring]:
    """What the rules do, response by response."""
    found: dict[str, Scoring] = {}
    for condition in root.iter(*RULES):
        test, *settings = condition
        response: str | None = None
        texts = []
        for element in test.iter():
            kind = KINDS[element.tag]
            if kind == "baseValue":
                texts.append(element.text or "")
            elif kind == "variable" and response is None:
                response = element.get("identifier", "")
        if response is None:
            continue
        its = found.get(response)
        if its is None:
            its = found[response] = Scoring()
        label = ""
        for setting in settings:
            if KINDS[setting.tag] != "setOutcomeValue":
                continue
            outcome = setting.get("identifier", "")
            if outcome.startswith("SCORE_"):
                if child(setting, "sum") is not None:
                    its.partial = True
                else:
                    its.points = float(_base_value(setting))
            elif outcome.startswith("FEEDBACK_"):
                label = _base_value(setting)
        if response in known and known[response].is_arranged:
            if label:
                _label_arranged(its, KINDS[test.tag], texts[0], label)
        elif KINDS[test.tag] == "and":
            low, high = (float(text or "nan") for text in texts)
            if KINDS[condition.tag] == "responseIf":
                its.band = (low, high)
            else:
                its.wrong.append((label, low, high))
        elif label:
            its.labels[texts[0] if texts else known[response].keys[0]] = label
    return found


def _base_value(setting: etree._Element) -> str:
    """The first text in what an outcome is set to."""
    for element in setting.iter():
        if KINDS[element.tag] == "baseValue":
            return element.text or ""
    return ""


def _label_arranged(its: Scoring, test: str, said: str, label: str) -> None:
    """Whose feedback a rule shows: an entry's that is not in its place, a source's that is not
    rightly paired, or a target's in any of its wrong pairs."""
    source, _, target = said.partition(" ")
    if test == "or":
        its.target_labels[target] = label
    else:
        its.labels[source] = label
