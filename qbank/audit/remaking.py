"""Instances of families made again, as a bank names them: data, printed numbers and parts."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping
from functools import cached_property

import numpy as np

from qbank.audit.families import loaded
from qbank.audit.resolving import Floats, resolver_of
from qbank.errors import QbankError
from qbank.family.library import find_family
from qbank.family.model import Enter, Family, Sampled, Sentence, TableField, ValueField
from qbank.generation import Generator
from qbank.instances import Instances
from qbank.item import Part
from qbank.rendering.batch import Batch, Ledger
from qbank.rendering.case_formulas import CaseFormulas
from qbank.rendering.columns import Column, together
from qbank.rendering.messages import messages_for
from qbank.rendering.parts import Parts
from qbank.rendering.sentences import Sentences

KEPT = 128  # compiled families
_FIGURES = 9  # to which a number in a stem and one of an instance are compared
_PRINTED = ("value", "number", "equation")


class AtHand:
    """Families by their digest: the user's, and shipped ones found by name."""

    def __init__(self, families: Mapping[str, Family]) -> None:
        self._families = families
        self.names: dict[str, str] = {}  # digest -> the name a bank gives it

    def source(self, digest: str, language: str = "") -> Source | None:
        """The family compiled, in that language where it has it and its file is at hand."""
        try:
            family = self._families.get(digest) or self._shipped(self.names[digest], language)
            if family is None or family.digest != digest:
                return None
            return source_of(family)
        except QbankError:
            return None

    def _shipped(self, name: str, language: str) -> Family | None:
        """A bank is anyone's: its text names a shipped family, never a path."""
        if not name.isascii() or not name.replace("-", "").replace("_", "").isalnum():
            return None
        family = loaded(find_family(name))
        if language != family.texts.language and language in family.languages:
            family = loaded(find_family(name), language)
        return family


class Source:
    """A family compiled to make instances again, and the options of its choices."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.generator = Generator(family)
        self.resolver = resolver_of(family, self.generator)
        self._columns: dict[int, tuple[Ledger, Column[tuple[Part, ...]]]] = {}

    @cached_property
    def choices(self) -> list[int]:
        """Which parts, counted from 1, have something to pick, order or match."""
        asks = enumerate(self.family.ask, 1)
        return [number for number, ask in asks if not isinstance(ask, Enter)]

    @cached_property
    def printed(self) -> frozenset[str]:
        """Givens whose numbers the stem prints."""
        names = {name for sentence in self.family.texts.stem for name in _names(sentence)}
        return frozenset(names & self.family.given.keys())

    def parts(self, instances: Instances) -> list[dict[int, Part]]:
        """For each instance its parts in which no number is entered, by their number."""
        out: list[dict[int, Part]] = [{} for _ in range(len(instances))]
        if not self.choices:
            return out
        for case in np.unique(instances.case).tolist():
            rows = np.flatnonzero(instances.case == case)
            ledger, column = self._column(case)
            batch = Batch(instances.take(rows), self.family.cases[case], ledger)
            for row, made in zip(rows.tolist(), column(batch), strict=True):
                out[row] = dict(zip(self.choices, made, strict=True))
        return out

    def _column(self, case: int) -> tuple[Ledger, Column[tuple[Part, ...]]]:
        if case not in self._columns:
            family, ledger = self.family, Ledger()
            messages = messages_for(family.texts.language)
            formulas = CaseFormulas(family, family.cases[case], ledger, messages)
            parts = Parts(Sentences(formulas))
            columns = [parts.part(family.ask[number - 1], number) for number in self.choices]
            self._columns[case] = ledger, together(columns)
        return self._columns[case]

    def data(self, made: Instances) -> dict[str, Floats]:
        """The givens a stem can state, SI: (n,), data lists (n, m)."""
        names = (*self.resolver.scalars, *self.resolver.lists)
        return {name: made.values[name] for name in names}

    def prints(self, made: Instances) -> list[dict[str, tuple[str, ...]]]:
        """For each instance the numbers its stem prints: SI, and as shown, to be looked up."""
        out: list[dict[str, tuple[str, ...]]] = [{} for _ in range(len(made))]
        for name in self.printed:
            given = self.family.given[name]
            si = made.values[name]
            shown = given.unit.from_si(si)
            if isinstance(given.source, Sampled):
                for row in range(len(made)):
                    numbers = shown[row][np.isfinite(shown[row])]
                    out[row][name] = tuple(f"={rounded(x)}" for x in numbers.tolist())
            else:
                pairs = zip(si.tolist(), shown.tolist(), strict=True)
                for row, (value, own) in enumerate(pairs):
                    out[row][name] = (rounded(value), f"={rounded(own)}")
        return out


_sources: OrderedDict[tuple[str, str], Source] = OrderedDict()


def source_of(family: Family) -> Source:
    """A family compiled; the last used ones are kept."""
    key = family.digest, family.texts.language
    found = _sources.get(key)
    if found is None:
        found = _sources[key] = Source(family)
        while len(_sources) > KEPT:
            _sources.popitem(last=False)
    _sources.move_to_end(key)
    return found


def _names(sentence: Sentence) -> Iterator[str]:
    for piece in sentence:
        if isinstance(piece, ValueField) and piece.form in _PRINTED:
            yield piece.name
        elif isinstance(piece, TableField):
            yield from piece.names


def rounded(value: float) -> str:
    """A number as it is looked up in a stem."""
    return f"{value:.{_FIGURES}g}"
