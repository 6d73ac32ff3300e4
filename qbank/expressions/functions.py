"""The functions of the language: how many arguments, which dimensions, how evaluated."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal

import numpy as np

from qbank.expressions import data_lists, distributions, quantiles

DimensionRule = Literal[
    "pure",  # pure numbers in, a pure number out
    "same",  # all arguments alike, the result like them
    "ratio",  # all arguments alike, a pure number out
    "square root",
    "cube root",
    "square",
]


@dataclass(frozen=True, slots=True)
class Function:
    """One function of the language.

    `kind` says what it takes: "scalar" functions work on each value (and on each value of a data
    list), "list" functions turn the values of a data list into one.
    `evaluate` is a NumPy ufunc of one or two arguments for scalar functions, except those of
    `OF_DISTRIBUTIONS`, which return new arrays; for list functions it takes (values (n, m),
    valid (n, m)) and gives (n,). Functions of more than two arguments are folded from the left.
    `sympy` is the name of the constructor in SymPy; None where there is no closed form.
    """

    name: str
    least: int
    most: int
    kind: Literal["scalar", "list"]
    rule: DimensionRule
    evaluate: Callable[..., Any]
    sympy: str | None = None

    @property
    def arity(self) -> str:
        """How many arguments, in words."""
        if self.least != self.most:
            return f"{self.least} to {self.most} arguments"
        return f"{self.least} argument{'s' if self.least != 1 else ''}"


MANY = 8  # arguments of min and max; SymPy compares each with each


def _scalar(
    name: str, rule: DimensionRule, evaluate: Callable[..., Any], sympy: str | None, count: int = 1
) -> Function:
    return Function(name, count, count, "scalar", rule, evaluate, sympy)


def _list(name: str, rule: DimensionRule, evaluate: Callable[..., Any]) -> Function:
    return Function(name, 1, 1, "list", rule, evaluate)


FUNCTIONS: Mapping[str, Function] = MappingProxyType(
    {
        function.name: function
        for function in (
            _scalar("sin", "pure", np.sin, "sin"),
            _scalar("cos", "pure", np.cos, "cos"),
            _scalar("tan", "pure", np.tan, "tan"),
            _scalar("asin", "pure", np.arcsin, "asin"),
            _scalar("acos", "pure", np.arccos, "acos"),
            _scalar("atan", "pure", np.arctan, "atan"),
            _scalar("atan2", "ratio", np.arctan2, "atan2", 2),
            _scalar("sinh", "pure", np.sinh, "sinh"),
            _scalar("cosh", "pure", np.cosh, "cosh"),
            _scalar("tanh", "pure", np.tanh, "tanh"),
            _scalar("exp", "pure", np.exp, "exp"),
            _scalar("ln", "pure", np.log, "log"),
            _scalar("log10", "pure", np.log10, "log"),
            _scalar("sqrt", "square root", np.sqrt, "sqrt"),
            _scalar("cbrt", "cube root", np.cbrt, "real_root"),
            _scalar("abs", "same", np.abs, "Abs"),
            _scalar("sign", "ratio", np.sign, "sign"),
            _scalar("floor", "pure", np.floor, "floor"),
            _scalar("ceil", "pure", np.ceil, "ceiling"),
            Function("min", 2, MANY, "scalar", "same", np.minimum, "Min"),
            Function("max", 2, MANY, "scalar", "same", np.maximum, "Max"),
            _list("count", "ratio", data_lists.count),
            _list("sum", "same", data_lists.total),
            _list("mean", "same", data_lists.mean),
            _list("sd", "same", data_lists.standard_deviation),
            _list("variance", "square", data_lists.variance),
            _list("median", "same", data_lists.median),
            _list("least", "same", data_lists.least),
            _list("greatest", "same", data_lists.greatest),
            _scalar("normal_quantile", "pure", quantiles.normal_quantile, None),
            _scalar("t_quantile", "pure", quantiles.t_quantile, None, 2),
            _scalar("chi2_quantile", "pure", quantiles.chi2_quantile, None, 2),
            _scalar("normal_cdf", "pure", distributions.normal_cdf, None),
            _scalar("t_cdf", "pure", distributions.t_cdf, None, 2),
            _scalar("chi2_cdf", "pure", distributions.chi2_cdf, None, 2),
        )
    }
)

# quantiles and distribution functions, which take single values only; monotone in each argument
OF_DISTRIBUTIONS = frozenset(name for name in FUNCTIONS if name.endswith(("_quantile", "_cdf")))

# what people write for a function -> what to write here
HABITS: Mapping[str, str] = MappingProxyType(
    {
        "log": "ln or log10",
        "lg": "log10",
        "arcsin": "asin",
        "arccos": "acos",
        "arctan": "atan",
        "root": "sqrt",
        "ceiling": "ceil",
        "absolute": "abs",
        "average": "mean",
        "avg": "mean",
        "std": "sd",
        "stdev": "sd",
        "var": "variance",
        "len": "count",
        "pow": "^ for powers",
        "cot": "1/tan",
        "maximum": "max of values, greatest of a data list",
        "minimum": "min of values, least of a data list",
    }
)

RESERVED = frozenset({"and", "or", "not", "pi", *FUNCTIONS})
"""Names with a meaning of their own in expressions: no quantity can be called so."""
