"""Responses as people and programs give them: read by the kind an item declares."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from lxml import etree

from qbank.scoring.declarations import Declaration
from qbank.scoring.faults import ScoringError
from qbank.scoring.limits import MAX_CONTAINER, MAX_STRING
from qbank.scoring.names import get, name_of_tag
from qbank.scoring.shown import tags
from qbank.scoring.values import Value, integer, read_value, real

Answer = str | float | bool | Sequence[str]

_CHOICES = ("simpleChoice", "inlineChoice", "hottext", "hotspotChoice")
_INTERACTIONS = tags(
    "choiceInteraction", "orderInteraction", "inlineChoiceInteraction", "hottextInteraction",
    "hotspotInteraction", "endAttemptInteraction", "textEntryInteraction",
)  # fmt: skip
_CHOICE_TAGS = tags(*_CHOICES)


@dataclass(frozen=True, slots=True)
class Field:
    """An interaction as far as responses go.

    `choices` are the identifiers it offers, none where it offers no fixed ones; `request` says
    that it ends the attempt; `raw_text` names the response that keeps what was typed.
    """

    choices: tuple[str, ...] = ()
    request: bool = False
    raw_text: str = ""


def fields_of(body: etree._Element) -> dict[str, Field]:
    """The interactions of an item's body by their response."""
    found = {}
    for element in body.iter(*_INTERACTIONS):
        name = name_of_tag(element.tag)
        response = get(element, "responseIdentifier") or ""
        choices: tuple[str, ...] = ()
        if name not in ("endAttemptInteraction", "textEntryInteraction"):
            choices = tuple(c.get("identifier", "") for c in element.iter(*_CHOICE_TAGS))
        found[response] = Field(
            choices, name == "endAttemptInteraction", get(element, "stringIdentifier") or ""
        )
    return found


def unknown_response(name: str, known: Iterable[str]) -> ScoringError:
    """The fault of a response that an item does not have."""
    names = list(known)
    near = get_close_matches(name, names, n=1, cutoff=0.5)
    meant = f"did you mean '{near[0]}'? " if near else ""
    listed = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
    return ScoringError(
        f"the item has no response '{name}'",
        hint=f"{meant}Its responses are {listed}." if names else "It takes no response.",
    )


def read_answer(declared: Declaration, answer: Answer) -> Value | None:
    """An answer as a value of the declared kind; NULL for an empty one.

    Raises ScoringError, naming the response, for what is not of that kind.
    """
    texts = texts_of(answer)
    if declared.cardinality != "single" and len(texts) == 1 and not texts[0].strip():
        return None
    if len(texts) > MAX_CONTAINER or any(len(text) > MAX_STRING for text in texts):
        raise ScoringError(
            f"'{declared.name}' is given more than a response can hold",
            hint=f"give at most {MAX_CONTAINER:,} values of at most {MAX_STRING:,} characters",
        )
    if declared.cardinality == "record":
        return number_record(texts[0]) if texts else None
    try:
        if declared.base not in ("string", "file"):
            texts = [text for text in texts if text.strip()]
        return read_value(declared.cardinality, declared.base, texts)
    except ValueError as fault:
        shown = ", ".join(texts)
        hint = str(fault)
        if "," in shown and declared.base in ("float", "integer"):
            hint += "; a comma is no decimal sign in the standard"
        raise ScoringError(
            f"'{shown[:60]}' is no answer to '{declared.name}', which takes {_kind(declared)}",
            hint=hint,
        ) from fault


def ensure_choice(name: str, answer: Answer, choices: Sequence[str]) -> None:
    """Raise ScoringError for an answer that is none of the choices offered, if any are."""
    for text in texts_of(answer) if choices else ():
        if text.strip() and text.strip() not in choices:
            raise ScoringError(
                f"'{text[:60]}' is no choice of '{name}'",
                hint=f"its choices are {', '.join(choices[:30])}",
            )


def texts_of(answer: Answer) -> list[str]:
    """An answer as texts, one for each of its values."""
    if isinstance(answer, bool):
        return ["true" if answer else "false"]
    if isinstance(answer, str | int | float):
        return [str(answer)]
    return [text if isinstance(text, str) else str(text) for text in answer]


def _kind(declared: Declaration) -> str:
    kinds = {"float": "a number", "integer": "a whole number", "boolean": "true or false"}
    kind = kinds.get(declared.base, declared.base)
    return kind if declared.cardinality == "single" else f"several values, each {kind}"


_NUMERAL = re.compile(r"([+-]?)([0-9]*)(?:\.([0-9]*))?(?:[eE]([+-]?[0-9]{1,4}))?")


def number_record(text: str) -> Value | None:
    """The record a numeric text entry gives (mapping note, b3; from memory).

    Fields: stringValue; floatValue; integerValue and exponent where it has them; leftDigits and
    rightDigits of the mantissa, ndp decimals once the exponent is applied, nsf significant
    figures. A text that is no number keeps its stringValue alone.
    """
    if not text.strip():
        return None
    fields: dict[str, Value | None] = {"stringValue": Value("single", "string", text)}
    found = _NUMERAL.fullmatch(text.strip())
    if found and (found[2] or found[3]) and len(text) < 400:
        _, left, right, exponent = found.groups()
        right = right or ""
        fields["floatValue"] = real(float(text))
        fields["leftDigits"] = integer(len(left))
        fields["rightDigits"] = integer(len(right))
        fields["ndp"] = integer(max(0, len(right) - int(exponent or 0)))
        fields["nsf"] = integer(_significant(left, right))
        if exponent is not None:
            fields["exponent"] = integer(int(exponent))
        if "." not in text and exponent is None and abs(int(text)) < 2**31:
            fields["integerValue"] = integer(int(text))
    return Value("record", "", {k: v for k, v in fields.items() if v is not None})


def _significant(left: str, right: str) -> int:
    """Figures from the first that is not zero on; zeros at the end of a whole number don't count.

    Whether they do is not said by the standard as remembered; a typed decimal point makes them.
    """
    figures = (left + right).lstrip("0")
    return len(figures) if right else max(len(figures.rstrip("0")), 1)
