"""Keys, tolerances and the wrong answers of slips, computed in the template.

The policy is that of `checking/tolerance.py`, as far as the operators reach. What they cannot
compute is the rounding slack of a draw; an amount, or a share of the default tolerance, stands
for it that covers the slack of 95 % of a sample of draws. Bounds lie half a hundredth of
a unit in the last place outside the tolerance, so that nobody types a bound (mapping note, b3).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from qbank.checking.tolerance import (
    CLEAR,
    DEFAULT_PLACES,
    DEFAULT_SHARE,
    LEAST_PLACES,
    authored,
    reach,
)
from qbank.checking.window import SAME
from qbank.expressions.numbers import last_place
from qbank.family.model import Family, Unknown
from qbank.instances import Instances
from qbank.parametrised.draws import from_si
from qbank.parametrised.expressions import (
    every,
    function,
    op,
    real,
    rounded,
    variable,
    whole,
)
from qbank.parametrised.template import Template

FAR = 1e300  # farther than any slip lies
_OUTSIDE = 0.005  # places beyond the tolerance at which a bound lies
_COVERED = 0.95  # share of sampled draws whose rounding slack the amount covers
_POWER_SLACK = 1e-9  # so that the logarithm of a power of ten is not a last bit below it


@dataclass(slots=True)
class SlipAnswer:
    """A slip's answer: variables of its displayed value and of the band it is recognised in."""

    slip: str
    shown: str
    low: str = ""
    high: str = ""


@dataclass(slots=True)
class Answer:
    """The variables of one answer, in its shown unit."""

    key: str
    place: str  # markup of one unit in the last place of the key
    low: str = ""
    high: str = ""
    slips: list[SlipAnswer] = field(default_factory=list)


def power_of_ten(shown: str) -> str:
    """The power of ten of the leading digit of a rounded number that is not zero."""
    size = op("max", function("abs", shown), real(1e-300))
    return function("floor", op("sum", function("log", size), real(_POWER_SLACK)))


def place_of(unknown: Unknown, shown: str) -> str:
    """One unit in the last displayed place of a rounded number."""
    if unknown.shown.figures is None:
        return real(10.0 ** -(unknown.shown.decimals or 0))
    power = op("subtract", power_of_ten(shown), whole(unknown.shown.figures - 1))
    return op("power", real(10.0), power)


class Answers:
    """Writes the rules for the answers of a family.

    `sample` are instances of the family that say which slips can be told from the key.
    """

    def __init__(self, template: Template, family: Family, sample: Instances) -> None:
        self._template = template
        self._family = family
        self._sample = sample

    def key(self, unknown: Unknown, si: str) -> Answer:
        """The rules for the displayed key of an unknown."""
        shown = from_si(si, unknown.unit)
        fmt = unknown.shown
        exact = rounded(shown, figures=fmt.figures, decimals=fmt.decimals)
        key = self._template.new(f"KEY_{unknown.name}", exact)
        return Answer(key, place_of(unknown, variable(key)))

    def slips_of(self, unknown: Unknown) -> list[str]:
        """The slips that lead to another value of an unknown in some draw of the sample."""
        exact = self._sample.values[unknown.name]
        found = []
        for slip in self._family.slips:
            wrong = self._sample.wrong[slip].get(unknown.name)
            if wrong is None:
                continue
            with np.errstate(invalid="ignore"):
                if (np.abs(wrong - exact) > SAME * np.abs(exact)).any():
                    found.append(slip)
        return found

    def bounds(
        self,
        unknown: Unknown,
        si: str,
        answer: Answer,
        wrong: Mapping[str, str],
        apart: Sequence[str],
    ) -> None:
        """The rules for the band around a key, and the constraint that no slip lies in it.

        `wrong` gives the SI value of the slips (by name) that count for this unknown, `apart`
        names those that can be told from honest work.
        """
        new, name = self._template.new, unknown.name
        key = variable(answer.key)
        place = answer.place
        if unknown.shown.figures is not None:
            place = variable(new(f"LAST_{name}", place))
            answer.place = place
        exact = variable(new(f"EXACT_{name}", from_si(si, unknown.unit)))
        far = []
        for number, (slip, wrong_si) in enumerate(wrong.items(), 1):
            raw = variable(new(f"RAW_{name}_{number}", from_si(wrong_si, unknown.unit)))
            fmt = unknown.shown
            shown = new(
                f"WRONG_{name}_{number}", rounded(raw, figures=fmt.figures, decimals=fmt.decimals)
            )
            answer.slips.append(SlipAnswer(slip, shown))
            if slip in apart:
                far.append(self._distance(f"FAR_{name}_{number}", raw, shown, key, exact, place))
        width = self._wished(unknown, key, place)
        if far:
            distance = variable(new(f"NEAREST_{name}", op("min", *far) if len(far) > 1 else far[0]))
            if not authored(unknown):
                width = variable(new(f"WISHED_{name}", width))
                slack = self._slack(unknown, width, place)
                near = op("product", real(CLEAR), distance)
                width = op("max", op("min", op("max", width, slack), near), slack)
        elif not authored(unknown):
            width = variable(new(f"WISHED_{name}", width))
            width = op("max", width, self._slack(unknown, width, place))
        width = variable(
            new(f"WIDTH_{name}", op("sum", width, op("product", real(_OUTSIDE), place)))
        )
        if far:
            self._template.need(op("lt", width, distance))
        answer.low = new(f"LOW_{name}", op("subtract", key, width))
        answer.high = new(f"HIGH_{name}", op("sum", key, width))

    def recognised(self, unknown: Unknown, answer: Answer) -> None:
        """The bands in which wrong answers are taken for slips; those that come earlier win."""
        template = self._template
        for number, slip in enumerate(answer.slips, 1):
            shown = variable(slip.shown)
            slip.low = template.declare(f"FROM_{unknown.name}_{number}")
            slip.high = template.declare(f"TO_{unknown.name}_{number}")
            clear = [_outside(shown, answer.low, answer.high)]
            clear += [
                op("or", op("isNull", variable(earlier.low)),
                   _outside(shown, earlier.low, earlier.high))
                for earlier in answer.slips[: number - 1]
            ]  # fmt: skip
            place = place_of(unknown, shown)
            half = op(
                "sum", self._wished(unknown, shown, place), op("product", real(_OUTSIDE), place)
            )
            there = op("not", op("isNull", shown))
            template.choose(
                [
                    (
                        every([there, *clear]),
                        {
                            slip.low: op("subtract", shown, half),
                            slip.high: op("sum", shown, half),
                        },
                    )
                ]
            )

    def offered(self, answer: Answer, part: str, options: int) -> str:
        """The options of a choice among values: the key, C1, and the first slips that differ.

        Returns the variable that holds the identifiers of those shown.
        """
        template = self._template
        key = variable(answer.key)
        reach_ = op("subtract", variable(answer.high), key)
        taken: list[tuple[str, str]] = []
        for number, slip in enumerate(answer.slips, 2):
            shown = variable(slip.shown)
            option = template.declare(f"OPTION_{part}_C{number}", "identifier")
            at = template.declare(f"AT_{part}_C{number}")
            clear = [op("not", op("isNull", shown)), _outside(shown, answer.low, answer.high)]
            for _, other in taken:
                gap = function("abs", op("subtract", shown, variable(other)))
                clear.append(op("or", op("isNull", variable(other)), op("gt", gap, reach_)))
            if taken:
                so_far = op("multiple", *(variable(name) for name, _ in taken))
                clear.append(op("lt", op("containerSize", so_far), whole(options - 1)))
            chosen = f'<baseValue baseType="identifier">C{number}</baseValue>'
            template.choose([(every(clear), {option: chosen, at: shown})])
            taken.append((option, at))
        shown_options = template.declare(f"SHOWN_{part}", "identifier", "multiple")
        first = '<baseValue baseType="identifier">C1</baseValue>'
        template.set(shown_options, op("multiple", first, *(variable(name) for name, _ in taken)))
        template.need(op("gte", op("containerSize", variable(shown_options)), whole(options)))
        return shown_options

    # ------------------------------------------------------------------------ pieces

    def _distance(self, name: str, raw: str, shown: str, key: str, exact: str, place: str) -> str:
        """How far a slip lies from the key; out of reach where it comes to the answer itself."""
        gap = function("abs", op("subtract", raw, exact))
        alike = op("lte", gap, op("product", real(SAME), op("max", function("abs", exact), place)))
        displayed = variable(shown)
        far = op(
            "min",
            function("abs", op("subtract", raw, key)),
            function("abs", op("subtract", displayed, key)),
        )
        variable_name = self._template.new(name, real(FAR))
        there = op("and", op("not", op("isNull", displayed)), op("not", alike))
        with self._template.when(there):
            self._template.set(variable_name, far)
        return variable(variable_name)

    @staticmethod
    def _wished(unknown: Unknown, shown: str, place: str) -> str:
        """How far from a value a response may lie by the author's rule or the default."""
        rule, size = unknown.tolerance, function("abs", shown)
        if not authored(unknown):
            share = op("product", real(DEFAULT_SHARE), size)
            return op("max", share, op("product", real(DEFAULT_PLACES), place))
        widths = []
        if rule.relative is not None:
            widths.append(op("product", real(rule.relative), size))
        if rule.absolute is not None:
            widths.append(real(rule.absolute))
        return widths[0] if len(widths) == 1 else op("max", *widths)

    def _slack(self, unknown: Unknown, wished: str, place: str) -> str:
        """What stands for the rounding slack: an amount, or a share of the default tolerance.

        Either covers the sampled share. The amount is taken only where a share would widen the
        default and be more on average: where answers are small differences of large data.
        """
        slack, _ = self._sample.windows[unknown.name]
        key = self._sample.rounded[unknown.name]
        width = reach(unknown, key, last_place(key, unknown.shown))
        amount = float(np.quantile(slack, _COVERED))
        share = float(np.quantile(slack / width, _COVERED))
        if share <= 1.0 or share * float(width.mean()) <= amount:
            covers = op("product", real(_up(share)), wished)
        else:
            covers = real(_up(amount))
        return op("max", covers, op("product", real(LEAST_PLACES), place))


def _up(size: float) -> float:
    """A number a little larger, of three figures."""
    return float(f"{size * 1.005:.3g}")


def _outside(shown: str, low: str, high: str) -> str:
    return op("or", op("lt", shown, variable(low)), op("gt", shown, variable(high)))
