"""Declarations and rules in the very words of our writer, read from the text of a document.

They are half of the elements of an item, and a pattern reads one rule, of ten elements, at once.
Each pattern takes what `qti_markup` makes and nothing else, and every byte must belong to one, so
that what is read here is what an XML parser would have found. Anything else, such as partial
credit or another writer's spaces, is left to `qti_scoring`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from qbank.formats.dialects import QTI_30
from qbank.formats.qti_markup import MARKUP
from qbank.formats.qti_scoring import Declared, Scoring

# Bytes of text and attributes that need no thought: no markup, no white space but spaces, and
# none that may start one of the characters that XML forbids (U+FFFE, U+FFFF).
_TEXT = r'[^<>&"\x00-\x1f\xef]*'
_WORDS = r"[^<>&\x00-\x1f\xef]*"
_CONTENT_BODY = re.compile("</?contentBody>")  # which only 3.0 has
_START = re.compile(
    rb'(?:<\?xml version="1\.0" encoding="UTF-8"\?>\n)?'
    rb"<(?:(qti-assessment-item)|assessmentItem)"
    rb'(?:\s+[A-Za-z:-]+="[^<>&"\x00-\x1f\xef]*")*>\n'
)
_SAID = f"({_TEXT[:-1]}+)"  # of these some: what is empty is left to the other reader
_FLOAT = f'<baseValue baseType="float">{_SAID}</baseValue>'
_NAME = f'<baseValue baseType="identifier">{_SAID}</baseValue>'
_VARIABLE = f'<variable identifier="{_TEXT}"/>'
_RESPONSE = f'<variable identifier="{_SAID}"/>'
# Each pattern is a group as a whole, so that the lengths of all say whether anything is between.
_DECLARATION = (
    f'((?:<responseDeclaration|(<outcomeDeclaration)) identifier="({_TEXT})"'
    f' cardinality="({_TEXT})" baseType="({_TEXT})"'
    f'(?: interpretation="({_TEXT})"| normalMaximum="{_TEXT}")?'
    f"(?:/>|>(?:<defaultValue><value>{_TEXT}</value></defaultValue>"
    f'|<correctResponse(?: interpretation="({_TEXT})")?>'
    f"((?:<value>{_TEXT}</value>)+)</correctResponse>)?"
    "(?:</responseDeclaration>|(</outcomeDeclaration>)))\n)"
)
_OPEN, _CLOSE = "<responseProcessing>\n", "</responseProcessing>\n"
_VALUE = re.compile(rb"value>([^<]*)</")
_RULE = (
    "((?:<responseCondition>(<responseIf>)|<responseElseIf>)"
    f"(?:<and><gte>{_RESPONSE}{_FLOAT}</gte><lte>{_RESPONSE}{_FLOAT}</lte></and>"
    f'|<match>{_RESPONSE}(?:<correct identifier="{_TEXT}"/>|{_NAME})</match>'
    f"|<member>{_NAME}{_RESPONSE}</member>"
    f"|<isNull>{_RESPONSE}</isNull>)\n?"
    f'(?:<setOutcomeValue identifier="SCORE_{_TEXT}">{_FLOAT}</setOutcomeValue>)?'
    f'(?:<setOutcomeValue identifier="FEEDBACK_{_TEXT}">'
    f"(?:{_NAME}|<multiple>{_VARIABLE}{_NAME}</multiple>)</setOutcomeValue>)?"
    "(?:(</responseIf>)|</responseElseIf>)\n(</responseCondition>\n)?"
    f'|<setOutcomeValue identifier="SCORE"><sum>(?:{_VARIABLE})*</sum></setOutcomeValue>\n'
    '|<setOutcomeValue identifier="SOLUTION"><baseValue baseType="identifier">WORKED</baseValue>'
    "</setOutcomeValue>\n)"
)


@dataclass(frozen=True, slots=True)
class _Patterns:
    """The patterns in one spelling of the names."""

    declaration: re.Pattern[bytes]
    body: bytes
    processing: bytes
    rule: re.Pattern[bytes]
    processed: bytes
    hints: re.Pattern[bytes]  # what stands before the rules where hints can be asked for
    after_hints: bytes  # and after them
    feedback: re.Pattern[bytes]  # of plain words


def _patterns(*, kebab: bool) -> _Patterns:
    def spelled(pattern: str) -> bytes:
        return (QTI_30.markup(pattern) if kebab else pattern).encode()

    def taking(text: str) -> bytes:
        """A pattern of a text with numbered hints in it."""
        return re.escape(spelled(text)).replace(b"%s", b"HINT_[0-9]{1,6}")

    hinted = MARKUP["hinted"].removeprefix(_OPEN).removesuffix(_CLOSE)
    before, between, after = hinted.split("%s")

    return _Patterns(
        re.compile(spelled(_DECLARATION)),
        spelled("<itemBody>\n"),
        spelled(f"</itemBody>\n{_OPEN}"),
        re.compile(spelled(_RULE)),
        spelled(_CLOSE),
        re.compile(
            taking(before)
            + taking(MARKUP["first_hint"])
            + b"(?:"
            + taking(MARKUP["next_hint"])
            + b")*"
            + taking(between)
        ),
        spelled(after),
        re.compile(
            spelled(
                (MARKUP["modal"] if kebab else _CONTENT_BODY.sub("", MARKUP["modal"]))
                % (_TEXT, _TEXT, f"<p>{_WORDS}</p>")
            )
        ),
    )


_CAMEL, _KEBAB = _patterns(kebab=False), _patterns(kebab=True)


@dataclass(frozen=True, slots=True)
class Usual:
    """What was read of a document, and the document without it."""

    known: dict[str, Declared]
    scoring: dict[str, Scoring]
    rest: bytes


def usual(data: bytes, *, whole: bool = True) -> Usual | None:
    """The declarations and rules of a document; None unless all of them are as we write them.

    Unless `whole`, what is left lacks feedback of plain words.

    What is cut out lies between the start of the root and that of the first body, and between the
    start and end tags of response processing that follows the first end of a body. Whether the
    latter are tags, and not the words of a comment, shows when the rest is parsed: the body is
    then followed by response processing that is empty.
    """
    start = _START.match(data)
    if start is None:
        return None
    patterns = _KEBAB if start[1] else _CAMEL
    declared_from = start.end()
    body = data.find(patterns.body, declared_from)
    processing = data.find(patterns.processing, body)
    rules_from = processing + len(patterns.processing)
    rules_to = data.find(patterns.processed, rules_from)
    if min(body, processing, rules_to) < 0:
        return None
    try:
        known = _declarations(patterns, data, declared_from, body)
        at, end = rules_from, rules_to
        if (hints := patterns.hints.match(data, at, end)) and data.endswith(
            patterns.after_hints, at, end
        ):
            at, end = hints.end(), end - len(patterns.after_hints)
        scoring = None if known is None else _rules(patterns, data, at, end, known)
    except (ValueError, LookupError):  # no number, no UTF-8, no key
        return None
    if known is None or scoring is None:
        return None
    after = data[rules_to:]
    if not whole:
        after = patterns.feedback.sub(b"", after)
    return Usual(known, scoring, data[:declared_from] + data[body:rules_from] + after)


def _declarations(
    patterns: _Patterns, data: bytes, at: int, end: int
) -> dict[str, Declared] | None:
    known = {}
    for (
        text, outcome, name, cardinality, base_type, interpretation, shown, keys, closed,
    ) in patterns.declaration.findall(data, at, end):  # fmt: skip
        at += len(text)
        if bool(outcome) != bool(closed) and not text.endswith(b"/>\n"):
            return None
        if outcome:
            known[name.decode()] = Declared("", "", interpretation.decode(), [], "")
        else:
            known[name.decode()] = Declared(
                cardinality.decode(),
                base_type.decode(),
                interpretation.decode(),
                [key.decode().strip() for key in _VALUE.findall(keys)],
                shown.decode(),
            )
    return known if at == end else None


def _rules(
    patterns: _Patterns, data: bytes, at: int, end: int, known: dict[str, Declared]
) -> dict[str, Scoring] | None:
    scoring: dict[bytes, Scoring] = {}
    is_open = False  # a condition, which else-if needs and others must not be in
    for (
        text, first, compared, low, again, high, matched, option, member, among, nothing, score,
        label, added, first_end, ended,
    ) in patterns.rule.findall(data, at, end):  # fmt: skip
        at += len(text)
        response = compared or matched or among or nothing
        if not response:  # the sum at the end, or what shows the solution
            if is_open:
                return None
            continue
        if is_open == bool(first) or bool(first) != bool(first_end):
            return None
        is_open = not ended
        its = scoring.get(response)
        if its is None:
            its = scoring[response] = Scoring()
        if score:
            its.points = float(score)
        said = (label or added).decode()
        if compared:
            if compared != again:
                return None
            if first:
                its.band = (float(low), float(high))
            else:
                its.wrong.append((said, float(low), float(high)))
        elif said:
            declared = known[response.decode()]
            if declared.is_arranged:
                return None
            its.labels[(option or member).decode() or declared.keys[0]] = said
    if at != end or is_open:
        return None
    return {name.decode(): its for name, its in scoring.items()}
