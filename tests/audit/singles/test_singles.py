"""Single questions: how many are recognised in other words, and that no right key is accused.

The least shares are what was reached when this was written, less a little; they are of questions
worded by one hand, so they say how much a change costs and no more.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from qbank.audit.verdict import Judgement, Verdict
from qbank.family.library import find_family
from qbank.family.loader import load_family
from tests.audit.singles.banks import Single, decoys, judged, stories

LEAST_RIGHT = 0.9
LEAST_FOUND = 0.45


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("singles") / "bank.csv"


def worth(singles: tuple[Single, ...], kind: str) -> tuple[Single, ...]:
    """Those whose right key is not zero, with a key of the kind."""
    return tuple(s for s in singles if kind in s.keys and float(s.keys["right"]) != 0)


def misread(single: Single, judgement: Judgement) -> bool:
    """Whether another number is told to be right than is."""
    right = float(single.keys["right"])
    return abs(judgement.value - right) > 0.006 * abs(right)


def test_there_are_enough_questions() -> None:
    assert len(stories()) >= 140
    assert len({single.family for single in stories()}) >= 46
    assert len(decoys()) >= 180
    assert len({single.text for single in (*stories(), *decoys())}) == len(stories()) + len(
        decoys()
    )


def test_right_keys_are_approved_and_none_is_accused(table: Path) -> None:
    asked = worth(stories(), "right")
    found = list(judged(table, asked, "right"))
    assert [single.name for single, one in found if one is not None and one.accuses] == []
    approved = [single.name for single, one in found if one is not None and one.verdict.right]
    assert len(approved) >= LEAST_RIGHT * len(asked)


@pytest.mark.parametrize("kind", ["slip", "near", "far"])
def test_wrong_keys_are_found_and_read_rightly(table: Path, kind: str) -> None:
    asked = worth(stories(), kind)[{"slip": 0, "near": 1, "far": 2}[kind] :: 3]
    accused = [
        (single, one) for single, one in judged(table, asked, kind)
        if one is not None and one.verdict is Verdict.WRONG
    ]  # fmt: skip
    assert [single.name for single, one in accused if misread(single, one)] == []
    assert len(accused) >= LEAST_FOUND * len(asked)


def test_right_keys_of_questions_that_no_family_solves_are_never_accused(table: Path) -> None:
    accused = {
        single.text: one.how
        for single, one in judged(table, decoys(), "right")
        if one is not None and one.accuses
    }
    assert accused == {}


# What is asked, the key it has, and whether it may be held against the key.
CRATE = (
    "A crate with a mass of 20.0 kg stands at rest on a level floor. It is pulled with 180 N at an"
    " angle of 0° to the floor. The coefficient of static friction is 0.700, the coefficient of"
    " kinetic friction is 0.600. {ask} Take the free-fall acceleration to be 9.80 m/s²."
)
ASKED = (
    ("What is the size of the friction force?", "118", Verdict.RIGHT),
    ("What is the normal force of the floor?", "196", Verdict.RIGHT),
    ("What is the normal force of the floor?", "118", Verdict.WRONG),  # that of another part
    ("What is the normal force of the floor?", "169", Verdict.WRONG),
    ("What is the size of it?", "169", None),
)


@pytest.mark.parametrize(("ask", "key", "verdict"), ASKED)
def test_what_is_asked_must_be_named(
    table: Path, ask: str, key: str, verdict: Verdict | None
) -> None:
    single = Single("crate", "pulled-crate", "f", CRATE.format(ask=ask), "N", {"right": key})
    ((_, judgement),) = judged(table, [single], "right", [load_family(find_family("pulled-crate"))])
    assert (None if judgement is None else judgement.verdict) is verdict


def test_a_unit_in_the_words_may_belong_to_something_else(table: Path) -> None:
    text = (
        "A reaction has 0 molecules of gas among its reactants and 10 among its products. At 25 °C"
        " its equilibrium constant is 4.08e-25, with pressures in atmospheres. What is its"
        " equilibrium constant with concentrations in moles per litre?"
    )
    family = load_family(find_family("pressure-to-concentration"))
    for key, verdict in (("5.31e-39", Verdict.RIGHT), ("5.34e-39", Verdict.OTHER_CONSTANT)):
        single = Single("constant", family.name, "K_c", text, "", {"right": key})
        ((_, judgement),) = judged(table, [single], "right", [family])
        assert judgement is not None
        assert judgement.verdict is verdict
