"""Numeric parts of QTI 2.x and 3.0: bands by the mapping note, b3, from memory of the standard.

Every band is also held against the scorer, which runs the same rules by another route.
"""

from __future__ import annotations

import math

import pytest

from qbank.scoring.compiled import compile_item
from tests.formats.foreign.documents import (
    ENTRY,
    KEY,
    R,
    base,
    codes,
    gives,
    item,
    read_one,
    response,
)

VERSIONS = ("qti-2.1", "qti-2.2", "qti-3.0")


def equal(first, second, mode="absolute", tolerance="0.5", more=""):
    return f'<equal toleranceMode="{mode}" tolerance="{tolerance}" {more}>{first}{second}</equal>'


def between(low, high):
    return f"<and><gte>{R}{base(low)}</gte><lte>{R}{base(high)}</lte></and>"


CASES = {
    # key, rule, low, high
    "absolute": ("392.4", equal(KEY, R), 391.9, 392.9),
    "absolute-sides": ("10", equal(KEY, R, tolerance="1 2"), 9.0, 12.0),
    "absolute-response-first": ("10", equal(R, KEY, tolerance="1 2"), 8.0, 11.0),
    # The numbers of the mapping note, b3: 5 % around 4.136, with either operand first.
    "relative-key-first": ("4.136", equal(KEY, R, "relative", "5"), 3.9292, 4.3428),
    "relative-response-first": ("4.136", equal(R, KEY, "relative", "5"), 3.93904762, 4.35368421),
    "relative-negative": ("-50", equal(KEY, R, "relative", "2"), -51.0, -49.0),
    "constant": ("", equal(base(7), R, tolerance="0.25"), 6.75, 7.25),
    "bounds": ("5", between(4.5, 5.5), 4.5, 5.5),
    "bounds-mirrored": ("5", f"<and><lte>{base(4)}{R}</lte><gte>{base(6)}{R}</gte></and>", 4, 6),
    "places": ("12.34", f'<equalRounded roundingMode="decimalPlaces" figures="2">{R}{KEY}'
               "</equalRounded>", 12.335, math.nextafter(12.345, 0)),
    "figures": ("100", f'<equalRounded roundingMode="significantFigures" figures="3">{R}{KEY}'
                "</equalRounded>", 99.95, math.nextafter(100.5, 0)),
    "exact": ("3", f'<equal toleranceMode="exact">{R}{KEY}</equal>', 3.0, 3.0),
    "either": ("3", f"<or>{equal(base(3), R)}{equal(base(3.5), R)}</or>", 2.5, 4.0),
    "open-end": ("5", f"<and><gt>{R}{base(4)}</gt><lt>{R}{base(6)}</lt></and>",
                 math.nextafter(4, 9), math.nextafter(6, 0)),
}  # fmt: skip


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("case", CASES)
def test_the_band_is_the_one_the_rules_accept(tmp_path, version, case):
    key, rule, low, high = CASES[case]
    text = item(response(key=key), f"<p>P = {ENTRY} W</p>", gives(rule, 2), version)
    found = read_one(tmp_path, text)
    (part,) = found.item.parts
    assert part.tolerance.low == pytest.approx(low, rel=1e-8)
    assert part.tolerance.high == pytest.approx(high, rel=1e-8)
    assert (part.points, part.unit) == (2.0, "W")
    assert part.key_text == key or case == "constant"
    if case == "constant":
        assert part.key == 7.0
    scored = compile_item(text.encode())
    for edge, outward in ((part.tolerance.low, -1), (part.tolerance.high, 1)):
        beyond = edge + outward * 1e-9 * max(1.0, abs(edge))
        within = edge - outward * 1e-9 * max(1.0, abs(edge)) if low != high else edge
        assert scored.score({"RESPONSE": repr(within)}).score == 2.0
        assert scored.score({"RESPONSE": repr(beyond)}).score == 0.0


def test_rules_too_free_to_read_are_tried(tmp_path):
    square = f"<lte><product>{R}{R}</product>{base(16)}</lte>"
    text = item(response(key="3"), f"<p>{ENTRY}</p>", gives(f"<and>{square}"
                f"<gte>{R}{base(2)}</gte></and>", 3))  # fmt: skip
    found = read_one(tmp_path, text)
    (part,) = found.item.parts
    assert "tried" in codes(found)
    assert part.tolerance.low == pytest.approx(2, rel=1e-7)
    assert part.tolerance.high == pytest.approx(4, rel=1e-7)
    assert part.points == 3.0


def test_a_key_that_its_rules_refuse_is_told_and_kept(tmp_path):
    text = item(response(key="9"), f"<p>{ENTRY}</p>", gives(between(4, 5)))
    found = read_one(tmp_path, text)
    assert "key-scoring" in codes(found)
    assert found.item.parts[0].key == 9.0


def test_a_number_without_key_has_the_middle_of_its_range_or_none(tmp_path):
    found = read_one(tmp_path, item(response(), f"<p>{ENTRY}</p>", gives(between(4, 5))))
    (part,) = found.item.parts
    assert (part.key, part.key_text, part.tolerance.low) == (4.5, "4.5", 4.0)
    assert "key-of-range" in codes(found)
    found = read_one(tmp_path, item(response(), f"<p>{ENTRY}</p>", ""))
    (part,) = found.item.parts
    assert math.isnan(part.key)
    assert part.key_text == ""
    assert "key" in codes(found)


def test_spellings_of_a_number_in_a_mapping(tmp_path):
    entries = "".join(
        f'<mapEntry mapKey="{k}" mappedValue="{v}" caseSensitive="false"/>'
        for k, v in (("392", 2), ("392.0", 2), ("392,4", 2), ("400", 1))
    )
    declared = response("string", "392.0", extra=f'<mapping defaultValue="0">{entries}</mapping>')
    found = read_one(tmp_path, item(declared, f"<p>{ENTRY}</p>", "TEMPLATE map_response"))
    (part,) = found.item.parts
    assert (part.key_text, part.tolerance.low, part.tolerance.high) == ("392.0", 392.0, 392.4)
    assert part.points == 2.0
    assert {"spellings", "partial-credit"} <= codes(found)


def test_a_text_answer_is_no_part_but_told(tmp_path):
    found = read_one(tmp_path, item(response("string", "York"), f"<p>{ENTRY}</p>",
                                    "TEMPLATE match_correct"))  # fmt: skip
    assert found.item.parts == ()
    assert "text-answer" in codes(found)


def test_a_slider_is_a_number_to_enter(tmp_path):
    body = '<sliderInteraction responseIdentifier="RESPONSE" lowerBound="0" upperBound="9"/>'
    found = read_one(tmp_path, item(response("integer", "4"), body, "TEMPLATE match_correct"))
    assert (found.item.parts[0].key, found.item.parts[0].points) == (4.0, 1.0)
    assert "slider" in codes(found)


def test_parts_scored_together_share_the_points(tmp_path):
    declared = response(key="3", name="A") + response(key="4", name="B")
    tests = "".join(f'<match><variable identifier="{n}"/><correct identifier="{n}"/></match>'
                    for n in "AB")  # fmt: skip
    body = "".join(f'<p>{n} = <textEntryInteraction responseIdentifier="{n}"/> m, </p>'
                   for n in "AB")  # fmt: skip
    found = read_one(tmp_path, item(declared, body, gives(f"<and>{tests}</and>", 4)))
    assert [(p.identifier, p.key, p.points, p.unit) for p in found.item.parts] == [
        ("A", 3.0, 2.0, "m"), ("B", 4.0, 2.0, "m")]  # fmt: skip
    assert "joint-scoring" in codes(found)


def test_an_item_that_draws_its_own_data_is_read_as_one_draw(tmp_path):
    declared = response() + (
        '<templateDeclaration identifier="M" cardinality="single" baseType="integer"/>'
    )
    drawn = (
        '<templateProcessing><setTemplateValue identifier="M"><randomInteger min="20" max="90"/>'
        '</setTemplateValue><setCorrectResponse identifier="RESPONSE"><product>'
        '<variable identifier="M"/><baseValue baseType="integer">2</baseValue></product>'
        "</setCorrectResponse></templateProcessing>"
    )
    body = f'<p>Twice <printedVariable identifier="M"/> is {ENTRY}</p>'
    text = item(declared, body, gives(equal(KEY, R))).replace("<itemBody>", f"{drawn}<itemBody>")
    found = read_one(tmp_path, text)
    (part,) = found.item.parts
    mass = int("".join(c for c in part.prompt[0] if c.isdigit()))
    assert 20 <= mass <= 90
    assert part.key == 2 * mass
    assert (part.tolerance.low, part.tolerance.high) == (2 * mass - 0.5, 2 * mass + 0.5)
    assert "draws" in codes(found)
