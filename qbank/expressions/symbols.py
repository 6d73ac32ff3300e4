"""How the symbol of a quantity, a unit and a value with its unit are written.

Quantity symbols are italic, units, labels in subscripts and mathematical constants upright, and
a space stands between a number and its unit save before the degree sign of an angle (ISO
80000-1, clauses 6 and 7, and NIST SP 811, chapters 6, 7 and 10; from memory). A unit is the
text of a `Unit`; it is empty for a pure number.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal
from xml.sax.saxutils import escape

from qbank.expressions.numbers import MINUS, number_mathml

Standing = Literal["alone", "term", "factor"]
"""Where a value stands: on its own, as a later term of a sum, or as a factor or base."""

_NAMES = (
    *("alpha", "beta", "gamma", "delta", "epsilon", "zeta", "eta", "theta", "iota", "kappa"),
    *("lambda", "mu", "nu", "xi", "omicron", "pi", "rho", "sigma", "tau", "upsilon", "phi"),
    *("chi", "psi", "omega"),
)
_GREEK = dict(zip(_NAMES, "αβγδεζηθικλμνξοπρστυφχψω", strict=True))
_GREEK |= {name.capitalize(): letter.upper() for name, letter in _GREEK.items()}
_LOWERED = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_RAISED = {chr(0x2080 + digit): str(digit) for digit in range(10)}
_LOWERED_RUN = re.compile("[₀-₉]+")


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol as plain text and as one MathML element."""

    plain: str
    mathml: str


PI = Symbol("π", '<mi mathvariant="normal">π</mi>')


def symbol(text: str) -> Symbol:
    """The symbol an author wrote as `m_a`, `theta`, `mu_s`, `ΔT` or `m₁`.

    The part before the first underscore is the letter, Greek when it names one; the rest is a
    subscript. Plain text lowers digits, for which Unicode has signs, and keeps `m_a` as it is.

    >>> symbol("mu_1").plain, symbol("theta").mathml
    ('μ₁', '<mi>θ</mi>')
    """
    text = _LOWERED_RUN.sub(lambda run: "_" + "".join(_RAISED[sign] for sign in run[0]), text)
    letter, *labels = [_GREEK.get(part, part) for part in text.split("_") if part] or [text]
    letter_mathml = _letter(letter)
    if not labels:
        return Symbol(letter, letter_mathml)
    label = ",".join(labels)
    lowered = label.translate(_LOWERED) if label.isdecimal() else "_" + label
    return Symbol(letter + lowered, f"<msub>{letter_mathml}{_label(labels)}</msub>")


def _letter(text: str) -> str:
    """A quantity's own sign: one letter is italic, a leading Δ and words such as pH upright."""
    if len(text) > 1 and text[0] == "Δ":
        return f'<mrow><mi mathvariant="normal">Δ</mi>{_letter(text[1:])}</mrow>'
    letters = [sign for sign in text if not unicodedata.combining(sign)]
    if len(letters) == 1 and len(text) > 1:  # a letter with a bar or a hat
        return f'<mi mathvariant="italic">{escape(text)}</mi>'
    digits = re.fullmatch(r"([^\d])(\d+)", text)
    if digits:  # T2 is one letter and a number
        return f"<msub><mi>{escape(digits[1])}</mi><mn>{digits[2]}</mn></msub>"
    return f"<mi>{escape(text)}</mi>"


def _label(parts: list[str]) -> str:
    """Subscripts are labels, so they stand upright."""
    signs = "<mo>,</mo>".join(
        f"<mn>{part}</mn>" if part.isdecimal() else f'<mi mathvariant="normal">{escape(part)}</mi>'
        for part in parts
    )
    return signs if len(parts) == 1 else f"<mrow>{signs}</mrow>"


# ---------------------------------------------------------------------------- values


def with_unit(number: str, unit: str) -> str:
    """A number and its unit: "2.0 kg", "30°", "0.35"."""
    if not unit:
        return number
    return number + unit if unit == "°" else f"{number} {unit}"


def with_units(numbers: Iterable[str], unit: str) -> list[str]:
    """`with_unit` of every number."""
    after = with_unit("", unit) if unit else ""
    return [number + after for number in numbers]


def value_plain(number: str, unit: str, standing: Standing = "alone") -> str:
    """A value with its unit, in parentheses where its neighbours would be misread."""
    value = with_unit(number, unit)
    return f"({value})" if needs_parentheses(number, unit, standing) else value


def value_mathml(number: str, unit: str, standing: Standing = "alone") -> str:
    """The same value as one MathML element, its unit upright."""
    content = number_mathml(number)
    if unit:
        space = "" if unit == "°" else "\u00a0"
        content = f"<mrow>{content}<mtext>{space}{escape(unit)}</mtext></mrow>"
    if needs_parentheses(number, unit, standing):
        return f"<mrow><mo>(</mo>{content}<mo>)</mo></mrow>"
    return content


def needs_parentheses(number: str, unit: str, standing: Standing) -> bool:
    """Whether a sign, a unit or a power of ten would be misread next to its neighbours."""
    if standing == "alone":
        return False
    if number[0] == MINUS:
        return True
    return standing == "factor" and (unit != "" or "×" in number)
