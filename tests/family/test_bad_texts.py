"""What an author gets wrong: texts and settings."""

import pytest

from tests.family.bad import Bad, check

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
        "{table «bl» x}",  # a name that stands in the word before it as well
        "stem, field {table bl x}: 'bl' names nothing in this family",
        "known: m, F_l, F_r, w, g, T_0, mu, x, y, D, xm, ym, ...",
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
