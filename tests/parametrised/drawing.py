"""Draws of a parametrised item by the scorer, and the same data solved by the family's model.

Nothing of the template's own arithmetic is used on the model's side: only the drawn data, as
they are printed, go over.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import Node
from qbank.family.model import ChooseStatements, ChooseWord, Enter, Family, Fixed, Grid, Listed
from qbank.formats.grammar import parse
from qbank.generation import Generator
from qbank.instances import Floats
from qbank.sampling.kinds import scalar_kind
from qbank.sampling.options import shown_answers
from qbank.scoring.item import ItemSession, ScoredItem
from qbank.scoring.result import Score
from qbank.solving.cases import decide_cases
from qbank.solving.solver import SOLVED

NEAR = 1e-9  # relative: how near the template's arithmetic comes to the model's


@dataclass
class Tally:
    """What was compared, and each disagreement as a sentence."""

    draws: int = 0
    answers: int = 0
    slips: int = 0
    recognised: int = 0
    silent: int = 0  # slips outside the tolerance that no band of their own recognises
    faults: list[str] = field(default_factory=list)

    def note(self, holds: bool, said: str) -> None:
        if not holds and len(self.faults) < 20:
            self.faults.append(said)


class Model:
    """The family's own model on drawn data."""

    def __init__(self, family: Family, generator: Generator) -> None:
        self.family = family
        self.generator = generator
        self._decide = decide_cases(family)
        self._rules = list(family.rules)
        statements = [
            statement.when
            for ask in family.ask
            if isinstance(ask, ChooseStatements)
            for statement in ask.statements
        ]
        self._statements = statements
        expected = [u.expect for u in family.find.values() if u.expect is not None]
        self._expected = expected
        nodes: list[Node] = [
            *(rule.need for rule in self._rules),
            *expected,
            *(confirmation.that for confirmation in family.confirm),
            *statements,
        ]
        self._program = compile_nodes(nodes) if nodes else None

    def solve(self, sessions: Sequence[ItemSession], tally: Tally) -> Solved:
        n = len(sessions)
        values: dict[str, Floats] = {}
        for name, given in self.family.given.items():
            kind = scalar_kind(given)
            assert kind is not None
            source = given.source
            if isinstance(source, Fixed):
                values[name] = kind.values(np.zeros(n, dtype=np.int64))
            elif isinstance(source, Grid):
                drawn = np.array([s.templates[f"DATA_{name}"] for s in sessions], dtype=float)
                mantissas = np.rint(drawn * 10.0**-source.exponent).astype(np.int64)
                at, rest = np.divmod(mantissas - source.first, source.step)
                on_grid = (rest == 0) & (at >= 0) & (at < source.count)
                shown = mantissas * 10.0**source.exponent
                if source.exponent < 0:
                    shown = mantissas / 10.0**-source.exponent
                tally.note(bool(on_grid.all()), f"{name} is drawn off its grid")
                tally.note(bool((drawn == shown).all()), f"{name} is not the decimal it prints")
                values[name] = kind.values(at)
            else:
                assert isinstance(source, Listed)
                at = np.array([s.templates[f"PLACE_{name}"] for s in sessions]) - 1
                values[name] = kind.values(at)
        values = self.generator.solver.lets(values, n)
        case, holding = self._decide(values, n)
        solved = self.generator.solver.solve(values, case, n)
        tally.note(bool((holding == 1).all()), "a draw has no case or several")
        tally.note(bool((solved.status == SOLVED).all()), "a draw has no single solution")
        values |= solved.values
        wrong = self.generator.slips.solve(values, case, n)
        env = dict(values)
        for name in {name for c in self.family.cases for name in c.constants}:
            table = np.array([c.constants.get(name, np.nan) for c in self.family.cases])
            env[name] = table[case]
        held = [] if self._program is None else self._program(env, n)
        self._check_rules(held, case, tally)
        statements = held[len(held) - len(self._statements) :] if self._statements else []
        return Solved(values, case, wrong, [np.asarray(mask, dtype=bool) for mask in statements])

    def _check_rules(self, held: list[Floats], case: np.ndarray, tally: Tally) -> None:
        at = 0
        names = [c.name for c in self.family.cases]
        for rule in self._rules:
            applies = np.isin(case, [names.index(n) for n in rule.only]) if rule.only else True
            broken = ~held[at].astype(bool) & applies
            tally.note(not broken.any(), f"{int(broken.sum())} draws break: {rule.text}")
            at += 1
        for expected in self._expected:
            tally.note(bool(held[at].all()), f"not the expected sign: {expected}")
            at += 1
        for confirmation in self.family.confirm:
            only = confirmation.only
            applies = np.isin(case, [names.index(n) for n in only]) if only else True
            broken = ~held[at].astype(bool) & applies
            tally.note(not broken.any(), f"not confirmed: {confirmation.text}")
            at += 1


@dataclass
class Solved:
    """The model's side of some draws."""

    values: dict[str, Floats]
    case: np.ndarray
    wrong: dict[str, dict[str, Floats]]
    statements: list[np.ndarray]


def draws(data: bytes, count: int, first: int = 0) -> Iterator[ItemSession]:
    """Sessions of an item, one for each seed; those that met the constraints."""
    item = ScoredItem(parse(data, "item"))
    assert not item.warnings, item.warnings
    for seed in range(first, first + count):
        session = item.session(f"draw {seed}")
        assert not session.state.warnings, session.state.warnings
        yield session


def compare(
    family: Family,
    generator: Generator,
    sessions: Sequence[ItemSession],
    *,
    scored: int | None = None,
) -> Tally:
    """Hold draws against the model; the first `scored` of them are graded as well."""
    tally = Tally(draws=len(sessions))
    solved = Model(family, generator).solve(sessions, tally)
    for row, session in enumerate(sessions):
        _compare_answers(family, solved, session, row, tally)
        if scored is None or row < scored:
            _grade(family, solved, session, row, tally)
    return tally


def _compare_answers(
    family: Family, solved: Solved, session: ItemSession, row: int, tally: Tally
) -> None:
    held = session.templates
    if len(family.cases) > 1:
        tally.note(held["CASE"] == f"K{solved.case[row] + 1}", "the case differs")
    for name, unknown in family.find.items():
        exact = float(unknown.unit.from_si(solved.values[name][row : row + 1])[0])
        key = held[f"KEY_{name}"]
        if f"LOW_{name}" in held:
            low, high = held[f"LOW_{name}"], held[f"HIGH_{name}"]
            tally.answers += 1
            tally.note(
                low <= exact <= high and low <= key <= high,
                f"{name}: {key} for {exact} in {low} .. {high}",
            )
            tally.note(
                math.isclose(held[f"EXACT_{name}"], exact, rel_tol=NEAR, abs_tol=1e-12),
                f"{name}: {held[f'EXACT_{name}']!r} for {exact!r}",
            )


class Fresh:
    """A session that forgets each attempt before the next."""

    def __init__(self, session: ItemSession) -> None:
        self.session = session
        self._values = dict(session.state.values)

    def attempt(self, responses: dict[str, object]) -> Score:
        self.session.state.values.clear()
        self.session.state.values.update(self._values)
        return self.session.attempt(responses)


def _grade(family: Family, solved: Solved, session: ItemSession, row: int, tally: Tally) -> None:
    """The key scores all, an empty answer and each slip nothing; the slip's feedback shows."""
    keys = {name: session.key(name) for name in session.item.responses if name != "HINTREQUEST"}
    entered = {n: _typed(k) for n, k in keys.items() if k is not None}
    fresh = Fresh(session)  # an adaptive item keeps its outcomes between attempts
    best = fresh.attempt(entered)
    tally.note(best.score == best.maximum, f"the key scores {best.score} of {best.maximum}")
    empty = fresh.attempt({})
    none_right = sum(
        ask.points
        for number, ask in enumerate(family.ask, 1)
        if isinstance(ask, ChooseStatements) and keys[f"RESPONSE_R{number}"] is None
    )
    tally.note(empty.score == none_right, f"an empty answer scores {empty.score}")
    statement = 0
    for number, ask in enumerate(family.ask, 1):
        part = f"R{number}"
        if isinstance(ask, ChooseStatements):
            expected = []
            for k in range(1, len(ask.statements) + 1):
                if solved.statements[statement][row]:
                    expected.append(f"C{k}")
                statement += 1
            found = keys[f"RESPONSE_{part}"] or []
            tally.note(sorted(found) == expected, f"statements {found}, not {expected}")
        elif isinstance(ask, ChooseWord):
            said = family.cases[solved.case[row]].words[ask.word]
            words = list(dict.fromkeys(case.words[ask.word] for case in family.cases))
            key = keys[f"RESPONSE_{part}"]
            tally.note(key == f"C{words.index(said) + 1}", f"word {key} for {said}")
        elif isinstance(ask, Enter):
            _grade_slips(family, solved, fresh, row, ask, part, tally)


def _grade_slips(
    family: Family,
    solved: Solved,
    fresh: Fresh,
    row: int,
    ask: Enter,
    part: str,
    tally: Tally,
) -> None:
    held = fresh.session.templates
    unknown = family.find[ask.quantity]
    low, high = held[f"LOW_{ask.quantity}"], held[f"HIGH_{ask.quantity}"]
    for slip, answers in solved.wrong.items():
        if ask.quantity not in answers:
            continue
        shown = float(shown_answers(unknown, answers[ask.quantity][row : row + 1])[0])
        if not math.isfinite(shown) or low <= shown <= high or abs(shown) <= NEAR * abs(low):
            continue
        tally.slips += 1
        got = fresh.attempt({f"RESPONSE_{part}": repr(shown)})
        points = got.outcomes[f"SCORE_{part}"]
        tally.note(points == 0, f"{slip} scores {points} for {ask.quantity}")
        label = got.outcomes.get(f"FEEDBACK_{part}")
        shown_feedback = {f.identifier for f in got.feedback if f.outcome == f"FEEDBACK_{part}"}
        if label is None:
            tally.silent += 1
            tally.note(False, f"{slip} of {ask.quantity} at {shown} gets no feedback")
            continue
        tally.note(shown_feedback == {label}, f"feedback {shown_feedback} for {label}")
        own = _label(slip)
        if label == own:
            tally.recognised += 1
        else:  # an earlier slip leads to (nearly) the same value
            earlier = _slip_of(label, family)
            other = solved.wrong[earlier][ask.quantity][row : row + 1]
            apart = abs(float(shown_answers(unknown, other)[0]) - shown)
            order = list(family.slips)
            tally.note(
                order.index(earlier) < order.index(slip)
                and apart <= high - low + abs(shown) * 0.03,
                f"{slip} of {ask.quantity} gets the feedback of {earlier}",
            )


def _label(slip: str) -> str:
    from qbank.formats.xmltext import name_part

    return "SLIP_" + name_part(slip)


def _slip_of(label: str, family: Family) -> str:
    return next(slip for slip in family.slips if _label(slip) == label)


def _typed(key: object) -> object:
    """A key as a candidate enters it."""
    return repr(key) if isinstance(key, float) else key
