"""Audits made by hand for the tests of reports: every level, verdict and oddity."""

from __future__ import annotations

import math
from fractions import Fraction

from qbank.audit.question import OptionValue, Quantity, Question
from qbank.audit.verdict import Assignment, Audit, Cause, Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.place import Place

ERROR, WARNING, NOTE = Severity.ERROR, Severity.WARNING, Severity.NOTE


def judgement(number: int = 0, **given) -> Judgement:
    values = {
        "item": f"item-{number}", "part": "A", "place": Place(f"items/{number}.xml", 3, 1),
        "number": number, "verdict": Verdict.RIGHT, "level": Level.MATCHED,
    } | given  # fmt: skip
    return Judgement(**values)


SLIPPED = judgement(
    7, verdict=Verdict.WRONG, level=Level.MATCHED, code="slip:diameters", severity=ERROR,
    states="48.2 N", expected="24.1 N", value=24.08, low=23.86, high=24.34, confidence=0.97,
    how="As a stepped drum with the diameters of 24 cm and 60 cm taken as radii of 12 cm and "
    "30 cm and a load of 4.0 kg, the torque balance gives 24.1 N.",
    cause=Cause("slip:diameters", "The diameters were used where radii belong.", 48.2),
    others=(Cause("power-of-two", "The result was doubled.", 48.16),),
    family="stepped-drum", case="left-falls", unknown="T_a",
)  # fmt: skip
DERIVED = judgement(
    12, part="R2", verdict=Verdict.WRONG, level=Level.SAME_FAMILY, code="derived",
    severity=ERROR, states="0.725 N", expected="72.5 N", value=72.4932,
    how="Instance 1 of stepped-drum under seed 0, derived again.",
    cause=Cause("power-of-ten", "The decimal mark is two places off.", 0.725),
    family="stepped-drum", unknown="T_a",
)  # fmt: skip
BOUND = judgement(
    3, verdict=Verdict.WRONG, level=Level.BOUND, code="sign", severity=ERROR, states="−4.1 cm",
    expected="4.1 cm", value=4.1, confidence=0.99, how="By the binding 'lens-1'.",
    family="thin-lens", unknown="d_i",
)  # fmt: skip
OFF = judgement(
    4, verdict=Verdict.SUSPECT, level=Level.OUTLIER, code="outlier", severity=WARNING,
    states="9.9 V", expected="", confidence=0.8,
    how="Eleven siblings lie on one surface within 0.2 %; this key is 31 % off it.",
)  # fmt: skip
DEFECTIVE = judgement(
    5, verdict=Verdict.DEFECT, level=Level.SELF_EVIDENT, code="band-without-key", severity=ERROR,
    states="3.5 s", how="The accepted band from 3.6 to 3.8 rejects the key.",
)  # fmt: skip
OPTION = judgement(
    6, verdict=Verdict.WRONG, level=Level.MATCHED, code="option", severity=ERROR, states="C",
    correct=("B",), value=2.5, how="The cart reaches 2.5 m/s, which option B states.",
)  # fmt: skip
ROUNDED = judgement(
    8, verdict=Verdict.ROUNDED, severity=NOTE, states="14.5 m", expected="14.4 m", value=14.44,
    cause=Cause("rounded", "The time was rounded to 1.7 s on the way.", 14.5),
)  # fmt: skip
CONSTANT = judgement(
    9, verdict=Verdict.OTHER_CONSTANT, severity=NOTE, states="19.6 N", expected="19.6 N",
    cause=Cause("constant", "With g = 9.8 m/s² where the stem leaves it open.", 19.6),
)  # fmt: skip
HOW_NOT = "no family fits its wording"


def unchecked(number: int, how: str = HOW_NOT) -> Judgement:
    return judgement(
        number, verdict=Verdict.UNCHECKED, level=None, code="unsolved", how=how, confidence=0.0
    )


def full() -> Audit:
    return Audit(
        bank="midterm.zip",
        format="QTI 2.1 package",
        items=40,
        judgements=[
            judgement(0), judgement(1, level=Level.SAME_FAMILY), judgement(2), BOUND, OFF,
            DEFECTIVE, OPTION, SLIPPED, ROUNDED, CONSTANT, unchecked(10), unchecked(11), DERIVED,
            *(unchecked(n, "its stem holds no numbers") for n in range(13, 40)),
        ],
        assignments=[
            Assignment(
                "stepped-drum", "T_a", "A drum of diameters {0} and {1} carries {2}. How large is "
                "the tension?", 12, 11, 3.2e-9,
                ("24 cm is twice r, the radius of the small disc", "4.0 kg is m_a, the left load"),
            )
        ],
        losses=[
            "items/3.xml:9:1: a drawing was left out [interaction]",
            "items/5.xml:9:1: a hot spot was left out [interaction]",
            "imsmanifest.xml:2:1: a metadata record was left out [metadata]",
        ],
        columns=["'Question' holds the stem", "'Answer' holds the key"],
        binding="bindings: []\n",
    )  # fmt: skip


def question() -> Question:
    """The question of SLIPPED."""
    stem = "A drum of diameters 24 cm and 60 cm carries 4.0 kg."

    def read(text: str, unit_free: str, symbol: str = "") -> Quantity:
        start = stem.index(text)
        return Quantity(text, Fraction(unit_free), None, start, start + len(text), 2, 0, symbol)

    return Question(
        item="item-7", part="A", number=7, place=SLIPPED.place, stem=stem,
        prompt="How large is the tension in N?",
        quantities=(read("24 cm", "24", "d"), read("60 cm", "60"), read("4.0 kg", "4")),
        key=48.2, key_text="48.2", unit=None, low=48.0, high=48.4,
        options=(OptionValue("A", "48.2 N", None, True), OptionValue("B", "24.1 N", None, False)),
    )  # fmt: skip


HOSTILE = '<img src=x onerror="alert(1)">&amp;</script>\x1b[31m\u202e=1+1'


def hostile() -> Audit:
    """Text from a stranger in every place a report shows."""
    bad = HOSTILE
    one = Judgement(
        item=bad, part=bad, place=Place(bad, 1, 1), number=0, verdict=Verdict.WRONG,
        level=Level.MATCHED, code=bad, severity=ERROR, states=bad, expected=bad, value=math.nan,
        how=bad, cause=Cause(bad, bad, math.inf), others=(Cause(bad, bad, math.nan),),
        confidence=math.nan, family=bad, case=bad, unknown=bad, correct=(bad,),
        low=math.inf, high=math.nan,
    )  # fmt: skip
    from dataclasses import replace

    return Audit(
        bank=bad, format=bad, items=1,
        judgements=[
            one,
            replace(one, verdict=Verdict.ROUNDED),
            replace(one, verdict=Verdict.UNCHECKED, level=None),
        ],
        assignments=[Assignment(bad, bad, bad, 1, 1, math.nan, (bad,))],
        losses=[f"{bad} [x]"], columns=[bad], binding=bad,
    )  # fmt: skip
