"""Bands read from rules against the scorer, which runs the same rules by another route.

Rules are made at random of what the standard has for numbers (mapping note, b3 and g2).
"""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from qbank.formats.foreign.documents import parse_document
from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.qti_item import read_qti_item
from qbank.scoring.compiled import compile_item
from tests.formats.foreign.documents import ENTRY, KEY, R, base, codes, item, response

KEY_VALUE = 4.0
NUMBERS = st.sampled_from([-2.0, 0.0, 1.0, 3.5, 3.9, 4.0, 4.1, 4.5, 8.0])
BOUNDS = st.builds(
    lambda name, value, first: (
        f"<{name}>{R}{base(value)}</{name}>" if first else f"<{name}>{base(value)}{R}</{name}>"
    ),
    st.sampled_from(["gte", "lte", "gt", "lt"]),
    NUMBERS,
    st.booleans(),
)
EQUALS = st.builds(
    lambda mode, sides, low, high, first: (
        f'<equal toleranceMode="{mode}" tolerance="{sides}" includeLowerBound="{low}" '
        f'includeUpperBound="{high}">{KEY + R if first else R + KEY}</equal>'
    ),
    st.sampled_from(["absolute", "relative"]),
    st.sampled_from(["0.5", "1 2", "5", "0 10"]),
    st.sampled_from(["true", "false"]),
    st.sampled_from(["true", "false"]),
    st.booleans(),
)
ROUNDED = st.builds(
    lambda mode, figures: (
        f'<equalRounded roundingMode="{mode}" figures="{figures}">{R}{KEY}</equalRounded>'
    ),
    st.sampled_from(["decimalPlaces", "significantFigures"]),
    st.sampled_from([1, 2, 3]),
)
TESTS = st.recursive(
    st.one_of(BOUNDS, EQUALS, ROUNDED),
    lambda inner: st.one_of(
        st.builds(lambda a, b: f"<and>{a}{b}</and>", inner, inner),
        st.builds(lambda a, b: f"<or>{a}{b}</or>", inner, inner),
        st.builds(lambda a: f"<not>{a}</not>", inner),
    ),
    max_leaves=4,
)


def _set(points: float) -> str:
    return f'<setOutcomeValue identifier="SCORE">{base(points)}</setOutcomeValue>'


def chain(tests: list[str], points: list[float]) -> str:
    """One condition: if, else if, else nothing."""
    parts = [
        f"<{name}>{test}{_set(worth)}</{name}>"
        for name, test, worth in zip(
            ["responseIf", *["responseElseIf"] * 3], tests, points, strict=False
        )
    ]
    otherwise = f"<responseElse>{_set(0)}</responseElse>"
    return f"<responseCondition>{''.join(parts)}{otherwise}</responseCondition>"


RULES = st.builds(
    chain,
    st.lists(TESTS, min_size=1, max_size=3),
    st.sampled_from([[2.0, 1.0, 0.5], [1.0, 2.0, 0.0], [1.0, 1.0, 2.0]]),
)
SAMPLES = [k / 40 for k in range(-200, 420)]


@settings(max_examples=200)
@given(rules=RULES)
def test_the_band_read_is_the_band_scored(rules):
    text = item(response(key=str(KEY_VALUE)), f"<p>{ENTRY}</p>", rules)
    losses = Losses("one.xml")
    root = parse_document(text.encode(), "one.xml", losses)
    found = read_qti_item(root, "one.xml", lambda _: b"", losses)
    (part,) = found.item.parts
    band = part.tolerance
    scored = compile_item(text.encode())

    def score(value: float) -> float:
        return scored.score({"RESPONSE": repr(value)}).score or 0.0

    if "points" in codes(found):  # nothing earns points: so says the scorer
        assert all(score(value) == 0.0 for value in SAMPLES)
        return
    assert "tried" not in codes(found)
    assert part.points >= max(score(value) for value in SAMPLES)
    # With the response first the window moves in steps of doubles: its very ends are no test.
    ends = (band.low + 1e-9, band.high - 1e-9)
    inside = [v for v in (*SAMPLES, *ends) if band.low + 1e-9 <= v <= band.high - 1e-9]
    assert all(score(value) == part.points for value in inside if math.isfinite(value))
    if "band" not in codes(found):
        outside = [v for v in SAMPLES if not band.low - 1e-9 <= v <= band.high + 1e-9]
        assert all(score(value) < part.points for value in outside)
    if not band.low <= KEY_VALUE <= band.high:
        assert "key-scoring" in codes(found)
        assert score(KEY_VALUE) < part.points
