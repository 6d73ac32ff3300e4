"""The section `cases`: which way it goes, and the constants and words that go with it."""

from __future__ import annotations

import re
from collections.abc import Sequence

from qbank.family import numerals, schema
from qbank.family.keys import Keys, nearest, text_of
from qbank.family.model import Case
from qbank.family.nodes import Entry, Scalar
from qbank.family.scope import KNOWN, Formulas, Kind, Piece

_NAME = re.compile(r"[^\W_][\w -]{0,59}")
_WORD = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")


def check_name(key: Scalar, what: str) -> None:
    """FamilyError unless the key can name a case, a law or a slip."""
    text = key.text
    if not _NAME.fullmatch(text) or text != text.strip() or text.endswith("with numbers"):
        raise key.fault(
            f"{what}: '{text[:60]}' cannot be its name",
            hint="use letters, digits, spaces, - and _, at most 60, not ending in `with numbers`",
        )


def case_entries(top: Keys) -> list[tuple[Entry, Keys]]:
    """The entries of `cases` with their keys checked."""
    found = []
    for entry in top.mapping("cases"):
        what = f"case '{entry.key.text[:60]}'"
        check_name(entry.key, "case")
        found.append((entry, Keys(entry.value, schema.CASE, what, entry.key)))
    return found


def declare_constants(entries: Sequence[tuple[Entry, Keys]], formulas: Formulas) -> None:
    """Declares what the cases set, the same names in each."""
    if not entries:
        return
    first = {entry.key.text: entry.key for entry in entries[0][1].mapping("set")}
    for key in first.values():
        formulas.scope.declare(key, Kind.CONSTANT)
    for entry, keys in entries[1:]:
        _same_names(entry, keys, "set", first, entries[0][0].key.text)


def read_cases(
    entries: Sequence[tuple[Entry, Keys]], formulas: Formulas, top: Keys
) -> tuple[Case, ...]:
    """The cases; one nameless case where the file has none."""
    if not entries:
        return (Case("", None, {}, {}, top.node.place),)
    first, first_keys = entries[0]
    words = {entry.key.text: entry.key for entry in first_keys.mapping("say")}
    cases: list[Case] = []
    for position, (entry, keys) in enumerate(entries):
        if position:
            _same_names(entry, keys, "say", words, first.key.text)
        when = keys.need("when")
        otherwise = when.text.strip() == "otherwise"
        if otherwise and position != len(entries) - 1:
            raise when.fault(
                f"{keys.what}: `otherwise` closes the list, but cases follow",
                hint="move this case to the end",
            )
        if otherwise and not position:
            raise when.fault(
                f"{keys.what}: there is no other case", hint="leave out the section `cases`"
            )
        condition = None if otherwise else formulas.condition(Piece.whole(when), keys.what, KNOWN)
        for earlier in cases:
            if condition is not None and earlier.when == condition:
                raise when.fault(
                    f"{keys.what}: the condition is that of the case '{earlier.name}'",
                    hint="exactly one case may hold for every draw",
                )
        constants = {
            inner.key.text: _constant(inner, f"{keys.what}, constant '{inner.key.text[:40]}'")
            for inner in keys.mapping("set")
        }
        said = read_words(keys, "say")
        cases.append(Case(entry.key.text, condition, constants, said, entry.key.place))
    return tuple(cases)


def read_words(keys: Keys, name: str) -> dict[str, str]:
    """word -> what it says."""
    found = {}
    for entry in keys.mapping(name):
        word = entry.key.text
        if not _WORD.fullmatch(word):
            raise entry.key.fault(
                f"{keys.what}: '{word[:40]}' is no name for a word",
                hint="use letters, digits, - and _, a letter first",
            )
        said = text_of(entry, f"{keys.what}, word '{word}'")
        found[word] = " ".join(said.text.split())
    return found


def _same_names(
    entry: Entry, keys: Keys, name: str, first: dict[str, Scalar], first_case: str
) -> None:
    """FamilyError unless a case sets or says the same names as the first case."""
    called = "constant" if name == "set" else "word"
    here = {inner.key.text: inner.key for inner in keys.mapping(name)}
    for word in first:
        if word not in here:
            at = keys.key(name) if name in keys else entry.key
            raise at.fault(
                f"{keys.what}: the {called} '{word}' is missing; '{first_case}' has it",
                hint=f"add `{word}: ...` under `{name}:` of this case",
            )
    for word, key in here.items():
        if word not in first:
            raise key.fault(
                f"{keys.what}: the {called} '{word[:40]}' is missing in '{first_case}'",
                hint=nearest(word, first) if first else f"add it to every case under `{name}:`",
            )


def _constant(entry: Entry, what: str) -> float:
    scalar = text_of(entry, what)
    number, end = numerals.numeral(scalar, len(scalar.text) - len(scalar.text.lstrip()), what)
    if scalar.text[end:].strip():
        raise scalar.fault(
            f"{what}: expected a plain number, found '{scalar.text.strip()[:40]}'",
            (end, len(scalar.text)),
            "constants have no unit; quantities belong in `given` or `let`",
        )
    return float(number.value)


def read_only(keys: Keys, cases: Sequence[Case]) -> tuple[str, ...]:
    """`only`: the cases something applies to; empty for all."""
    names = [case.name for case in cases if case.name]
    found: list[str] = []
    for scalar in keys.texts("only"):
        name = scalar.text.strip()
        if name not in names:
            raise scalar.fault(
                f"{keys.what}, only: there is no case '{name[:60]}'",
                hint=nearest(name, names) if names else "delete `only:`, or declare cases",
            )
        if name in found:
            raise scalar.fault(
                f"{keys.what}, only: the case '{name}' stands here twice", hint="delete one"
            )
        found.append(name)
    if "only" in keys and not found:
        raise keys.key("only").fault(
            f"{keys.what}, only: it names no case", hint="name one, or delete `only:`"
        )
    return tuple(found)
