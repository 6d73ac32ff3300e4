"""What matching found, as a binding file: the next run need not search; a person can edit it."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from qbank.audit.binding.pattern import ANY
from qbank.audit.matching.model import MatchedGroup
from qbank.expressions.units import Unit
from qbank.family.model import Family

_FIELD = re.compile(r"\{\{|\}\}|\{(\d+)\}(?:, \{\d+\})*")
_HIDDEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff\ud800-\udfff\u00a0]"
)
_WIDTH = 92
_SMALLEST, _LARGEST = 1e-3, 1e6  # written without a power of ten
_PLAIN = re.compile(r"[A-Za-z][\w .-]*")


def binding_text(matched: Sequence[MatchedGroup]) -> str:
    """The text of a binding file that reads each group as it has been read; empty without any.

    Groups of one stem, family and assignment are one binding with several answers.
    """
    bindings: dict[object, list[MatchedGroup]] = {}
    for group in matched:
        stem = _fields(group).partition("\n")[0]
        constants = tuple(sorted(group.constants.items()))
        key = (group.family.name, stem, constants)
        bindings.setdefault(key, []).append(group)
    if not bindings:
        return ""
    lines = [
        "# How the quantities of families stand in this bank. Braces hold the name of a given;",
        f"# {{{ANY}}} is a number that plays no part. Please confirm, and edit freely.",
        "bindings:",
    ]
    for members in bindings.values():
        lines += _binding(members)
    return "\n".join(lines) + "\n"


def _binding(members: Sequence[MatchedGroup]) -> list[str]:
    first = members[0]
    stem, *_ = _fields(first).partition("\n")
    lines = [f"  - family: {_scalar(first.family.name)}"]
    if stem.strip():
        lines += _wrapped("    wording: ", stem, 6)
    lines.append("    answers:")
    told: set[tuple[str, str]] = set()
    for member in members:
        prompt = _fields(member).partition("\n")[2]
        if (member.unknown, prompt) in told:
            continue
        told.add((member.unknown, prompt))
        lines.append(f"      - find: {_scalar(member.unknown)}")
        if prompt.strip():
            lines += _wrapped("        prompt: ", prompt, 10)
        own = member.family.find[member.unknown].unit
        if member.group.key_unit is None and member.key_unit != own:
            lines.append(f"        unit: {_quoted(member.key_unit.ascii)}")
    if first.constants:
        lines.append("    constants:")
        lines += [
            f"      {_scalar(name)}: {_quoted(_measure(value, _given_unit(first.family, name)))}"
            for name, value in sorted(first.constants.items())
        ]
    return lines


def _fields(member: MatchedGroup) -> str:
    """The wording of a group with givens in its braces, on one line for stem and prompt each."""
    names = {numbers[0]: name for name, numbers in member.columns.items()}
    lists = {number: name for name, numbers in member.columns.items() for number in numbers[1:]}

    def field(match: re.Match[str]) -> str:
        if match[1] is None:
            return match[0]
        found = []
        for number in map(int, re.findall(r"\d+", match[0])):
            if number not in lists:  # the other values of a data list are in its one field
                found.append("{" + names.get(number, ANY) + "}")
        return ", ".join(found)

    stem, break_, prompt = member.group.wording.partition("\n")
    parts = [" ".join(_HIDDEN.sub(" ", _FIELD.sub(field, text)).split()) for text in (stem, prompt)]
    return break_.join(parts) if break_ else parts[0]


def _given_unit(family: Family, name: str) -> Unit:
    return family.given[name].unit


def _measure(value: float, unit: Unit) -> str:
    """A value with its unit, in as few figures as give the same value again."""
    shown = float(unit.from_si(value))
    number = repr(shown)
    for figures in range(1, 17):
        text = f"{shown:.{figures}g}"
        if float(unit.to_si(float(text))) == value:
            number = text
            break
    if "e" in number and _SMALLEST <= abs(shown) < _LARGEST:
        number = f"{float(number):f}".rstrip("0").rstrip(".")
    return f"{number} {unit.ascii}" if unit.text else number


def _scalar(text: str) -> str:
    return text if _PLAIN.fullmatch(text) else _quoted(text)


def _quoted(text: str) -> str:
    """JSON's strings are YAML's in double quotes."""
    return json.dumps(text, ensure_ascii=False)


def _wrapped(key: str, text: str, indent: int) -> list[str]:
    """A quoted text over several lines; YAML reads each break as the space it stands for."""
    lines = [key]
    for word in _quoted(text).split(" "):
        if len(lines[-1]) + len(word) > _WIDTH and lines[-1].strip() and lines[-1] != key:
            lines[-1] = lines[-1].rstrip()
            lines.append(" " * indent)
        lines[-1] += word + " "
    lines[-1] = lines[-1].rstrip()
    return lines
