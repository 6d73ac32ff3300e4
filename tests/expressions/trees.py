"""Random expression trees for property tests."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from qbank.expressions.tree import Binary, Call, Compare, Logic, Measure, Name, Negate, Not, Number
from qbank.expressions.units import parse_unit

NAMES = ("x", "y", "m_a", "R", "E", "I")


def _number(value: int) -> Number:
    return Number(Fraction(value), str(value))


numbers = st.integers(0, 20).map(_number)
decimals = st.integers(1, 999).map(lambda i: Number(Fraction(i, 100), f"{i // 100}.{i % 100:02}"))
measures = st.tuples(st.integers(1, 50), st.sampled_from(["cm", "kg", "m/s^2", "N m"])).map(
    lambda pair: Measure(Fraction(pair[0]), parse_unit(pair[1]), f"{pair[0]} {pair[1]}")
)
names = st.sampled_from(NAMES).map(Name)


def _sums_products(inner: st.SearchStrategy) -> st.SearchStrategy:
    return st.one_of(
        st.builds(Binary, st.sampled_from("+-*/"), inner, inner),
        st.builds(Negate, inner),
        st.builds(lambda base, power: Binary("^", base, _number(power)), inner, st.integers(0, 3)),
        st.builds(lambda name, a: Call(name, (a,)), st.sampled_from(["sin", "abs", "sqrt"]), inner),
        st.builds(lambda a, b: Call("max", (a, b)), inner, inner),
    )


values = st.recursive(numbers | decimals | names, _sums_products, max_leaves=8)
values_with_units = st.recursive(
    numbers | decimals | measures | names, _sums_products, max_leaves=8
)

comparisons = st.lists(st.tuples(values, st.sampled_from(["<", "<=", ">", ">=", "==", "!="])),
                       min_size=1, max_size=3).flatmap(
    lambda links: values.map(
        lambda last: Compare((*(v for v, _ in links), last), tuple(o for _, o in links))
    )
)  # fmt: skip
conditions = st.recursive(
    comparisons,
    lambda inner: st.one_of(
        st.builds(Not, inner),
        st.tuples(st.sampled_from(["and", "or"]), st.lists(inner, min_size=2, max_size=3)).map(
            lambda pair: Logic(pair[0], tuple(pair[1]))
        ),
    ),
    max_leaves=4,
)
