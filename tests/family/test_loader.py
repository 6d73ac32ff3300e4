"""What a good family file becomes, and the traps of YAML on the way."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from qbank.errors import FamilyError
from qbank.expressions.numbers import NumberFormat
from qbank.expressions.parser import parse_condition, parse_equation, parse_value
from qbank.expressions.tree import Measure, Name
from qbank.family.library import shipped_families
from qbank.family.loader import load_family, read_family
from qbank.family.model import (
    ChooseLaw,
    ChooseStatements,
    ChooseValue,
    ChooseWord,
    ComputedField,
    Enter,
    Family,
    Fixed,
    FormulaField,
    Grid,
    Listed,
    Sampled,
    TableField,
    ToleranceRule,
    ValueField,
    WordField,
)

CART = Path(__file__).parent / "cart.yaml"
GOOD = CART.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def cart() -> Family:
    return load_family(CART)


def test_heading(cart: Family) -> None:
    assert (cart.name, cart.title) == ("cart", "A cart pulled from both sides")
    assert (cart.subject, cart.level) == ("mechanics/dynamics", "upper secondary")
    assert (cart.version, cart.licence) == ("1.0.0", "CC-BY-4.0")
    assert cart.authors == ("A. Author",)
    assert cart.objectives == ("Write the law of motion along a line.",)
    assert cart.caution == "Keep feet and fingers away from rolling loads."
    assert cart.equal_shares


def test_given(cart: Family) -> None:
    assert list(cart.given) == ["m", "F_l", "F_r", "w", "g", "T_0", "mu", "x", "y"]
    mass = cart.given["m"]
    assert (mass.meaning, mass.symbol, mass.unit.text) == ("mass of the cart", "m", "kg")
    assert mass.source == Grid(first=20, step=5, count=15, exponent=-1)
    assert not mass.scientific
    assert not mass.hidden
    assert str(mass.place) == f"{CART}:15:3"
    assert cart.given["w"].source == Listed((60, 80, 100), (0, 0, 0))
    assert cart.given["g"].source == Fixed(981, -2)
    assert cart.given["T_0"].unit.offset == 273.15
    assert cart.given["mu"].hidden
    lengths = cart.given["x"].source
    assert lengths == Sampled("normal", (Name("mu"), parse_value("2 mm")), 8, 12, -1, None)
    assert cart.given["y"].source == Sampled(
        "uniform", (Name("mu"), parse_value("mu + 5 mm")), 8, 12, -1, "x"
    )


def test_let_and_find(cart: Family) -> None:
    assert cart.let["D"].expression == parse_value("F_r - F_l")
    assert cart.let["D"].shown == NumberFormat(figures=4)
    assert cart.let["ym"].shown == NumberFormat(decimals=2)
    assert cart.let["ym"].meaning == ""
    a, force, time = cart.find.values()
    assert a.expect == parse_condition("a > 0")
    assert a.tolerance == ToleranceRule(relative=0.02)
    assert a.shown == NumberFormat(figures=3)
    assert force.tolerance == ToleranceRule(absolute=0.05)
    assert force.shown == NumberFormat(decimals=1, notation="plain")
    assert time.choose == parse_condition("t > 0")
    assert time.between == (parse_value("0 s"), parse_value("100 s"))
    assert time.tolerance == ToleranceRule()


def test_cases_and_laws(cart: Family) -> None:
    right, left = cart.cases
    assert right.name == "to the right"
    assert right.when == parse_condition("F_r > F_l")
    assert dict(left.constants) == {"s": -1.0}
    assert dict(left.words) == {"goes": "left", "away": "right"}
    assert [(law.name, law.case) for law in cart.laws] == [
        ("motion", None),
        ("floor", None),
        ("way", "to the right"),
        ("way", "to the left"),
    ]
    assert cart.laws_in("to the left")[2].equation == parse_equation("w - xm = a*t^2/2")


def test_rules_and_confirm(cart: Family) -> None:
    first, second, _ = cart.rules
    assert first.need == parse_condition("abs(D) >= 0.1*F_l")
    assert first.text == "abs(D) >= 0.1*F_l"
    assert first.because == "near balance the direction cannot be judged"
    assert (first.only, first.uses_solution) == ((), False)
    assert (second.only, second.uses_solution) == (("to the right",), True)
    assert cart.confirm[0].that == parse_condition("a < D/m + 1 m/s^2")
    assert cart.confirm[0].only == ("to the right",)


def test_slips(cart: Family) -> None:
    slips = cart.slips
    assert slips["sum-of-pulls"].lets == {"D": parse_value("F_r + F_l")}
    assert slips["weight-for-mass"].laws == {"motion": parse_equation("s*D = m*a/2")}
    assert slips["centimetres"].unconverted == ("w",)
    assert slips["mixed-up"].swap == (("F_l", "F_r"),)
    assert slips["twice"].change == {"w": parse_value("2*w")}
    assert slips["turned"].cases == {"to the right": "to the left"}
    assert slips["turned"].only == ("to the right",)
    assert slips["no-floor"].drop == ("floor",)
    assert slips["no-floor"].says == "The floor holds the cart up."


def test_ask(cart: Family) -> None:
    which, first, second, choose, law, statements = cart.ask
    assert isinstance(which, ChooseWord)
    assert (which.word, which.points) == ("goes", 1)
    assert which.prompt == ("Which way does the cart go?",)
    assert isinstance(first, Enter)
    assert isinstance(second, Enter)
    assert [(part.quantity, part.points) for part in (first, second)] == [("a", 2), ("N", 2)]
    assert first.prompt is None
    assert isinstance(choose, ChooseValue)
    assert (choose.quantity, choose.options, choose.points) == ("t", 4, 0.5)
    assert isinstance(law, ChooseLaw)
    assert (law.law, law.points) == ("motion", 1)
    assert isinstance(statements, ChooseStatements)
    speeds, pushes = statements.statements
    assert speeds.text == ("The cart of mass ", ValueField("m"), " speeds up.")
    assert speeds.feedback == ("It has ", ValueField("a"), ".")
    assert pushes.when == parse_condition("N < m*g")
    assert pushes.feedback is None


def test_text(cart: Family) -> None:
    texts = cart.texts
    assert texts.stem == (
        (
            "In ",
            WordField("place"),
            ", ",
            ValueField("m"),
            " stands on a track of ",
            ValueField("w"),
            " in {braces}. ",
            ValueField("F_l", "equation"),
            ", ",
            ValueField("F_r", "number"),
            " N pull; take ",
            ValueField("g"),
            ". It is ",
            ValueField("T_0"),
            " warm.",
        ),
        (TableField(("x", "y")),),
    )
    compare, two, last = texts.solution
    computed = compare.text[0][1]
    assert isinstance(computed, ComputedField)
    assert computed.expression == parse_value("F_r - F_l")
    assert computed.unit.text == "N"
    assert computed.shown == NumberFormat(decimals=2)
    assert compare.text[0][5:] == (FormulaField("let", "D", numbers=True),)
    assert [len(paragraph) for paragraph in two.text] == [6, 3, 1]
    assert two.text[0][:3] == (
        FormulaField("law", "motion", numbers=False),
        " and ",
        FormulaField("law", "floor", numbers=True),
    )
    assert last.only == ("to the right",)
    ratio = last.text[0][-1]
    assert isinstance(ratio, ComputedField)
    assert (ratio.unit.text, ratio.shown) == ("", NumberFormat(figures=3))
    assert texts.hints[0][1] == ValueField("F_l", "symbol")
    assert [setting.name for setting in cart.settings] == ["quarry", "harbour"]


def test_a_family_without_cases_and_settings_has_one_nameless_of_each() -> None:
    family = read_family(MINIMAL, "drop.yaml")
    assert [(case.name, case.when, dict(case.constants)) for case in family.cases] == [
        ("", None, {})
    ]
    assert [(setting.name, dict(setting.words)) for setting in family.settings] == [("", {})]
    assert len(family.laws_in("")) == 1
    assert not family.equal_shares
    assert family.caution == ""


MINIMAL = """\
family: drop
title: A stone falls
subject: mechanics
version: 0.1.0
given:
  h: {name: height, draw: 1 .. 9 by 1 m}
  g: {name: free-fall acceleration, fixed: 9.81 m/s^2}
find:
  v: {name: speed, unit: m/s, figures: 3}
laws:
  energy: v = sqrt(2*g*h)
ask:
  - enter: v
text:
  stem: A stone falls from {h}; {g.equation}.
"""


def minimal(old: str, new: str) -> Family:
    assert MINIMAL.count(old) == 1
    return read_family(MINIMAL.replace(old, new), "drop.yaml")


# The traps of YAML 1.1, where 1e3 is text, 010 is 8, 12:30 is 750 and `no` is False.
def test_numbers_and_words_mean_what_stands_there() -> None:
    height = minimal("draw: 1 .. 9 by 1 m", "fixed: 1e3 m").given["h"]
    assert (height.source, height.scientific) == (Fixed(1, 3), True)
    assert minimal("draw: 1 .. 9 by 1 m", "fixed: 010 m").given["h"].source == Fixed(10, 0)
    assert minimal("version: 0.1.0", "version: 1.10.0").version == "1.10.0"
    assert minimal("title: A stone falls", "title: no").title == "no"
    assert minimal("title: A stone falls", "title: 12:30").title == "12:30"
    assert minimal("name: height", "name: null").given["h"].meaning == "null"
    assert minimal("energy:", "on:").laws[0].name == "on"
    with pytest.raises(FamilyError) as caught:
        minimal("draw: 1 .. 9 by 1 m", "fixed: 12:30 m")
    assert caught.value.message == "given 'h': ':30' is not a unit that is known here"
    with pytest.raises(FamilyError) as caught:
        minimal("title: A stone falls", "title: A stone falls\ntitle: again")
    assert caught.value.message == (
        "the key 'title' stands here a second time; the first is in line 2"
    )


@pytest.mark.parametrize(
    ("draw", "grid", "scientific"),
    [
        ("2.0 .. 9.0 by 0.5 m", Grid(20, 5, 15, -1), False),
        ("1 .. 3 by 0.25 m", Grid(100, 25, 9, -2), False),
        ("-5 .. 5 by 1 m", Grid(-5, 1, 11, 0), False),
        ("−5 .. 5 by 10 m", Grid(-5, 10, 2, 0), False),
        ("1.2e-3 .. 9.8e-3 by 0.2e-3 m", Grid(12, 2, 44, -4), True),
        ("100 .. 2000 by 100 m", Grid(100, 100, 20, 0), False),
        ("1e3 .. 9e3 by 1e3 m", Grid(1, 1, 9, 3), True),
        ("0.10..0.30   by  0.1 m", Grid(10, 10, 3, -2), False),
    ],
)
def test_ranges_become_exact_grids(draw: str, grid: Grid, scientific: bool) -> None:
    height = minimal("draw: 1 .. 9 by 1 m", f"draw: {draw}").given["h"]
    assert (height.source, height.scientific) == (grid, scientific)


@given(
    first=st.integers(-(10**6), 10**6),
    step=st.integers(1, 10**4),
    count=st.integers(2, 10**4),
    places=st.integers(0, 6),
)
def test_a_grid_holds_the_decimals_that_were_written(
    first: int, step: int, count: int, places: int
) -> None:
    def written(mantissa: int) -> str:
        sign, digits = ("-" if mantissa < 0 else ""), str(abs(mantissa)).rjust(places + 1, "0")
        return f"{sign}{digits[: len(digits) - places]}" + (
            f".{digits[len(digits) - places :]}" if places else ""
        )

    last = first + step * (count - 1)
    text = f"{written(first)} .. {written(last)} by {written(step)} m"
    grid = minimal("draw: 1 .. 9 by 1 m", f"draw: {text}").given["h"].source
    assert isinstance(grid, Grid)
    unit = Fraction(10) ** grid.exponent
    assert grid.count == count
    assert grid.first * unit == Fraction(first, 10**places)
    assert grid.step * unit == Fraction(step, 10**places)


def test_lists_keep_the_figures_written() -> None:
    height = minimal("draw: 1 .. 9 by 1 m", "list: 4.70, 10, 1.8e-5 km").given["h"]
    assert height.source == Listed((470, 10, 18), (-2, 0, -6))
    assert height.scientific
    assert height.unit.text == "km"


def test_an_absolute_tolerance_is_in_the_shown_unit() -> None:
    family = minimal("unit: m/s, figures: 3", "unit: km/h, figures: 3, tolerance: 0.5 m/s")
    assert family.find["v"].tolerance == ToleranceRule(absolute=1.8)
    family = minimal("unit: m/s, figures: 3", "unit: m/s, figures: 3, tolerance: 0.5 %")
    assert family.find["v"].tolerance == ToleranceRule(relative=0.005)


def test_tables_of_lists_of_one_fixed_size() -> None:
    text = GOOD.replace("size: 8 .. 12", "size: 9").replace("size: like x", "size: 9")
    assert read_family(text, "cart.yaml").given["y"].source.like is None  # type: ignore[union-attr]


def test_words_around_an_equals_sign_and_the_unit_in_a_field() -> None:
    family = minimal("{h}; {g", "{h} ({  =h/2   in   cm to  0 decimals } down); {g")
    field = family.texts.stem[0][3]
    assert isinstance(field, ComputedField)
    assert (field.expression, field.unit.text) == (parse_value("h/2"), "cm")
    assert field.shown == NumberFormat(decimals=0)


def test_the_digest_is_that_of_the_content() -> None:
    base = read_family(MINIMAL, "drop.yaml")
    noted = read_family(f"# note\n\n{MINIMAL}".replace("{h}", "{h}   "), "elsewhere/drop.yaml")
    assert base.digest != noted.digest  # white space inside text is content
    noted = read_family(f"# note\n\n{MINIMAL}", "elsewhere/drop.yaml")
    assert (noted.digest, noted.draw_key) == (base.digest, base.draw_key)
    assert len(base.digest) == 64
    other = minimal("figures: 3", "figures: 4")
    assert other.digest != base.digest
    assert other.draw_key == base.draw_key  # the same random numbers
    other = minimal("draw: 1 .. 9 by 1 m", "draw: 1 .. 8 by 1 m")
    assert other.draw_key != base.draw_key


def test_a_wide_step_of_reading_does_not_depend_on_the_name_of_the_file() -> None:
    one = read_family(MINIMAL, "a family from a form")
    assert replace(one, place=read_family(MINIMAL, "drop.yaml").place).name == "drop"


def test_values_with_units_keep_their_unit() -> None:
    rules = "rules:\n  - {need: v > 10 km/h, because: it should be seen}\nask:\n"
    need = minimal("ask:\n", rules).rules[0].need
    measure = need.operands[1]  # type: ignore[union-attr]
    assert isinstance(measure, Measure)
    assert measure.unit.text == "km/h"


@pytest.mark.parametrize("path", shipped_families(), ids=lambda path: path.stem)
def test_shipped_families_load(path: Path) -> None:
    family = load_family(path)
    assert family.name == path.stem
    assert family.ask


# A file that is damaged anywhere is refused with its place, or still is a family.
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    start=st.integers(0, len(GOOD)),
    length=st.integers(0, 40),
    put=st.one_of(
        st.text(alphabet="{}[]():,.=*/^-+ \n'\"#&!|>%@abcxyz019°é", max_size=12),
        st.integers(0, len(GOOD) - 30).map(lambda at: GOOD[at : at + 30]),
    ),
)
def test_a_damaged_file_is_refused_with_its_place(start: int, length: int, put: str) -> None:
    text = GOOD[:start] + put + GOOD[start + length :]
    found: FamilyError | None = None
    try:
        family = read_family(text, "cart.yaml")
    except FamilyError as error:
        found = error
    if found is None:
        assert family.name == "cart"
    else:
        assert found.place is not None
        assert 1 <= found.place.line <= text.count("\n") + 1
        assert found.hint != ""
