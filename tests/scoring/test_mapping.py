"""Mapped responses and lookup tables.

Rules are from the project's mapping note, sections e and g, unless a test says otherwise.
"""

from __future__ import annotations

import pytest

from qbank.scoring.compiled import compile_item
from tests.scoring.items import (
    ABC,
    SCORE,
    declare,
    document,
    entry,
    mapped,
    outcomes,
    put,
)

MAP = put("SCORE", '<mapResponse identifier="RESPONSE"/>')


@pytest.mark.parametrize(
    ("attributes", "answer", "expected"),
    [
        ('defaultValue="0"', ["A", "B"], 3),
        ('defaultValue="0"', ["A", "A", "B"], 3),  # distinct members count once
        ('defaultValue="-1"', ["A", "X", "Y"], 0),  # each unlisted adds the default
        ('defaultValue="0" lowerBound="0"', ["B", "C"], 0),
        ('defaultValue="0" upperBound="2.5"', ["A", "B"], 2.5),
        ('defaultValue="-1" lowerBound="-0.5"', ["X"], -0.5),
        ('defaultValue="5"', [], 0),  # our rule: nothing chosen is worth nothing
        ('lowerBound="1"', [], 1),
    ],
)
def test_containers_are_mapped(attributes, answer, expected):
    declarations = mapped(ABC, attributes, cardinality="multiple") + SCORE
    assert outcomes(declarations, MAP, {"RESPONSE": answer})["SCORE"] == expected


def test_singles_are_mapped_by_entry_or_default():
    declarations = mapped(ABC, 'defaultValue="-1"') + SCORE
    item = compile_item(document(declarations, MAP))
    assert [item.score({"RESPONSE": a}).score for a in "ABCX"] == [2, 1, -3, -1]


def test_map_keys_mind_case_unless_they_say_otherwise():
    """Note b7: the default is not safe to assume; the official 2.x items imply true."""
    entries = entry("York", 2, 'caseSensitive="false"') + entry("Leeds", 1)
    declarations = mapped(entries, 'defaultValue="0"', kind="string") + SCORE
    item = compile_item(document(declarations, MAP))
    answers = ("york", "YORK", "Leeds", "leeds")
    assert [item.score({"RESPONSE": a}).score for a in answers] == [2, 2, 1, 0]


def test_pairs_are_mapped_without_regard_to_order():
    """Note b6: `A B` is `B A`, also in map keys; a directed pair is not."""
    for kind, expected in (("pair", 1), ("directedPair", 0)):
        declarations = mapped(entry("C B", 1), kind=kind, cardinality="multiple") + SCORE
        assert outcomes(declarations, MAP, {"RESPONSE": ["B C"]})["SCORE"] == expected


def test_points_are_mapped_each_area_once():
    areas = (
        '<areaMapEntry shape="circle" coords="0,0,5" mappedValue="2"/>'
        '<areaMapEntry shape="rect" coords="0,0,10,10" mappedValue="1"/>'
    )
    inner = f'<areaMapping defaultValue="-1" upperBound="3">{areas}</areaMapping>'
    rule = put("SCORE", '<mapResponsePoint identifier="RESPONSE"/>')
    many = declare("response", "RESPONSE", "point", cardinality="multiple", inner=inner) + SCORE
    item = compile_item(document(many, rule))
    for answer, expected in [
        (["1 1"], 2),  # the first area it lies in
        (["1 1", "2 2"], 2),  # the circle counts once
        (["1 1", "8 8"], 3),
        (["1 1", "50 50"], 1),
        ([], 0),
    ]:
        assert item.score({"RESPONSE": answer}).score == expected, answer
    single = declare("response", "RESPONSE", "point", inner=inner) + SCORE
    assert outcomes(single, rule, {"RESPONSE": "8 9"})["SCORE"] == 1


# ---------------------------------------------------------------------------- lookup tables


def test_match_tables_are_exact_and_interpolation_tables_go_by_steps():
    table = (
        '<matchTable defaultValue="none"><matchTableEntry sourceValue="1" targetValue="one"/>'
        '<matchTableEntry sourceValue="2" targetValue="two"/></matchTable>'
    )
    steps = (
        '<interpolationTable defaultValue="fail">'
        '<interpolationTableEntry sourceValue="9" targetValue="top" includeBoundary="false"/>'
        '<interpolationTableEntry sourceValue="5" targetValue="pass"/></interpolationTable>'
    )
    declarations = (
        declare("response", "RESPONSE", "float")
        + declare("outcome", "WORD", "identifier", inner=table)
        + declare("outcome", "GRADE", "identifier", inner=steps)
    )
    look = "".join(
        f'<lookupOutcomeValue identifier="{name}"><variable identifier="RESPONSE"/>'
        "</lookupOutcomeValue>"
        for name in ("WORD", "GRADE")
    )
    item = compile_item(document(declarations, look))
    found = {a: item.score({"RESPONSE": a}).outcomes for a in ("1", "2", "5", "9", "9.5", "4.9")}
    assert [o["WORD"] for o in found.values()] == ["one", "two", "none", "none", "none", "none"]
    assert [o["GRADE"] for o in found.values()] == ["fail", "fail", "pass", "pass", "top", "fail"]
    assert item.score({}).outcomes["WORD"] == "none"
