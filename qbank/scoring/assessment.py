"""A test of QTI 2.x or 3.0: its items selected and graded, then its outcome processing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from lxml import etree

from qbank.scoring.calls import Scope
from qbank.scoring.chance import Chance
from qbank.scoring.declarations import KINDS, OUTCOME, Declaration, read_declaration
from qbank.scoring.expressions import build_expression
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.item import ItemSession, ScoredItem
from qbank.scoring.names import children, get, named_children
from qbank.scoring.programs import EMPTY, processing_of
from qbank.scoring.responses import Answer
from qbank.scoring.result import Feedback, Score
from qbank.scoring.rules import fit
from qbank.scoring.selection import Selected, select_items
from qbank.scoring.session import Session
from qbank.scoring.shown import Shown, is_shown
from qbank.scoring.test_data import ItemResult, TestData
from qbank.scoring.values import Value, number_of, plain

Loader = Callable[[str], ScoredItem]


@dataclass(frozen=True, slots=True)
class TestScore:
    """The result of a whole test, and of its items in the order they were met."""

    __test__ = False  # no test case, whatever its name looks like

    score: float | None
    outcomes: dict[str, Any]
    items: dict[str, Score | None]  # None where nothing was submitted
    feedback: tuple[Feedback, ...]
    warnings: tuple[str, ...]


class ScoredTest:
    """One test, its outcome processing ready to run.

    `load` gives the item of an href of the test. Raises ScoringError when the rules cannot be
    run as they stand.
    """

    def __init__(self, root: etree._Element, load: Loader) -> None:
        self.root = root
        self.identifier = root.get("identifier") or ""
        self._load = load
        self._items: dict[str, ScoredItem] = {}
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

    def select(self, seed: int | str = 0) -> list[Selected]:
        """The items one candidate meets, in order; the same for the same seed."""
        return select_items(self.root, Chance(f"{seed}:selection"), [])

    def score(
        self, responses: Mapping[str, Mapping[str, Answer]], seed: int | str = 0
    ) -> TestScore:
        """Grade the items a candidate meets, then the test.

        `responses` holds, by the identifier of an item's reference, the responses submitted for
        it; an item that is not named was not attempted and keeps its defaults.

        Raises ScoringError for responses to an item that this candidate does not meet, and for
        those an item cannot take.
        """
        warnings: list[str] = list(self._processing.program.warnings)
        selected = select_items(self.root, Chance(f"{seed}:selection"), warnings)
        names = [item.identifier for item in selected]
        for name in responses:
            if name not in names:
                raise _not_met(name, names)
        state = Session(self.declared, {n: d.initial for n, d in self.declared.items()},
                        Chance(f"{seed}:test"))  # fmt: skip
        scores: dict[str, Score | None] = {}
        results = []
        for chosen in selected:
            session = self._session(chosen, state, seed)
            given = responses.get(chosen.identifier)
            scores[chosen.identifier] = None if given is None else session.attempt(given)
            results.append(_result(chosen, session, given is not None))
        state.test = TestData(results)
        self._processing.run(state)
        score = state.values.get("SCORE")
        outcomes = {
            n: plain(state.values[n]) for n, d in self.declared.items() if d.kind == OUTCOME
        }
        return TestScore(
            score=float(score.data) if score and score.base in ("float", "integer") else None,
            outcomes=outcomes,
            items=scores,
            feedback=self._feedback(state),
            warnings=tuple(dict.fromkeys((*warnings, *state.warnings))),
        )

    def _session(self, chosen: Selected, state: Session, seed: int | str) -> ItemSession:
        """A new item session, with the template defaults that the reference sets."""
        href = chosen.href
        if href not in self._items:
            self._items[href] = self._load(href)
        item = self._items[href]
        presets: dict[str, Value | None] = {}
        for preset in children(chosen.ref, "templateDefault"):
            name = get(preset, "templateIdentifier") or ""
            parts = [part for _, part in named_children(preset)]
            if len(parts) != 1 or name not in item.declared:
                raise ScoringError(f"a templateDefault for '{name}'{at(preset)} cannot be set")
            expression = build_expression(parts[0], Scope(self.declared, in_test=True))
            presets[name] = fit(expression(state), item.declared[name], state)
        return item.session(f"{seed}:{chosen.identifier}", presets)

    def _feedback(self, state: Session) -> tuple[Feedback, ...]:
        holders = [self.root, *children(self.root, "testPart")]
        teller = Shown(self.declared, state.values)
        return tuple(
            Feedback(get(e, "outcomeIdentifier") or "", e.get("identifier") or "", e, teller)
            for holder in holders
            for e in children(holder, "testFeedback")
            if is_shown(e, "outcomeIdentifier", state.values)
        )


def _result(chosen: Selected, session: ItemSession, attempted: bool) -> ItemResult:
    """An item as the rules of the test see it, under the names the reference maps."""
    item, values = session.item, dict(session.state.values)
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
        session.state.correct,
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
