"""What an author gets wrong: slips, and what is asked."""

import pytest

from tests.family.bad import Bad, check

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
        "Look for a factor that is missing or one too many, and at the units of the data.",
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
        "part 4: expected a mapping with keys such as enter, choose, which, law, statements, "
        "order, match, found 'motion'",
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
        "write for example 3",
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
