"""Blueprint lines to slots: which family stands at which place of every form."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from qbank.errors import DrawError, FamilyError
from qbank.family.keys import nearest
from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.forms.blueprint import Blueprint, Line
from qbank.place import Place


@dataclass(frozen=True, slots=True)
class Slot:
    """A place on every form, filled from one family; `place` is its line in the blueprint."""

    family: Family
    place: Place


def points_of(family: Family) -> float:
    """The points an item of the family gives."""
    return sum(part.points for part in family.ask)


def choose_slots(blueprint: Blueprint, seed: int) -> tuple[Slot, ...]:
    """The slots of a form, in the order of the blueprint's lines.

    A line that names a family takes it. The others share the remaining families that fit them,
    each family at most once, in an order drawn with the seed, and so that every line gets as many
    as it asks for wherever that is possible.

    Raises FamilyError for an unknown or broken family and DrawError for a line that no family
    fits or that asks for more families than fit.
    """
    families = _catalogue(blueprint)
    named = {i: _named(line, families) for i, line in enumerate(blueprint.lines) if line.family}
    taken = {family.name for family in named.values()}
    places = [
        i for i, line in enumerate(blueprint.lines) if line.subject for _ in range(line.count)
    ]
    fitting = {i: _fitting(blueprint.lines[i], families, taken) for i in dict.fromkeys(places)}
    preferred = {i: _in_order(names, seed, i) for i, names in fitting.items()}
    chosen = _matching([preferred[i] for i in places])
    slots: list[Slot] = []
    given = dict(zip(range(len(places)), chosen, strict=True))
    for i, line in enumerate(blueprint.lines):
        if i in named:
            slots += [Slot(named[i], line.place)] * line.count
            continue
        names = [given[at] for at, place in enumerate(places) if place == i]
        if None in names:
            raise _too_few(line, fitting[i], len(names))
        slots += [Slot(families[name], line.place) for name in names if name is not None]
    return tuple(slots)


def _catalogue(blueprint: Blueprint) -> dict[str, Family]:
    """The families by name: the author's own, and those that come with qbank.

    The shipped ones are loaded only as far as they can be asked for.
    """
    families: dict[str, Family] = {}
    for path in blueprint.families:
        family = load_family(path)
        if family.name in families:
            raise FamilyError(
                f"two files of the blueprint hold a family named '{family.name}'",
                place=family.place,
                hint="rename one of them",
            )
        families[family.name] = family
    named = {line.family.text.strip() for line in blueprint.lines if line.family is not None}
    everything = any(line.subject is not None for line in blueprint.lines)
    for path in shipped_families():
        if path.stem not in families and (everything or path.stem in named):
            families[path.stem] = load_family(path)
    return families


def _named(line: Line, families: Mapping[str, Family]) -> Family:
    """The family a line names, which must be as the line says."""
    scalar = line.family
    assert scalar is not None  # noqa: S101  # callers pass lines that name a family
    name = scalar.text.strip()
    if name not in families:
        known = [*families, *(path.stem for path in shipped_families())]
        raise scalar.fault(
            f"no family is named '{name[:80]}'",
            hint=nearest(name, dict.fromkeys(known)),
        )
    family = families[name]
    _narrowed(line, [family])
    return family


def _fitting(line: Line, families: Mapping[str, Family], taken: Iterable[str]) -> list[str]:
    """The names of the families that fit a line and that no line names, in order."""
    scalar = line.subject
    assert scalar is not None  # noqa: S101  # callers pass lines of a subject
    wanted = scalar.text.strip().lower()
    found = [family for family in families.values() if wanted in family.subject.lower()]
    if not found:
        subjects = sorted({part for f in families.values() for part in _paths(f.subject)})
        raise DrawError(
            f"no family has the subject '{scalar.text.strip()[:60]}'",
            place=scalar.place,
            hint=nearest(scalar.text.strip(), subjects),
        )
    names = set(taken)
    return sorted(f.name for f in _narrowed(line, found) if f.name not in names)


def _narrowed(line: Line, found: Sequence[Family]) -> list[Family]:
    """The families that have the level and the points of the line; at least one."""
    level = line.level.text.strip().lower() if line.level is not None else ""
    kept = [family for family in found if level in family.level.lower()]
    if not kept and line.level is not None:
        levels = ", ".join(sorted({f"'{family.level}'" for family in found}))
        raise DrawError(
            f"of {line.says}, no family has the level '{line.level.text.strip()[:60]}'",
            place=line.level.place,
            hint=f"the levels there are: {levels}",
        )
    if line.points is None or line.points_text is None:
        return kept
    low, high = line.points
    given = [family for family in kept if low <= points_of(family) <= high]
    if not given:
        offers = ", ".join(f"{family.name} gives {points_of(family):g}" for family in kept[:6])
        raise DrawError(
            f"of {line.says}, no family gives {line.points_text.text.strip()[:40]} points",
            place=line.points_text.place,
            hint=offers,
        )
    return given


def _paths(subject: str) -> list[str]:
    """A subject and what it lies under: "a/b" gives "a" and "a/b"."""
    parts = subject.split("/")
    return ["/".join(parts[: n + 1]) for n in range(len(parts))]


def _in_order(names: Iterable[str], seed: int, line: int) -> list[str]:
    """Names in an order that the seed, the line and the names alone decide."""

    def lot(name: str) -> str:
        return hashlib.sha256(f"{seed} {line} {name}".encode()).hexdigest()

    return sorted(names, key=lot)


def _matching(preferred: Sequence[Sequence[str]]) -> list[str | None]:
    """A different name for each place, as many as possible, preferred ones first.

    Augmenting paths; None for a place that gets none.
    """
    holder: dict[str, int] = {}

    def place(at: int, tried: set[str]) -> bool:
        for name in preferred[at]:
            if name in tried:
                continue
            tried.add(name)
            if name not in holder or place(holder[name], tried):
                holder[name] = at
                return True
        return False

    for at in range(len(preferred)):
        place(at, set())
    names = {at: name for name, at in holder.items()}
    return [names.get(at) for at in range(len(preferred))]


def _too_few(line: Line, names: Sequence[str], asked: int) -> DrawError:
    found = ", ".join(names) or "none"
    return DrawError(
        f"{asked} item{'s' if asked > 1 else ''} of {line.says} need as many families, each used"
        f" once; left for this line: {found}",
        place=line.place,
        hint="ask for fewer, widen the line, or name a family to have siblings of it",
    )
