"""The parts of the page that are no findings: remarks, what was not checked, what was read."""

from __future__ import annotations

from collections.abc import Iterator

from qbank.audit.report.worst import (
    REMARKS,
    losses_by_code,
    numbered,
    remarks_by_code,
    unchecked_by_reason,
    with_verdict,
)
from qbank.audit.verdict import Audit
from qbank.proof.text import escape

MOST_NAMES = 500  # items named for one reason
MOST_REMARKS = 2000  # keys that are right with a remark
MOST_LOSSES = 200  # sentences quoted for one kind of loss


def section(name: str, title: str) -> str:
    """The opening of a section with its heading."""
    return (
        f'<section id="{name}" aria-labelledby="{name}-title">'
        f'<h2 id="{name}-title">{escape(title)}</h2>\n'
    )


def remarks(audit: Audit) -> Iterator[str]:
    """Keys that are right with a remark."""
    yield section("remarks", "Right with a remark")
    found = with_verdict(audit, *REMARKS)
    if not found:
        yield "<p>There are none.</p></section>\n"
        return
    yield '<p class="note">These keys are no errors.</p>'
    heads = "".join(
        f'<th scope="col">{name}</th>'
        for name in ("Item", "Part", "Remark", "States", "Exactly", "How")
    )
    yield (
        '<div class="scroll" tabindex="0" role="region" aria-label="Keys that are right with a '
        f'remark"><table class="remarks"><thead><tr>{heads}</tr></thead><tbody>\n'
    )
    for judgement in found[:MOST_REMARKS]:
        how = judgement.how if judgement.cause is None else judgement.cause.says
        cells = (
            judgement.part, judgement.verdict.value, judgement.states, judgement.expected, how,
        )  # fmt: skip
        row = "".join(f"<td>{escape(cell)}</td>" for cell in cells)
        yield f'<tr><th scope="row">{escape(judgement.item)}</th>{row}</tr>\n'
    rest = len(found) - MOST_REMARKS
    more = f"<p>And {rest:,} more; a report as .csv or .json has all.</p>" if rest > 0 else ""
    yield f"</tbody></table></div>{more}</section>\n"


def unchecked(audit: Audit) -> Iterator[str]:
    """What was not checked, by reason."""
    reasons = unchecked_by_reason(audit)
    yield section("unchecked", "Not checked")
    if not reasons:
        yield (
            "<p>Every key was checked.</p></section>\n"
            if audit.judgements
            else ("<p>There was no key to check.</p></section>\n")
        )
        return
    yield "<p>Nothing is known of these keys: they may be right or wrong.</p>"
    for reason, found in reasons:
        names = [
            f"{judgement.item}, {judgement.part}".rstrip(", ") for judgement in found[:MOST_NAMES]
        ]
        rest = len(found) - len(names)
        listed = "; ".join(map(escape, names)) + (f"; and {rest:,} more" if rest else "")
        yield (
            f'<details class="fold"><summary>{numbered(len(found), "key")}: {escape(reason)}'
            f"</summary><p>{listed}</p></details>\n"
        )
    yield "</section>\n"


def worth_a_look(audit: Audit) -> Iterator[str]:
    """Weaknesses of items that say nothing of their keys, by kind."""
    yield section("look", "Worth a look")
    kinds = remarks_by_code(audit)
    if not kinds:
        yield "<p>There is nothing.</p></section>\n"
        return
    for code, found in kinds:
        severity = found[0].severity
        kind = "" if severity is None else f" ({severity.value})"
        told = "".join(
            f"<li>{escape(f'{judgement.item} {judgement.part}'.rstrip())}: "
            f"{escape(judgement.how)}</li>"
            for judgement in found[:MOST_NAMES]
        )
        rest = len(found) - MOST_NAMES
        more = f"<p>And {rest:,} more.</p>" if rest > 0 else ""
        yield (
            f'<details class="fold"><summary>{len(found):,} {escape(code)}{kind}</summary>'
            f"<ul>{told}</ul>{more}</details>\n"
        )
    yield "</section>\n"


def assignments(audit: Audit) -> Iterator[str]:
    """How stems were read as quantities, to be confirmed."""
    yield section("assignments", "How stems were read")
    if not audit.assignments:
        yield "<p>No stem was read by a family.</p></section>\n"
        return
    yield '<p class="note">Please confirm: a finding is only as good as this reading.</p>'
    for assignment in audit.assignments:
        says = "".join(f"<li>{escape(said)}</li>" for said in assignment.says)
        yield (
            f'<article class="assignment"><h3>{escape(assignment.family)}, asked for '
            f'{escape(assignment.unknown)}</h3><p class="wording">{escape(assignment.wording)}</p>'
            f'<ul>{says}</ul><p class="note">{assignment.agreeing:,} of '
            f"{numbered(assignment.questions, 'key')} agree; the chance of that by accident is at "
            f"most {assignment.chance:.1g}.</p></article>\n"
        )
    yield "</section>\n"


def reading(audit: Audit) -> Iterator[str]:
    """Columns as understood, and what was not read."""
    yield section("reading", "What was read")
    if audit.columns:
        columns = "".join(f"<li>{escape(said)}</li>" for said in audit.columns)
        yield f"<h3>Columns, as they were understood</h3><ul>{columns}</ul>\n"
    kinds = losses_by_code(audit)
    if not kinds:
        yield "<p>Nothing was lost in reading.</p></section>\n"
        return
    yield f"<h3>Not read: {numbered(len(audit.losses), 'thing')}</h3>\n"
    for code, losses in kinds:
        listed = "".join(f"<li>{escape(loss)}</li>" for loss in losses[:MOST_LOSSES])
        rest = len(losses) - MOST_LOSSES
        more = f"<p>And {rest:,} more.</p>" if rest > 0 else ""
        yield (
            f'<details class="fold"><summary>{len(losses):,} × {escape(code)}</summary>'
            f"<ul>{listed}</ul>{more}</details>\n"
        )
    yield "</section>\n"
