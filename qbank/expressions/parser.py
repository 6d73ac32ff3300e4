"""Text -> expression tree: a closed grammar, bounded in length, depth, size and powers.

    condition = condition or condition | condition and condition | not condition
              | value (< | <= | > | >= | == | !=) value ...
    value     = value (+ | -) value | value (* | /) value | -value | value ^ value
              | number [unit] | name | function(value, ...) | (value)

`^` goes from right to left and binds tighter than a sign before it: -x^2 is -(x^2).
"""

from __future__ import annotations

import difflib
import re
from dataclasses import replace
from typing import Final, Literal, NoReturn, TypeVar

from qbank.errors import ExpressionError
from qbank.expressions.functions import FUNCTIONS, HABITS
from qbank.expressions.limits import MAX_DEPTH, MAX_NODES, ensure_bounded
from qbank.expressions.tokens import Token, exact_number, tokenize, too_large
from qbank.expressions.tree import (
    Binary,
    Call,
    Compare,
    Equation,
    Logic,
    Measure,
    Name,
    Negate,
    Node,
    Not,
    Number,
    Span,
)
from qbank.expressions.units import nearest_unit, parse_unit

_OR, _AND, _NOT, _COMPARE, _SUM, _PRODUCT, _SIGN, _POWER = range(1, 9)
_LEVELS: Final = {
    "or": _OR, "and": _AND, "<": _COMPARE, "<=": _COMPARE, ">": _COMPARE, ">=": _COMPARE,
    "==": _COMPARE, "!=": _COMPARE, "+": _SUM, "-": _SUM, "*": _PRODUCT, "/": _PRODUCT,
    "^": _POWER,
}  # fmt: skip
_Made = TypeVar("_Made", bound=Node)


def parse_value(text: str) -> Node:
    """The expression `text` stands for, a number once evaluated.

    Raises `ExpressionError` with the place in the text, what was expected and a mend.
    """
    parser = _Parser(text)
    node = parser.value(_SUM)
    parser.finish()
    return ensure_bounded(node, text)


def parse_condition(text: str) -> Node:
    """The condition `text` stands for: comparisons joined by and, or, not.

    Raises `ExpressionError` as `parse_value` does.
    """
    parser = _Parser(text)
    node = parser.expression(_OR)
    parser.finish()
    if not _is_condition(node):
        parser.fail("expected a condition, found a value", node.span, "Compare it, such as x > 0.")
    return ensure_bounded(node, text)


def parse_equation(text: str) -> Equation:
    """The law `left = right`.

    Raises `ExpressionError` as `parse_value` does.
    """
    parser = _Parser(text)
    left = parser.value(_SUM)
    equals = parser.next
    if equals.text == "==":
        parser.fail("'==' compares", equals.span, "A law is written with a single =.")
    if equals.text != "=":
        parser.unexpected("'=' between the two sides of the law")
    parser.take()
    right = parser.value(_SUM)
    if parser.next.text == "=":
        parser.fail("a second '='", parser.next.span, "A law has two sides; write two laws.")
    parser.finish()
    ensure_bounded(left, text)
    ensure_bounded(right, text)
    return Equation(left, right, (left.span[0], right.span[1]))


_SIGNED_NUMBER = re.compile(
    r"\s*[-−]?(?P<digits>\d+(?:\.\d+)?)(?:[eE](?P<exponent>[+-]?\d+))?", re.ASCII
)


def parse_measure(text: str) -> Measure | Number:
    """A number with or without unit: "12 cm", "9.81 m/s^2", "-5 °C", "1.8e-5", "3 1/s".

    Raises `ExpressionError` for anything else.
    """
    number_text, unit_text = split_number_and_unit(text)
    match = _SIGNED_NUMBER.fullmatch(number_text)
    if match is None:
        raise ExpressionError(
            "expected a number, with its unit if it has one",
            excerpt=text[:200],
            span=(0, min(len(text), 200)),
            hint="Write it as 12 cm, 9.81 m/s^2, 1.8e-5 mol/L.",
        )
    value = exact_number(text, match)
    plain = match[0].strip().replace("−", "-")
    if plain.startswith("-"):
        value = -value
    span = (0, len(text))
    if not unit_text:
        return Number(value, plain, span)
    try:
        unit = parse_unit(unit_text)
        unit.si_value(value)
    except OverflowError:
        raise too_large(text, span) from None
    except ExpressionError as error:
        shift = text.rindex(unit_text)
        start, end = error.span or (0, len(unit_text))
        moved = (start + shift, end + shift)
        raise ExpressionError(error.message, excerpt=text, span=moved, hint=error.hint) from None
    return Measure(value, unit, f"{plain} {unit_text}", span)


_LAST_NUMBER = re.compile(
    r"(?:(?<![^\s,=(])|(?<=\.\.))[-−]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?![\d/])", re.ASCII
)


def split_number_and_unit(text: str) -> tuple[str, str]:
    """A text that ends in a unit -> what stands before the unit, and the unit, both stripped.

    "4.7, 10, 22 kΩ" -> ("4.7, 10, 22", "kΩ"); "2.0 .. 9.0 by 0.5" -> ("2.0 .. 9.0 by 0.5", "");
    "3 1/s" -> ("3", "1/s"); a text without a number is all unit. Nothing is checked.
    """
    last = None
    for last in _LAST_NUMBER.finditer(text):  # noqa: B007  # the last one is wanted
        pass
    if last is None:
        return "", text.strip()
    return text[: last.end()].strip(), text[last.end() :].strip()


def _is_condition(node: Node) -> bool:
    return isinstance(node, Compare | Logic | Not)


class _Parser:
    """Precedence climbing over the tokens of one text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = tokenize(text)
        self.position = 0
        self.depth = 0
        self.nodes = 0
        self.brackets: set[Span] = set()

    # -- tokens

    @property
    def next(self) -> Token:
        return self.tokens[self.position]

    def take(self) -> Token:
        token = self.next
        self.position += 1
        return token

    def expect(self, text: str, meaning: str) -> Token:
        if self.next.text != text or self.next.kind != "operator":
            self.unexpected(meaning)
        return self.take()

    def finish(self) -> None:
        if self.next.kind != "end":
            self.unexpected("the end of the expression")

    # -- faults

    def fail(self, message: str, span: Span, hint: str | None = None) -> NoReturn:
        raise ExpressionError(message, excerpt=self.text, span=span, hint=hint)

    def unexpected(self, expected: str) -> NoReturn:
        token = self.next
        found = "the end" if token.kind == "end" else repr(token.text)
        self.fail(f"expected {expected}, found {found}", token.span, self.mend(expected))

    def mend(self, expected: str) -> str:
        """What to do about the next token, where something else was expected."""
        token = self.next
        if token.text == "=":
            return "A comparison is written ==; only laws have a single =."
        if token.text == "," and _between_digits(self.text, token.span[0]):
            return "Write the decimal sign as a point: 0.5."
        if expected.startswith("'='"):
            return "Write it as left = right."
        if ")" in expected and token.kind == "end":
            return "Close each bracket that is opened."
        if token.text == ")":
            opened = self.text[: token.span[0]].count("(")
            closed = self.text[: token.span[1]].count(")")
            if closed > opened:
                return "Delete it, or open a bracket before it."
            return "Write a value between the brackets."
        if token.kind == "end":
            return "Write a value here, or delete the operator before it."
        if expected.startswith("a number"):
            return "Write a value before it, or delete it."
        return "Delete what does not belong here, or join it with an operator."

    # -- nodes

    def made(self, node: _Made) -> _Made:
        self.nodes += 1
        if self.nodes > MAX_NODES:
            self.fail(
                f"more than {MAX_NODES} parts in one expression",
                node.span,
                "Name parts of it as intermediate quantities.",
            )
        return node

    def ensure_value(self, node: Node, role: str) -> Node:
        if _is_condition(node):
            self.fail(
                f"expected a value {role}, found a condition",
                node.span,
                "Comparisons are joined by and, or, not; they cannot be computed with.",
            )
        return node

    def ensure_condition(self, node: Node, role: str) -> Node:
        if not _is_condition(node):
            self.fail(
                f"expected a condition {role}, found a value",
                node.span,
                "Compare it, such as x > 0.",
            )
        return node

    def value(self, level: int) -> Node:
        return self.ensure_value(self.expression(level), "here")

    def expression(self, level: int) -> Node:
        """What stands here, up to the first operator that binds less tightly than `level`."""
        self.depth += 1
        if self.depth > MAX_DEPTH:
            self.fail(
                f"parts nested more than {MAX_DEPTH} deep",
                self.next.span,
                "Name inner parts as intermediate quantities.",
            )
        node = self.operand()
        while True:
            token = self.next
            if token.kind in ("number", "measure") or token.text == "(":
                self.missing_operator(node, token)
            if token.kind == "name" and token.text not in _LEVELS:
                self.missing_operator(node, token)
            found = _LEVELS.get(token.text, 0)
            if found == 0 or found < level:
                break
            node = self.joined(node, found)
        self.depth -= 1
        return node

    def joined(self, left: Node, level: int) -> Node:
        """`left` with the operator that follows it and its right operand."""
        if level == _COMPARE:
            return self.comparison(left)
        operator = self.take()
        if level in (_OR, _AND):
            self.ensure_condition(left, f"before {operator.text!r}")
            right = self.ensure_condition(self.expression(level + 1), f"after {operator.text!r}")
            word: Literal["or", "and"] = "or" if level == _OR else "and"
            merge = isinstance(left, Logic) and left.operator == word and not self.bracketed(left)
            first = left.operands if isinstance(left, Logic) and merge else (left,)
            return self.made(Logic(word, (*first, right), (left.span[0], right.span[1])))
        self.ensure_value(left, f"before {operator.text!r}")
        if level == _POWER and isinstance(left, Measure) and not self.bracketed(left):
            self.fail(
                "a power after a unit can be read in two ways",
                (left.span[0], operator.span[1]),
                "Put the number with its unit in brackets: (5 m)^n.",
            )
        right = self.expression(level if level == _POWER else level + 1)
        self.ensure_value(right, f"after {operator.text!r}")
        sign = operator.text
        span = (left.span[0], right.span[1])
        if sign in ("+", "-", "*", "/", "^"):
            return self.made(Binary(sign, left, right, span))  # type: ignore[arg-type]  # mypy keeps str
        raise AssertionError(sign)

    def bracketed(self, node: Node) -> bool:
        return node.span in self.brackets

    def comparison(self, first: Node) -> Node:
        operands = [self.ensure_value(first, "before the comparison")]
        operators = []
        while _LEVELS.get(self.next.text) == _COMPARE:
            operators.append(self.take().text)
            operands.append(self.ensure_value(self.expression(_SUM), "after the comparison"))
        span = (operands[0].span[0], operands[-1].span[1])
        return self.made(Compare(tuple(operands), tuple(operators), span))  # type: ignore[arg-type]  # all comparison signs

    def operand(self) -> Node:
        """A number, a name, a call, something in brackets, or one of these after a sign."""
        token = self.take()
        if token.kind == "number":
            return self.made(Number(token.value, token.text, token.span))
        if token.kind == "measure" and token.unit is not None:
            return self.made(Measure(token.value, token.unit, token.text, token.span))
        if token.text == "-":
            return self.negated(token)
        if token.text == "not":
            inner = self.ensure_condition(self.expression(_NOT), "after 'not'")
            return self.made(Not(inner, (token.span[0], inner.span[1])))
        if token.text == "(":
            inner = self.expression(_OR)
            close = self.expect(")", "')'")
            span = (token.span[0], close.span[1])
            self.brackets.add(span)
            return replace(inner, span=span)
        if token.kind == "name" and token.text not in ("and", "or"):
            return self.name_or_call(token)
        self.position -= 1
        return self.unexpected("a number, a name or '('")

    def negated(self, sign: Token) -> Node:
        following = self.next
        if following.unit is not None and following.unit.offset:
            # 5 degrees below zero, not the negative of an absolute temperature
            self.take()
            span = (sign.span[0], following.span[1])
            text = f"-{following.text}"
            return self.made(Measure(-following.value, following.unit, text, span))
        inner = self.ensure_value(self.expression(_SIGN), "after '-'")
        return self.made(Negate(inner, (sign.span[0], inner.span[1])))

    def name_or_call(self, token: Token) -> Node:
        called = self.next.text == "(" and self.next.kind == "operator"
        function = FUNCTIONS.get(token.text)
        if not called:
            if function is not None:
                self.fail(
                    f"the function {token.text!r} without its argument",
                    token.span,
                    f"Write {token.text}(...); no quantity can be called so.",
                )
            return self.made(Name(token.text, token.span))
        if function is None:
            self.unknown_function(token)
        self.take()
        arguments = [self.value(_SUM)] if self.next.text != ")" else []
        while self.next.text == ",":
            self.take()
            arguments.append(self.value(_SUM))
        close = self.expect(")", f"',' or ')' after an argument of {token.text}")
        span = (token.span[0], close.span[1])
        if not function.least <= len(arguments) <= function.most:
            self.fail(
                f"{token.text} takes {function.arity}, found {len(arguments)}",
                span,
                f"Write {token.text}({', '.join('abcdefgh'[: function.least])}), each a value.",
            )
        return self.made(Call(token.text, tuple(arguments), span))

    def unknown_function(self, token: Token) -> NoReturn:
        if token.text in HABITS:
            hint = f"Write {HABITS[token.text]}."
        elif near := difflib.get_close_matches(token.text, FUNCTIONS, 1, 0.7):
            hint = f"Did you mean {near[0]}?"
        else:
            hint = f"For a product write {token.text}*(...)."
        self.fail(f"{token.text!r} is not a function that is known here", token.span, hint)

    def missing_operator(self, left: Node, token: Token) -> NoReturn:
        before = self.text[left.span[0] : left.span[1]]
        if isinstance(left, Number) and token.kind == "name":
            near = nearest_unit(token.text)
            hint = f"For a product write {before}*{token.text}."
            if near:
                hint = f"Did you mean {before} {near}? {hint}"
            self.fail(f"{token.text!r} is not a unit that is known here", token.span, hint)
        if isinstance(left, Number) and token.kind == "number":
            self.fail(
                "two numbers side by side",
                (left.span[0], token.span[1]),
                f"Write digits without spaces ({before}{token.text}), or * for a product.",
            )
        shown = before if len(before) <= 20 else "..."
        self.fail(
            f"expected an operator, found {token.text!r}",
            token.span,
            f"Products are written with *: {shown}*{token.text}",
        )


def _between_digits(text: str, position: int) -> bool:
    return text[position - 1 : position].isdigit() and text[position + 1 : position + 2].isdigit()
