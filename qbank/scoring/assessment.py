"""A test of QTI 2.x or 3.0: its items selected and graded, then its outcome processing."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Protocol

from lxml import etree

from qbank.scoring.calls import Scope
from qbank.scoring.chance import Chance
from qbank.scoring.declarations import KINDS, OUTCOME, Declaration, read_declaration
from qbank.scoring.expressions import build_expression
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.item import ItemSession, ScoredItem
from qbank.scoring.names import children, get, named_children
from qbank.scoring.plan import Node, Planner, left_to_delivery
from qbank.scoring.programs import EMPTY, processing_of
from qbank.scoring.responses import Answer
from qbank.scoring.result import Feedback, Score
from qbank.scoring.route import Steps, follow, is_linear
from qbank.scoring.rules import fit
from qbank.scoring.selection import Selected, select_items
from qbank.scoring.session import Expression, Session
from qbank.scoring.shown import Shown, is_shown
from qbank.scoring.test_data import ItemResult, TestData
from qbank.scoring.values import Value, number_of, plain


class Library(Protocol):
    """Where a test finds what it refers to, by hrefs seen from the test's file."""

    def opened(self) -> AbstractContextManager[object]:
        """Held open while several are asked for."""

    def item(self, href: str) -> ScoredItem:
        """The item. Raises QbankError when there is none."""

    def section(self, href: str) -> etree._Element:
        """The root of a section's file. Raises QbankError when there is none."""


@dataclass(frozen=True, slots=True)
class TestScore:
    """The result of a whole test, and of its items in the order they were met.

    `delivery` tells what the test asks of its delivery, such as time limits, how often an item
    may be attempted, and shared texts of the items met: none of it moves a score here.
    """

    __test__ = False  # no test case, whatever its name looks like

    score: float | None
    outcomes: dict[str, Any]
    items: dict[str, Score | None]  # None where nothing was submitted
    feedback: tuple[Feedback, ...]
    warnings: tuple[str, ...]
    delivery: tuple[str, ...] = ()


class ScoredTest:
    """One test, its outcome processing ready to run.

    Raises ScoringError when the rules cannot be run as they stand, and for sections of other
    files that cannot be had.
    """

    def __init__(self, root: etree._Element, library: Library) -> None:
        self.root = root
        self.identifier = root.get("identifier") or ""
        self._library = library
        self._items: dict[str, ScoredItem] = {}
        self._expressions: dict[etree._Element, Expression] = {}
        self.declared: dict[str, Declaration] = {}
        self._processing = EMPTY
        rules = None
        for name, element in named_children(root):
            if name in KINDS:
                declared = read_declaration(KINDS[name], element)
                self.declared[declared.name] = declared
            elif name == "outcomeProcessing":
                rules = element
        if rules is not None:
            self._processing = processing_of(rules, self.declared, in_test=True)
        warnings = list(self._processing.program.warnings)
        with library.opened():
            self._parts = Planner(library.section, warnings).parts(root)
        self.delivery = left_to_delivery(root, self._parts)
        self._scope = Scope(self.declared, in_test=True, warnings=warnings)

    def select(self, seed: int | str = 0) -> list[Selected]:
        """The items selected for one candidate, in order; the same for the same seed.

        Which of them are passed over by pre-conditions and branches depends on the responses:
        `score` tells.
        """
        rows = select_items(self._parts, Chance(f"{seed}:selection"), [])
        return [item for row in rows for item in row]

    def score(
        self, responses: Mapping[str, Mapping[str, Answer]], seed: int | str = 0
    ) -> TestScore:
        """Grade the items a candidate meets, then the test.

        `responses` holds, by the identifier of an item's reference, the responses submitted for
        it; an item that is not named was not attempted and keeps its defaults.

        Raises ScoringError for responses to an item that this candidate does not meet, and for
        those an item cannot take.
        """
        warnings: list[str] = []
        rows = select_items(self._parts, Chance(f"{seed}:selection"), warnings)
        names = {item.identifier: None for row in rows for item in row}
        for name in responses:
            if name not in names:
                raise _not_met(name, list(names))
        with self._library.opened():
            sitting = _Sitting(self, rows, responses, seed)
            follow(self._parts, rows, sitting.steps())
        for name in responses:
            if name not in sitting.scores:
                raise _not_met(name, list(sitting.scores))
        state = sitting.state
        sitting.process()
        score = state.values.get("SCORE")
        outcomes = {
            n: plain(state.values[n]) for n, d in self.declared.items() if d.kind == OUTCOME
        }
        return TestScore(
            score=float(score.data) if score and score.base in ("float", "integer") else None,
            outcomes=outcomes,
            items=sitting.scores,
            feedback=self._feedback(state),
            warnings=tuple(dict.fromkeys((*self._scope.warnings, *warnings, *state.warnings))),
            delivery=self.delivery + sitting.stimuli(),
        )

    def item(self, chosen: Selected) -> ScoredItem:
        """The item a reference names."""
        href = chosen.href
        if href not in self._items:
            self._items[href] = self._library.item(href)
        return self._items[href]

    def expression(self, holder: etree._Element) -> Expression:
        """The one expression in a condition, branch or preset. Raises ScoringError for others."""
        found = self._expressions.get(holder)
        if found is None:
            parts = [part for _, part in named_children(holder)]
            if len(parts) != 1:
                name = etree.QName(holder).localname
                raise ScoringError(f"'{name}'{at(holder)} holds {len(parts)} expressions, not one")
            found = self._expressions[holder] = build_expression(parts[0], self._scope)
        return found

    def run(self, state: Session) -> None:
        """Outcome processing: the outcomes start again at their defaults each time [M]."""
        for name, declared in self.declared.items():
            if declared.kind == OUTCOME:
                state.values[name] = declared.initial
        state.spend(self._processing.program.count)
        self._processing.run(state)

    def _feedback(self, state: Session) -> tuple[Feedback, ...]:
        holders = [self.root, *children(self.root, "testPart")]
        teller = Shown(self.declared, state.values)
        return tuple(
            Feedback(get(e, "outcomeIdentifier") or "", e.get("identifier") or "", e, teller)
            for holder in holders
            for e in children(holder, "testFeedback")
            if is_shown(e, "outcomeIdentifier", state.values)
        )


class _Sitting:
    """One candidate's responses put to the items of a test in turn.

    Where a part is submitted at once, its items are graded at its end and conditions within it
    see them untouched [M]; else outcome processing has seen each item when a rule is evaluated.
    """

    def __init__(
        self,
        test: ScoredTest,
        rows: list[list[Selected]],
        responses: Mapping[str, Mapping[str, Answer]],
        seed: int | str,
    ) -> None:
        self._test = test
        self._responses = responses
        self._seed = seed
        initial = {name: declared.initial for name, declared in test.declared.items()}
        self.state = Session(test.declared, initial, Chance(f"{seed}:test"))
        self.data = TestData(self._untouched(item) for row in rows for item in row)
        self.state.test = self.data
        self.scores: dict[str, Score | None] = {}
        self._stale = True  # outcome processing has not seen the last change
        self._sessions: dict[str, ItemSession] = {}
        self._held: list[Selected] | None = None  # met, and graded at the end of the part

    def steps(self) -> Steps:
        return Steps(self._begin, self._show, self._skip, self._end, self._holds, self.state.warn)

    def process(self) -> None:
        """Outcome processing, where something changed since the last."""
        if self._stale:
            self._stale = False
            self._test.run(self.state)

    def stimuli(self) -> tuple[str, ...]:
        """The shared texts of the items met."""
        return tuple(
            f"assessmentStimulusRef of item '{name}': href={href[:200]}"
            for name, session in self._sessions.items()
            if name in self.scores
            for href in session.item.stimuli
        )

    def _untouched(self, chosen: Selected) -> ItemResult:
        item = self._test.item(chosen)
        values = {name: declared.initial for name, declared in item.declared.items()}
        return _result(chosen, item, values, {}, attempted=False)

    def _begin(self, part: Node, row: list[Selected]) -> None:
        """Sessions of a part that is not linear begin together, those of others one by one."""
        self._held = [] if get(part.element, "submissionMode") == "simultaneous" else None
        if not is_linear(part):
            for chosen in row:
                self._start(chosen)

    def _start(self, chosen: Selected) -> ItemSession:
        item = self._test.item(chosen)
        presets: dict[str, Value | None] = {}
        for preset in children(chosen.ref, "templateDefault"):
            name = get(preset, "templateIdentifier") or ""
            if name not in item.declared:
                raise ScoringError(f"a templateDefault for '{name}'{at(preset)} cannot be set")
            self.process()
            value = self._test.expression(preset)(self.state)
            presets[name] = fit(value, item.declared[name], self.state)
        session = item.session(f"{self._seed}:{chosen.identifier}", presets)
        self._sessions[chosen.identifier] = session
        return session

    def _show(self, chosen: Selected) -> None:
        if chosen.identifier not in self._sessions:
            self._start(chosen)
        self.scores[chosen.identifier] = None  # its place in the order
        if self._held is None:
            self._grade(chosen)
        else:
            self._held.append(chosen)

    def _grade(self, chosen: Selected) -> None:
        session = self._sessions[chosen.identifier]
        given = self._responses.get(chosen.identifier)
        self.scores[chosen.identifier] = None if given is None else session.attempt(given)
        state = session.state
        self.data.put(
            _result(chosen, session.item, dict(state.values), state.correct, given is not None)
        )
        self._stale = True

    def _skip(self, chosen: Selected) -> None:
        self.data.pass_over(chosen.identifier)
        self._stale = True

    def _end(self, _part: Node) -> None:
        for chosen in self._held or ():
            self._grade(chosen)
        self._held = None

    def _holds(self, holder: etree._Element) -> bool:
        self.process()
        value = self._test.expression(holder)(self.state)
        return value is not None and value.data is True


def _result(
    chosen: Selected,
    item: ScoredItem,
    values: dict[str, Value | None],
    correct: Mapping[str, Value | None],
    attempted: bool,
) -> ItemResult:
    """An item as the rules of the test see it, under the names the reference maps."""
    declared = dict(item.declared)
    for mapped in children(chosen.ref, "variableMapping"):
        source, target = (
            get(mapped, "sourceIdentifier") or "",
            get(mapped, "targetIdentifier") or "",
        )
        if source in values:
            values[target] = values.pop(source)
        if source in declared:
            declared[target] = declared.pop(source)
    return ItemResult(
        chosen.identifier,
        chosen.sections,
        chosen.categories,
        _weights(chosen.ref),
        declared,
        values,
        correct,
        attempted,
    )


def _weights(ref: etree._Element) -> dict[str, float]:
    found = {}
    for weight in children(ref, "weight"):
        text = (get(weight, "value") or "").strip()
        try:
            found[weight.get("identifier") or ""] = number_of(text)
        except ValueError as fault:
            raise ScoringError(f'value="{text[:60]}" of a weight{at(weight)}: {fault}') from fault
    return found


def _not_met(name: str, names: list[str]) -> ScoringError:
    near = get_close_matches(name, names, n=1, cutoff=0.5)
    meant = f"did you mean '{near[0]}'? " if near else ""
    listed = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
    return ScoringError(
        f"this candidate does not meet an item '{name}'", hint=f"{meant}The items met: {listed}."
    )
