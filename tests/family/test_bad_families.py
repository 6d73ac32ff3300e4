"""What an author gets wrong: each fault is one edit of a good family, with its sentence, its
place and its mend. In the text put in, « » enclose what the error must underline."""

from pathlib import Path
from typing import NamedTuple

import pytest

from qbank.errors import FamilyError
from qbank.family.loader import read_family

GOOD = (Path(__file__).parent / "cart.yaml").read_text(encoding="utf-8")


SMALL = """\
family: f
title: t
subject: s
version: 1.0.0
given: {h: {name: n, draw: 1 .. 9 by 1 m}}
find: {v: {name: n, unit: m, figures: 2}}
laws: {one: v = 2*h}
ask: [{enter: v}]
text: {stem: 'It is {h}.'}
"""


class Bad(NamedTuple):
    old: str
    new: str
    message: str
    hint: str | None
    mark: str = ""  # where the place is not in `new`: text of the family with the marks


def edited(bad: Bad) -> str:
    """The good family with the one edit, marks still in it."""
    assert GOOD.count(bad.old) == 1, bad.old
    text = GOOD.replace(bad.old, bad.new)
    if bad.mark:
        unmarked = bad.mark.replace("«", "").replace("»", "")
        assert text.count(unmarked) == 1, unmarked
        text = text.replace(unmarked, bad.mark)
    return text


def check(bad: Bad) -> None:
    text = edited(bad)
    before = text[: text.index("«")]
    marked = text[text.index("«") + 1 : text.index("»")]
    with pytest.raises(FamilyError) as caught:
        read_family(text.replace("«", "").replace("»", ""), "cart.yaml")
    error = caught.value
    assert error.message == bad.message
    assert error.hint == bad.hint
    assert error.place is not None
    assert error.excerpt is not None
    assert error.span is not None
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    assert str(error.place) == f"cart.yaml:{line}:{column}"
    start, end = error.span
    assert error.excerpt[start:end] == marked.split("\n")[0]


def test_the_family_the_edits_start_from_is_good() -> None:
    assert read_family(GOOD, "cart.yaml").name == "cart"


HEADING = [
    Bad(
        "family: cart",
        "family: «Cart»",
        "family: expected small letters, digits and hyphens, found 'Cart'",
        "write for example `family: stepped-drum`",
    ),
    Bad(
        "family: cart",
        "family: «carts»",
        "family: the name 'carts' is not that of the file, cart.yaml",
        "rename the file to carts.yaml, or write `family: cart`",
    ),
    Bad(
        "version: 1.0.0",
        "version: «1.0»",
        "version: expected three numbers, found '1.0'",
        "write for example `version: 1.0.0`",
    ),
    Bad(
        "version: 1.0.0\n",
        "",
        "family: the key 'version' is missing",
        "add `version:` (three numbers, such as `1.0.0`)",
        "«f»amily: cart",
    ),
    Bad(
        "language: en",
        "language: «English»",
        "language: expected a language code, found 'English'",
        "write for example `language: en`",
    ),
    Bad(
        "subject: mechanics/dynamics",
        "subject: «mechanics//dynamics»",
        "subject: expected topics joined by slashes, found 'mechanics//dynamics'",
        "write for example `subject: mechanics/rotation`",
    ),
    Bad(
        "shares: equal",
        "shares: «equally»",
        "shares: expected equal or natural, found 'equally'",
        "write for example `shares: equal`",
    ),
    Bad(
        "title: A", "«titel»: A", "family: the key 'titel' is not known here", "Did you mean title?"
    ),
    Bad(
        "title: A cart pulled from both sides",
        "«title»:",
        "family: 'title' is empty",
        "write what people call it, or delete the key",
    ),
    Bad(
        "title: A cart pulled from both sides",
        "title: «[A cart]»",
        "family: 'title' holds text, found a list of 1",
        "put text that starts with { or [ in quotes",
    ),
    Bad(
        "authors: [A. Author]",
        "authors: [«[A]»]",
        "family: 'authors' holds text or a list of texts, found a list of 1",
        "put text that starts with { or [ in quotes",
    ),
    Bad(
        "authors: [A. Author]",
        "«authors»: [" + "A, " * 41 + "]",
        "family: 'authors' has 41 entries, more than 40",
        "split the family",
    ),
]


@pytest.mark.parametrize("bad", HEADING, ids=lambda bad: bad.message[:60])
def test_heading(bad: Bad) -> None:
    check(bad)


GIVEN = [
    Bad(
        "list: 60, 80, 100 cm",
        "list: " + ", ".join(map(str, range(1000))) + ", «1»000 cm",
        "given 'w': more than 1000 values are listed",
        "use `draw:`",
    ),
    Bad(
        "draw: 15 .. 30 by 1 °C",
        "list: «20, 25, -274 °C»",
        "given 'T_0': -274 °C is below absolute zero",
        "correct the temperature; a temperature difference is declared in K",
    ),
    Bad(
        "draw: 2.0 .. 9.0 by 0.5 kg",
        "draw: 2«,»5 .. 9,5 by 0,5 kg",
        "given 'm': expected '..' after the lowest value, found ,",
        "single values belong under `list:`; a decimal sign is a point",
    ),
    Bad(
        "m: {name: mass of the cart, draw: 2.0 .. 9.0 by 0.5 kg}",
        "«m»: {name: mass}",
        "given 'm': exactly one of draw, list, fixed, sample is needed, found none",
        "add one of them",
    ),
    Bad(
        "by 0.5 kg}",
        "by 0.5 kg, «fixed»: 2 kg}",
        "given 'm': exactly one of draw, list, fixed, sample is needed, found draw and fixed",
        "keep one of them",
    ),
    Bad(
        "m: {name: mass of the cart, draw: 2.0 .. 9.0 by 0.5 kg}",
        "m: «2 kg»",
        "given 'm': expected a mapping with keys such as name, found '2 kg'",
        "write `{name: ...}`",
    ),
    Bad(
        "by 0.5 kg}",
        "by 0.5 kg, «unit»: kg}",
        "given 'm': 'unit' has a meaning only beside 'sample'",
        "delete `unit:`, or use `sample:`",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 .. «9.3» by 0.5 kg",
        "given 'm': from 2.0 to 9.3 is not a whole number of steps of 0.5",
        "end the range at 9.0 or 9.5",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 .. «2.3» by 0.5 kg",
        "given 'm': from 2.0 to 2.3 is not a whole number of steps of 0.5",
        "end the range at 2.5",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«9.0 .. 2.0» by 0.5 kg",
        "given 'm': the lowest value 9.0 is above the highest 2.0",
        "exchange the two",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«2 .. 2.0» by 0.5 kg",
        "given 'm': the lowest and the highest value are both 2",
        "write `fixed:` instead, or widen the range",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 .. 9.0 by «0» kg",
        "given 'm': the step must be more than 0, found 0",
        "write the distance between neighbouring values",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 .. 9.0 by «-0.5» kg",
        "given 'm': the step must be more than 0, found -0.5",
        "write the distance between neighbouring values",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 «kg» .. 9.0 kg by 0.5 kg",
        "given 'm': expected '..' after the lowest value, found kg",
        "write the unit once, after the step",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 «to» 9.0 by 0.5 kg",
        "given 'm': expected '..' after the lowest value, found to",
        "write low .. high by step unit, such as 2.0 .. 9.0 by 0.5 kg",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 .. 9.0 «kg»",
        "given 'm': expected 'by' and the step after the highest value, found kg",
        "write the unit once, after the step",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«light» .. heavy",
        "given 'm': expected a number, found light",
        "write digits with a point, such as 0.5 or 1.8e-5",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 .. 9.0 by 0.5 «kgs»",
        "given 'm': 'kgs' is not a unit that is known here",
        "Did you mean kg?",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«2.0 .. 9.0 by 0.0000000005» kg",
        "given 'm': the range has 14,000,000,001 values, more than 1,000,000,000",
        "use a larger step",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«1e12 .. 2e12 by 1e-3» kg",
        "given 'm': the range has 1,000,000,000,000,001 values, more than 1,000,000,000",
        "use a larger step",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«900000000000000 .. 900000000000001 by 0.1» kg",
        "given 'm': the values have more than 15 digits",
        "use a larger step",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        f"«{'0' * 5000}1» .. 9.0 by 0.5 kg",
        "given 'm': the number has more than 15 digits or is beyond 1e100",
        "choose a larger or a smaller unit",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        f"«1e{'9' * 5000}» .. 9.0 by 0.5 kg",
        "given 'm': the number has more than 15 digits or is beyond 1e100",
        "choose a larger or a smaller unit",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«1e999» .. 2e999 by 1 kg",
        "given 'm': the number has more than 15 digits or is beyond 1e100",
        "choose a larger or a smaller unit",
    ),
    Bad(
        "list: 60, 80, 100 cm",
        "list: 60, «60.0», 100 cm",
        "given 'w': the value 60.0 is listed twice",
        "delete one of the two",
    ),
    Bad(
        "list: 60, 80, 100 cm",
        "list: 60 «cm», 80 cm, 100 cm",
        "given 'w': expected a comma after 60, found 'cm'",
        "write the unit once, after the last value",
    ),
    Bad(
        "list: 60, 80, 100 cm",
        "list: «60 cm»",
        "given 'w': a list needs two values at least, found one",
        "write `fixed:` instead",
    ),
    Bad(
        "list: 60, 80, 100 cm",
        "list: «[60, 80]»",
        "given 'w': 'list' holds text, found a list of 2",
        "put text that starts with { or [ in quotes",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«1e90 .. 2e90 by 1» kg",
        "given 'm': the range has 1e90 values, more than 1,000,000,000",
        "use a larger step",
    ),
    Bad(
        "list: 60, 80, 100 cm",
        "list: 60, 80, 100« Gm^12»",
        "given 'w': the unit Gm¹² is 1e+108 of its SI unit",
        "use a unit within 1e100 of SI",
    ),
    Bad(
        "decimals: 1, unit: mm}\n\nlet",
        "decimals: 1, unit: «nm^12»}\n\nlet",
        "given 'y': the unit nm¹² is 1e-108 of its SI unit",
        "use a unit within 1e100 of SI",
    ),
    Bad(
        "fixed: 9.81 m/s^2",
        "fixed: 9.81 m/«sec»^2",
        "given 'g': 'sec' is not a unit that is known here",
        "Did you mean s?",
    ),
    Bad(
        "draw: 15 .. 30 by 1 °C",
        "draw: «-300 .. 30 by 1 °C»",
        "given 'T_0': -300 °C is below absolute zero",
        "correct the temperature; a temperature difference is declared in K",
    ),
    Bad(
        "hidden: yes",
        "hidden: «maybe»",
        "given 'mu', hidden: expected yes or no, found 'maybe'",
        "write yes or no",
    ),
    Bad(
        ", hidden: yes",
        ", hidden: no",
        "given 'mu': the student never sees mu",
        "put {mu} into the stem, or write `hidden: yes`",
        "«mu»: {name",
    ),
    Bad(
        "  m: {name: mass",
        "  «m-1»: {name: mass",
        "'m-1' is not a name for a quantity",
        "start with a letter; then letters, digits, and _ between them, such as m_a",
    ),
    Bad(
        "  m: {name: mass",
        "  «pi»: {name: mass",
        "'pi' has a meaning of its own in expressions",
        "choose another name, such as pi_1",
    ),
    Bad(
        "  m: {name: mass",
        "  «sin»: {name: mass",
        "'sin' has a meaning of its own in expressions",
        "choose another name, such as sin_1",
    ),
    Bad(
        "  D: {name: difference of the pulls, equals: F_r - F_l, unit: N}",
        "  «m»: {name: difference of the pulls, equals: F_r - F_l, unit: N}",
        "the name 'm' is taken by a given in line 15",
        "rename one of the two",
    ),
    Bad(
        "  N: {name: force",
        "  «D»: {name: force",
        "the name 'D' is taken by an intermediate quantity in line 26",
        "rename one of the two",
    ),
    Bad(
        "set: {s: 1}",
        "set: {«g»: 1}",
        "the name 'g' is taken by a given in line 19",
        "rename one of the two",
    ),
    Bad(
        "w: {name: width of the track,",
        "w: {name: width of the track, symbol: «a b»,",
        "given 'w': 'a b' is not a symbol for a formula",
        "start with a letter; then letters, digits and _, at most 20 in all",
    ),
    Bad(
        "w: {name: width of the track,",
        "w: {name: width of the track, symbol: «m»,",
        "given 'w': the symbol m is that of 'm'",
        "give each quantity a symbol of its own",
    ),
    Bad(
        "  g: {name",
        "  «u»: {name: nothing, fixed: 3 m}\n  g: {name",
        "given 'u': the student never sees u",
        "put {u} into the stem, or write `hidden: yes`",
    ),
    Bad(
        "  g: {name",
        "  «u»: {name: nothing, fixed: 3 m, hidden: yes}\n  g: {name",
        "'u' is a given that nothing uses",
        "use it in a law, a let or a rule, or delete it",
    ),
    Bad(
        '"normal(mu, 2 mm)"',
        '"«poisson(mu)»"',
        "given 'x': expected normal(mean, sd) or uniform(low, high), found 'poisson(mu)'",
        "write for example normal(mu, sd)",
    ),
    Bad(
        '"normal(mu, 2 mm)"',
        '"normal(mu,« 2 kg»)"',
        "given 'x': expected a length (m) like its unit mm, found a mass (kg)",
        "correct the expression or the unit",
    ),
    Bad(
        '"normal(mu, 2 mm)"',
        '"normal(«xm», 2 mm)"',
        "given 'x': 'xm' is an intermediate quantity; only givens may stand here",
        "write out the expression over givens",
    ),
    Bad(
        "size: 8 .. 12,",
        "size: «12 .. 8»,",
        "given 'x', size: a data list has 2 to 200 values, found 12 .. 8",
        "correct the size, the smaller number first",
    ),
    Bad(
        "size: 8 .. 12,",
        "size: «many»,",
        "given 'x', size: expected a size, found 'many'",
        "write `10`, `8 .. 12` or `like y`",
    ),
    Bad(
        "size: 8 .. 12,",
        "",
        "given 'x': a sample needs the key 'size'",
        "add `size:`",
        "«x»: {name",
    ),
    Bad(
        "size: like x,",
        "size: like «z»,",
        "given 'y', size: 'z' is no other data list",
        "known: x",
    ),
    Bad(
        "size: 8 .. 12,",
        "size: like «y»,",
        "given 'x', size: 'y' itself takes its size from another list",
        "write `size: like x`",
    ),
    Bad(
        "size: 8 .. 12, decimals: 1,",
        "size: 8 .. 12, decimals: «1.5»,",
        "given 'x', decimals: expected a whole number from 0 to 12, found '1.5'",
        "correct the number",
    ),
]


@pytest.mark.parametrize("bad", GIVEN, ids=lambda bad: bad.message[:60])
def test_given(bad: Bad) -> None:
    check(bad)


LET = [
    Bad(
        "equals: F_r - F_l, unit: N",
        "equals: F_r - «F_ll», unit: N",
        "let 'D': 'F_ll' names nothing in this family",
        "Did you mean F_l?",
    ),
    Bad(
        "equals: F_r - F_l, unit: N",
        "equals: F_r - «a»*m, unit: N",
        "let 'D': 'a' is an unknown; only givens and intermediate quantities may stand here",
        "say it with what is known before the problem is solved",
    ),
    Bad(
        "equals: F_r - F_l, unit: N",
        "equals: «s»*(F_r - F_l), unit: N",
        "let 'D': 's' is a constant set by the cases; only givens and intermediate quantities may "
        "stand here",
        "constants of the cases belong in laws; here, use quantities or `only:`",
    ),
    Bad(
        "equals: F_r - F_l, unit: N",
        "equals: «F_r - F_l», unit: kg",
        "let 'D': expected a mass (kg) like its unit kg, found a force (kg m s^-2)",
        "correct the expression or the unit",
    ),
    Bad(
        "equals: F_r - F_l, unit: N",
        "equals: «F_r - F_l»",
        "let 'D': expected a pure number like a quantity without `unit:`, found a force "
        "(kg m s^-2)",
        "correct the expression or the unit",
    ),
    Bad(
        "equals: mean(x), unit: mm, figures: 4",
        "equals: «x - mean(x)», unit: mm",
        "let 'xm': expected one number, found a list",
        "take one number of the list with sum, mean, sd, count, least or the like",
    ),
    Bad(
        "equals: mean(x), unit: mm, figures: 4",
        "equals: mean(x) + «ym», unit: mm",
        "let 'xm' is defined by itself: xm -> ym -> xm",
        "define one of them by givens alone, or make it an unknown with a law",
    ),
    Bad(
        "equals: mean(x), unit: mm, figures: 4",
        "equals: mean(x) + «xm», unit: mm",
        "let 'xm' is defined by itself: xm -> xm",
        "define one of them by givens alone, or make it an unknown with a law",
    ),
    Bad(
        "unit: mm, figures: 4",
        "unit: mm, figures: 4, «decimals»: 2",
        "let 'xm': 'figures' and 'decimals' exclude each other",
        "keep one of them",
    ),
    Bad(
        "unit: mm, figures: 4",
        "unit: mm, figures: «0»",
        "let 'xm', figures: expected a whole number from 1 to 15, found '0'",
        "correct the number",
    ),
    Bad(
        "  ym: {equals",
        "  «z»: {equals: 2*xm, unit: mm}\n  ym: {equals",
        "'z' is an intermediate quantity that nothing uses",
        "use it in a law or a text, or delete it",
    ),
    Bad(
        "equals: F_r - F_l, unit: N",
        'equals: "F_r +« »", unit: N',
        "let 'D': expected a number, a name or '(', found the end",
        None,
    ),
]


@pytest.mark.parametrize("bad", LET, ids=lambda bad: bad.message[:60])
def test_let(bad: Bad) -> None:
    check(bad)


CASES = [
    Bad(
        "say: {goes: left, away: right}",
        "say: {goes: left, away: right, «''»: up}",
        "case 'to the left': an entry of 'say' has no name",
        "write a name before the colon",
    ),
    Bad(
        "when: F_r > F_l,",
        "when: «a» > 0 m/s^2,",
        "case 'to the right': 'a' is an unknown; only givens and intermediate quantities may stand "
        "here",
        "say it with what is known before the problem is solved",
    ),
    Bad(
        "when: F_r > F_l,",
        "when: «otherwise»,",
        "case 'to the right': `otherwise` closes the list, but cases follow",
        "move this case to the end",
    ),
    Bad(
        "when: F_r < F_l,",
        "when: «F_r > F_l»,",
        "case 'to the left': the condition is that of the case 'to the right'",
        "exactly one case may hold for every draw",
    ),
    Bad(
        "say: {goes: left, away: right}",
        "«say»: {goes: left}",
        "case 'to the left': the word 'away' is missing; 'to the right' has it",
        "add `away: ...` under `say:` of this case",
    ),
    Bad(
        "say: {goes: left, away: right}",
        "say: {goes: left, away: right, «gose»: up}",
        "case 'to the left': the word 'gose' is missing in 'to the right'",
        "Did you mean goes?",
    ),
    Bad(
        "set: {s: -1}",
        "set: {s: -1, «q»: 2}",
        "case 'to the left': the constant 'q' is missing in 'to the right'",
        "known: s",
    ),
    Bad(
        ", set: {s: -1}",
        "",
        "case 'to the left': the constant 's' is missing; 'to the right' has it",
        "add `s: ...` under `set:` of this case",
        "«to the left»: {when",
    ),
    Bad(
        "set: {s: -1}",
        "set: {s: -1« kg»}",
        "case 'to the left', constant 's': expected a plain number, found '-1 kg'",
        "constants have no unit; quantities belong in `given` or `let`",
    ),
    Bad(
        "  to the left: {when",
        "  «to the left!»: {when",
        "case: 'to the left!' cannot be its name",
        "use letters, digits, spaces, - and _, at most 60, not ending in `with numbers`",
    ),
    Bad(
        "say: {goes: left, away: right}",
        "say: {goes: left, «away»: }",
        "case 'to the left', word 'away': nothing stands here",
        "write the value, or delete it",
    ),
    Bad(
        "when: F_r > F_l,",
        "when: F_r > «m»,",
        "case 'to the right': the sides of the comparison differ in dimension: F_r is a force "
        "(kg m s^-2), m is a mass (kg)",
        None,
    ),
    Bad(
        "  motion: s*D = m*a\n",
        "  motion: D = m*a\n",
        "'s' is a constant set by the cases that nothing uses",
        "use it in a law, or delete it",
        "when: F_r > F_l, set: {«s»: 1}",
    ),
]


@pytest.mark.parametrize("bad", CASES, ids=lambda bad: bad.message[:60])
def test_cases(bad: Bad) -> None:
    check(bad)


FIND = [
    Bad(
        "unit: m/s^2, figures: 3, expect",
        "unit: m/s^2, expect",
        "unknown 'a': exactly one of figures, decimals is needed, found none",
        "add one of them",
        "  «a»: {name",
    ),
    Bad(
        "tolerance: 2 %",
        "tolerance: «2»",
        "unknown 'a', tolerance: expected an acceleration (m s^-2) like its unit m/s², found a "
        "pure number",
        "write a share such as 2 %, or an amount with the unit of the answer",
    ),
    Bad(
        "tolerance: 2 %",
        "tolerance: «60 %»",
        "unknown 'a', tolerance: 60 % of the key is more than half of it",
        "write 50 % at most",
    ),
    Bad(
        "tolerance: 2 %",
        "tolerance: «0 %»",
        "unknown 'a', tolerance: expected more than 0, found 0 %",
        "write a share such as 2 %, or an amount",
    ),
    Bad(
        "notation: plain",
        "notation: «plian»",
        "unknown 'N', notation: expected auto, plain or scientific, found 'plian'",
        "Did you mean plain?",
    ),
    Bad(
        "expect: a > 0,",
        "expect: «a + 1 m/s^2»,",
        "unknown 'a', expect: expected a condition, found a value",
        "Compare it, such as x > 0.",
    ),
    Bad(
        "expect: a > 0,",
        "expect: «m > 0»,",
        "unknown 'a', expect: the condition does not mention a",
        "say what holds for it, such as a > 0",
    ),
    Bad(
        "choose: t > 0,",
        "choose: «a > 0»,",
        "unknown 't', choose: the condition does not mention t",
        "say what holds for it, such as t > 0",
    ),
    Bad(
        "between: 0 s .. 100 s",
        "between: «100 s»",
        "unknown 't', between: expected `low .. high`, found '100 s'",
        "write for example 0 s .. 20*R*C",
    ),
    Bad(
        "between: 0 s .. 100 s",
        "between: 0 s ..« 100 m»",
        "unknown 't', between: expected a time (s) like its unit s, found a length (m)",
        "correct the expression or the unit",
    ),
    Bad(
        "between: 0 s .. 100 s",
        "between: 0 s .. «t»",
        "unknown 't', between: 't' is an unknown; only givens and intermediate quantities may "
        "stand here",
        "say it with what is known before the problem is solved",
    ),
    Bad(
        "between: 0 s .. 100 s",
        "between: «2 min .. 100 s»",
        "unknown 't', between: the lower end 2 min is not below the upper 100 s",
        "write the lower end first",
    ),
    Bad(
        "between: 0 s .. 100 s",
        "between: «1 s .. 1 s»",
        "unknown 't', between: the lower end 1 s is not below the upper 1 s",
        "write the lower end first",
    ),
]


@pytest.mark.parametrize("bad", FIND, ids=lambda bad: bad.message[:60])
def test_find(bad: Bad) -> None:
    check(bad)


LAWS = [
    Bad(
        "  floor: N = m*g\n",
        "  floor: N = m*g*mean(«x»)/xm\n",
        "law 'floor': 'x' is a data list; only givens, intermediate quantities, unknowns and "
        "constants of the cases may stand here",
        "make a `let` of the list, such as its mean, and use that",
    ),
    Bad(
        "  motion: s*D = m*a\n",
        "  motion: s*D = m*«b»\n",
        "law 'motion': 'b' names nothing in this family",
        "known: m, F_l, F_r, w, g, T_0, mu, D, xm, ym, a, N, ...",
    ),
    Bad(
        "  floor: N = m*g\n",
        "",
        "laws: 2 laws in case 'to the right' for 3 unknowns (a, N, t)",
        "add the missing law, or make an unknown a `let`",
        "«laws»:",
    ),
    Bad(
        "  floor: N = m*g\n",
        "  floor: N = m*g\n  ceiling: N = m*g + D\n",
        "laws: 4 laws in case 'to the right' for 3 unknowns (a, N, t)",
        "delete a law, or declare what else is unknown under `find:`",
        "«laws»:",
    ),
    Bad(
        "  floor: N = m*g\n",
        "  floor: D = 2*m*a\n",
        "laws: no law in case 'to the right' mentions the unknown N",
        "add it to a law, or delete it from `find:`",
        "«laws»:",
    ),
    Bad(
        "  floor: N = m*g\n",
        "  floor: «m*g = D»\n",
        "law 'floor': it mentions no unknown, so it cannot help to find one",
        "make it a rule or a `let`, or declare its unknown under `find:`",
    ),
    Bad(
        "  floor: N = m*g\n",
        "  floor: «m*a = s*D»\n",
        "law 'floor': it says the same as law 'motion'",
        "each law must say something new; correct or delete one of the two",
    ),
    Bad(
        "{way: w = a*t^2/2}",
        "{«floor»: w = a*t^2/2}",
        "law 'floor' of case 'to the right': a law of that name stands in line 41",
        "rename one of the two",
    ),
    Bad(
        "to the right: {way: w",
        "«to the rihgt»: {way: w",
        "laws: there is no case 'to the rihgt'",
        "Did you mean to the right?",
    ),
    Bad(
        "  motion: s*D = m*a\n",
        "  motion: s*D «==» m*a\n",
        "law 'motion': '==' compares",
        "A law is written with a single =.",
    ),
    Bad(
        "  motion: s*D = m*a\n",
        "  motion: s*D = «m»(a)\n",
        "law 'motion': 'm' is not a function that is known here",
        "For a product write m*(...).",
    ),
    Bad(
        "floor: N = m*g",
        "«floor with numbers»: N = m*g",
        "law: 'floor with numbers' cannot be its name",
        "use letters, digits, spaces, - and _, at most 60, not ending in `with numbers`",
    ),
    Bad(
        "floor: N = m*g",
        "floor: «[N, m*g]»",
        "law 'floor': expected text, found a list of 2",
        "put text that starts with { or [ in quotes",
    ),
]


@pytest.mark.parametrize("bad", LAWS, ids=lambda bad: bad.message[:60])
def test_laws(bad: Bad) -> None:
    check(bad)


RULES = [
    Bad(
        "only: to the right}\n  - {need: T_0",
        "«only»: []}\n  - {need: T_0",
        "rule 2, only: it names no case",
        "name one, or delete `only:`",
    ),
    Bad(
        "need: abs(D) >= 0.1*F_l,",
        "need: abs(D) >= 0.1*«F_x»,",
        "rule 1: 'F_x' names nothing in this family",
        "Did you mean F_r?",
    ),
    Bad(
        "only: to the right}\n  - {need: T_0",
        "only: «rightwards»}\n  - {need: T_0",
        "rule 2, only: there is no case 'rightwards'",
        "known: to the right, to the left",
    ),
    Bad(
        ", because: near balance the direction cannot be judged",
        "",
        "rule 1: the key 'because' is missing",
        "add `because:` (the reason, for who reads how many draws were rejected)",
        "«{»need: abs(D) >= 0.1*F_l}",
    ),
    Bad(
        "need: T_0 > 16 °C and ym > 0 mm,",
        "need: «abs(D) >= 0.1*F_l»,",
        "rule 3: the same rule stands above",
        "delete one of them",
    ),
    Bad(
        "only: [to the right], because: the pulls",
        "only: [to the right, «to the right»], because: the pulls",
        "confirm 1, only: the case 'to the right' stands here twice",
        "delete one",
    ),
]


@pytest.mark.parametrize("bad", RULES, ids=lambda bad: bad.message[:60])
def test_rules(bad: Bad) -> None:
    check(bad)


SLIPS = [
    Bad(
        "{swap: [[F_l, F_r]]",
        "{swap: [[F_l, «[F_r]»]]",
        "slip 'mixed-up', swap: expected a name, found a list of 1",
        "write swap: [[r, R]]",
    ),
    Bad(
        "says: The mass resists.",
        "says: 'The mass «{m}» resists.'",
        "slip 'weight-for-mass', says: a field, {m}, is not read here",
        "fields belong in `text`, prompts and statements; write plain words here",
    ),
    Bad(
        "{drop: [floor], says: The floor holds the cart up.}",
        "{says: The floor holds the cart up.}",
        "slip 'no-floor': it edits nothing in the model",
        "add one of replace, change, swap, unconverted, cases, drop",
        "«no-floor»: {says",
    ),
    Bad(
        "drop: [floor]",
        "drop: []",
        "slip 'no-floor': its edits are empty",
        "name what is replaced, changed or dropped",
        "«no-floor»: {drop",
    ),
    Bad(
        "drop: [floor]",
        "drop: [«flor»]",
        "slip 'no-floor', drop: there is no law 'flor'",
        "Did you mean floor?",
    ),
    Bad(
        "{replace: {motion: s*D = m*a/2}",
        "{replace: {«moton»: s*D = m*a/2}",
        "slip 'weight-for-mass', replace 'moton': there is no law or let 'moton'",
        "Did you mean motion?",
    ),
    Bad(
        "{replace: {motion: s*D = m*a/2}",
        "{replace: {motion: «s*D = m*a»}",
        "slip 'weight-for-mass', replace 'motion': that is the law itself, so nothing changes",
        "write what the student takes for it",
    ),
    Bad(
        "{replace: {D: F_r + F_l}",
        "{replace: {D: «F_r - F_l»}",
        "slip 'sum-of-pulls', replace 'D': that is how D is defined, so nothing changes",
        "write what the student takes for it",
    ),
    Bad(
        "{replace: {D: F_r + F_l}",
        "{replace: {D: F_r + «m»}",
        "slip 'sum-of-pulls', replace 'D': the terms of the sum differ in dimension: F_r is a "
        "force (kg m s^-2), m is a mass (kg)",
        None,
    ),
    Bad(
        "{change: {w: 2*w}",
        "{change: {«a»: 2*a}",
        "slip 'twice', change 'a': 'a' is an unknown; only givens may stand here",
        "say it with what is known before the problem is solved",
    ),
    Bad(
        "{change: {w: 2*w}",
        "{change: {w: «w»}",
        "slip 'twice', change 'w': that is w itself, so nothing changes",
        "write what the student takes for it",
    ),
    Bad(
        "{change: {w: 2*w}",
        "{change: {w: «2*m»}",
        "slip 'twice', change 'w': expected a length (m) like its unit cm, found a mass (kg)",
        "correct the expression or the unit",
    ),
    Bad(
        "{swap: [[F_l, F_r]]",
        "{swap: [«F_l», F_r]",
        "slip 'mixed-up', swap: expected a pair such as [r, R], found 'F_l'",
        "write swap: [[r, R]]",
    ),
    Bad(
        "{swap: [[F_l, F_r]]",
        "{swap: [«[F_l, m]»]",
        "slip 'mixed-up', swap: F_l is a force (kg m s^-2), m is a mass (kg)",
        "only quantities of one kind can be taken for each other",
    ),
    Bad(
        "{swap: [[F_l, F_r]]",
        "{swap: [[F_l, «F_l»]]",
        "slip 'mixed-up', swap: 'F_l' stands here twice",
        "swap each quantity with one other",
    ),
    Bad(
        "{unconverted: [w]",
        "{unconverted: [«m»]",
        "slip 'centimetres', unconverted: m is shown in SI (kg), so nothing changes",
        "delete it here, or show the quantity in another unit",
    ),
    Bad(
        "{unconverted: [w]",
        "{unconverted: [«D»]",
        "slip 'centimetres', unconverted: 'D' is an intermediate quantity; only givens may stand "
        "here",
        "write out the expression over givens",
    ),
    Bad(
        "{cases: {to the right: to the left}",
        "{cases: {to the right: «up»}",
        "slip 'turned', cases: there is no case 'up'",
        "known: to the right, to the left",
    ),
    Bad(
        "{cases: {to the right: to the left}",
        "{cases: {to the right: «to the right»}",
        "slip 'turned', cases: the case is taken for itself, so nothing changes",
        "write what the student takes for it",
    ),
]


@pytest.mark.parametrize("bad", SLIPS, ids=lambda bad: bad.message[:60])
def test_slips(bad: Bad) -> None:
    check(bad)


ASK = [
    Bad("enter: [a, N]", "«enter»: []", "part 2: no unknown is named", "write `enter: NAME`"),
    Bad(
        "{law: motion}",
        "«motion»",
        "part 4: expected a mapping with keys such as enter, choose, which, law, statements, found "
        "'motion'",
        "write `{enter: ...}`",
    ),
    Bad(
        "points: 2 each",
        "points: «-2»",
        "part 2, points: expected a number above 0 and up to 1000, found '-2'",
        "write for example 2, or 2 each",
    ),
    Bad(
        "points: 2 each",
        "points: «2 points»",
        "part 2, points: expected a number above 0 and up to 1000, found '2 points'",
        "write for example 2, or 2 each",
    ),
    Bad(
        "enter: [a, N]",
        "enter: [a, «D»]",
        "part 2: 'D' is an intermediate quantity; only unknowns may stand here",
        "use unknowns",
    ),
    Bad(
        "enter: [a, N]",
        "enter: [a, «a»]",
        "part 2: 'a' is asked for the same way above",
        "delete one of the two",
    ),
    Bad(
        "points: 2 each}",
        'points: 2 each, «prompt»: "How much?"}',
        "part 2: one prompt for 2 quantities",
        "make a part of each, with a prompt of its own",
    ),
    Bad(
        "choose: t, options: 4",
        "choose: t, options: «9»",
        "part 3: 9 options need 8 distractors, but 7 slips can make one in case 'to the right'",
        "ask for fewer options, or add slips",
    ),
    Bad(
        "choose: t, options: 4",
        "choose: t, options: «1»",
        "part 3, options: expected a whole number from 2 to 12, found '1'",
        "correct the number",
    ),
    Bad(
        "which: goes,",
        "which: «place»,",
        "part 1: the cases say no word 'place'",
        "known: goes, away",
    ),
    Bad(
        "say: {goes: left, away: right}",
        "say: {goes: right, away: right}",
        "part 1: every case says the same for 'goes', so there is nothing to pick",
        "let the cases say different things",
        "{which: «goes»,",
    ),
    Bad(
        "{law: motion}",
        "{law: «floor»}",
        "part 4: no slip replaces the law 'floor' in case 'to the right', so there is no "
        "distractor",
        "add a slip with `replace: {floor: ...}`",
    ),
    Bad(
        "{law: motion}",
        "{law: «motions»}",
        "part 4: there is no law 'motions'",
        "Did you mean motion?",
    ),
    Bad(
        "      - {text: The floor pushes less than the weight., when: N < m*g}\n",
        "",
        "part 5: 1 statement; to mark those that hold, two at least are needed",
        "add statements",
        "«statements»:",
    ),
    Bad(
        "of mass {m} speeds",
        "of mass «{a}» speeds",
        "part 5, statement 1, field {a}: it would give the answer away: a is an unknown",
        "write {a.symbol} or {a.name}",
    ),
    Bad(
        "Which way does the cart go?",
        "Does the cart go «{say goes}»?",
        "part 1, prompt, field {say goes}: it would give the answer away: the word depends on the "
        "case",
        "say it in the solution, or let a setting say it",
    ),
    Bad(
        "Which way does the cart go?",
        "Which way does {«cart»} go?",
        "part 1, prompt, field {cart}: 'cart' names nothing in this family",
        "known: m, F_l, F_r, w, g, T_0, mu, x, y, D, xm, ym, ...",
    ),
    Bad(
        "{law: motion}",
        "{law: motion, «options»: 3}",
        "part 4: 'options' has a meaning only beside 'choose'",
        "delete `options:`, or use `choose:`",
    ),
]


@pytest.mark.parametrize("bad", ASK, ids=lambda bad: bad.message[:60])
def test_ask(bad: Bad) -> None:
    check(bad)


TEXT = [
    Bad(
        "{table x y}",
        "{table x y}\n\n    " + "{m} " * 400 + "«{m}»",
        "stem: more than 400 fields in one paragraph",
        "split it",
    ),
    Bad(
        "{table x y}",
        f"{{table x y}} «{{= {'m ' * 1000}}}»",
        f"stem, field {{= {'m ' * 29}}}: it has more than 2000 characters",
        "is a closing } missing?",
    ),
    Bad(
        '- "Compare the pulls',
        '- «[step]»\n    - "Compare the pulls',
        "solution step 1: expected text, found a list of 1",
        "put text that starts with { or [ in quotes",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "«{= F_r - F_l in N to 2 places}»",
        "solution step 1, field {= F_r - F_l in N to 2 places}: what follows `to` cannot be read",
        "write `to 3 figures` or `to 2 decimals`",
    ),
    Bad(
        "{F_r.number} N",
        "«{F_r.numbr}» N",
        "stem, field {F_r.numbr}: 'numbr' is nothing a quantity has",
        "Did you mean number?",
    ),
    Bad(
        "{F_r.number} N",
        "{«F_x».number} N",
        "stem, field {F_x.number}: 'F_x' names nothing in this family",
        "Did you mean F_r?",
    ),
    Bad(
        "{F_r.number} N",
        "{«s»} N",
        "stem, field {s}: 's' is a constant set by the cases; only givens, intermediate quantities "
        "and unknowns may stand here",
        "constants of the cases belong in laws; here, use quantities or `only:`",
    ),
    Bad(
        "{F_r.number} N",
        "a pull",
        "given 'F_r': the student never sees F_r",
        "put {F_r} into the stem, or write `hidden: yes`",
        "  «F_r»: {name",
    ),
    Bad(
        "{F_r.number} N",
        "{F_r.name} {F_r.symbol} {F_r.unit}",
        "given 'F_r': the student never sees F_r",
        "put {F_r} into the stem, or write `hidden: yes`",
        "  «F_r»: {name",
    ),
    Bad(
        "{F_r.number} N",
        "{F_r} {mu} N",
        "given 'mu' is hidden, but the stem shows it",
        "delete `hidden:`, or its field in the stem",
        "  «mu»: {name",
    ),
    Bad(
        "{F_r.number} N",
        "{F_r} «{a}» N",
        "stem, field {a}: it would give the answer away: a is an unknown",
        "write {a.symbol} or {a.name}",
    ),
    Bad(
        "{F_r.number} N",
        "{F_r} «{= 2*a in m/s^2}» N",
        "stem, field {= 2*a in m/s^2}: it would give the answer away: a is an unknown",
        "compute it from givens and lets",
    ),
    Bad(
        "{F_r.number} N",
        "{F_r} «{law motion with numbers}» N",
        "stem, field {law motion with numbers}: it would give the answer away: the law is printed "
        "with its solution",
        "write {law motion}",
    ),
    Bad(
        "{F_r.number} N",
        "{F_r} «{say goes}» N",
        "stem, field {say goes}: it would give the answer away: the word depends on the case",
        "say it in the solution, or let a setting say it",
    ),
    Bad(
        "{say place}",
        "«{say plase}»",
        "stem, field {say plase}: neither a case nor a setting says 'plase'",
        "Did you mean place?",
    ),
    Bad(
        "{say place}",
        "«{say}»",
        "stem, field {say}: expected one word after `say`",
        "write {say WORD}",
    ),
    Bad(
        "{say place}",
        "«{}»",
        "stem, field {}: the braces are empty",
        "name what is to be printed, as {m_a}",
    ),
    Bad(
        "{say place}",
        "«{the place}»",
        "stem, field {the place}: it is no field",
        "fields are {name}, {name.symbol}, {law NAME}, {let NAME}, {= expression in unit}, "
        "{say WORD} and {table NAME}",
    ),
    Bad(
        "{say place}",
        "«{»say place",
        "stem: a single { stands here",
        "fields are written {name}; for a brace itself write {{ or }}",
    ),
    Bad(
        "{say place}",
        "say place«}»",
        "stem: a single } stands here",
        "fields are written {name}; for a brace itself write {{ or }}",
    ),
    Bad(
        "{table x y}",
        "See «{table x y}»",
        "stem: a table stands inside a sentence",
        "put a blank line before and after it",
    ),
    Bad(
        "{table x y}",
        "«{table}»",
        "stem, field {table}: expected the names of data lists",
        "write {table x} or {table x y}",
    ),
    Bad(
        "{table x y}",
        "«{table x m}»",
        "stem, field {table x m}: m is no data list",
        "write {m} for its value",
    ),
    Bad(
        "{table x y}",
        "«{table x x}»",
        "stem, field {table x x}: a list stands here twice",
        "name each list once",
    ),
    Bad(
        "size: like x,",
        "size: 8 .. 12,",
        "stem, field {table x y}: the lists may differ in size",
        "give the others `size: like x`, or make a table of each",
        "«{table x y}»",
    ),
    Bad(
        "Which way does the cart go?",
        "«{table x}»",
        "part 1, prompt, field {table x}: a table cannot stand here",
        "tables belong in the stem or the solution",
    ),
    Bad(
        "{let D with numbers}",
        "«{let E}»",
        "solution step 1, field {let E}: there is no let 'E'",
        "known: D, xm, ym",
    ),
    Bad(
        "{law motion} and",
        "«{law motions}» and",
        "solution step 2, field {law motions}: there is no law 'motions'",
        "Did you mean motion?",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "{=« F_r - F_l» in kg}",
        "solution step 1, field {= F_r - F_l in kg}: expected a mass (kg) like the unit kg, found "
        "a force (kg m s^-2)",
        "correct the expression or the unit",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "{=« F_r - F_l»}",
        "solution step 1, field {= F_r - F_l}: expected a pure number like a field without "
        "`in UNIT`, found a force (kg m s^-2)",
        "correct the expression or the unit",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "{= F_r - F_l in «Newtons»}",
        "solution step 1, field {= F_r - F_l in Newtons}: 'Newtons' is not a unit that is known "
        "here",
        "Did you mean N?",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "«{= F_r - F_l in N to 99 figures}»",
        "solution step 1, field {= F_r - F_l in N to 99 figures}: expected 1 to 15 figures, found "
        "'99'",
        "write for example `to 3 figures`",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "«{= F_r - F_l in N to 0000000159 figures}»",
        "solution step 1, field {= F_r - F_l in N to 0000000159 figures}: expected 1 to 15 "
        "figures, found '0000000159'",
        "write for example `to 3 figures`",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "«{= in N}»",
        "solution step 1, field {= in N}: no expression stands before the unit",
        "write {= expression in unit}",
    ),
    Bad(
        "{= F_r - F_l in N to 2 decimals}",
        "{= F_r - «s»*F_l in N}",
        "solution step 1, field {= F_r - s*F_l in N}: 's' is a constant set by the cases; only "
        "givens, intermediate quantities and unknowns may stand here",
        "constants of the cases belong in laws; here, use quantities or `only:`",
    ),
    Bad(
        "The time follows: {t}.",
        "The time follows: {«tt»}.",
        "solution step 2, field {tt}: 'tt' names nothing in this family",
        "Did you mean t?",
    ),
    Bad(
        "only: to the right}\n  hints",
        "only: «to the front»}\n  hints",
        "solution step 3, only: there is no case 'to the front'",
        "Did you mean to the left?",
    ),
    Bad(
        ', only: to the right}\n  hints: ["Compare {F_l.symbol}',
        '}\n  hints: ["Compare «{a}»',
        "hint 1, field {a}: it would give the answer away: a is an unknown",
        "write {a.symbol} or {a.name}",
    ),
    Bad(
        "  hints: [",
        "  «hint»: [",
        "text: the key 'hint' is not known here",
        "Did you mean hints?",
    ),
]


@pytest.mark.parametrize("bad", TEXT, ids=lambda bad: bad.message[:60])
def test_text(bad: Bad) -> None:
    check(bad)


SETTINGS = [
    Bad(
        "{name: harbour, say: {place: a harbour}}",
        "{name: harbour, «say»: {}}",
        "setting 2: the word 'place' is missing; 'quarry' has it",
        "add `place: ...` under `say:`",
    ),
    Bad(
        "{name: harbour, say: {place: a harbour}}",
        "{name: harbour, say: {place: a harbour, «load»: fish}}",
        "setting 2: the word 'load' is missing in setting 'quarry'",
        "known: place",
    ),
    Bad(
        "{name: harbour, say: {place: a harbour}}",
        "{name: «quarry», say: {place: a harbour}}",
        "setting 2: a setting 'quarry' stands above",
        "rename one of the two",
    ),
    Bad(
        "{name: quarry, say: {place: a quarry}}",
        "{name: quarry, say: {«goes»: on}}",
        "setting 1: the word 'goes' is said by the cases already",
        "rename one of the two",
    ),
    Bad(
        "{name: quarry, say: {place: a quarry}}",
        "{name: quarry, say: {«the place»: on}}",
        "setting 1: 'the place' is no name for a word",
        "use letters, digits, - and _, a letter first",
    ),
]


@pytest.mark.parametrize("bad", SETTINGS, ids=lambda bad: bad.message[:60])
def test_settings(bad: Bad) -> None:
    check(bad)


def test_a_law_of_one_case_cannot_be_printed_in_all() -> None:
    text = GOOD.replace("to the left: {way:", "to the left: {path:")
    text = text.replace(", only: to the right}\n  hints", "}\n  hints")
    with pytest.raises(FamilyError) as caught:
        read_family(text, "cart.yaml")
    assert caught.value.message == (
        "solution step 3, field {law way}: there is no law 'way' in case 'to the left'"
    )
    assert caught.value.hint == "show the text in some cases only: `only: to the right`"


@pytest.mark.parametrize("empty", ["''", "|", '" "', ""])
def test_an_empty_stem(empty: str) -> None:
    start, end = GOOD.index("  stem: |"), GOOD.index("  solution:")
    with pytest.raises(FamilyError) as caught:
        read_family(f"{GOOD[:start]}  stem: {empty}\n{GOOD[end:]}", "cart.yaml")
    assert caught.value.message == "text: 'stem' is empty"
    assert str(caught.value.place) == "cart.yaml:73:3"


def test_the_message_of_a_law_whose_sides_differ() -> None:
    text = GOOD.replace("motion: s*D = m*a", "motion: s*D = m*a*w")
    with pytest.raises(FamilyError) as caught:
        read_family(text, "cart.yaml")
    assert str(caught.value) == (
        "cart.yaml:40:17: law 'motion': the sides differ in dimension: left is a force "
        "(kg m s^-2), right is a torque or an energy (kg m^2 s^-2)\n"
        "    motion: s*D = m*a*w\n"
        "                  ^^^^^\n"
        "    Did you mean m*a?"
    )


def bloated(section: str, count: int, entry: str) -> str:
    """The good family with `count` more entries in a section."""
    more = "".join(entry.replace("#", str(number)) for number in range(count))
    return GOOD.replace(f"\n{section}:\n", f"\n{section}:\n{more}")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            bloated("given", 40, "  q_#: {name: n, fixed: 1 m}\n"),
            "family: 'given' has 49 entries, more than 40",
        ),
        (
            bloated("find", 40, "  q_#: {name: n, unit: m, figures: 3}\n"),
            "family: 'find' has 43 entries, more than 40",
        ),
        (
            bloated("cases", 12, "  c#: {when: m > 0 kg}\n"),
            "family: 'cases' has 14 entries, more than 12",
        ),
        (
            bloated("rules", 60, "  - {need: m > 0 kg, because: so}\n"),
            "family: 'rules' has 63 entries, more than 60",
        ),
        (
            bloated("slips", 40, "  s#: {drop: [floor], says: so}\n"),
            "family: 'slips' has 47 entries, more than 40",
        ),
        (bloated("ask", 40, "  - {enter: t}\n"), "family: 'ask' has 45 entries, more than 40"),
        (
            GOOD.replace("{table x y}", "{table x y}\n\n    " + "word " * 4000),
            "text: 'stem' has 20,140 characters, more than 20,000",
        ),
        (
            GOOD.replace("The time follows", "word " * 3000 + "The time follows").replace(
                "{table x y}", "{table x y}\n\n    " + "word " * 1500
            ),
            "text: 23,012 characters in all, more than 20,000",
        ),
    ],
    ids=range(8),
)
def test_sizes_are_bounded(text: str, message: str) -> None:
    with pytest.raises(FamilyError) as caught:
        read_family(text, "cart.yaml")
    assert caught.value.message == message
    assert caught.value.hint
    assert caught.value.place is not None


@pytest.mark.parametrize(
    ("section", "message", "hint"),
    [
        ("given", "given: nothing is given", "add what the student knows"),
        ("find", "find: no unknown is declared", "add what is asked for"),
        ("ask", "ask: nothing is asked", "add `- enter: NAME`"),
    ],
)
def test_an_empty_section(section: str, message: str, hint: str) -> None:
    assert read_family(SMALL, "f.yaml").name == "f"
    lines = SMALL.split("\n")
    at = next(i for i, line in enumerate(lines) if line.startswith(f"{section}:"))
    lines[at] = f"{section}: " + ("[]" if section == "ask" else "{}")
    if section == "given":
        lines[at + 2] = "laws: {one: v = 2 m}"
    with pytest.raises(FamilyError) as caught:
        read_family("\n".join(lines), "f.yaml")
    assert (caught.value.message, caught.value.hint) == (message, hint)
    assert str(caught.value.place) == f"f.yaml:{at + 1}:1"


def test_only_where_there_are_no_cases() -> None:
    text = SMALL + "rules: [{need: v > 3 m, because: b, only: up}]\n"
    with pytest.raises(FamilyError) as caught:
        read_family(text, "f.yaml")
    assert caught.value.message == "rule 1, only: there is no case 'up'"
    assert caught.value.hint == "delete `only:`, or declare cases"


@pytest.mark.parametrize(
    ("edits", "marked", "message", "hint"),
    [
        (
            {"to the left: {way:": "to the left: {path:", "{law: motion}": "{law: way}",
             "{law way}": "the law"},
            "{law: «way»}",
            "part 4: there is no law 'way' in case 'to the left'",
            "ask for a law that holds in every case",
        ),
        (
            {"to the left: {way:": "to the left: {path:",
             "{drop: [floor]": "{only: to the left, drop: [way]"},
            "drop: [«way»]",
            "slip 'no-floor', drop: 'way' is a law of to the right, not of to the left",
            "correct `only:`",
        ),
        (
            {"  to the left: {when: F_r < F_l, set: {s: -1}, say: {goes: left, away: right}}\n": "",
             "when: F_r > F_l": "when: otherwise"},
            "when: «otherwise»",
            "case 'to the right': there is no other case",
            "leave out the section `cases`",
        ),
    ],
    ids=range(3),
)  # fmt: skip
def test_faults_that_take_two_edits(
    edits: dict[str, str], marked: str, message: str, hint: str
) -> None:
    text = GOOD
    for old, new in edits.items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    unmarked = marked.replace("«", "").replace("»", "")
    assert text.count(unmarked) == 1
    at = text.index(unmarked) + marked.index("«")
    with pytest.raises(FamilyError) as caught:
        read_family(text, "cart.yaml")
    assert (caught.value.message, caught.value.hint) == (message, hint)
    line, column = text[:at].count("\n") + 1, at - text[:at].rfind("\n")
    assert str(caught.value.place) == f"cart.yaml:{line}:{column}"


def test_shares_without_cases() -> None:
    with pytest.raises(FamilyError) as caught:
        read_family(f"{SMALL}shares: equal\n", "f.yaml")
    assert caught.value.message == "shares: there are no cases to share instances equally among"
    assert caught.value.hint == "delete `shares:`, or add cases"
    assert str(caught.value.place) == "f.yaml:10:1"
