"""Families made from a few lines, so that a test shows the model it is about."""

from __future__ import annotations

from collections.abc import Mapping

from qbank.expressions.numbers import NumberFormat
from qbank.expressions.parser import parse_condition, parse_equation, parse_value
from qbank.expressions.units import parse_unit
from qbank.family.model import (
    Case,
    Family,
    Fixed,
    Given,
    Law,
    Let,
    Slip,
    ToleranceRule,
    Unknown,
)
from qbank.place import Place

PLACE = Place("test.yaml", 1, 1)


def make_family(
    *,
    given: str,
    find: Mapping[str, Mapping[str, str]] | str,
    laws: Mapping[str, object],
    let: Mapping[str, str] | None = None,
    cases: Mapping[str, Mapping[str, object]] | None = None,
    slips: Mapping[str, Mapping[str, object]] | None = None,
    units: Mapping[str, str] | None = None,
) -> Family:
    """A family of names and laws alone; `laws` may hold mappings, one a case, as in a file.

    `find` maps an unknown to its `choose` and `between`; units are "1" unless `units` says so.
    """
    units = units or {}

    def unit(name: str):
        return parse_unit(units.get(name, "1"))

    wanted = {name: {} for name in find.split()} if isinstance(find, str) else find
    case_list = tuple(
        Case(
            name,
            parse_condition(str(case["when"])) if case.get("when") else None,
            dict(case.get("set", {})),  # type: ignore[call-overload]
            {},
            PLACE,
        )
        for name, case in (cases or {"": {}}).items()
    )
    law_list: list[Law] = []
    for line, (name, law) in enumerate(laws.items(), 1):
        if isinstance(law, Mapping):
            law_list += [
                Law(inner, parse_equation(text), name, Place("test.yaml", line, i))
                for i, (inner, text) in enumerate(law.items(), 1)
            ]
        else:
            law_list.append(Law(name, parse_equation(str(law)), None, Place("test.yaml", line, 1)))
    return Family(
        name="test",
        title="",
        subject="",
        level="",
        version="1",
        licence="",
        authors=(),
        objectives=(),
        caution="",
        given={
            name: Given(name, name, name, unit(name), Fixed(1, 0), False, PLACE)
            for name in given.split()
        },
        let={
            name: Let(name, name, name, unit(name), parse_value(text), NumberFormat(4), PLACE)
            for name, text in (let or {}).items()
        },
        find={
            name: Unknown(
                name,
                name,
                name,
                unit(name),
                NumberFormat(3),
                ToleranceRule(),
                Place("test.yaml", 50, 1),
                choose=parse_condition(keys["choose"]) if "choose" in keys else None,
                between=_ends(keys["between"]) if "between" in keys else None,
            )
            for name, keys in wanted.items()
        },
        cases=case_list,
        laws=tuple(law_list),
        rules=(),
        confirm=(),
        slips={name: _slip(name, slip, let or {}) for name, slip in (slips or {}).items()},
        ask=(),
        texts={},
        settings=(),
        equal_shares=False,
        digest="",
        draw_key="",
        place=PLACE,
    )


def _ends(text: str):
    low, high = text.split("..")
    return parse_value(low.strip()), parse_value(high.strip())


def _slip(name: str, slip: Mapping[str, object], lets: Mapping[str, str]) -> Slip:
    replace: Mapping[str, str] = slip.get("replace", {})  # type: ignore[assignment]
    change: Mapping[str, str] = slip.get("change", {})  # type: ignore[assignment]
    return Slip(
        name,
        "",
        Place("test.yaml", 90, 1),
        laws={law: parse_equation(text) for law, text in replace.items() if law not in lets},
        lets={let: parse_value(text) for let, text in replace.items() if let in lets},
        change={given: parse_value(text) for given, text in change.items()},
        swap=tuple(slip.get("swap", ())),  # type: ignore[arg-type]
        unconverted=tuple(slip.get("unconverted", ())),  # type: ignore[arg-type]
        cases=dict(slip.get("cases", {})),  # type: ignore[call-overload]
        drop=tuple(slip.get("drop", ())),  # type: ignore[arg-type]
        only=tuple(slip.get("only", ())),  # type: ignore[arg-type]
    )


DRUM = {
    "given": "m_a m_b r R M_r M_R g",
    "let": {"I": "M_r*r^2/2 + M_R*R^2/2"},
    "cases": {
        "clockwise": {"when": "m_b*R > m_a*r", "set": {"s": 1.0}},
        "anticlockwise": {"when": "m_b*R < m_a*r", "set": {"s": -1.0}},
    },
    "find": "T_a T_b alpha",
    "laws": {
        "left": "s*(T_a - m_a*g) = m_a*r*alpha",
        "right": "s*(m_b*g - T_b) = m_b*R*alpha",
        "drum": "s*(T_b*R - T_a*r) = I*alpha",
    },
    "slips": {
        "weights-as-tensions": {"replace": {"left": "T_a = m_a*g", "right": "T_b = m_b*g"}},
        "small-disc-forgotten": {"replace": {"I": "M_R*R^2/2"}},
        "diameters": {"change": {"r": "2*r", "R": "2*R"}},
        "wrong-way": {"cases": {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}},
    },
    "units": {"r": "cm", "R": "cm"},
}
