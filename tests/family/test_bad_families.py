"""What an author gets wrong in more than one place: empty sections, sizes, two edits."""

import pytest

from qbank.errors import FamilyError
from qbank.family.loader import read_family
from tests.family.bad import GOOD, SMALL


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
