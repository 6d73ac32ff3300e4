"""Text of an expression -> tokens, with what people type by habit refused by name."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from qbank.errors import ExpressionError
from qbank.expressions.tree import Span
from qbank.expressions.units import Unit, match_unit

MAX_LENGTH = 2000
MAX_DIGITS = 40
MAX_EXPONENT = 300
_LARGEST = Fraction(10) ** MAX_EXPONENT

_SPACE = re.compile(r"\s*")
_NUMBER = re.compile(r"(?P<digits>\d+(?:\.\d+)?)(?:[eE](?P<exponent>[+-]?\d+))?", re.ASCII)
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:_[A-Za-z0-9]+)*")
_OPERATOR = re.compile(r"<=|>=|==|!=|[-+*/^<>=(),]")

_HABITS = {
    "**": "^", "&&": "and", "||": "or", "<>": "!=", "=<": "<=", "=>": ">=", "!": "not", "&": "and",
    "|": "or", "−": "-", "–": "-", "×": "*", "·": "*", "⋅": "*", "÷": "/", "≤": "<=", "≥": ">=",
    "≠": "!=", "²": "^2", "³": "^3", "√": "sqrt(...)", "π": "pi", "[": "(", "]": ")", "{": "(",
    "}": ")", "%": "/100 after the name, or put the % after a number",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Token:
    kind: Literal["number", "measure", "name", "operator", "end"]
    text: str
    span: Span
    value: Fraction = Fraction(0)
    unit: Unit | None = None


def tokenize(text: str) -> list[Token]:
    """The tokens of `text`, closed by one of kind "end".

    Raises `ExpressionError` for text longer than 2000 characters, for a character that has no
    meaning, and for numbers beyond 40 digits or 1e300.
    """
    if len(text) > MAX_LENGTH:
        raise ExpressionError(
            f"an expression of {len(text)} characters; at most {MAX_LENGTH} are read",
            excerpt=text[: MAX_LENGTH + 20],
            span=(MAX_LENGTH, MAX_LENGTH + 20),
            hint="Name parts of it as intermediate quantities.",
        )
    tokens: list[Token] = []
    position = _skip_space(text, 0)
    while position < len(text):
        token = _token_at(text, position)
        tokens.append(token)
        position = _skip_space(text, token.span[1])
    tokens.append(Token("end", "", (len(text), len(text))))
    return tokens


def _skip_space(text: str, position: int) -> int:
    match = _SPACE.match(text, position)
    return match.end() if match else position


def _token_at(text: str, position: int) -> Token:
    for habit in ("**", "&&", "||", "<>", "=<", "=>"):
        if text.startswith(habit, position):
            raise _refused(text, position, habit)
    if number := _NUMBER.match(text, position):
        return _number(text, number)
    if name := _NAME.match(text, position):
        return Token("name", name[0], name.span())
    if operator := _OPERATOR.match(text, position):
        return Token("operator", operator[0], operator.span())
    raise _refused(text, position, text[position])


def _number(text: str, match: re.Match[str]) -> Token:
    value = exact_number(text, match)
    start = _skip_space(text, match.end())
    found = match_unit(text, start)
    if found is None:
        return Token("number", match[0], match.span(), value)
    unit, end = found
    try:
        unit.si_value(value)
    except OverflowError:
        raise too_large(text, (match.start(), end)) from None
    return Token("measure", text[match.start() : end], (match.start(), end), value, unit)


def exact_number(text: str, match: re.Match[str]) -> Fraction:
    """The number that a match of the numeral pattern stands for, its sign aside, within bounds."""
    digits = len(match["digits"].replace(".", ""))
    if digits > MAX_DIGITS:
        raise ExpressionError(
            f"a number of {digits} digits; at most {MAX_DIGITS} are read",
            excerpt=text,
            span=match.span(),
            hint="Write fewer digits, or a power of ten such as 1.5e30.",
        )
    exponent = match["exponent"] or "0"
    if len(exponent) > 5 or abs(int(exponent)) > MAX_EXPONENT:
        raise ExpressionError(
            f"a power of ten beyond 1e{MAX_EXPONENT} or 1e-{MAX_EXPONENT}",
            excerpt=text,
            span=match.span(),
            hint="Write a number of a size that occurs.",
        )
    value = Fraction(f"{match['digits']}e{exponent}")
    if abs(value) > _LARGEST:
        raise too_large(text, match.span())
    return value


def too_large(text: str, span: Span) -> ExpressionError:
    """The fault of a number that no float can hold."""
    return ExpressionError(
        f"a number beyond 1e{MAX_EXPONENT} in coherent SI",
        excerpt=text,
        span=span,
        hint="Write a number of a size that occurs.",
    )


def _refused(text: str, position: int, found: str) -> ExpressionError:
    mend = _HABITS.get(found)
    hint = f"Write {mend}." if mend else "Delete it."
    if found == "." and text[position + 1 : position + 2].isdigit():
        hint = "Write 0 before the point: 0.5."
    elif found == ".":
        hint = (
            "Names hold letters, digits and single underscores; nothing is reached through a point."
        )
    elif found == "_":
        hint = "A name starts with a letter and holds single underscores, such as T_a."
    elif found == "°":
        hint = "A unit follows its number: 30 deg, 20 °C."
    elif "GREEK" in (name := unicodedata.name(found[0], "")) and mend is None:
        letter = name.rsplit(" ", 1)[-1].lower()
        hint = (
            f"Write {letter.capitalize() if found.isupper() else letter}; it is shown as {found}."
        )
    return ExpressionError(
        f"{found!r} has no meaning here",
        excerpt=text,
        span=(position, position + len(found)),
        hint=hint,
    )
