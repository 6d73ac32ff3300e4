"""The table and the plain values: stable columns, nothing a spreadsheet runs, never NaN."""

from __future__ import annotations

import csv
import io
import json

import pytest

from qbank.audit.report import as_csv, as_json
from qbank.audit.report.rows import COLUMNS, harmless
from qbank.audit.verdict import Audit
from tests.audit.report.made import full, hostile, judgement


def rows(audit: Audit) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv(audit), newline=""), strict=True))


def test_a_row_for_each_judgement_in_the_order_of_the_bank():
    audit = full()
    found = rows(audit)
    assert [row["item"] for row in found] == [j.item for j in audit.judgements]
    slipped = next(row for row in found if row["item"] == "item-7")
    assert slipped | {"how": ""} == {
        "number": "8", "item": "item-7", "part": "A", "file": "items/7.xml", "line": "3",
        "verdict": "wrong", "level": "3", "level_name": "matched to a family",
        "severity": "error", "code": "slip:diameters", "states": "48.2 N", "expected": "24.1 N",
        "value": "24.08", "low": "23.86", "high": "24.34", "correct": "", "how": "",
        "cause": "slip:diameters", "cause_says": "The diameters were used where radii belong.",
        "other_causes": "power-of-two", "confidence": "0.97", "family": "stepped-drum",
        "case": "left-falls", "unknown": "T_a",
    }  # fmt: skip


def test_the_table_is_as_the_standard_says():
    text = as_csv(full())
    assert text.split("\r\n")[0] == ",".join(COLUMNS)  # RFC 4180, 2.1 and 2.3
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert {len(row) for row in csv.reader(io.StringIO(as_csv(hostile()), newline=""))} == {
        len(COLUMNS)
    }


@pytest.mark.parametrize(
    ("cell", "harmed"),
    [
        ("=1+1", "'=1+1"), ("+1 N", "'+1 N"), ("@SUM(A1)", "'@SUM(A1)"), ("-x", "'-x"),
        ("\t=1", "'\t=1"), (" =1", "' =1"), ("＝1", "'＝1"), ("-12.5", "-12.5"),
        ("-1.8e-5", "-1.8e-5"), ("12.5 N", "12.5 N"), ("−4 cm", "−4 cm"), ("", ""),
    ],
)  # fmt: skip
def test_no_cell_is_a_formula(cell, harmed):
    assert harmless(cell) == harmed
    found = rows(Audit("b", "f", 1, [judgement(0, states=cell)]))
    assert found[0]["states"] == harmed


@pytest.mark.parametrize("audit", [full, hostile], ids=["full", "hostile"])
def test_json_has_no_number_that_is_none(audit):
    text = json.dumps(as_json(audit()), allow_nan=False)
    assert json.loads(text) == as_json(audit())


def test_json_counts_and_orders():
    found = as_json(full())
    assert (found["items"], found["keys"], found["checked"], found["accused"]) == (40, 40, 11, 6)
    assert found["nothing_checked"] is False
    assert [found["judgements"][at]["item"] for at in found["worst"][:2]] == ["item-12", "item-3"]
    assert sum(row["judgements"] for row in found["counts"]) == len(found["judgements"])
    assert {"level": None, "verdict": "not checked", "judgements": 29} in found["counts"]
    assert found["assignments"][0]["chance"] == 3.2e-9
    assert as_json(hostile())["assignments"][0]["chance"] is None
    assert as_json(Audit("b", "f"))["nothing_checked"] is True
