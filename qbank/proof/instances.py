"""The instances one by one: what is asked on the left, what it is keyed with in the margin."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from qbank.checking.report import CheckReport
from qbank.item import Item
from qbank.proof.asked import response_field, stated_points
from qbank.proof.evidence import Evidence
from qbank.proof.gather import Proof, Shown
from qbank.proof.keyed import key_notes, slips_told
from qbank.proof.markup import blocks, inline
from qbank.proof.text import attribute, escape

# What each check of qbank/checking looks at, in words.
CHECKS = {
    "finite": "every number is finite",
    "printed-data": "the data printed are the data computed with",
    "one-case": "one case holds, and no other",
    "law-residual": "the unrounded answers satisfy each law",
    "second-route": "another method of solving gives the same answers",
    "conditioning": "the answers do not hang on the last digits of the data",
    "chosen-root": "the root chosen is the only one that has a meaning",
    "expected-sign": "the answers have the signs expected of the case",
    "rules": "the rules of the family hold",
    "rounded-key": "the key is the answer, rounded as stated",
    "rounded-back": "the rounded answers, put back, miss by no more than rounding explains",
    "key-in-tolerance": "the key lies within its own band, and slips outside it",
    "tolerance-window": "the band takes in honest rounding and keeps out every slip",
    "options-apart": "options can be told apart",
    "confirm": "what common sense expects of the answers holds",
}


def instance_name(number: int) -> str:
    """The identifier of an instance on the page, which its address ends with."""
    return f"instance-{number}"


def titles_tell(proof: Proof) -> bool:
    """Whether titles tell the instances apart, and more than their identifiers do."""
    items = [shown.item for shown in proof.shown]
    return len({item.title for item in items}) > 1 and any(
        item.title != item.identifier for item in items
    )


def articles(proof: Proof) -> Iterator[str]:
    """Each instance as an article."""
    titled = titles_tell(proof)
    neighbours: dict[int, list[str]] = {shown.number: [] for shown in proof.shown}
    for before, after in pairwise(proof.shown):
        neighbours[after.number].append(_link(before.number, "previous"))
        neighbours[before.number].append(_link(after.number, "next"))
    for shown in proof.shown:
        yield _article(shown, titled, neighbours[shown.number])


def _link(number: int, word: str) -> str:
    return f'<a href="#{instance_name(number)}">{word}<span class="aside"> ({number})</span></a>'


def _article(shown: Shown, titled: bool, links: list[str]) -> str:
    item, name = shown.item, instance_name(shown.number)
    title = f"Instance {shown.number}" + (f": {escape(item.title)}" if titled else "")
    rows = [
        f'<header class="row"><h3 id="{name}-title" tabindex="-1">{title}</h3>'
        f'<nav class="noted" aria-label="From instance {shown.number}">{" · ".join(links)}</nav>'
        "</header>",
        _row(blocks(item.stem), _origin(shown), item.language, kind="row stem-row"),
    ]
    for number, part in enumerate(item.parts, 1):
        field = f"{name}-part-{number}"
        heading = f'<h4>Part {number} <span class="points">{stated_points(part.points)}</span></h4>'
        rows.append(
            _row(
                response_field(part, field),
                key_notes(part, field),
                item.language,
                heading,
            )
        )
    told = slips_told(item)
    rows += [
        _caution(item),
        _hints(item),
        _folded("Feedback on each slip", told, item.language) if told else "",
        _solution(item),
        _evidence(shown.evidence),
    ]
    return (
        f'<article class="instance" id="{name}" data-case="{attribute(shown.case)}" '
        f'aria-labelledby="{name}-title">{"".join(rows)}</article>\n'
    )


def _row(asked: str, noted: str, language: str, heading: str = "", kind: str = "row") -> str:
    lang = attribute(language or "en")
    return (
        f'<div class="{kind}">{heading}<div class="asked" lang="{lang}">{asked}</div>'
        f'<div class="noted">{noted}</div></div>'
    )


def _origin(shown: Shown) -> str:
    item = shown.item
    rows = [("Identifier", item.identifier)]
    if shown.case:
        rows.append(("Case", shown.case))
    if item.provenance is not None:
        source = item.provenance
        rows.append(("Family", f"{source.family} {source.version}"))
        rows.append(("Seed and index", f"{source.seed}, {source.index}"))
    rows.append(("Points", stated_points(item.points).split(" ", maxsplit=1)[0]))
    listed = "".join(f"<dt>{label}</dt><dd>{escape(text)}</dd>" for label, text in rows)
    return f"<dl>{listed}</dl>"


def _caution(item: Item) -> str:
    if not item.caution:
        return ""
    lang = attribute(item.language or "en")
    return f'<p class="caution" lang="{lang}"><strong>Caution.</strong> {escape(item.caution)}</p>'


def _hints(item: Item) -> str:
    if not item.hints:
        return ""
    hints = "".join(f"<li>{inline(hint)}</li>" for hint in item.hints)
    return _folded("Hints", f"<ol>{hints}</ol>", item.language)


def _solution(item: Item) -> str:
    if not item.solution:
        return '<p class="note">No worked solution.</p>'
    solution = f'<div class="solution">{blocks(item.solution)}</div>'
    return _folded("Worked solution", solution, item.language)


def _folded(title: str, content: str, language: str = "en") -> str:
    lang = attribute(language or "en")
    return (
        f'<details class="fold"><summary>{title}</summary><div lang="{lang}">{content}</div>'
        "</details>"
    )


def _evidence(evidence: Evidence) -> str:
    said = f"<p>{escape(evidence.sentence)}</p>"
    if evidence.differences:
        said += f"<ul>{''.join(f'<li>{escape(d)}</li>' for d in evidence.differences)}</ul>"
    if evidence.checks is None:
        return f'<div class="evidence">{said}</div>'
    passed, made = evidence.checks.passed, evidence.checks.made
    opened = " open" if evidence.differences or passed < made else ""
    return (
        f'<details class="fold"{opened}><summary>Checks behind it: {passed} of {made} passed'
        f"</summary>{said}{checks_table(evidence.checks)}</details>"
    )


def checks_table(checks: CheckReport) -> str:
    """How often each check was made and passed."""
    rows = "".join(
        f'<tr><th scope="row">{escape(CHECKS.get(code, code))}</th>'
        f'<td class="number">{tally.made:,}</td><td class="number">{tally.passed:,}</td></tr>'
        for code, tally in checks.tallies.items()
    )
    return (
        '<div class="scroll"><table><thead><tr><th scope="col">check</th>'
        '<th scope="col" class="number">made</th><th scope="col" class="number">passed</th></tr>'
        f"</thead><tbody>{rows}</tbody></table></div>"
    )
