"""What turns candidates into instances: rules on data, the case, the solution, its rules.

Cheap rulings come first, and what they turn away is not carried on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from qbank.checking.coincidence import Meeting, all_apart, usual_meetings
from qbank.checking.window import Window, Windows, Wrong
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.formulas import typeset
from qbank.expressions.symbols import Symbol
from qbank.expressions.tree import Node, names_in
from qbank.family.model import Family, Rule, Sampled
from qbank.instances import Floats, Integers
from qbank.sampling.drawn import Drawn
from qbank.sampling.options import enough, wanted
from qbank.sampling.points import Candidates
from qbank.sampling.tally import Ruling, Tally
from qbank.solving.cases import decide_cases
from qbank.solving.slips import SlipSolver
from qbank.solving.solver import NO_ROOT, NOT_FINITE, SEVERAL_ROOTS, SOLVED, Solver

Mask = NDArray[np.bool_]


class Judge:
    """The rulings of one family, compiled once.

    `rulings` lists them in the order they are applied; the tallies count in that order.
    """

    def __init__(self, family: Family, solver: Solver, slips: SlipSolver, windows: Windows) -> None:
        self.family = family
        self._windows = windows
        self._solver = solver
        self._slips = slips
        self._decide = decide_cases(family)
        self._wanted = wanted(family)
        self._rulings: list[Ruling] = []
        early, later, in_case, solved = _grouped(family)
        self._early = self._rules(early)
        self._drawable = self._implied(
            "the data lists can be drawn", "a spread is positive and everything is finite"
        )
        self._later = self._rules(later)
        self._some_case = self._implied("a case holds", "which way it goes is decided by the data")
        self._one_case = self._implied("only one case holds", "cases exclude each other")
        self._in_case = self._rules(in_case)
        self._has_root = self._implied("the laws have a solution", "every answer is a real number")
        self._one_root = self._implied("the laws have one solution", "a key is unique")
        self._finite = self._implied("the solution is finite", "a key is a number")
        self._expected = self._expectations()
        self._solved = self._rules(solved)
        self._fair = {
            name: self._implied(
                f"a fair tolerance for {name}", "honest rounding lies inside it, every slip outside"
            )
            for name in windows.asked
        }
        self._differing: int | None = None
        self._usual: frozenset[Meeting] = frozenset()
        if family.reject_coinciding:
            self._differing = self._implied(
                "slips that come to different answers", "`coinciding: reject` asks for it"
            )
        self._options = {
            name: self._implied(
                f"{count} distractors for {name}", "options differ by more than the tolerance"
            )
            for name, count in self._wanted.items()
        }
        self.rulings = tuple(self._rulings)

    def _add(self, ruling: Ruling) -> int:
        self._rulings.append(ruling)
        return len(self._rulings) - 1

    def _implied(self, need: str, because: str) -> int:
        return self._add(Ruling(need, because, self.family.place, author=False))

    def _rules(self, rules: Sequence[Rule]) -> _Conditions:
        indices = [self._add(Ruling(r.text, r.because, r.place, author=True)) for r in rules]
        return _Conditions(self.family, indices, [r.need for r in rules], [r.only for r in rules])

    def _expectations(self) -> _Conditions:
        indices, nodes = [], []
        for unknown in self.family.find.values():
            if unknown.expect is not None:
                because = "the solved sign agrees with the case decided from the data"
                need = _written(unknown.expect)
                indices.append(self._add(Ruling(need, because, unknown.place, author=True)))
                nodes.append(unknown.expect)
        return _Conditions(self.family, indices, nodes, [()] * len(nodes))

    def judge(
        self, candidates: Candidates, tally: Tally | None = None, *, windows: bool = True
    ) -> None:
        """Keep the candidates that meet every ruling, solved, with their case and values.

        Afterwards `candidates` holds values of givens, lets and unknowns, what the slips lead to,
        and the tolerance windows. `tally` counts what each ruling did. Without `windows` these
        are neither measured nor ruled on.
        """
        tally = Tally(self.rulings) if tally is None else tally
        tally.candidates += len(candidates)
        candidates.need(self._early.needs)
        self._sift(self._early, candidates, tally)
        drawable = candidates.need_all()
        self._sift_one(self._drawable, candidates, drawable, tally)
        candidates.values = self._solver.lets(candidates.values, len(candidates))
        self._sift(self._later, candidates, tally)
        case, holding = self._decide(candidates.values, len(candidates))
        candidates.case = case
        single = holding == 1
        if not single.all():
            self._sift_one(self._some_case, candidates, holding > 0, tally)
            self._sift_one(self._one_case, candidates, holding[holding > 0] == 1, tally)
        else:
            self._note(tally, (self._some_case, self._one_case), len(candidates))
        self._sift(self._in_case, candidates, tally)
        self._solve(candidates, tally)
        self._sift(self._expected, candidates, tally)
        self._sift(self._solved, candidates, tally)
        candidates.wrong = self._slips.solve(candidates.values, candidates.case, len(candidates))
        if windows:
            self._set_tolerances(candidates, tally)
        tally.accepted += len(candidates)

    def _set_tolerances(self, candidates: Candidates, tally: Tally) -> None:
        """Measure the windows and keep what has a fair tolerance and enough distractors."""
        n = len(candidates)
        candidates.windows = self._windows.measure(
            candidates.values, candidates.case, candidates.wrong, n
        )
        alive: Mask = np.ones(n, dtype=np.bool_)
        before = n
        for name, ruling in self._fair.items():
            alive &= self._windows.fair(name, candidates.windows[name])
            after = int(np.count_nonzero(alive))
            tally.count(ruling, before, before - after)
            before = after
        candidates.keep(alive)
        if self._differing is not None:
            mask = self._apart(candidates.values, candidates.windows, candidates.wrong)
            self._sift_one(self._differing, candidates, mask, tally)
        for name, count in self._wanted.items():
            mask = enough(self.family, name, count, candidates.windows[name], candidates.wrong)
            self._sift_one(self._options[name], candidates, mask, tally)

    def _apart(
        self, values: Mapping[str, Floats], windows: Mapping[str, Window], wrong: Wrong
    ) -> Mask:
        return all_apart(self.family, self._windows.asked, values, windows, wrong, self._usual)

    def settle(self, sample: Drawn) -> None:
        """Decide from draws that meet the rules what is the family's nature and not the draw's:
        which slips can be told from honest work, and which always meet."""
        n = len(sample)
        self._windows.settle(sample.values, sample.case, sample.wrong, n)
        if self._differing is not None and n:
            windows = self._windows.measure(sample.values, sample.case, sample.wrong, n)
            self._usual = usual_meetings(
                self.family, self._windows.asked, sample.values, windows, sample.wrong
            )

    def _solve(self, candidates: Candidates, tally: Tally) -> None:
        solved = self._solver.solve(candidates.values, candidates.case, len(candidates))
        candidates.values = {**candidates.values, **solved.values}
        status = solved.status
        for ruling, code in (
            (self._has_root, NO_ROOT),
            (self._one_root, SEVERAL_ROOTS),
            (self._finite, NOT_FINITE),
        ):
            bad = int(np.count_nonzero(status == code))
            tally.count(ruling, len(candidates), bad)
        candidates.keep(status == SOLVED)

    def verdicts(self, candidates: Candidates) -> list[tuple[int, Mask]]:
        """Each ruling on its own over all candidates, (n,): what judging in turn cannot tell.

        A ruling that could not be looked at, such as a rule on the solution where there is none,
        counts as met; the ruling that stood before it counts as not met.
        """
        n = len(candidates)
        found: list[tuple[int, Mask]] = [(self._drawable, candidates.need_all())]
        values = candidates.values = self._solver.lets(candidates.values, n)
        case, holding = self._decide(values, n)
        found.append((self._some_case, holding > 0))
        found.append((self._one_case, holding <= 1))
        decided = holding == 1
        case = np.where(decided, case, 0)
        candidates.case = case
        for group in (self._early, self._later):
            found.extend(
                zip(group.indices, group.masks(candidates.values, candidates.case), strict=True)
            )
        solved = self._solver.solve(values, case, n)
        candidates.values = {**values, **solved.values}
        usable = decided & (solved.status == SOLVED)
        for ruling, code in (
            (self._has_root, NO_ROOT),
            (self._one_root, SEVERAL_ROOTS),
            (self._finite, NOT_FINITE),
        ):
            found.append((ruling, ~decided | (solved.status != code)))
        for group, known in (
            (self._in_case, decided),
            (self._expected, usable),
            (self._solved, usable),
        ):
            for index, mask in zip(
                group.indices, group.masks(candidates.values, candidates.case), strict=True
            ):
                found.append((index, mask | ~known))
        wrong = self._slips.solve(candidates.values, case, n)
        measured = self._windows.measure(candidates.values, case, wrong, n)
        for name, ruling in self._fair.items():
            found.append((ruling, self._windows.fair(name, measured[name]) | ~usable))
        if self._differing is not None:
            found.append(
                (self._differing, self._apart(candidates.values, measured, wrong) | ~usable)
            )
        for name, count in self._wanted.items():
            mask = enough(self.family, name, count, measured[name], wrong)
            found.append((self._options[name], mask | ~usable))
        return found

    def broken(self, values: dict[str, Floats], case: Integers) -> list[Ruling]:
        """The author's rules that one solved instance, given by arrays of one row, breaks."""
        groups = (self._early, self._later, self._in_case, self._expected, self._solved)
        return [
            self.rulings[index]
            for group in groups
            for index, met in zip(group.indices, group.masks(values, case), strict=True)
            if not met[0]
        ]

    def _sift(self, group: _Conditions, candidates: Candidates, tally: Tally) -> None:
        """Apply conditions in turn and keep what meets them all."""
        if not group.indices:
            return
        alive: Mask | None = None
        before = len(candidates)
        masks = group.masks(candidates.values, candidates.case)
        for ruling, only, met in zip(group.indices, group.only, masks, strict=True):
            reached = before
            if only is not None:
                concerned = only[candidates.case]
                reached = int(np.count_nonzero(concerned if alive is None else concerned & alive))
            alive = met if alive is None else alive & met
            after = int(np.count_nonzero(alive))
            tally.count(ruling, reached, before - after)
            before = after
        if alive is not None:
            candidates.keep(alive)

    def _sift_one(self, ruling: int, candidates: Candidates, mask: Mask, tally: Tally) -> None:
        tally.count(ruling, len(candidates), len(candidates) - int(np.count_nonzero(mask)))
        candidates.keep(mask)

    def _note(self, tally: Tally, rulings: Sequence[int], reached: int) -> None:
        for ruling in rulings:
            tally.count(ruling, reached, 0)


class _Conditions:
    """Conditions evaluated together, each for all cases or for some."""

    def __init__(
        self,
        family: Family,
        indices: list[int],
        nodes: list[Node],
        only: Sequence[tuple[str, ...]],
    ) -> None:
        self.indices = indices
        self.needs = frozenset[str]().union(*(names_in(node) for node in nodes))
        self._program = compile_nodes(nodes)
        # of each condition, in which cases it applies; None for all
        self.only: list[Mask | None] = [
            np.array([case.name in cases for case in family.cases]) if cases else None
            for cases in only
        ]

    def masks(self, values: dict[str, Floats], case: Integers) -> list[Mask]:
        """Where each condition holds or does not apply, (n,) each."""
        return [
            met if only is None else met | ~only[case]
            for met, only in zip(self._program(values, len(case)), self.only, strict=True)
        ]


def _written(node: Node) -> str:
    """A condition as text, with names as in the family file."""
    names = {name: Symbol(name, name) for name in names_in(node)}
    return "".join(str(piece) for piece in typeset(node, names).plain)


def _grouped(family: Family) -> tuple[list[Rule], list[Rule], list[Rule], list[Rule]]:
    """Rules on single givens; on lets and lists; on data of some cases; on the solution."""
    single = {name for name, given in family.given.items() if not isinstance(given.source, Sampled)}
    early: list[Rule] = []
    later: list[Rule] = []
    in_case: list[Rule] = []
    solved: list[Rule] = []
    for rule in family.rules:
        if rule.uses_solution:
            solved.append(rule)
        elif rule.only:
            in_case.append(rule)
        elif names_in(rule.need) <= single | {"pi"}:
            early.append(rule)
        else:
            later.append(rule)
    return early, later, in_case, solved
