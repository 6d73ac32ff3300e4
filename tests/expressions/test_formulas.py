"""Formulas as plain text and as MathML, from trees built by hand."""

from __future__ import annotations

import itertools
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from qbank.expressions.formula_writer import Slot, numeral_for_people
from qbank.expressions.formulas import (
    CLOSE_MATH,
    MATH_NAMESPACE,
    OPEN_MATH,
    Formula,
    chain,
    of_slot,
    of_symbol,
    specialise,
    specialise_equation,
    typeset,
)
from qbank.expressions.symbols import symbol, value_mathml, value_plain
from qbank.expressions.tree import (
    Binary,
    Call,
    Compare,
    Equation,
    Logic,
    Name,
    Negate,
    Node,
    Not,
    Number,
)


def number(text: str) -> Number:
    return Number(Fraction(text), text)


def op(operator: str, left: Node | str, right: Node | str) -> Binary:
    sides = [
        side if not isinstance(side, str) else number(side) if side[0].isdigit() else Name(side)
        for side in (left, right)
    ]
    return Binary(operator, sides[0], sides[1])  # type: ignore[arg-type]


def call(function: str, *arguments: Node | str) -> Call:
    return Call(function, tuple(Name(a) if isinstance(a, str) else a for a in arguments))


WEIGHT = op("*", "m_a", "g")
LEFT = Equation(op("*", "s", op("-", "T_a", WEIGHT)), op("*", op("*", "m_a", "r"), "alpha"))
VALUES = {"m_a": ("2.0", "kg"), "g": ("9.81", "m/s²"), "r": ("12", "cm"), "t": ("−3.0", "")}


def filled(formula: Formula, values: dict[str, tuple[str, str]] = VALUES) -> tuple[str, str]:
    """Plain text and MathML with the values put in, as rendering does it."""
    plain = "".join(
        value_plain(*values[p.name], p.standing) if isinstance(p, Slot) else p
        for p in formula.plain
    )
    mathml = "".join(
        value_mathml(*values[p.name], p.standing) if isinstance(p, Slot) else p
        for p in formula.mathml
    )
    return plain, f"{OPEN_MATH}{mathml}{CLOSE_MATH}"


@pytest.mark.parametrize(
    ("node", "plain"),
    [
        (LEFT, "s·(T_a − m_a·g) = m_a·r·α"),
        (op("/", op("*", "M", op("^", "R", "2")), "2"), "M·R²/2"),
        (op("/", "a", op("*", "b", "c")), "a/(b·c)"),
        (op("/", "a", op("/", "b", "c")), "a/(b/c)"),
        (op("-", "a", op("-", "b", "c")), "a − (b − c)"),
        (op("-", "a", op("+", "b", "c")), "a − (b + c)"),
        (op("+", "a", Negate(Name("b"))), "a + (−b)"),
        (op("-", Negate(Name("a")), "b"), "−a − b"),
        (Negate(op("+", "a", "b")), "−(a + b)"),
        (Negate(op("^", "a", "2")), "−a²"),
        (op("/", op("*", Negate(Name("a")), "b"), "c"), "−a·b/c"),
        (op("*", "c", op("*", Negate(Name("a")), "b")), "c·(−a·b)"),
        (op("-", "c", op("*", Negate(Name("a")), "b")), "c − (−a·b)"),
        (op("^", Negate(Name("a")), "2"), "(−a)²"),
        (op("^", op("^", "a", "2"), "3"), "(a²)³"),
        (op("^", "a", op("^", "b", "c")), "a^(b^c)"),
        (op("^", "x", Negate(number("12"))), "x⁻¹²"),
        (op("^", "x", number("0.5")), "x^(0.5)"),
        (op("^", "x", "n"), "x^n"),
        (op("*", "2", op("*", "3", "x")), "2·3·x"),
        (op("*", op("+", "a", "b"), "c"), "(a + b)·c"),
        (call("sin", "theta"), "sin(θ)"),
        (op("^", call("sin", "theta"), "2"), "sin²(θ)"),
        (op("^", call("f", "x"), "2"), "f(x)²"),
        (call("sqrt", op("+", "a", "b")), "√(a + b)"),
        (call("exp", Negate(op("/", "t", op("*", "R", "C")))), "exp(−t/(R·C))"),
        (call("abs", op("-", "a", "b")), "|a − b|"),
        (call("t_quantile", number("0.975"), op("-", "n", "1")), "t(0.975; n − 1)"),
        (call("normal_cdf", Negate(Name("z"))), "Φ(−z)"),
        (call("t_cdf", "t", op("-", "n", "1")), "F_t(t; n − 1)"),
        (call("chi2_cdf", "x", number("3")), "F_χ²(x; 3)"),
        (call("sum", op("^", op("-", "x", call("mean", "x")), "2")), "∑((x − mean(x))²)"),
        (Compare((number("0"), Name("h"), Name("c")), ("<", "<=")), "0 < h ≤ c"),
        (
            Logic("and", (Compare((Name("a"), Name("b")), (">",)), Not(Name("c")))),
            "a > b and not (c)",
        ),
        (number("1.8e-5"), "1.8 × 10⁻⁵"),
        (Number(Fraction(1, 3), "1/3"), "1/3"),
        (Name("pi"), "π"),
    ],
)
def test_plain_text(node: Node | Equation, plain: str) -> None:
    assert filled(typeset(node, {}))[0] == plain


@pytest.mark.parametrize(
    ("text", "plain", "mathml"),
    [
        ("g", "g", "<mi>g</mi>"),
        ("m_a", "m_a", '<msub><mi>m</mi><mi mathvariant="normal">a</mi></msub>'),
        ("m_12", "m₁₂", "<msub><mi>m</mi><mn>12</mn></msub>"),
        ("m₁", "m₁", "<msub><mi>m</mi><mn>1</mn></msub>"),
        ("mu_s", "μ_s", '<msub><mi>μ</mi><mi mathvariant="normal">s</mi></msub>'),
        ("Delta", "Δ", "<mi>Δ</mi>"),
        ("pH", "pH", "<mi>pH</mi>"),
        ("ΔT", "ΔT", '<mrow><mi mathvariant="normal">Δ</mi><mi>T</mi></mrow>'),
        ("x̄", "x̄", '<mi mathvariant="italic">x̄</mi>'),
        ("a<b", "a<b", "<mi>a&lt;b</mi>"),
    ],
)
def test_symbols(text: str, plain: str, mathml: str) -> None:
    assert symbol(text).plain == plain
    assert symbol(text).mathml == mathml


def test_values_stand_in_parentheses_only_where_they_would_be_misread() -> None:
    known = {"m_a", "g", "r"}
    plain, mathml = filled(typeset(LEFT, {}, known))
    assert plain == "s·(T_a − (2.0 kg)·(9.81 m/s²)) = (2.0 kg)·(12 cm)·α"
    assert "<mn>2.0</mn><mtext>\u00a0kg</mtext>" in mathml
    assert filled(typeset(op("-", "m_a", "r"), {}, known))[0] == "2.0 kg − 12 cm"
    assert filled(typeset(op("-", "x", "t"), {}, {"t"}))[0] == "x − (−3.0)"
    assert filled(typeset(op("-", "t", "x"), {}, {"t"}))[0] == "−3.0 − x"
    assert filled(typeset(op("^", "t", "2"), {}, {"t"}))[0] == "(−3.0)²"
    assert filled(typeset(op("^", "r", "2"), {}, {"r"}))[0] == "(12 cm)²"
    assert filled(typeset(call("sin", "t"), {}, {"t"}))[0] == "sin(−3.0)"
    assert filled(typeset(op("*", "x", "k"), {}, {"k"}), {"k": ("1.8 × 10⁻⁵", "")})[0] == (
        "x·(1.8 × 10⁻⁵)"
    )


def test_a_chain_is_symbol_formula_numbers_and_value() -> None:
    weight = chain(
        of_symbol(symbol("W_a")), typeset(WEIGHT, {}), typeset(WEIGHT, {}, VALUES), of_slot("W_a")
    )
    plain, mathml = filled(weight, VALUES | {"W_a": ("19.6", "N")})
    assert plain == "W_a = m_a·g = (2.0 kg)·(9.81 m/s²) = 19.6 N"
    assert mathml.count("<mo>=</mo>") == 3


def test_units_and_functions_are_upright_and_symbols_italic() -> None:
    _, mathml = filled(typeset(op("*", call("sin", "theta"), "m_a"), {}, {"m_a"}))
    tree = etree.fromstring(mathml)
    assert [e.text for e in tree.iter(f"{{{MATH_NAMESPACE}}}mi")] == ["sin", "θ"]  # sin: upright
    assert [e.text for e in tree.iter(f"{{{MATH_NAMESPACE}}}mtext")] == ["\u00a0kg"]


def test_multiplication_sign_stands_only_next_to_numbers() -> None:
    def signs(node: Node, values: tuple[str, ...] = ()) -> list[str | None]:
        tree = etree.fromstring(filled(typeset(node, {}, values))[1])
        return [e.text for e in tree.iter(f"{{{MATH_NAMESPACE}}}mo") if e.text in "⋅\u2062"]

    assert signs(WEIGHT) == ["\u2062"]
    assert signs(WEIGHT, ("m_a", "g")) == ["⋅"]
    assert signs(op("*", "2", "x")) == ["\u2062"]
    assert signs(op("*", "x", "2")) == ["⋅"]
    assert signs(op("*", "2", "3")) == ["⋅"]


@pytest.mark.parametrize(
    ("constants", "plain"),
    [
        ({"s": 1.0}, "T_a − m_a·g = m_a·r·α"),
        ({"s": -1.0}, "m_a·g − T_a = m_a·r·α"),
        ({"s": 0.0}, "0 = m_a·r·α"),
        ({"s": 0.25}, "0.25·(T_a − m_a·g) = m_a·r·α"),
        ({"s": -0.25}, "−0.25·(T_a − m_a·g) = m_a·r·α"),
        ({}, "s·(T_a − m_a·g) = m_a·r·α"),
    ],
)
def test_constants_of_a_case_are_put_in(constants: dict[str, float], plain: str) -> None:
    assert filled(typeset(specialise_equation(LEFT, constants), {}))[0] == plain


def test_a_minus_sign_on_both_sides_is_dropped() -> None:
    equation = Equation(op("*", "s", "a"), op("*", "s", op("*", "b", "c")))
    assert filled(typeset(specialise_equation(equation, {"s": -1.0}), {}))[0] == "a = b·c"


leaves = st.sampled_from([Name("s"), Name("a"), Name("b"), Name("u"), number("2"), number("0.5")])
trees = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.builds(Binary, st.sampled_from(["+", "-", "*", "/"]), inner, inner),
        st.builds(Negate, inner),
        st.builds(lambda base: Binary("^", base, number("2")), inner),
    ),
    max_leaves=12,
)


def value_of(node: Node, names: dict[str, Fraction]) -> Fraction:
    match node:
        case Number(value=value):
            return value
        case Name(id=name):
            return names[name]
        case Negate(operand=operand):
            return -value_of(operand, names)
        case Binary(operator=operator, left=left, right=right):
            a, b = value_of(left, names), value_of(right, names)
            table = {"+": a + b, "-": a - b, "*": a * b}
            if operator in table:
                return table[operator]
            return a / b if operator == "/" else a ** int(b)
        case _:
            raise AssertionError(node)


class Reader:
    """A tiny independent reader of our plain text, to see that it means what the tree means."""

    def __init__(self, text: str, names: dict[str, Fraction]) -> None:
        self.text, self.names, self.at = text.replace(" ", ""), names, 0

    def peek(self) -> str:
        return self.text[self.at : self.at + 1]

    def take(self, signs: str) -> str:
        if self.peek() and self.peek() in signs:
            self.at += 1
            return self.text[self.at - 1]
        return ""

    def sum(self) -> Fraction:
        total = -self.product() if self.take("−") else self.product()
        while sign := self.take("+−"):
            total += self.product() if sign == "+" else -self.product()
        return total

    def product(self) -> Fraction:
        value = self.power()
        while sign := self.take("·/"):
            value = value * self.power() if sign == "·" else value / self.power()
        return value

    def power(self) -> Fraction:
        value = self.atom()
        return value**2 if self.take("²") else value

    def atom(self) -> Fraction:
        if self.take("("):
            value = self.sum()
            assert self.take(")")
            return value
        digits = "".join(itertools.takewhile(lambda c: c in "0123456789.", self.text[self.at :]))
        if digits:
            self.at += len(digits)
            return Fraction(digits)
        self.at += 1
        return self.names[self.text[self.at - 1]]


@given(trees, st.sampled_from([1.0, -1.0, 0.0, 3.0, -0.5]))
@settings(max_examples=400, deadline=None)
def test_plain_text_means_what_the_tree_means(node: Node, s: float) -> None:
    names = {"s": Fraction(s), "a": Fraction(7, 3), "b": Fraction(-5, 11), "u": Fraction(13, 2)}
    try:
        expected = value_of(node, names)
    except ZeroDivisionError:
        return
    for shown in (node, specialise(node, {"s": s})):
        text, _ = filled(typeset(shown, {}))
        reader = Reader(text, names)
        assert reader.sum() == expected
        assert reader.at == len(reader.text)
    numbers = {name: (str(float(names[name])).replace("-", "−"), "") for name in ("s", "u")}
    text, _ = filled(typeset(node, {}, numbers), numbers)
    assert Reader(text, names).sum() == expected


def test_numerals_keep_the_digits_they_were_written_with() -> None:
    assert numeral_for_people("2.50") == "2.50"
    assert numeral_for_people("-1.80E-05") == "−1.80 × 10⁻⁵"
    assert numeral_for_people("x") is None


@pytest.fixture(scope="module")
def mathml_schema(standards: Path) -> etree.XMLSchema:
    file = standards / "w3c" / "mathml3-xsd" / "mathml4.xsd"
    if not file.exists():
        pytest.skip(f"the W3C MathML 3 schema is not at {file}; set QBANK_STANDARDS")
    return etree.XMLSchema(etree.parse(file))


EVERYTHING: list[Node | Equation] = [
    LEFT,
    op("^", call("sin", "theta"), "2"),
    call("log10", "x"),
    call("exp", Negate(op("/", "t", op("*", "R", "C")))),
    call("sqrt", op("+", op("^", "a", "2"), "b")),
    call("cbrt", "x"),
    call("abs", op("-", "a", "b")),
    call("floor", op("/", "a", "b")),
    call("max", "a", "b"),
    call("chi2_quantile", number("0.95"), "n"),
    call("normal_quantile", number("0.95")),
    call("t_quantile", number("0.95"), "n"),
    call("normal_cdf", "z"),
    call("t_cdf", "t", "n"),
    call("chi2_cdf", "x", "n"),
    call("sum", op("^", "x", "2")),
    op("*", "x", Number(Fraction(1, 3), "1/3")),
    Logic("or", (Compare((Name("a"), Name("b")), ("<",)), Not(Name("c")))),
    op("^", op("*", "m_a", "x"), op("-", "n", "1")),
    op("^", "m_a", "x"),
]


def checked(node: Node | Equation, schema: etree.XMLSchema) -> None:
    for values in ((), VALUES):
        _, mathml = filled(typeset(node, {}, values))
        document = etree.fromstring(mathml)
        assert schema.validate(document), f"{schema.error_log}\n{mathml}"
        for element in document.iter():
            tag = etree.QName(element).localname
            arity = {"mfrac": 2, "msup": 2, "msub": 2, "mroot": 2, "msubsup": 3}.get(tag)
            assert arity is None or len(element) == arity, mathml
            if tag in {"mrow", "math", "msqrt"}:
                assert not (element.text or "").strip()


@pytest.mark.parametrize("node", EVERYTHING, ids=lambda node: filled(typeset(node, {}))[0])
def test_mathml_is_valid_by_the_w3c_schema(
    node: Node | Equation, mathml_schema: etree.XMLSchema
) -> None:
    checked(node, mathml_schema)


@given(trees)
@settings(max_examples=100, deadline=None)
def test_mathml_of_any_tree_is_valid(mathml_schema: etree.XMLSchema, node: Node) -> None:
    checked(node, mathml_schema)


def test_the_schema_check_can_fail(mathml_schema: etree.XMLSchema) -> None:
    broken = etree.fromstring(f"{OPEN_MATH}<mfrac><mi>a</mi></mfrac>{CLOSE_MATH}")
    assert not mathml_schema.validate(broken)
