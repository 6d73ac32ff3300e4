"""Numbers as a reader sees them, printed by the delivery system.

While texts are made, a number is a mark; at the end each mark becomes a printedVariable whose
C-style `format` fixes its decimals. C has no format that keeps significant figures, so a number
is rounded by `roundTo` first, and where its size varies from draw to draw a template variable
picks among formats with more or fewer decimals, or a power of ten. Which sizes occur is found
from a sample of draws.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from qbank.expressions.numbers import NumberFormat, decimal_parts, exact_number, is_scientific
from qbank.family.model import Fixed, Given, Grid, Listed
from qbank.formats.dialects import Dialect
from qbank.instances import Floats
from qbank.parametrised.answers import power_of_ten
from qbank.parametrised.expressions import op, real, variable, whole
from qbank.parametrised.template import Template

START, END = "\ue000", "\ue001"  # around a mark; no text of a family holds them
MARK = re.compile(f"{START}([^{END}]*){END}")
_NEAR = 1.25  # a sampled size this near to the next power of ten may pass it in another draw


def key_of(text: str) -> str:
    """A key for what a text tells apart; in markup it needs no escaping."""
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def mark(key: str) -> str:
    """A mark that stands for something printed."""
    return f"{START}{key}{END}"


@dataclass(frozen=True, slots=True)
class Layout:
    """How a number is printed at one size: with so many decimals, or with a power of ten."""

    decimals: int
    scientific: bool = False

    @property
    def identifier(self) -> str:
        """What the variable that picks a layout is set to for this one."""
        return f"{'S' if self.scientific else 'D'}{self.decimals}"


@dataclass(slots=True)
class Printed:
    """A number that is printed: its variable, and its layouts by the variable that picks one."""

    name: str
    layouts: tuple[Layout, ...]
    picked_by: str = ""
    mantissa: str = ""
    power: str = ""
    negative: bool = False
    is_integer: bool = False

    @property
    def has_power(self) -> bool:
        """Whether it is printed with a power of ten in some draws."""
        return any(layout.scientific for layout in self.layouts)


class Printer:
    """Keeps what is printed, and turns marks into markup of a dialect."""

    def __init__(self, template: Template) -> None:
        self._template = template
        self.printed: dict[str, Printed] = {}
        self.words: dict[str, str] = {}  # marks of words that depend on the setting
        self.pieces: dict[str, str] = {}  # other marks -> their markup, of the dialect already

    # ------------------------------------------------------------------------ what is printed

    def given(self, given: Given, shown: str | None, position: str | None) -> str:
        """What stands for a given in a text: a mark, or the number itself where it is fixed."""
        source = given.source
        if isinstance(source, Fixed):
            return exact_number(source.mantissa, source.exponent, given.scientific)
        assert shown is not None  # noqa: S101 - only fixed givens have no variable
        key = key_of(f"given {given.name}")
        if key not in self.printed:
            if isinstance(source, Grid):
                ends = np.array([source.first, source.first + source.step * (source.count - 1)])
                parts = [(m, source.exponent) for m in _sizes(*ends.tolist())]
                self._add(key, shown, _by_size(parts, given.scientific), bool(ends.min() < 0))
                self.printed[key].is_integer = source.exponent == 0
            elif isinstance(source, Listed):
                self._listed(key, given, source, shown, position or "")
        return mark(key)

    def number(self, key: str, name: str, fmt: NumberFormat, sample: Floats) -> str:
        """A mark for a variable that is rounded to `fmt`; `sample` (n,) says its sizes."""
        if key not in self.printed:
            finite = sample[np.isfinite(sample)]
            self._add(key, name, _layouts(fmt, finite), bool((finite < 0).any()))
        return mark(key)

    def _add(self, key: str, name: str, by_power: Mapping[int, Layout], negative: bool) -> None:
        template = self._template
        layouts = tuple(dict.fromkeys(by_power.values()))
        printed = Printed(name, layouts, negative=negative)
        self.printed[key] = printed
        if len(layouts) == 1 and not layouts[0].scientific:
            return
        power = template.new(f"POWER_{name}", power_of_ten(variable(name)), "integer")
        if 0 in by_power:
            with template.when(f'<equal toleranceMode="exact">{variable(name)}{real(0.0)}</equal>'):
                template.set(power, whole(0))
        if printed.has_power:
            printed.power = power
            size = op("power", real(10.0), variable(power))
            printed.mantissa = template.new(f"HEAD_{name}", op("divide", variable(name), size))
        if len(layouts) > 1:
            printed.picked_by = template.declare(f"FORM_{name}", "identifier")
            ordered = sorted(by_power.items())
            branches = []
            for n, (size_power, layout) in enumerate(ordered):
                last = n == len(ordered) - 1
                limit = whole(size_power if last else size_power + 1)
                compare = "gte" if last else "lt"
                constant = f'<baseValue baseType="identifier">{layout.identifier}</baseValue>'
                branches.append(
                    (op(compare, variable(power), limit), {printed.picked_by: constant})
                )
            template.choose(branches)

    def _listed(self, key: str, given: Given, source: Listed, shown: str, position: str) -> None:
        pairs = list(zip(source.mantissas, source.exponents, strict=True))
        layouts = [_layout(m, e, given.scientific) for m, e in pairs]
        printed = Printed(shown, tuple(dict.fromkeys(layouts)))
        printed.negative = min(source.mantissas) < 0
        self.printed[key] = printed
        if printed.has_power:
            printed.power = self._template.new(
                f"POWER_{shown}", power_of_ten(variable(shown)), "integer"
            )
            size = op("power", real(10.0), variable(printed.power))
            printed.mantissa = self._template.new(
                f"HEAD_{shown}", op("divide", variable(shown), size)
            )
        if len(printed.layouts) > 1:
            names = [
                f'<baseValue baseType="identifier">{layout.identifier}</baseValue>'
                for layout in layouts
            ]
            table = op("ordered", *names)
            printed.picked_by = self._template.new(
                f"FORM_{shown}", f'<index n="{position}">{table}</index>', "identifier"
            )

    # ------------------------------------------------------------------------ markup

    def filled(self, text: str, dialect: Dialect) -> str:
        """A text with every mark as markup of the dialect."""
        return MARK.sub(lambda found: self._markup(found[1], dialect), text)

    def _markup(self, key: str, dialect: Dialect) -> str:
        if key in self.pieces:
            return self.filled(self.pieces[key], dialect)
        printed = self.printed[key]
        forms = [(layout, self._form(printed, layout, dialect)) for layout in printed.layouts]
        if len(forms) == 1:
            return forms[0][1]
        return "".join(
            shown_for(dialect, printed.picked_by, layout.identifier, form) for layout, form in forms
        )

    @staticmethod
    def _form(printed: Printed, layout: Layout, dialect: Dialect) -> str:
        def number(name: str, form: str) -> str:
            return dialect.markup(f'<printedVariable identifier="{name}"{form}/>')

        if not layout.scientific:
            form = "" if printed.is_integer else f' format="%.{layout.decimals}f"'
            return number(printed.name, form)
        head = number(printed.mantissa, f' format="%.{layout.decimals}f"')
        return f"{head} × 10<sup>{number(printed.power, '')}</sup>"


def shown_for(dialect: Dialect, name: str, identifier: str, content: str) -> str:
    """Inline content that shows where a variable has that identifier."""
    head = dialect.markup(
        f'<templateInline templateIdentifier="{name}" identifier="{identifier}" showHide="show">'
    )
    return f"{head}{content}{dialect.markup('</templateInline>')}"


def block_for(dialect: Dialect, name: str, identifier: str, content: str) -> str:
    """Blocks that show where a variable has that identifier."""
    head = dialect.markup(
        f'<templateBlock templateIdentifier="{name}" identifier="{identifier}" showHide="show">'
        "<contentBody>"
    )
    return f"{head}\n{content}{dialect.markup('</contentBody></templateBlock>')}\n"


# ---------------------------------------------------------------------------- sizes


def _layout(mantissa: int, exponent: int, scientific: bool) -> Layout:
    digits = len(str(abs(mantissa)))
    if scientific and mantissa and exponent + digits - 1:
        return Layout(digits - 1, scientific=True)
    return Layout(max(-exponent, 0))


def _sizes(first: int, last: int) -> list[int]:
    """One number of each count of digits that lies between two, and the two."""
    low, high = (
        (0 if first <= 0 <= last else min(abs(first), abs(last))),
        max(abs(first), abs(last)),
    )
    tens = [10**k for k in range(20) if low <= 10**k <= high]
    return [low, *tens, high]


def _by_size(parts: Sequence[tuple[int, int]], scientific: bool) -> dict[int, Layout]:
    """Power of ten of the leading digit -> layout, for numbers on one grid."""
    return {
        (len(str(abs(m))) - 1 + e if m else 0): _layout(m, e, scientific)
        for m, e in sorted(parts, key=lambda part: part[0] == 0, reverse=True)
    }


def _layouts(fmt: NumberFormat, sample: Floats) -> dict[int, Layout]:
    """Power of ten of the leading digit -> layout, for the sizes in a sample and near to them."""
    if fmt.figures is None and fmt.notation != "scientific":
        return {0: Layout(max(fmt.decimals or 0, 0))}
    size = np.abs(sample)
    size = size[size > 0]
    nearby = np.concatenate([sample, size * _NEAR, size / _NEAR, np.zeros(int(not size.size))])
    mantissas, exponents = decimal_parts(nearby, fmt)
    found: dict[int, Layout] = {}
    digit_counts = np.char.str_len(np.abs(mantissas).astype(str))
    pairs = np.stack([np.where(mantissas == 0, 0, digit_counts), exponents])
    for digits, e in np.unique(pairs, axis=1).T.tolist():
        m = 10 ** (digits - 1) if digits else 0  # what is shown hangs on the count of digits
        power = digits - 1 + e if m else 0
        if m and is_scientific(m, e, fmt) and power:
            found[power] = Layout(digits - 1, scientific=True)
        else:
            found[power] = Layout(max(-e, 0))
    return found
