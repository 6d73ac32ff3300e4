"""What an author gets wrong: let, cases, unknowns, laws and rules."""

import pytest

from tests.family.bad import Bad, check

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
        "write for example 3",
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
        "Write a value here, or delete the operator before it.",
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
        "Look for a factor that is missing or one too many, and at the units of the data.",
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
