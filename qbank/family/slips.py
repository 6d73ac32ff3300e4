"""The section `slips`: typical mistakes as edits to the model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from qbank.expressions.tree import Equation, Name, Node
from qbank.family import schema
from qbank.family.attributes import shown_unit
from qbank.family.cases import check_name, read_only
from qbank.family.keys import Keys, describe, nearest, text_of
from qbank.family.model import Case, Given, Law, Let, Slip
from qbank.family.nodes import Listing, Scalar
from qbank.family.scope import KNOWN, MODEL, Formulas, Kind, Piece


@dataclass(frozen=True, slots=True)
class SlipReader:
    """Reads slips against the model they edit."""

    formulas: Formulas
    given: Mapping[str, Given]
    let: Mapping[str, Let]
    laws: Sequence[Law]
    cases: Sequence[Case]

    def read(self, top: Keys) -> dict[str, Slip]:
        """The section `slips`."""
        slips: dict[str, Slip] = {}
        for entry in top.mapping("slips"):
            check_name(entry.key, "slip")
            what = f"slip '{entry.key.text}'"
            keys = Keys(entry.value, schema.SLIP, what, entry.key)
            if not any(edit in keys for edit in schema.EDITS):
                keys.fail(
                    "it edits nothing in the model",
                    f"add one of {', '.join(schema.EDITS)}",
                )
            slips[entry.key.text] = self._slip(entry.key, keys)
        return slips

    def _slip(self, key: Scalar, keys: Keys) -> Slip:
        only = read_only(keys, self.cases)
        laws, lets = self._replace(keys, only)
        slip = Slip(
            name=key.text,
            says=keys.words("says"),
            place=key.place,
            laws=laws,
            lets=lets,
            change=self._change(keys),
            swap=self._swap(keys),
            unconverted=self._unconverted(keys),
            cases=self._cases(keys),
            drop=self._drop(keys, only),
            only=only,
        )
        if all(
            not value
            for value in (
                slip.laws, slip.lets, slip.change, slip.swap,
                slip.unconverted, slip.cases, slip.drop,
            )
        ):  # fmt: skip
            keys.fail("its edits are empty", "name what is replaced, changed or dropped")
        return slip

    def _replace(
        self, keys: Keys, only: tuple[str, ...]
    ) -> tuple[dict[str, Equation], dict[str, Node]]:
        laws: dict[str, Equation] = {}
        lets: dict[str, Node] = {}
        for entry in keys.mapping("replace"):
            name = entry.key.text.strip()
            what = f"{keys.what}, replace '{name[:60]}'"
            scalar = text_of(entry, what)
            piece = Piece.whole(scalar)
            if name in self.let:
                let = self.let[name]
                lets[name] = self.formulas.value(
                    piece, what, KNOWN, let.unit.dimension, shown_unit(let.unit)
                )
                if lets[name] == let.expression:
                    raise _changes_nothing(scalar, what, f"that is how {name} is defined")
                continue
            here = self._law(entry.key, what, only, [*self.let])
            laws[name] = self.formulas.equation(piece, what, MODEL)
            if all(law.equation == laws[name] for law in here):
                raise _changes_nothing(scalar, what, "that is the law itself")
        return laws, lets

    def _law(
        self, key: Scalar, what: str, only: tuple[str, ...], others: Sequence[str] = ()
    ) -> list[Law]:
        """The laws of that name in the cases the slip applies to."""
        name = key.text.strip()
        named = [law for law in self.laws if law.name == name]
        if not named:
            kind = "no law or let" if others else "no law"
            raise key.fault(
                f"{what}: there is {kind} '{name[:60]}'",
                hint=nearest(name, dict.fromkeys([*(law.name for law in self.laws), *others])),
            )
        here = [law for law in named if not only or law.case is None or law.case in only]
        if not here:
            raise key.fault(
                f"{what}: '{name}' is a law of {', '.join(str(law.case) for law in named)}, not of "
                f"{', '.join(only)}",
                hint="correct `only:`",
            )
        return here

    def _change(self, keys: Keys) -> dict[str, Node]:
        found = {}
        for entry in keys.mapping("change"):
            name = entry.key.text
            what = f"{keys.what}, change '{name[:60]}'"
            self.formulas.scope.know(name, entry.key, (0, len(name)), what, frozenset({Kind.GIVEN}))
            unit = self.given[name].unit
            scalar = text_of(entry, what)
            found[name] = self.formulas.value(
                Piece.whole(scalar), what, KNOWN, unit.dimension, shown_unit(unit)
            )
            if found[name] == Name(name):
                raise _changes_nothing(scalar, what, f"that is {name} itself")
        return found

    def _swap(self, keys: Keys) -> tuple[tuple[str, str], ...]:
        found: list[tuple[str, str]] = []
        scope = self.formulas.scope
        for node in keys.items("swap"):
            what = f"{keys.what}, swap"
            if not isinstance(node, Listing) or len(node.items) != 2:
                raise node.fault(
                    f"{what}: expected a pair such as [r, R], found {describe(node)}",
                    hint="write swap: [[r, R]]",
                )
            names: list[str] = []
            for item in node.items:
                if not isinstance(item, Scalar):
                    raise item.fault(
                        f"{what}: expected a name, found {describe(item)}",
                        hint="write swap: [[r, R]]",
                    )
                allowed = frozenset({Kind.GIVEN, Kind.LET})
                scope.know(item.text, item, (0, len(item.text)), what, allowed)
                if item.text in (*names, *(name for pair in found for name in pair)):
                    raise item.fault(
                        f"{what}: '{item.text}' stands here twice",
                        hint="swap each quantity with one other",
                    )
                names.append(item.text)
            one, other = names
            if scope.dimensions[one] != scope.dimensions[other]:
                raise node.fault(
                    f"{what}: {one} is {scope.dimensions[one].describe()}, {other} is "
                    f"{scope.dimensions[other].describe()}",
                    hint="only quantities of one kind can be taken for each other",
                )
            found.append((one, other))
        return tuple(found)

    def _unconverted(self, keys: Keys) -> tuple[str, ...]:
        found = []
        for scalar in keys.texts("unconverted"):
            name, what = scalar.text, f"{keys.what}, unconverted"
            self.formulas.scope.know(
                name, scalar, (0, len(name)), what, frozenset({Kind.GIVEN, Kind.DATA})
            )
            unit = self.given[name].unit
            if unit.factor == 1 and not unit.offset:
                raise scalar.fault(
                    f"{what}: {name} is shown in SI ({unit.text or 'a pure number'}), so nothing "
                    "changes",
                    hint="delete it here, or show the quantity in another unit",
                )
            found.append(name)
        return tuple(found)

    def _cases(self, keys: Keys) -> dict[str, str]:
        names = [case.name for case in self.cases if case.name]
        found = {}
        for entry in keys.mapping("cases"):
            what = f"{keys.what}, cases"
            taken_for = text_of(entry, what)
            for scalar in (entry.key, taken_for):
                if scalar.text.strip() not in names:
                    raise scalar.fault(
                        f"{what}: there is no case '{scalar.text[:60]}'",
                        hint=nearest(scalar.text, names),
                    )
            case, other = entry.key.text.strip(), taken_for.text.strip()
            if case == other:
                raise _changes_nothing(taken_for, what, "the case is taken for itself")
            found[case] = other
        return found

    def _drop(self, keys: Keys, only: tuple[str, ...]) -> tuple[str, ...]:
        found = []
        for scalar in keys.texts("drop"):
            self._law(scalar, f"{keys.what}, drop", only)
            found.append(scalar.text.strip())
        return tuple(found)


def _changes_nothing(scalar: Scalar, what: str, why: str) -> Exception:
    return scalar.fault(
        f"{what}: {why}, so nothing changes", hint="write what the student takes for it"
    )


def applies(slip: Slip, case: str, laws: Sequence[Law]) -> bool:
    """Whether a slip changes anything in a case."""
    if slip.only and case not in slip.only:
        return False
    here = {law.name for law in laws if law.case in (None, case)}
    always = slip.lets or slip.change or slip.swap or slip.unconverted
    return bool(always or case in slip.cases or here.intersection([*slip.laws, *slip.drop]))
