"""Parts put in order or matched, in QTI 1.2.1: what is shown, the rules, the way back.

An order is one response of cardinality Ordered, tested place by place with `index`. Pairs are one
single choice among the targets for each source: 1.2.1 has groups (`response_grp`) for them, but a
list for each source is what most systems read (mapping note, b6: a recommendation). That systems
take an Ordered response with `render_choice` is from memory [?].
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Protocol

from lxml import etree

from qbank.formats import asi_markup as asi
from qbank.formats.arranging import share, shown_entries
from qbank.formats.asi_readback import Rule, right_options, right_order
from qbank.formats.content import inline
from qbank.formats.qti_parts import feedback_labels
from qbank.formats.qti_tree import attribute, descendants, local
from qbank.item import Inline, Matching, Option, Ordering, Part

RESPONSE = "RESPONSE_"
SOURCE = "SOURCE"
ORDER, PAIRS = "order", "pairs"
_PARTIAL, _WHOLE = "partial", "whole"


def feedback_name(part: Part, label: str) -> str:
    """The identifier of a part's feedback."""
    return f"FEEDBACK_{part.identifier}.{label}"


def responses(part: Part) -> list[str]:
    """The responses of a part: one, or of a matching one for each source."""
    name = RESPONSE + part.identifier
    if isinstance(part, Matching):
        return [_response(part, source.identifier) for source in part.sources]
    return [name]


def _response(part: Matching, source: str) -> str:
    return f"{RESPONSE}{part.identifier}.{source}"


def fields(part: Ordering | Matching) -> Iterator[tuple[str, str]]:
    """What says that responses belong to one part, and how it is credited."""
    kind = ORDER if isinstance(part, Ordering) else PAIRS
    yield f"qbank_{kind}_{part.identifier}", _PARTIAL if part.partial else _WHOLE


def shown(part: Ordering | Matching) -> str:
    """The responses, of a matching each after its source."""
    if isinstance(part, Ordering):
        name = RESPONSE + part.identifier
        return asi.labels(shown_entries(part), name, "Ordered", shuffle="Yes")
    return "".join(
        asi.material(inline(source.content), SOURCE)
        # The targets keep their order, so that it is the same below every source.
        + asi.labels(part.targets, _response(part, source.identifier), "Single", shuffle="No")
        for source in part.sources
    )


def rules(part: Ordering | Matching) -> str:
    """Points as a whole or in shares, then feedback."""
    right, wrong = _order_tests(part) if isinstance(part, Ordering) else _pair_tests(part)
    if part.partial:
        made = [
            asi.condition(test, title=asi.RIGHT, score=("Add", points))
            for test, points in zip(right, shares(part), strict=True)
        ]
    else:
        whole = f"<and>{''.join(right)}</and>"
        made = [asi.condition(whole, title=asi.RIGHT, score=("Add", part.points))]
    answers = part.entries if isinstance(part, Ordering) else (*part.sources, *part.targets)
    for test, answer, label in zip(wrong, answers, feedback_labels(part), strict=True):
        if label:
            show = [feedback_name(part, label)] if answer.feedback else []
            made.append(asi.condition(test, title=label, show=show))
    return "".join(made)


def shares(part: Ordering | Matching) -> list[float]:
    """The points of each entry or pair; added in turn they are exactly those of the part."""
    count = len(part.entries if isinstance(part, Ordering) else part.pairs)
    found = [share(part)] * (count - 1)
    total = 0.0
    for one in found:
        total += one
    return [*found, part.points - total]


def _order_tests(part: Ordering) -> tuple[list[str], list[str]]:
    name = RESPONSE + part.identifier
    right = [asi.placed(name, entry.identifier, n) for n, entry in enumerate(part.entries, 1)]
    return right, [_answered_but(name, test) for test in right]


def _pair_tests(part: Matching) -> tuple[list[str], list[str]]:
    target_of = dict(part.pairs)
    right, wrong = [], []
    for source in part.sources:
        name = _response(part, source.identifier)
        right.append(asi.equals(name, target_of[source.identifier]))
        wrong.append(_answered_but(name, right[-1]))
    for target in part.targets:
        picked = [
            asi.equals(_response(part, source.identifier), target.identifier)
            for source in part.sources
            if target_of[source.identifier] != target.identifier
        ]
        wrong.append(f"<or>{''.join(picked)}</or>")
    return right, wrong


def _answered_but(response: str, test: str) -> str:
    return f"<and><not>{asi.unanswered(response)}</not><not>{test}</not></and>"


# ---------------------------------------------------------------------------- reading


class Inlines(Protocol):
    """What reads the content of an element as one line."""

    def inline(self, element: etree._Element) -> tuple[Inline, ...]: ...


def matching_of(response: str, fields: Iterable[str]) -> str:
    """The name of the matching that a response belongs to by the metadata fields; empty if none."""
    prefix = f"qbank_{PAIRS}_"
    names = [label.removeprefix(prefix) for label in fields if label.startswith(prefix)]
    own = response.removeprefix(RESPONSE)
    return max((name for name in names if own.startswith(f"{name}.")), key=len, default="")


def read_order(
    element: etree._Element,
    prompt: tuple[Inline, ...],
    rules: list[Rule],
    content: Inlines,
    named: dict[str, etree._Element],
    how: str,
) -> Ordering:
    """The part of an Ordered response; `how` is the field that says how it is credited."""
    response = attribute(element, "ident")
    own = [rule for rule in rules if rule.responses == {response}]
    told = {
        (test.text or "").strip(): rule
        for rule in own
        if rule.score is None
        for test in descendants(rule.test, "varequal")
    }
    entries = {
        attribute(label, "ident"): _option(label, attribute(label, "ident"), told, content, named)
        for label in descendants(element, "response_label")
    }
    return Ordering(
        response.removeprefix(RESPONSE),
        prompt,
        tuple(entries[name] for name in right_order(own, response)),
        _points(own),
        partial=how == _PARTIAL,
    )


def read_pairs(
    name: str,
    prompt: tuple[Inline, ...],
    lists: list[tuple[etree._Element, etree._Element]],
    rules: list[Rule],
    content: Inlines,
    named: dict[str, etree._Element],
    how: str,
) -> Matching:
    """The part of several lists, each with the material of its source before it."""
    prefix = f"{RESPONSE}{name}."
    sources = {attribute(element, "ident"): text for text, element in lists}
    own = [rule for rule in rules if rule.responses and rule.responses <= sources.keys()]
    pairs: dict[str, str] = {}
    of_source: dict[str, Rule] = {}
    of_target: dict[str, Rule] = {}
    for rule in own:
        tests = list(descendants(rule.test, "varequal"))
        if rule.score is not None:
            pairs |= {attribute(test, "respident"): (test.text or "").strip() for test in tests}
        elif local(rule.test[0].tag) == "or":
            of_target |= dict.fromkeys(right_options(rule), rule)
        else:
            of_source |= {name.removeprefix(prefix): rule for name in rule.responses}
    return Matching(
        name,
        prompt,
        tuple(
            _option(text, ident.removeprefix(prefix), of_source, content, named)
            for ident, text in sources.items()
        ),
        tuple(
            _option(label, attribute(label, "ident"), of_target, content, named)
            for label in descendants(lists[0][1], "response_label")
        ),
        tuple((ident.removeprefix(prefix), pairs[ident]) for ident in sources),
        _points(own),
        partial=how == _PARTIAL,
    )


def _option(
    element: etree._Element,
    name: str,
    told: dict[str, Rule],
    content: Inlines,
    named: dict[str, etree._Element],
) -> Option:
    rule = told.get(name)
    if rule is None:
        return Option(name, content.inline(element), False)
    said = content.inline(named[rule.shown[0]]) if rule.shown else ()
    return Option(name, content.inline(element), False, said, rule.slip)


def _points(rules: list[Rule]) -> float:
    """All that the rules add, in turn."""
    total = 0.0
    for rule in rules:
        total += rule.score or 0.0
    return total
