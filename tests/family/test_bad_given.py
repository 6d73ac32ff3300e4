"""What an author gets wrong: the heading, and what is given."""

import pytest

from qbank.family.loader import read_family
from tests.family.bad import GOOD, Bad, check


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
        "given 'm': expected '..' after the lowest value, found ','",
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
        "given 'm': expected '..' after the lowest value, found 'kg'",
        "write the unit once, after the step",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 «to» 9.0 by 0.5 kg",
        "given 'm': expected '..' after the lowest value, found 'to'",
        "write low .. high by step unit, such as 2.0 .. 9.0 by 0.5 kg",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "2.0 .. 9.0 «kg»",
        "given 'm': expected 'by' and the step after the highest value, found 'kg'",
        "write the unit once, after the step",
    ),
    Bad(
        "2.0 .. 9.0 by 0.5 kg",
        "«light» .. heavy",
        "given 'm': expected a number, found 'light'",
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
        "write for example 3",
    ),
]


@pytest.mark.parametrize("bad", GIVEN, ids=lambda bad: bad.message[:60])
def test_given(bad: Bad) -> None:
    check(bad)
