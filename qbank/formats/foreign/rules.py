"""What response processing of QTI 2.x and 3.0 gives for each response, read from its rules.

Each branch of the rules is reduced to the responses it asks for, what it accepts of each, and
what it sets. Rules that say it otherwise than with comparisons, `and`, `or`, `not` and constants
are not understood here: the outcome they set is opaque, and `probing` finds out by trying.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from lxml import etree

from qbank.formats.foreign.regions import (
    MIRRORED,
    NOTHING,
    Region,
    compared,
    near,
    rounding_alike,
)
from qbank.scoring.declarations import Declaration
from qbank.scoring.names import get, name_of_tag, named_children
from qbank.scoring.values import number_of

MAX_NESTING = 60
MAX_BRANCHES = 2_000


@dataclass(frozen=True, slots=True)
class Picks:
    """A response other than a number must be one of these: each a tuple of values."""

    of: tuple[tuple[str, ...], ...]


Test = Region | Picks
Tests = dict[str, Test]


@dataclass(slots=True)
class Branch:
    """A way through the rules: what it asks of each response, and what it does then."""

    tests: Tests
    sets: dict[str, float] = field(default_factory=dict)
    adds: dict[str, float] = field(default_factory=dict)
    labels: dict[str, str] = field(default_factory=dict)  # outcome -> feedback identifier
    echoes: dict[str, str] = field(default_factory=dict)  # outcome -> response it repeats

    def amount(self, counting: Iterable[str]) -> float | None:
        """What it gives of the outcomes that count; None where it touches none."""
        found = [by[o] for by in (self.sets, self.adds) for o in counting if o in by]
        return sum(found) if found else None


class Rules:
    """The rules of one item.

    declared   the item's variables; `constants` are the numbers of those that no rule sets
    """

    def __init__(
        self,
        processing: etree._Element | None,
        declared: Mapping[str, Declaration],
        keys: Mapping[str, tuple[str, ...]],
        constants: Mapping[str, float],
    ) -> None:
        self._declared = declared
        self._keys = keys
        self._constants = constants
        self.branches: list[Branch] = []
        self.mapped: dict[str, list[str]] = {}  # outcome -> responses mapped into it
        self.totals: dict[str, set[str]] = {}  # outcome -> outcomes added up in it
        # response -> constants it is held against, each with what is accepted
        self.centres: dict[str, list[tuple[float, Region]]] = {}
        # response -> option -> outcome and identifier of the feedback shown when it is among those
        # chosen, or missing
        self.members: dict[str, dict[str, tuple[str, str]]] = {}
        self.stated: dict[str, str] = {}  # response -> its tolerance as a rule writes it
        self.opaque: set[str] = set()  # outcomes set in a way not understood
        if processing is not None:
            start = Branch({})
            self._run(processing, start, 0)
            if start.sets or start.adds or start.labels or start.echoes:
                self.branches.append(start)
        self.counting = self._counting("SCORE", set())

    @property
    def understood(self) -> bool:
        """Whether all that counts was understood."""
        return not (self.opaque & self.counting)

    def _counting(self, outcome: str, found: set[str]) -> set[str]:
        """The outcomes whose sum is the score."""
        if outcome not in found:
            found.add(outcome)
            for part in self.totals.get(outcome, ()):
                self._counting(part, found)
        return found

    # ------------------------------------------------------------------ rules

    def _run(self, rules: etree._Element, branch: Branch, depth: int) -> None:
        for name, rule in named_children(rules):
            if name == "setOutcomeValue":
                self._set(rule, branch)
            elif name == "responseCondition":
                self._condition(rule, branch, depth)
            elif name == "responseProcessingFragment" and depth < MAX_NESTING:
                self._run(rule, branch, depth + 1)
            elif name in ("lookupOutcomeValue", "setValue"):
                self.opaque.add(rule.get("identifier") or "SCORE")
            else:
                self.opaque.add("SCORE")

    def _condition(self, condition: etree._Element, outer: Branch, depth: int) -> None:
        before: dict[str, Region] = {}  # what earlier tests of the chain took of a response
        clear = True  # whether those tests were understood
        for name, part in named_children(condition):
            inner = [child for _, child in named_children(part)]
            tests: Tests | None = {}
            head: etree._Element | None = None
            if name != "responseElse":
                head = inner[0] if inner else None
                tests = None if head is None else self._test(head, 0)
                inner = inner[1:]
            branch = Branch(dict(outer.tests))
            usable = tests is not None and clear and len(self.branches) < MAX_BRANCHES
            if tests is not None and usable:
                for response, taken in before.items():
                    if name == "responseElse" or response in tests:
                        _narrow(branch.tests, response, ~taken)
                for response, test in tests.items():
                    _narrow(branch.tests, response, test)
            if depth < MAX_NESTING:
                self._branch(inner, branch, depth)
            if tests is None and head is not None and branch.labels:
                self._member(head, branch)
            if usable:
                self.branches.append(branch)
            elif any(branch.sets.values()) or any(branch.adds.values()):
                self.opaque.update(branch.sets, branch.adds)
            if tests is None or (len(tests) != 1 and name != "responseElse"):
                # A joint test that fails says nothing of one response alone.
                clear = clear and tests is not None
            else:
                for response, test in tests.items():
                    if isinstance(test, Region):
                        before[response] = before.get(response, NOTHING) | test

    def _member(self, test: etree._Element, branch: Branch) -> None:
        """Take down the feedback for an option of several."""
        variable = next((e for e in test.iter(etree.Element)
                         if name_of_tag(str(e.tag)) == "variable"), None)  # fmt: skip
        base = next((e for e in test.iter(etree.Element)
                     if name_of_tag(str(e.tag)) == "baseValue"), None)  # fmt: skip
        if variable is not None and base is not None:
            about = self.members.setdefault(variable.get("identifier") or "", {})
            about.setdefault((base.text or "").strip(), next(iter(branch.labels.items())))

    def _branch(self, rules: list[etree._Element], branch: Branch, depth: int) -> None:
        for rule in rules:
            name = name_of_tag(rule.tag)
            if name == "setOutcomeValue":
                self._set(rule, branch)
            elif name == "responseCondition":
                self._condition(rule, branch, depth + 1)
            elif name == "responseProcessingFragment":
                self._run(rule, branch, depth + 1)
            else:
                self.opaque.add(rule.get("identifier") or "SCORE")

    def _set(self, rule: etree._Element, branch: Branch) -> None:
        outcome = rule.get("identifier") or ""
        operand = next((child for _, child in named_children(rule)), None)
        if operand is None:
            self.opaque.add(outcome)
            return
        name = name_of_tag(operand.tag)
        declared = self._declared.get(outcome)
        if declared is not None and declared.base == "identifier":
            self._label(outcome, name, operand, branch)
            return
        value = self._number(operand)
        if value is not None:
            branch.sets[outcome] = value
            branch.adds.pop(outcome, None)
            return
        if name == "mapResponse":
            self.mapped.setdefault(outcome, []).append(operand.get("identifier") or "")
            return
        if name in ("sum", "subtract") and self._total(outcome, name, operand, branch):
            return
        self.opaque.add(outcome)

    def _label(self, outcome: str, name: str, operand: etree._Element, branch: Branch) -> None:
        if name in ("multiple", "ordered"):
            inner = [c for n, c in named_children(operand) if n == "baseValue"]
            if inner:
                branch.labels[outcome] = (inner[-1].text or "").strip()
        elif name == "baseValue":
            branch.labels[outcome] = (operand.text or "").strip()
        elif name == "variable":
            branch.echoes[outcome] = operand.get("identifier") or ""

    def _total(self, outcome: str, name: str, operand: etree._Element, branch: Branch) -> bool:
        """A sum of outcomes, mapped responses and constants, or a step up or down."""
        step = 0.0
        itself = False
        parts: set[str] = set()
        mapped: list[str] = []
        for n, (kind, child) in enumerate(named_children(operand)):
            value = self._number(child)
            identifier = child.get("identifier") or ""
            if value is not None:
                step += -value if name == "subtract" and n else value
            elif kind == "variable" and identifier == outcome and not (name == "subtract" and n):
                itself = True
            elif name == "subtract":
                return False
            elif kind == "variable" and self._is_outcome(identifier):
                parts.add(identifier)
            elif kind == "mapResponse":
                mapped.append(identifier)
            else:
                return False
        if parts or mapped:
            if step or (branch.tests and parts):
                return False
            self.totals.setdefault(outcome, set()).update(parts)
            self.mapped.setdefault(outcome, []).extend(mapped)
            return True
        if not itself:
            return False
        branch.adds[outcome] = branch.adds.get(outcome, 0.0) + step
        return True

    def _is_outcome(self, name: str) -> bool:
        declared = self._declared.get(name)
        return declared is not None and declared.kind == "outcome"

    # ------------------------------------------------------------------ tests

    def _test(self, test: etree._Element, depth: int) -> Tests | None:
        """What a boolean expression asks of responses; None where it is not understood."""
        if depth > MAX_NESTING:
            return None
        name = name_of_tag(test.tag)
        inner = [child for _, child in named_children(test)]
        if name == "and":
            every: Tests = {}
            for child in inner:
                tests = self._test(child, depth + 1)
                if tests is None:
                    return None
                for response, asked in tests.items():
                    _narrow(every, response, asked)
            return every
        if name == "or":
            return self._either(inner, depth)
        if name == "not" and len(inner) == 1:
            return self._denied(inner[0], depth)
        if name == "isNull" and len(inner) == 1:
            asked_for = self._response(inner[0])
            return {asked_for: NOTHING} if asked_for else None
        return self._comparison(name, test, inner)

    def _either(self, inner: list[etree._Element], depth: int) -> Tests | None:
        found: Tests = {}
        for child in inner:
            tests = self._test(child, depth + 1)
            if tests is None or len(tests) != 1:
                return None
            ((response, asked),) = tests.items()
            if found and response not in found:
                return None
            known = found.get(response)
            if known is None or known == NOTHING:
                found[response] = asked
            elif isinstance(known, Region) and isinstance(asked, Region):
                found[response] = known | asked
            elif asked == NOTHING:
                continue
            elif isinstance(known, Picks) and isinstance(asked, Picks):
                found[response] = Picks((*known.of, *asked.of))
            else:
                return None
        return found or None

    def _denied(self, inner: etree._Element, depth: int) -> Tests | None:
        if name_of_tag(inner.tag) == "isNull":
            return {}
        tests = self._test(inner, depth + 1)
        if tests is None or len(tests) != 1:
            return None
        ((response, asked),) = tests.items()
        return {response: ~asked} if isinstance(asked, Region) else None

    def _comparison(
        self, name: str, test: etree._Element, inner: list[etree._Element]
    ) -> Tests | None:
        if len(inner) != 2:
            return None
        responses = [self._response(child) for child in inner]
        first = responses[0] is not None
        response = responses[0] or responses[1]
        if response is None or (responses[0] and responses[1]):
            return None
        other = inner[1] if first else inner[0]
        declared = self._declared[response]
        if declared.base not in ("float", "integer", "duration"):
            picks = self._picks(name, test, other)
            return None if picks is None else {response: picks}
        value = self._number(other)
        if value is None or declared.cardinality != "single":
            return None
        region = self._region(name, test, value, first)
        if region is not None and name not in MIRRORED:
            self.centres.setdefault(response, []).append((value, region))
            words = (get(test, "tolerance") or "").split()
            if name == "equal" and len(set(words)) == 1:
                sign = {"relative": " %", "absolute": ""}.get(get(test, "toleranceMode") or "")
                if sign is not None:
                    self.stated.setdefault(response, words[0] + sign)
        return None if region is None else {response: region}

    def _region(self, name: str, test: etree._Element, value: float, first: bool) -> Region | None:
        if name in MIRRORED:
            return compared(name if first else MIRRORED[name], value)
        if name == "match":
            return compared("match", value)
        if name == "equalRounded":
            try:
                figures = int(float(self._worth(get(test, "figures") or "")))
            except (ValueError, OverflowError):
                return None
            return rounding_alike(value, get(test, "roundingMode") or "significantFigures", figures)
        if name != "equal":
            return None
        mode = get(test, "toleranceMode") or "exact"
        words = (get(test, "tolerance") or "").split()
        if mode == "exact":
            return compared("match", value)
        if not 1 <= len(words) <= 2:
            return None
        try:
            sides = (self._worth(words[0]), self._worth(words[-1]))
        except ValueError:
            return None
        return near(
            value,
            mode,
            sides,
            low_in=(get(test, "includeLowerBound") or "true") == "true",
            high_in=(get(test, "includeUpperBound") or "true") == "true",
            key_first=not first,
        )

    def _worth(self, word: str) -> float:
        """A number of an attribute, or that of the variable it names."""
        return self._constants[word] if word in self._constants else number_of(word)

    def _picks(self, name: str, test: etree._Element, other: etree._Element) -> Picks | None:
        """The values a response of another kind must have."""
        if name not in ("match", "stringMatch"):
            return None
        if name == "stringMatch" and get(test, "substring") == "true":
            return None
        kind = name_of_tag(other.tag)
        if kind == "correct" and other.get("identifier") in self._keys:
            return Picks((self._keys[other.get("identifier") or ""],))
        if kind == "baseValue":
            return Picks((((other.text or "").strip(),),))
        if kind in ("multiple", "ordered"):
            inner = list(named_children(other))
            if all(n == "baseValue" for n, _ in inner):
                return Picks((tuple((c.text or "").strip() for _, c in inner),))
        return None

    def _response(self, element: etree._Element) -> str | None:
        if name_of_tag(element.tag) != "variable":
            return None
        declared = self._declared.get(element.get("identifier") or "")
        return declared.name if declared is not None and declared.kind == "response" else None

    def _number(self, element: etree._Element, depth: int = 0) -> float | None:
        """The number an expression of constants comes to."""
        name = name_of_tag(element.tag)
        if name == "baseValue":
            try:
                return number_of((element.text or "").strip())
            except ValueError:
                return None
        identifier = element.get("identifier") or ""
        if name == "variable":
            return self._constants.get(identifier)
        if name == "correct":
            key = self._keys.get(identifier, ())
            try:
                return number_of(key[0]) if len(key) == 1 else None
            except ValueError:
                return None
        if name in ("sum", "product", "subtract", "divide") and depth < MAX_NESTING:
            values = [self._number(child, depth + 1) for _, child in named_children(element)]
            known = [value for value in values if value is not None]
            return _computed(name, known) if known and len(known) == len(values) else None
        return None


def _narrow(tests: Tests, response: str, asked: Test) -> None:
    """Ask more of a response."""
    known = tests.get(response)
    if isinstance(known, Region) and isinstance(asked, Region):
        tests[response] = known & asked
    elif known is None:
        tests[response] = asked
    elif isinstance(known, Picks) and isinstance(asked, Picks):
        tests[response] = Picks(tuple(value for value in known.of if value in asked.of))
    elif asked == NOTHING:
        tests[response] = NOTHING


def _computed(name: str, values: list[float]) -> float | None:
    result = values[0]
    for value in values[1:]:
        if name == "sum":
            result += value
        elif name == "product":
            result *= value
        elif name == "subtract":
            result -= value
        elif value:
            result /= value
        else:
            return None
    return result
