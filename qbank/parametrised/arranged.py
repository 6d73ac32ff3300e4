"""Orders and matchings in a parametrised item: texts change with the draw, the key does not.

The places in which the texts are shown cannot hang on the draw (the operators of the standard
have no way to mix what is offered), so all draws have one mixed order, and shuffling is left to
the delivery system.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

from qbank.formats.arranging import answers_of, shown_entries
from qbank.formats.content import inline
from qbank.formats.dialects import QTI_21, Dialect
from qbank.formats.qti_parts import PartTexts, feedback_labels
from qbank.item import Inline, Matching, Option, Ordering
from qbank.parametrised.expressions import InexpressibleError, name_of, op
from qbank.parametrised.texts import inline_of

ByCase = Callable[[Sequence[tuple[Inline, ...]]], str]


@dataclass(frozen=True, slots=True)
class Arranged:
    """The markup of a part, in the names of 2.1 but for the body; `key` is an expression."""

    base_type: str
    cardinality: str
    key: str
    outcomes: str
    body: str
    rules: str
    feedback: list[tuple[str, str]]


def arranged_part(
    versions: Sequence[Ordering | Matching], dialect: Dialect, by_case: ByCase, number: int
) -> Arranged:
    """A part from what it is in each case, `number` being its place in the family.

    Raises InexpressibleError where the cases offer different things.
    """
    alike = [_alike(version) for version in versions]
    first = alike[0]
    if any(_roles(version) != _roles(first) for version in alike):
        raise InexpressibleError(f"its part {number} offers other targets in other cases")
    markup = PartTexts(QTI_21).arranged_plan(first)
    body = PartTexts(dialect).arranged_plan(first).body
    offered = [_offered(version) for version in alike]
    shown = [by_case([options[k].content for options in offered]) for k in range(len(offered[0]))]
    labels = feedback_labels(first)
    if isinstance(first, Ordering):
        key = op("ordered", *(name_of(entry.identifier) for entry in first.entries))
        base_type, cardinality = "identifier", "ordered"
    else:
        key = op("multiple", *(_pair(*pair) for pair in first.pairs))
        base_type, cardinality = "directedPair", "multiple"
    return Arranged(
        base_type,
        cardinality,
        key,
        markup.outcomes,
        body % (by_case([version.prompt for version in alike]), *shown),
        markup.rules,
        [
            (label, inline(inline_of(answer.feedback)))
            for answer, label in zip(answers_of(first), labels, strict=True)
            if label and isinstance(answer, Option) and answer.feedback
        ],
    )


def _pair(source: str, target: str) -> str:
    return f'<baseValue baseType="directedPair">{source} {target}</baseValue>'


def _offered(part: Ordering | Matching) -> tuple[Option, ...]:
    """Entries, or sources and targets, as the body shows them."""
    if isinstance(part, Ordering):
        return shown_entries(part)
    return (*part.sources, *part.targets)


def _roles(part: Ordering | Matching) -> Hashable:
    """What must be the same in all cases for one markup to serve them."""
    if isinstance(part, Ordering):
        return len(part.entries)
    return part.pairs, tuple((target.identifier, target.slip) for target in part.targets)


def _alike(part: Ordering | Matching) -> Ordering | Matching:
    """The part with names and places that do not hang on the draw it was made from."""
    if isinstance(part, Ordering):
        return replace(
            part,
            entries=tuple(
                replace(entry, identifier=f"E{n}") for n, entry in enumerate(part.entries, 1)
            ),
        )
    of_source = dict(part.pairs)
    right = list(dict.fromkeys(of_source[source.identifier] for source in part.sources))
    roles = {name: f"right {n}" for n, name in enumerate(right)}
    spare = [target for target in part.targets if target.identifier not in roles]
    spare.sort(key=lambda target: (target.slip or "", inline(inline_of(target.content))))
    roles |= {target.identifier: f"{target.slip} {n}" for n, target in enumerate(spare)}
    mixed = sorted(part.targets, key=lambda target: _mixing(part, roles[target.identifier]))
    names = {target.identifier: f"T{n}" for n, target in enumerate(mixed, 1)}
    return replace(
        part,
        targets=tuple(replace(target, identifier=names[target.identifier]) for target in mixed),
        pairs=tuple((source, names[target]) for source, target in part.pairs),
    )


def _mixing(part: Matching, role: str) -> bytes:
    """What targets are sorted by, so that their places tell nothing."""
    return sha256(f"{part.identifier}/{role}".encode()).digest()
