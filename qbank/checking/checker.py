"""All checks of a family, compiled once and applied to chunks of solved instances."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

import numpy as np

from qbank.checking import answers, keys, statements
from qbank.checking.facts import Compiled, Facts, Mask, Outcome
from qbank.checking.report import CheckReport, Failure
from qbank.errors import FamilyError
from qbank.expressions.numbers import exact_machine_number
from qbank.family.library import find_family
from qbank.family.model import Family, Fixed, Listed
from qbank.instances import Instances

FINITE = "finite"

# Codes are stable: reports and scripts rely on them. The order is that of telling: a failure
# further up explains those further down.
CHECKS: Mapping[str, Callable[[Facts], Iterator[Outcome]]] = MappingProxyType(
    {
        "printed-data": keys.printed_data,
        "one-case": statements.one_case,
        "law-residual": answers.law_residual,
        "second-route": answers.second_route,
        "conditioning": answers.conditioning,
        "chosen-root": statements.chosen_root,
        "expected-sign": statements.expected_sign,
        "rules": statements.rules,
        "rounded-key": keys.rounded_key,
        "rounded-back": answers.rounded_back,
        "key-in-tolerance": keys.key_in_tolerance,
        "tolerance-window": keys.tolerance_window,
        "options-apart": keys.options_apart,
        "confirm": statements.confirm,
    }
)


class Checker:
    """The checks of one family; `check` adds what it finds on a chunk to a report.

    >>> sorted(CHECKS)[:3]
    ['chosen-root', 'conditioning', 'confirm']
    """

    def __init__(self, family: Family) -> None:
        self.family = family
        self._compiled = Compiled(family)

    def check(self, instances: Instances, report: CheckReport) -> None:
        """Apply every check to `instances`, adding counts and failures to `report`.

        Instances with a number that is not finite fail the check "finite" and are left out of
        the others. Rules and options are not judged on hand-given data (index -1).
        """
        fine = self._check_finite(instances, report)
        if not fine.all():
            instances = instances.take(fine)
        for system, rows in self._compiled.route.groups(instances.case):
            part = instances if rows is None else instances.take(rows)
            facts = Facts(self._compiled, system, part)
            with np.errstate(all="ignore"):
                for code, check in CHECKS.items():
                    for outcome in check(facts):
                        _record(code, outcome, part, report)

    def _check_finite(self, instances: Instances, report: CheckReport) -> Mask:
        fine = np.ones(len(instances), dtype=np.bool_)
        for subject, passed in keys.finite(instances):

            def explain(row: int, subject: str = subject) -> tuple[str, dict[str, float]]:
                values = instances.values.get(subject)
                shown = np.nan if values is None or values.ndim > 1 else float(values[row])
                return "it is not a finite number", {subject: shown}

            _record(FINITE, Outcome(subject, passed, len(passed), explain), instances, report)
            fine &= passed
        return fine


def _record(code: str, outcome: Outcome, instances: Instances, report: CheckReport) -> None:
    failed = 0 if outcome.passed.all() else int(np.count_nonzero(~outcome.passed))
    report.count(code, outcome.concerned, outcome.concerned - failed)
    if not failed:
        return
    for row in np.flatnonzero(~outcome.passed)[: report.wants(code)].tolist():
        sentence, numbers = outcome.explain(row)
        report.add(
            Failure(
                check=code,
                family=instances.family.name,
                seed=instances.seed,
                index=int(instances.index[row]),
                subject=outcome.subject,
                sentence=sentence,
                numbers=numbers,
                command=show_command(instances, row),
                place=outcome.place,
            )
        )


def show_command(instances: Instances, row: int) -> str:
    """The command that shows an instance again, ready for a shell."""
    family = instances.family
    name = shlex.quote(_argument(family))
    if instances.index[row] >= 0:
        return f"qbank show {name} --seed {instances.seed} --index {instances.index[row]}"
    data = [
        shlex.quote(f"{given}={_typed(instances, given, row)}")
        for given in family.given
        if not isinstance(family.given[given].source, Fixed)
    ]
    return f"qbank work {name} {' '.join(data)}"


def _argument(family: Family) -> str:
    """How the command line names the family: by its name when that finds its file."""
    try:
        shipped = str(find_family(family.name)) == family.place.file
    except FamilyError:
        shipped = False
    return family.name if shipped else family.place.file


def _typed(instances: Instances, name: str, row: int) -> str:
    given = instances.family.given[name]
    if name in instances.typed:
        return f"{instances.typed[name]} {given.unit.ascii}"
    mantissas = np.atleast_1d(instances.mantissas[name][row])
    if name in instances.sizes:
        mantissas = mantissas[: int(instances.sizes[name][row])]
    if isinstance(given.source, Listed):
        listed = given.source
        pairs = [(listed.mantissas[m], listed.exponents[m]) for m in mantissas.tolist()]
    else:
        pairs = [(m, given.source.exponent) for m in mantissas.tolist()]
    numbers = ", ".join(exact_machine_number(m, e, given.scientific) for m, e in pairs)
    return f"{numbers} {given.unit.ascii}"
