"""Parts of the same items together: the key of one is often simple in the keys of the others.

A part whose keys follow no simple surface in the numbers of the stem may follow one in these and
in the answers of the other parts: a distance is a speed times a time. A key off such a surface may
be wrong, or an answer it is compared with. Answers of parts that follow a surface of their own
are put right by it first. Among parts that follow none, the suspect is the key that has a share in
all that does not fit and fits nowhere (diagnosis from first principles: R. Reiter, Artificial
Intelligence 32, 1987); where that leaves several, the one that lies far from what roughly similar
siblings have; else it is told that they do not fit together.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from qbank.audit.outliers.rough import rough_distance
from qbank.audit.outliers.sample import Answers, Sample, half_place, sample_of
from qbank.audit.outliers.surface import Surface
from qbank.audit.question import Floats, Group

SHARED = 0.9  # of the items of a part that have the other part too
MOST_RELATED = 1000  # siblings of a part that is compared with others
MOST_OTHERS = 6  # parts that are tried with another
FAR, NEAR = 5.0, 2.5  # deviations from similar siblings of a key that is wrong, and that is not
FINER = 0.5  # of what is off elsewhere: so finely a key must fit to be cleared

Fitter = Callable[[Sample], Surface | None]


@dataclass(frozen=True, slots=True, eq=False)
class Relation:
    """A surface of the keys of part `target`, in the numbers and in the answers of `others`."""

    target: int
    others: tuple[int, ...]
    sample: Sample
    surface: Surface

    @property
    def parts(self) -> frozenset[int]:
        return frozenset((self.target, *self.others))


@dataclass(slots=True)
class Part:
    """A part of siblings and what is known of it.

    sample     of the group by itself; None where too few siblings can be compared
    relations  that its keys follow, the best first
    suspects   keys that are suspicious: row of the group -> the relation that tells, and the row
               of that relation's sample
    torn       the same for keys of which this or that of another part is wrong
    reason     why nothing can be said, where there is no relation
    """

    group: Group
    sample: Sample | None = None
    relations: list[Relation] = field(default_factory=list)
    suspects: dict[int, tuple[Relation, int]] = field(default_factory=dict)
    torn: dict[int, tuple[Relation, int]] = field(default_factory=dict)
    reason: str = ""

    def follow(self, relation: Relation) -> None:
        """Takes a relation whose other answers are right: what is off it is suspicious."""
        self.relations.append(relation)
        for i in np.flatnonzero(relation.surface.suspects(relation.sample)).tolist():
            self.suspects[int(relation.sample.rows[i])] = relation, i

    def keys(self) -> Floats:
        """The keys (n,) in SI, suspicious ones put right."""
        keys = np.array(self.group.keys, dtype=np.float64)
        for row, (relation, i) in self.suspects.items():
            keys[row] = relation.surface.predicted[i] * relation.sample.size
        return keys

    def half(self, row: int) -> float:
        """How exactly a key of `keys` is known, SI: half its last place; one that was put right
        as well as its surface tells."""
        if row in self.suspects:
            relation, i = self.suspects[row]
            return float(relation.surface.limit[i]) * relation.sample.size
        return half_place(self.group.questions[row])


def relate(parts: Sequence[Part], fit: Fitter) -> None:
    """Fits parts without a surface to the numbers and the answers of the other parts.

    What is found is put into `parts`. First with the answers of parts that have a surface, until
    no more is found; then of those left with one another.
    """
    links = _Links(parts)
    known = {i for i, part in enumerate(parts) if part.relations}
    left = [
        i
        for i, part in enumerate(parts)
        if i not in known and part.sample is not None and len(part.sample) <= MOST_RELATED
    ]
    tried: set[tuple[int, tuple[int, ...]]] = set()
    found = True
    while found and left:
        found = False
        for i in list(left):
            sets = [s for s in _sets(j for j in links.of(i) if j in known) if (i, s) not in tried]
            tried.update((i, chosen) for chosen in sets)
            relation = next(_relations(parts, links, i, sets, fit, first=True), None)
            if relation is not None:
                parts[i].follow(relation)
                left.remove(i)
                known.add(i)
                found = True
    _among(parts, links, left, fit)


class _Links:
    """Which parts belong to the same items, row by row."""

    def __init__(self, parts: Sequence[Part]) -> None:
        self.parts = parts
        self.rows: list[dict[int, int]] = [
            {question.number: row for row, question in enumerate(part.group.questions)}
            for part in parts
        ]
        self.by_number: dict[int, list[int]] = {}
        for i, rows in enumerate(self.rows):
            for number in rows:
                self.by_number.setdefault(number, []).append(i)

    def of(self, i: int) -> list[int]:
        """The parts that most items of a part have too, by their names."""
        counts = Counter(j for number in self.rows[i] for j in self.by_number[number] if j != i)
        enough = SHARED * len(self.rows[i])
        found = [j for j, count in counts.items() if count >= enough]
        return sorted(found, key=self._name)[:MOST_OTHERS]

    def _name(self, j: int) -> tuple[str, str]:
        group = self.parts[j].group
        return group.questions[0].part, group.wording

    def answers(self, i: int, j: int) -> Answers:
        """The keys of part j for the items of part i, put right where they are suspicious."""
        n = len(self.parts[i].group)
        keys, group = self.parts[j].keys(), self.parts[j].group
        values, half = np.full(n, np.nan), np.zeros(n)
        for number, row in self.rows[i].items():
            other = self.rows[j].get(number)
            if other is not None:
                values[row] = keys[other]
                half[row] = self.parts[j].half(other)
        label = group.questions[0].part or f"answer {j + 1}"
        return Answers(label, values, half, group.key_unit)


def _sets(others: Iterator[int] | Sequence[int]) -> Iterator[tuple[int, ...]]:
    own = list(others)
    yield from ((j,) for j in own)
    yield from itertools.combinations(own, 2)


def _relations(
    parts: Sequence[Part],
    links: _Links,
    i: int,
    sets: Sequence[tuple[int, ...]],
    fit: Fitter,
    *,
    first: bool = False,
) -> Iterator[Relation]:
    """The relations of a part with as few others as there are any, exact ones first. With `first`
    none are looked for beyond an exact one."""
    found: list[Relation] = []
    for chosen in sets:
        if found and len(chosen) > len(found[0].others):
            break
        sample = sample_of(parts[i].group, [links.answers(i, j) for j in chosen])
        surface = fit(sample)
        if surface is not None:
            found.append(Relation(i, chosen, sample, surface))
            if first and surface.exact:
                break
    yield from sorted(found, key=lambda relation: not relation.surface.exact)


# ---------------------------------------------------------------------------- which is wrong


@dataclass(frozen=True, slots=True)
class _Said:
    """What a relation says of an item: the row of its sample, whether the key is off, and by how
    much of it; `room` is what the relation allows, of the key."""

    relation: Relation
    row: int
    off: bool
    share: float
    room: float


def _among(parts: Sequence[Part], links: _Links, left: Sequence[int], fit: Fitter) -> None:
    """Relates parts of which none has a surface of its own, and says which keys are wrong."""
    said: dict[int, list[_Said]] = {}
    for i in left:
        sets = list(_sets([j for j in links.of(i) if j in left]))
        for relation in _relations(parts, links, i, sets, fit):
            parts[i].relations.append(relation)
            for one in _sayings(relation):
                number = parts[i].group.questions[relation.sample.rows[one.row]].number
                said.setdefault(number, []).append(one)
    far = {i: _by_number(parts[i]) for i in left if parts[i].relations}
    for number, told in said.items():
        off = [one for one in told if one.off]
        if not off:
            continue
        blamed = _blamed(told, off)
        if len(blamed) > 1:
            apart = {i: far.get(i, {}).get(number, 0.0) for i in blamed}
            worst = max(blamed, key=lambda i: apart[i])
            if apart[worst] >= FAR and all(apart[i] <= NEAR for i in blamed if i != worst):
                blamed = {worst}
        for one in off:
            target = one.relation.target
            if target in blamed:
                part = parts[target]
                row = int(one.relation.sample.rows[one.row])
                (part.suspects if len(blamed) == 1 else part.torn).setdefault(
                    row, (one.relation, one.row)
                )


def _sayings(relation: Relation) -> Iterator[_Said]:
    sample, surface = relation.sample, relation.surface
    suspect = surface.suspects(sample)
    size = np.maximum(np.abs(surface.predicted), 1e-300)
    with np.errstate(invalid="ignore", over="ignore"):
        share = np.abs(sample.y - surface.predicted) / size
        room = surface.limit / size
    for row in range(len(sample)):
        if np.isfinite(share[row]):
            yield _Said(relation, row, bool(suspect[row]), float(share[row]), float(room[row]))


def _blamed(told: Sequence[_Said], off: Sequence[_Said]) -> set[int]:
    """The parts that have a share in all that does not fit and fit nowhere else."""
    blamed: set[int] | None = None
    for one in off:
        cleared = {
            other.relation.target
            for other in told
            if not other.off and other.room <= FINER * one.share
        }
        left = set(one.relation.parts) - cleared
        blamed = left if blamed is None else blamed & left
    return blamed or set()


def _by_number(part: Part) -> dict[int, float]:
    """How far the keys of a part lie from those of roughly similar siblings."""
    if part.sample is None:
        return {}
    far = rough_distance(part.sample)
    return {
        part.group.questions[row].number: value
        for row, value in zip(part.sample.rows.tolist(), far.tolist(), strict=True)
    }
