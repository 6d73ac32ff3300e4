"""Expressions of the standard as functions of a session, made once per document.

`OPERATORS` is the one table of all operators: how many operands each takes and what builds it.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable
from difflib import get_close_matches
from functools import cache

from lxml import etree

from qbank.scoring import arithmetic, containers, leaves, logic, mathematics, test_data, texts
from qbank.scoring.calls import Call, Scope
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_DEPTH
from qbank.scoring.names import name_of_tag
from qbank.scoring.session import Expression

Builder = Callable[[Call], Expression]
MANY = 1_000_000

# name -> fewest operands, most operands, builder
OPERATORS: dict[str, tuple[int, int, Builder]] = {
    "baseValue": (0, 0, leaves.build_base_value),
    "variable": (0, 0, leaves.build_variable),
    "correct": (0, 0, leaves.build_correct),
    "default": (0, 0, leaves.build_default),
    "null": (0, 0, leaves.build_null),
    "mapResponse": (0, 0, leaves.build_map_response),
    "mapResponsePoint": (0, 0, leaves.build_map_response_point),
    "mathConstant": (0, 0, mathematics.build_math_constant),
    "randomInteger": (0, 0, leaves.build_random_integer),
    "randomFloat": (0, 0, leaves.build_random_float),
    "customOperator": (0, MANY, leaves.build_custom_operator),
    "and": (1, MANY, logic.build_and),
    "or": (1, MANY, logic.build_or),
    "not": (1, 1, logic.build_not),
    "anyN": (1, MANY, logic.build_any_n),
    "isNull": (1, 1, logic.build_is_null),
    "match": (2, 2, logic.build_match),
    "equal": (2, 2, logic.build_equal),
    "equalRounded": (2, 2, logic.build_equal_rounded),
    "lt": (2, 2, logic.comparison(operator.lt)),
    "lte": (2, 2, logic.comparison(operator.le)),
    "gt": (2, 2, logic.comparison(operator.gt)),
    "gte": (2, 2, logic.comparison(operator.ge)),
    "durationLT": (2, 2, logic.duration_comparison(operator.lt)),
    "durationGTE": (2, 2, logic.duration_comparison(operator.ge)),
    "inside": (1, 1, leaves.build_inside),
    "stringMatch": (2, 2, texts.build_string_match),
    "substring": (2, 2, texts.build_substring),
    "patternMatch": (1, 1, texts.build_pattern_match),
    "sum": (1, MANY, arithmetic.reduction(arithmetic.total)),
    "product": (1, MANY, arithmetic.reduction(math.prod)),
    "min": (1, MANY, arithmetic.reduction(min)),
    "max": (1, MANY, arithmetic.reduction(max)),
    "subtract": (2, 2, arithmetic.build_subtract),
    "divide": (2, 2, arithmetic.build_divide),
    "power": (2, 2, arithmetic.build_power),
    "integerDivide": (2, 2, arithmetic.whole_division(remainder=False)),
    "integerModulus": (2, 2, arithmetic.whole_division(remainder=True)),
    "round": (1, 1, arithmetic.build_round),
    "truncate": (1, 1, arithmetic.build_truncate),
    "roundTo": (1, 1, arithmetic.build_round_to),
    "integerToFloat": (1, 1, arithmetic.build_integer_to_float),
    "gcd": (1, MANY, arithmetic.common(math.gcd)),
    "lcm": (1, MANY, arithmetic.common(math.lcm)),
    "mathOperator": (1, 2, mathematics.build_math_operator),
    "statsOperator": (1, 1, mathematics.build_stats_operator),
    "multiple": (0, MANY, containers.gathering("multiple")),
    "ordered": (0, MANY, containers.gathering("ordered")),
    "repeat": (1, MANY, containers.build_repeat),
    "containerSize": (1, 1, containers.build_container_size),
    "index": (1, 1, containers.build_index),
    "member": (2, 2, containers.build_member),
    "delete": (2, 2, containers.build_delete),
    "contains": (2, 2, containers.build_contains),
    "random": (1, 1, containers.build_random),
    "fieldValue": (1, 1, containers.build_field_value),
    "testVariables": (0, 0, test_data.build_test_variables),
    "outcomeMaximum": (0, 0, test_data.outcome_bound("normalMaximum")),
    "outcomeMinimum": (0, 0, test_data.outcome_bound("normalMinimum")),
    "numberCorrect": (0, 0, test_data.counting("correct")),
    "numberIncorrect": (0, 0, test_data.counting("incorrect")),
    "numberPresented": (0, 0, test_data.counting("presented")),
    "numberResponded": (0, 0, test_data.counting("responded")),
    "numberSelected": (0, 0, test_data.counting("selected")),
}


Entry = tuple[str, int, int, Builder]


@cache
def _entry(tag: str) -> Entry | None:
    """The name and the row of an operator from its tag in any version."""
    name = name_of_tag(tag)
    row = OPERATORS.get(name)
    return None if row is None else (name, *row)


def build_expression(element: etree._Element, scope: Scope, depth: int = 0) -> Expression:
    """An expression's element as a function of a session.

    Raises ScoringError for an operator the standard does not have, a wrong number of operands,
    an attribute that is missing or cannot be read, and expressions within each other too deep.
    """
    entry = _entry(element.tag)
    if entry is None:
        raise _no_operator(element)
    name, fewest, most, builder = entry
    if not most:  # a leaf: what it holds is text
        return builder(Call(name, element, (), scope))
    if depth > MAX_DEPTH:
        raise ScoringError(f"operators stand more than {MAX_DEPTH} deep{at(element)}")
    depth += 1
    operands = tuple([build_expression(child, scope, depth) for child in element])
    if not fewest <= len(operands) <= most:
        expected = f"{fewest} or more" if most == MANY else str(most)
        raise ScoringError(
            f"'{name}'{at(element)} has {len(operands)} operands, expected {expected}"
        )
    return builder(Call(name, element, operands, scope))


def _no_operator(element: etree._Element) -> ScoringError:
    name = name_of_tag(str(element.tag))
    near = get_close_matches(name, OPERATORS, n=1)
    return ScoringError(
        f"there is no operator '{name}'{at(element)}",
        hint=f"did you mean '{near[0]}'?" if near else None,
    )
