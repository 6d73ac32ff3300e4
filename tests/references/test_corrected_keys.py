"""Families against printed keys: those that were corrected, those that should be, worked examples.

Book, module, exercise and commit of each stand with the entry in `tests.audit.references`.
"""

import pytest

from tests.audit.references.real_keys import ALL, EXAMPLES, RIGHT, ROUNDED, WRONG, fits

SOLVED = [entry for entry in ALL if entry.family]


@pytest.mark.parametrize("entry", SOLVED, ids=lambda entry: entry.name)
def test_a_family_solves_the_printed_data(worked, entry):
    one = worked(entry.family, **entry.data)
    answer = getattr(one, entry.unknown)
    if entry.name == "wires":  # the family answers in millionths of a newton
        answer *= 1e-6
    assert answer == pytest.approx(entry.ours, rel=2e-4)


@pytest.mark.parametrize("entry", SOLVED, ids=lambda entry: entry.name)
def test_what_was_printed_is_as_wrong_as_said(entry):
    """By the last digit alone: a right key can stand for our value and a wrong one cannot."""
    for key in (entry.printed, entry.corrected):
        if key is None:
            continue
        if key.verdict is RIGHT:
            assert fits(entry, key)
        elif key.verdict in (WRONG, ROUNDED):
            assert not fits(entry, key)
    if entry.corrected is not None:
        printed = float(entry.printed.text or "nan")
        assert not abs(printed - entry.ours) <= abs(float(entry.corrected.text) - entry.ours)


def test_there_are_entries_of_each_kind():
    assert len({entry.source.partition(",")[0] for entry in ALL}) >= 25
    assert sum(entry.printed.verdict is WRONG for entry in ALL) >= 20
    assert sum(entry.printed.verdict is RIGHT for entry in EXAMPLES) >= 8


@pytest.mark.parametrize("entry", SOLVED, ids=lambda entry: entry.name)
def test_the_slip_named_reproduces_the_printed_number(entry):
    """The slip, as the family solves it, comes to the wrong number to its printed figures."""
    from qbank.family.library import find_family
    from qbank.family.loader import load_family
    from qbank.generation import work

    code = entry.printed.cause
    if not code:
        return
    family = load_family(find_family(entry.family))
    instances = work(family, dict(entry.data)).instances
    wrong = instances.wrong[code.removeprefix("slip:")][entry.unknown]
    value = float(family.find[entry.unknown].unit.from_si(wrong)[0])
    value *= 1e-6 if entry.name == "wires" else 1
    figures = len(entry.printed.text.partition("e")[0].replace(".", "").lstrip("0"))
    assert value == pytest.approx(float(entry.printed.text), rel=0.51 * 10.0 ** (1 - figures))
