"""An audit as text for a terminal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator

from qbank.audit.report.worst import (
    MEANING,
    accusing,
    confidence_text,
    count,
    headline,
    level_text,
    losses_by_code,
    named,
    numbered,
    remarks_by_code,
    unchecked_by_reason,
    with_verdict,
)
from qbank.audit.verdict import Audit, Judgement, Level, Verdict

MOST = 20  # findings, unless all are asked for
EXAMPLES = 3
_KINDS = (
    ("right", (Verdict.RIGHT,)),
    ("with remark", (Verdict.ROUNDED, Verdict.OTHER_CONSTANT)),
    ("wrong", (Verdict.WRONG,)),
    ("suspicious", (Verdict.SUSPECT,)),
    ("defective", (Verdict.DEFECT,)),
)
# A terminal obeys control characters, and a bank is from anyone.
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def summary(audit: Audit, width: int = 80, most: int | None = MOST) -> str:
    """What was found, in lines of at most `width` characters: the worst first, at most `most`
    findings (None for all), then what is right with a remark, then what was not checked."""
    width = max(width, 40)
    sections = [_head(audit, width)]
    sections += [
        section
        for lines in (
            _levels(audit, width),
            _findings(audit, width, most),
            _remarks(audit, width, most),
            _unchecked(audit, width, most),
            _worth_a_look(audit, width, most),
            _assignments(audit, width, most),
            _columns(audit, width),
            _losses(audit, width, most),
        )
        if (section := "\n".join(lines))
    ]
    return "\n\n".join(sections)


def printable(text: str) -> str:
    """A text in one line, without what a terminal would obey."""
    return " ".join(_CONTROL.sub("\ufffd", text).split())


def wrapped(text: str, width: int, first: str = "", then: str | None = None) -> str:
    """A text in lines of `width`, the first after `first`, further ones after `then`."""
    return textwrap.fill(
        printable(text),
        width,
        initial_indent=first,
        subsequent_indent=" " * len(first) if then is None else then,
        break_on_hyphens=False,
    )


def _head(audit: Audit, width: int) -> str:
    counts = count(audit)
    kind = f" ({audit.format})" if audit.format else ""
    what = f"{numbered(audit.items, 'item')}, {numbered(counts.keys, 'key')}"
    lines = [wrapped(f"{audit.bank}{kind}: {what}", width), wrapped(headline(audit), width)]
    return "\n".join(lines)


def _levels(audit: Audit, width: int) -> Iterator[str]:
    """Judgements by level and verdict."""
    cells = count(audit).cells
    levels = [level for level in Level if any(cells[level, verdict] for verdict in Verdict)]
    if not levels:
        return
    kinds = [
        (name, verdicts)
        for name, verdicts in _KINDS
        if any(cells[level, verdict] for level in levels for verdict in verdicts)
    ]
    first = max(len(level_text(level)) for level in levels)
    yield "rests on".ljust(first) + "".join(f"  {name}" for name, _ in kinds)
    for level in levels:
        numbers = [sum(cells[level, verdict] for verdict in verdicts) for _, verdicts in kinds]
        row = level_text(level).ljust(first)
        yield row + "".join(
            f"  {number or '-':>{len(name)}}"
            for number, (name, _) in zip(numbers, kinds, strict=True)
        )
    for level in levels:
        if any(cells[level, verdict] for verdict in Verdict):
            yield wrapped(f"{int(level)}: {MEANING[level]}", width, "  ", "     ")


def _findings(audit: Audit, width: int, most: int | None) -> Iterator[str]:
    found = accusing(audit)
    if not found:
        return
    yield "What should be looked at, the worst first"
    for place, judgement in enumerate(found[:most], 1):
        yield ""
        yield from _finding(place, judgement, width)
    if most is not None and len(found) > most:
        yield ""
        yield f"{len(found) - most:,} more are not shown; --all shows them."


def _finding(place: int, judgement: Judgement, width: int) -> Iterator[str]:
    severity = "" if judgement.severity is None else f"{judgement.severity.value}, "
    rests = level_text(judgement.level)
    sure = confidence_text(judgement.confidence)
    about = f"{severity}{judgement.verdict.value}"
    if rests:
        about += f"; level {rests}"
    if sure and judgement.confidence < 1:
        about += f"; confidence {sure}"
    code = f" [{judgement.code}]" if judgement.code else ""
    yield wrapped(f"{named(judgement)}{code}", width, f"{place:>3}. ")
    yield wrapped(about, width, "     ")
    cause = judgement.cause
    told = [
        ("states", judgement.states),
        ("should be", judgement.expected or _options(judgement)),
        ("how", judgement.how),
        ("cause", "" if cause is None else cause.says),
        ("or", "; ".join(other.says for other in judgement.others)),
        ("at", f"{judgement.place.file}:{judgement.place.line}"),
    ]
    for label, text in told:
        if text:
            yield wrapped(text, width, f"     {label:<10} ")


def _options(judgement: Judgement) -> str:
    return ", ".join(judgement.correct)


def _remarks(audit: Audit, width: int, most: int | None) -> Iterator[str]:
    for verdict in (Verdict.ROUNDED, Verdict.OTHER_CONSTANT):
        found = with_verdict(audit, verdict)
        if not found:
            continue
        if verdict is Verdict.ROUNDED or not with_verdict(audit, Verdict.ROUNDED):
            yield "No errors, but with a remark"
        yield wrapped(f"{numbered(len(found), 'key')} {verdict.value}", width, "  ")
        shown = found if most is None else found[:EXAMPLES]
        for judgement in shown:
            told = ", ".join(
                text
                for text in (
                    f"states {judgement.states}" if judgement.states else "",
                    f"exactly {judgement.expected}" if judgement.expected else "",
                )
                if text
            )
            because = judgement.cause.says if judgement.cause else judgement.how
            line = f"{named(judgement)}: {told}"
            yield wrapped(f"{line}. {because}" if because else line, width, "    ", "      ")
        yield from more(len(found) - len(shown))


def _unchecked(audit: Audit, width: int, most: int | None) -> Iterator[str]:
    reasons = unchecked_by_reason(audit)
    if not reasons:
        return
    total = sum(len(found) for _, found in reasons)
    yield f"Not checked, so nothing is known of them: {numbered(total, 'key')}"
    limit = len(reasons) if most is None else most
    for reason, found in reasons[:limit]:
        yield wrapped(f"{len(found):>5,}  {printable(reason)}", width, "  ", " " * 9)
        shown = found if most is None else found[:EXAMPLES]
        names = ", ".join(f"{judgement.item} {judgement.part}".rstrip() for judgement in shown)
        dots = ", ..." if len(found) > len(shown) else ""
        yield wrapped(f"{names}{dots}", width, " " * 9)
    yield from more(len(reasons) - limit, "reason")


def _worth_a_look(audit: Audit, width: int, most: int | None) -> Iterator[str]:
    kinds = remarks_by_code(audit)
    if not kinds:
        return
    yield "Worth a look, though it says nothing of the keys"
    for code, found in kinds:
        severity = found[0].severity
        kind = "" if severity is None else f", {severity.value}"
        yield f"  {len(found):>5,}  {code}{kind}"
        for judgement in found if most is None else found[:1]:
            where = f"{judgement.item} {judgement.part}".rstrip()
            yield wrapped(f"{where}: {judgement.how}", width, " " * 9, " " * 11)


def _assignments(audit: Audit, width: int, most: int | None) -> Iterator[str]:
    if not audit.assignments:
        return
    yield "How stems were read; please confirm"
    limit = len(audit.assignments) if most is None else most
    for assignment in audit.assignments[:limit]:
        agreeing = f"{assignment.agreeing:,} of {numbered(assignment.questions, 'key')} agree"
        chance = f"chance of that by accident at most {assignment.chance:.1g}"
        solves = f"{assignment.family}, asked for {assignment.unknown}: {agreeing}; {chance}"
        yield wrapped(solves, width, "  ", "    ")
        yield wrapped(f'"{_cut(assignment.wording)}"', width, "    ", "     ")
        for said in assignment.says:
            yield wrapped(said, width, "    - ")
    yield from more(len(audit.assignments) - limit)


def _columns(audit: Audit, width: int) -> Iterator[str]:
    if audit.columns:
        yield "Columns, as they were understood"
        yield from (wrapped(said, width, "  ", "    ") for said in audit.columns)


def _losses(audit: Audit, width: int, most: int | None) -> Iterator[str]:
    kinds = losses_by_code(audit)
    if not kinds:
        return
    yield f"Not read: {numbered(len(audit.losses), 'thing')} of the bank"
    for code, losses in kinds:
        shown: Iterable[str] = losses if most is None else losses[:1]
        yield wrapped(f"{len(losses):>5,}  {code}", width, "  ", " " * 9)
        yield from (wrapped(loss, width, " " * 9, " " * 11) for loss in shown)


def more(number: int, word: str = "") -> Iterator[str]:
    """A line that says how many are not shown, where there are any."""
    if number > 0:
        what = f"{numbered(number, word)} more" if word else f"{number:,} more"
        yield f"    ... and {what}; --all shows them."


def _cut(text: str, length: int = 240) -> str:
    return text if len(text) <= length else text[: length - 4].rstrip() + " ..."
