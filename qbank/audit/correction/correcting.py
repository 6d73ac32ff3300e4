"""The corrected copy: what is proved wrong is replaced, the rest stays byte by byte."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from qbank.audit.correction import asi_keys, line_keys, qti_keys, table_keys
from qbank.audit.correction.changes import (
    Change,
    CorrectionReport,
    Edit,
    Edits,
    Left,
    LeftAlone,
    apply,
)
from qbank.audit.correction.copying import copied, ensure_apart, is_package
from qbank.audit.correction.foreign_tables import ForeignTable, ReadTable
from qbank.audit.correction.plans import Plan
from qbank.audit.correction.proving import ensure_only_keys_changed, grades_alike
from qbank.audit.correction.spans import Element, NotEditable, read_elements
from qbank.audit.same_family import WRONG_ORDER
from qbank.audit.verdict import Audit, Judgement
from qbank.errors import QbankError
from qbank.formats.package import Package
from qbank.formats.readback import read_items
from qbank.formats.validate import format_of
from qbank.item import Item

MAX_DOCUMENT = 1 << 28  # bytes of one member; larger ones are left as they are
_NAMED_IN_XML = re.compile(rb"\bident(?:ifier)?\s*=\s*[\"']([^\"']*)")
_NAMED_IN_JSON = re.compile(rb'"identifier"\s*:\s*"([^"]*)"')
_TOLD = ("modalFeedback", "itemfeedback", "feedbackBlock", "feedbackInline", "solution")

ReadBank = Callable[[Path], Iterable[Item]]


def correct_bank(
    path: Path | str,
    audit: Audit,
    destination: Path | str,
    *,
    read: ReadBank | None = None,
    table: ReadTable | None = None,
) -> CorrectionReport:
    """Copy a bank to `destination` with the keys replaced that `audit` proves wrong.

    Only judgements that are `proved` count. Of each, the bytes that state the key change, and
    those of the band around it; where that cannot be done with certainty the key is left and the
    report says why. `table` is how a table of foreign columns was read; without it only our
    own are corrected. The copy is written beside its place, read back by `read` (that of the
    bank's format by default) and moved into place when exactly the listed keys differ.

    Raises OutputError where it cannot be written, QbankError where the bank cannot be read,
    CheckFailed, with nothing written, where the copy differs otherwise than it should.
    """
    path, destination = Path(path), Path(destination)
    ensure_apart(path, destination)
    correction = _Correction(path, audit, table)
    with _members(path) as members:
        for name, size, load in members:
            if size <= MAX_DOCUMENT:
                correction.look_into(name, load)
    correction.finish()
    report = CorrectionReport(destination, correction.changes, correction.left)
    with copied(path, destination, correction.replaced) as copy:
        before, after = _items(path, read), _items(copy, read)
        if before is not None and after is not None:
            ensure_only_keys_changed(before, after, correction.changes)
    return report


def _items(path: Path, read: ReadBank | None) -> Iterable[Item] | None:
    """The items of a bank; None where it is of no format that the default reader knows."""
    if read is not None:
        return read(path)
    try:
        with Package(path) as package:
            format_of(package)
    except QbankError:
        return None
    return read_items(path)


Load = Callable[[], bytes]


@contextmanager
def _members(path: Path) -> Iterator[Iterator[tuple[str, int, Load]]]:
    """Name, size and bytes of each member; a bank that is one file is its own only member."""
    if not is_package(path):
        try:
            size = path.stat().st_size
        except OSError as fault:
            raise QbankError(f"cannot read '{path}': {fault.strerror or fault}") from fault
        yield iter([(path.name, size, path.read_bytes)])
        return
    with Package(path) as package:
        yield (
            (name, package.size(name), partial(package.read, name, MAX_DOCUMENT))
            for name in package.names
        )


@dataclass(slots=True)
class _Place:
    """Where an item stands: its member and its position in that."""

    member: str
    start: int
    plan: Callable[[Judgement], _Planned]


@dataclass(slots=True)
class _Planned:
    """The edits for one key, and what they change."""

    member: str
    edits: list[Edit]
    change: Change


@dataclass(slots=True)
class _Correction:
    """Finds the items of proved judgements and gathers the edits, member by member."""

    path: Path
    audit: Audit
    foreign: ReadTable | None
    changes: list[Change] = field(default_factory=list)
    left: list[Left] = field(default_factory=list)
    replaced: dict[str, bytes] = field(default_factory=dict)
    _wanted: dict[str, list[Judgement]] = field(default_factory=dict)
    _places: dict[str, list[_Place]] = field(default_factory=lambda: defaultdict(list))
    _data: dict[str, bytes] = field(default_factory=dict)
    _refused: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        wanted: dict[str, list[Judgement]] = defaultdict(list)
        for judgement in self.audit.judgements:
            if judgement.proved:
                wanted[judgement.item].append(judgement)
        self._wanted = dict(wanted)

    def look_into(self, name: str, load: Load) -> None:
        """Note where the wanted items of a member stand."""
        if not self._wanted:
            return
        ending = name.rpartition(".")[2].lower()
        if ending == "xml":
            self._document(name, load())
        elif ending in ("csv", "tsv", "tab", "txt"):
            self._table(name, load())
        elif ending in ("jsonl", "ndjson"):
            self._lines(name, load())

    def _may_hold(self, names: re.Pattern[bytes], data: bytes) -> bool:
        """Whether a wanted identifier stands there, so that it is worth reading."""
        found = (match[1].decode(errors="replace") for match in names.finditer(data))
        return any(name in self._wanted for name in found)

    def _document(self, name: str, data: bytes) -> None:
        if not self._may_hold(_NAMED_IN_XML, data):
            return
        try:
            found = read_elements(data, self._is_wanted)
        except NotEditable as fault:
            for item in self._wanted:
                if item.encode() in data:
                    self._refused[item] = str(fault)
            return
        for element in found:
            identifier = element.attributes.get("identifier") or element.attributes["ident"]
            self._keep(name, data, identifier, element.start, _Document(name, data, element))

    def _is_wanted(self, name: str, attributes: dict[str, str]) -> bool:
        if name == "assessmentItem":
            return attributes.get("identifier") in self._wanted
        return name == "item" and attributes.get("ident") in self._wanted

    def _table(self, name: str, data: bytes) -> None:
        table = table_keys.read_own_table(data)
        if table is None:
            self._foreign_table(name, data)
            return
        for identifier, row in table.rows.items():
            if identifier in self._wanted:
                start = row.start
                self._keep(name, data, identifier, start, _Row(name, table, row))

    def _foreign_table(self, name: str, data: bytes) -> None:
        if self.foreign is None:
            return
        try:
            table = ForeignTable(data, self.foreign)
        except LeftAlone as why:
            self._refused.update(dict.fromkeys(self._wanted, str(why)))
            return
        for item in self._wanted:
            self._keep(name, data, item, 0, _Cells(name, table))

    def _lines(self, name: str, data: bytes) -> None:
        for start, line in line_keys.iter_lines(data):
            if not self._may_hold(_NAMED_IN_JSON, line):
                continue
            try:
                named = line_keys.read_value(line.decode("utf-8")).fields.get("identifier")
            except ValueError:
                continue
            if named is not None and named.plain in self._wanted:
                item = str(named.plain)
                self._keep(name, data, item, start, _Line(name, start, line))

    def _keep(
        self, name: str, data: bytes, item: str, start: int, plan: Callable[[Judgement], _Planned]
    ) -> None:
        self._data[name] = data
        self._places[item].append(_Place(name, start, plan))

    def finish(self) -> None:
        """Plan every key in the order of the bank, and write the members anew."""
        edits: dict[str, Edits] = defaultdict(Edits)
        done: set[tuple[str, str]] = set()
        for judgement in self.audit.judgements:
            key = (judgement.item, judgement.part)
            if not judgement.proved or key in done:
                continue
            done.add(key)
            try:
                _ensure_replaceable(judgement)
                self._ensure_one_verdict(judgement)
                planned = self._place(judgement).plan(judgement)
                edits[planned.member].add(planned.edits)
            except LeftAlone as why:
                self.left.append(Left(judgement.item, judgement.part, str(why)))
                continue
            self.changes.append(planned.change)
        for member in {change.member for change in self.changes}:
            self.replaced[member] = apply(self._data[member], edits[member])

    def _ensure_one_verdict(self, judgement: Judgement) -> None:
        same = [j for j in self._wanted[judgement.item] if j.part == judgement.part]
        if len({(j.expected, j.correct) for j in same}) > 1:
            raise LeftAlone("two judgements say different things of it")

    def _line(self, place: _Place) -> int:
        return self._data[place.member].count(b"\n", 0, place.start) + 1

    def _place(self, judgement: Judgement) -> _Place:
        places = self._places.get(judgement.item, [])
        if len(places) > 1:
            file = judgement.place.file
            places = [p for p in places if file == p.member or file.endswith("/" + p.member)]
        if len(places) > 1:
            places = [place for place in places if self._line(place) == judgement.place.line]
        if len(places) == 1:
            return places[0]
        if judgement.item in self._refused:
            raise LeftAlone(self._refused[judgement.item])
        if self._places.get(judgement.item):
            raise LeftAlone("several items of the bank have its identifier")
        raise LeftAlone("its item was not found as a document or row that can be rewritten")


def _ensure_replaceable(judgement: Judgement) -> None:
    if judgement.code == WRONG_ORDER:
        raise LeftAlone("what it puts in order or matches has to be put right by hand")


# ---------------------------------------------------------------------------- documents


@dataclass(frozen=True, slots=True)
class _Document:
    """Plans the keys of one item of a document."""

    member: str
    data: bytes
    element: Element

    def __call__(self, judgement: Judgement) -> _Planned:
        plan = Plan(self.data, judgement)
        is_qti = self.element.name == "assessmentItem"
        (qti_keys if is_qti else asi_keys).plan_edits(self.element, plan)
        self._ensure_graded(plan, is_qti)
        notes = _notes(judgement, plan.old, self._told())
        change = Change(
            judgement.item, judgement.part, self.member, plan.old, plan.new, plan.band, notes
        )
        return _Planned(self.member, plan.edits, change)

    def _ensure_graded(self, plan: Plan, is_qti: bool) -> None:
        """Hold the edits against the item's own rules, run before and after."""
        start, end = self.element.start, self.element.end
        before = self.data[start:end]
        moved = [Edit(e.start - start, e.end - start, e.new, e.what) for e in plan.edits]
        after = apply(before, moved)
        if not is_qti:
            before, after = (
                b"<questestinterop>" + item + b"</questestinterop>" for item in (before, after)
            )
        old, new = [plan.old], [plan.new]
        if plan.judgement.correct:
            new = list(plan.judgement.correct)
            old = [plan.old if option == plan.new else option for option in new]
        if grades_alike(before, after, plan.response, old, new) is False:
            raise LeftAlone("its scoring rules would not pay for the new key as for the old one")

    def _told(self) -> Iterator[str]:
        """Texts that may state a key and are never edited."""
        for element in self.element.iter(*_TOLD):
            yield element.whole_text()
            for below in element.iter():
                yield from below.attributes.values()


# ---------------------------------------------------------------------------- rows and lines


@dataclass(frozen=True, slots=True)
class _Row:
    """Plans the keys of one row of a table of ours."""

    member: str
    table: table_keys.OwnTable
    row: table_keys.Row

    def __call__(self, judgement: Judgement) -> _Planned:
        planned = table_keys.plan_edits(self.table, self.row, judgement)
        notes = _notes(judgement, planned.old, self.table.told(self.row))
        change = Change(
            judgement.item, judgement.part, self.member, planned.old, planned.new, planned.band,
            notes,
        )  # fmt: skip
        return _Planned(self.member, planned.edits, change)


@dataclass(frozen=True, slots=True)
class _Line:
    """Plans the keys of one line of JSON Lines."""

    member: str
    start: int
    line: bytes

    def __call__(self, judgement: Judgement) -> _Planned:
        planned = line_keys.plan_edits(self.line, judgement)
        notes = _notes(judgement, planned.old, line_keys.told(self.line))
        change = Change(
            judgement.item, judgement.part, self.member, planned.old, planned.new, planned.band,
            notes,
        )  # fmt: skip
        moved = [
            Edit(edit.start + self.start, edit.end + self.start, edit.new, edit.what)
            for edit in planned.edits
        ]
        return _Planned(self.member, moved, change)


@dataclass(frozen=True, slots=True)
class _Cells:
    """Plans the keys of a table of foreign columns."""

    member: str
    table: ForeignTable

    def __call__(self, judgement: Judgement) -> _Planned:
        planned = self.table.plan(judgement)
        notes = _notes(judgement, planned.old, planned.told) if planned.told else ()
        change = Change(
            judgement.item, judgement.part, self.member, planned.old, planned.new, planned.band,
            notes, planned.value,
        )  # fmt: skip
        return _Planned(self.member, self.table.in_bytes(planned), change)


_REREAD = "feedback stays with its option; read it again"
_MAY_STATE = "its feedback or worked solution may still state the old value"


def _notes(judgement: Judgement, old: str, told: Iterable[str]) -> tuple[str, ...]:
    """What a person should look at after a change; `told` are texts that are never edited."""
    if judgement.correct:
        return (_REREAD,)
    pattern = re.compile(rf"(?<![\d.,]){re.escape(old)}(?!\d|[.,]\d)")
    return (_MAY_STATE,) if any(pattern.search(text) for text in told) else ()
