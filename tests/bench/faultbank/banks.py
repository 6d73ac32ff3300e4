"""Banks of siblings with faults, written in every format, and the truth about their keys."""

from __future__ import annotations

import csv
import zlib
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from qbank.formats.archive import FileArchive, FolderArchive, ZipArchive
from qbank.formats.registry import find_format
from qbank.item import (
    BankInfo,
    Choice,
    Item,
    NumberEntry,
    Option,
    Paragraph,
    Part,
    Pool,
    Tolerance,
)
from qbank.rendering.renderer import Renderer
from tests.bench.faultbank import faults, offers, stems
from tests.bench.faultbank.faults import Fault, make_fault
from tests.bench.faultbank.offers import OPTION, SHIFTED
from tests.bench.faultbank.siblings import Siblings, shown_text, siblings

FORMATS = ("qti-1.2", "qti-2.1", "qti-2.2", "qti-3.0", "cartridge-1.3", "csv", "jsonl")
TABLE = "other table"
At = tuple[str, int]  # item, number of its part from 1
REJECTS, ACCEPTS = "band rejects key", "band accepts slip"


@dataclass(frozen=True, slots=True)
class Put:
    """A fault that stands in a bank, and of which group."""

    kind: str
    wrong: bool
    codes: tuple[str, ...] = ()
    value: float = float("nan")


@dataclass(slots=True)
class Bank:
    """Items and the truth: where faults were put, and the group of every key; `choices` are the
    parts in which a number is picked."""

    items: list[Item] = field(default_factory=list)
    pools: list[Pool] = field(default_factory=list)
    faults: dict[At, Put] = field(default_factory=dict)
    groups: dict[At, str] = field(default_factory=dict)
    choices: set[At] = field(default_factory=set)


def make_bank(
    families: Sequence[str],
    n: int,
    share: float,
    kind: str | None = None,
    *,
    seed: int = 7,
    bands: bool = False,
) -> Bank:
    """Siblings of families as made, or with the stems of a kind and nothing said of where they
    come from. `share` of the items have a fault in a key to enter, and in other words `share` of
    the choices among numbers have one too. With `bands`, bands are faulty too."""
    bank = Bank()
    for at, name in enumerate(families):
        own = siblings(name, n, seed)
        random = np.random.default_rng([seed, at, int(share * 1000), zlib.crc32(name.encode())])
        rows = stems.some_rows(random, n, share)
        turn = at
        plan: dict[int, dict[str, Fault | None]] = {}
        for row in rows:
            plan[row], turn = _planned(own, row, turn, random, bands)
        made = _as_made(own) if kind is None else _reworded(own, kind)
        for row, item in enumerate(made):
            bank.items.append(_spoiled(bank, own, item, row, plan.get(row), random, kind))
        if kind is not None:
            picks = np.random.default_rng([seed, at, int(share * 1000), 1])
            _spoil_options(bank, own, kind, bank.items[-n:], share, picks)
        bank.pools.append(Pool(name, own.family.title, n, max(len(i.parts) for i in bank.items)))
    return bank


def apart(bank: Bank) -> Bank:
    """The same with each choice among numbers in an item of its own, named by a "c" more."""
    out = Bank()
    moved: dict[At, At] = {}
    for item in bank.items:
        number = len(item.parts)
        if (item.identifier, number) not in bank.choices:
            out.items.append(item)
            continue
        alone = f"{item.identifier}c"
        out.items.append(replace(item, parts=item.parts[:-1]))
        out.items.append(replace(item, identifier=alone, parts=item.parts[-1:]))
        moved[item.identifier, number] = alone, number
    out.pools = [Pool("all", "all", len(out.items), max(len(i.parts) for i in out.items))]
    out.faults = {moved.get(at, at): put for at, put in bank.faults.items()}
    out.groups = {moved.get(at, at): group for at, group in bank.groups.items()}
    out.choices = set(moved.values())
    return out


def _planned(
    own: Siblings, row: int, turn: int, random: np.random.Generator, bands: bool
) -> tuple[dict[str, Fault | None], int]:
    """One fault of the next kind that this item can have; or two parts exchanged; nothing for a
    choice, and nothing for the part "" for a band."""
    kinds = [*faults.KINDS, "swap", OPTION, *(["band"] if bands else [])]
    for k in range(len(kinds)):
        kind = kinds[(turn + k) % len(kinds)]
        if kind == OPTION:
            return {}, turn + k + 1
        if kind == "band":
            return {"": None}, turn + k + 1
        if kind == "swap":
            if len(own.asked) < 2:
                continue
            first, second = own.asked[:2]
            pair = {
                one: _exchanged(own, one, other, row)
                for one, other in ((first, second), (second, first))
            }
            if None not in pair.values():
                return pair, turn + k + 1
            continue
        if not own.asked:
            return {}, turn
        for at in random.permutation(len(own.asked)).tolist():
            fault = make_fault(kind, own, own.asked[at], row, random)
            if fault is not None:
                return {own.asked[at]: fault}, turn + k + 1
    return {}, turn


def _exchanged(own: Siblings, unknown: str, other: str, row: int) -> Fault | None:
    value = float(own.made.rounded[other][row])
    low, high = (float(side[row]) for side in own.made.tolerance[unknown])
    if low <= value <= high:
        return None
    text = shown_text(value, own.family.find[other].shown)
    return Fault(
        "parts swapped", value, float(text), text, ("parts-swapped", f"other-part:{other}"), True
    )


# ---------------------------------------------------------------------------- items


def _as_made(own: Siblings) -> Iterator[Item]:
    for item in Renderer(own.family).items(own.made):
        yield replace(item, hints=())


def _reworded(own: Siblings, kind: str) -> Iterator[Item]:
    """Items in other words, without feedback, solution and origin: numbers to enter, and one to
    pick."""
    for row in range(len(own)):
        parts: list[Part] = []
        for number, unknown in enumerate(own.asked, 1):
            wanted = own.family.find[unknown]
            low, high = (float(side[row]) for side in own.made.tolerance[unknown])
            key = float(own.made.rounded[unknown][row])
            text = shown_text(key, wanted.shown)
            parts.append(
                NumberEntry(
                    f"R{number}", (stems.asks(kind, own, unknown),), key, text,
                    f"{text} {wanted.unit.text}".strip(), wanted.unit.text,
                    Tolerance(low, high, ""), 1.0, wanted.shown.figures, wanted.shown.decimals,
                )
            )  # fmt: skip
        picked = offers.choice(own, kind, row, f"R{len(parts) + 1}")
        parts += [] if picked is None else [picked]
        stem = Paragraph((stems.KINDS[kind](own, row),))
        name = f"q{zlib.crc32((own.family.name + kind).encode()):08x}-{row}"
        yield Item(name, own.family.title, "en", (stem,), tuple(parts))


def _spoiled(
    bank: Bank,
    own: Siblings,
    item: Item,
    row: int,
    plan: Mapping[str, Fault | None] | None,
    random: np.random.Generator,
    kind: str | None,
) -> Item:
    """The item with its planned faults; all its keys and faults are noted."""
    enters = [number for number, part in enumerate(item.parts) if isinstance(part, NumberEntry)]
    names = dict(enumerate(own.asked)) if kind else _quantities(own, len(item.parts))
    parts = list(item.parts)
    for at in range(len(parts)):
        bank.groups[item.identifier, at + 1] = f"{own.family.name}:{at + 1}"
    if plan == {} and kind is None:
        _spoil_choice(bank, item, parts, random)
    elif plan is not None and "" in plan and enters:
        _spoil_band(bank, own, item, parts, enters[0], names, row)
    for at in enters:
        fault = (plan or {}).get(names.get(at, ""))
        if fault is None:
            continue
        part = parts[at]
        assert isinstance(part, NumberEntry)
        parts[at] = _with_key(part, fault)
        wrong = fault.wrong and not _excused(own, names[at], row, parts[at], kind)
        bank.faults[item.identifier, at + 1] = Put(fault.kind, wrong, fault.codes, fault.value)
    return replace(item, parts=tuple(parts))


def _quantities(own: Siblings, parts: int) -> dict[int, str]:
    """Which unknown each part enters, by its position."""
    asks = own.family.ask
    if parts == len(asks):
        return {at: str(getattr(ask, "quantity", "")) for at, ask in enumerate(asks)}
    return dict(enumerate(own.asked))


def _excused(own: Siblings, unknown: str, row: int, part: Part, kind: str | None) -> bool:
    """Whether the bank accepts the right answer beside the key, or the key is right with a usual
    value of a constant that the stem does not state."""
    assert isinstance(part, NumberEntry)
    value = faults.exact(own, unknown, row)
    if part.tolerance.low <= value <= part.tolerance.high:
        return True
    if kind is None:
        return False
    return any(
        shown_text(other, own.family.find[unknown].shown) == part.key_text
        for other in faults.with_other_g(own, unknown, row, lambda g: stems.leaves_out(kind, g))
    )


def _with_key(part: NumberEntry, fault: Fault) -> NumberEntry:
    """The part with another key, and as wide a band around it."""
    old = part.tolerance
    share = max(part.key - old.low, old.high - part.key) / (abs(part.key) or 1.0)
    room = max(share * abs(fault.key), 1e-12 * abs(fault.key), 1e-300)
    return replace(
        part,
        key=fault.key,
        key_text=fault.text,
        key_shown=f"{fault.text} {part.unit}".strip(),
        tolerance=Tolerance(fault.key - room, fault.key + room, old.stated),
        wrong_values=(),
    )


def _spoil_options(
    bank: Bank, own: Siblings, kind: str, items: Sequence[Item], share: float,
    random: np.random.Generator,
) -> None:  # fmt: skip
    """Puts faults into a share of the choices among numbers, in place: in one family of three the
    options of all of them are shifted, in the others each has a fault of its own."""
    start = len(bank.items) - len(items)
    there = [row for row, item in enumerate(items) if isinstance(item.parts[-1], Choice)]
    bank.choices |= {(items[row].identifier, len(items[row].parts)) for row in there}
    rows = [there[i] for i in stems.some_rows(random, len(there), share)]
    first = int(random.integers(3 * len(offers.KINDS)))
    together = first % 3 == 0
    for turn, row in enumerate(rows):
        item = items[row]
        good = item.parts[-1]
        assert isinstance(good, Choice)
        kinds = [SHIFTED] if together else offers.KINDS
        for k in range(len(kinds)):
            fault = kinds[(first + turn + k) % len(kinds)]
            many = len(rows) >= offers.TOGETHER
            found = offers.spoiled_choice(own, kind, row, good, fault, many, random)
            if found is not None:
                at = start + row
                bank.items[at] = replace(item, parts=(*item.parts[:-1], found.choice))
                put = Put(found.kind, found.wrong, found.codes, found.value)
                bank.faults[item.identifier, len(item.parts)] = put
                break


def _spoil_choice(bank: Bank, item: Item, parts: list[Part], random: np.random.Generator) -> None:
    """Another option keyed, or the texts of the options moved by one under their letters."""
    for at, part in enumerate(parts):
        if not isinstance(part, Choice) or part.multiple or len(part.options) < 2:
            continue
        options = list(part.options)
        if random.random() < 0.5:
            kind = OPTION
            right = next(i for i, option in enumerate(options) if option.correct)
            step = int(random.integers(1, len(options)))
            wrong = (right + step) % len(options)
            options = [replace(o, correct=i == wrong) for i, o in enumerate(options)]
        else:
            kind = SHIFTED
            moved: list[Option] = [*options[1:], options[0]]
            options = [
                replace(option, content=new.content, slip=None)
                for option, new in zip(options, moved, strict=True)
            ]
        parts[at] = replace(part, options=tuple(options))
        bank.faults[item.identifier, at + 1] = Put(kind, True)
        return


def _spoil_band(
    bank: Bank, own: Siblings, item: Item, parts: list[Part], at: int,
    names: Mapping[int, str], row: int,
) -> None:  # fmt: skip
    """A band that rejects its own key, or one that holds what a slip leads to."""
    part = parts[at]
    assert isinstance(part, NumberEntry)
    width = max(part.tolerance.high - part.tolerance.low, 1e-9)
    if row % 2:
        band = Tolerance(part.key + width, part.key + 2 * width, "")
        parts[at] = replace(part, tolerance=band, wrong_values=())
        bank.faults[item.identifier, at + 1] = Put(REJECTS, True, ("band-rejects-key",))
        return
    near = [
        value
        for value in faults.slip_values(own, names[at], row)
        if width < abs(value - part.key) < abs(part.key)
        and abs(value - part.key) > 4 * float(own.made.windows[names[at]][0][row])
    ]
    if near:
        off = 1.05 * min(abs(value - part.key) for value in near)
        band = Tolerance(part.key - off, part.key + off, "")
        parts[at] = replace(part, tolerance=band, wrong_values=())
        bank.faults[item.identifier, at + 1] = Put(ACCEPTS, True, ("band-accepts-slip",))


# ---------------------------------------------------------------------------- writing


def write(bank: Bank, folder: Path, name: str, items: Iterable[Item] | None = None) -> Path:
    """The bank in a format; nothing is judged on the way, so faults of every kind get in."""
    folder.mkdir(parents=True, exist_ok=True)
    chosen_items = list(bank.items if items is None else items)
    if name == TABLE:
        return _write_table(chosen_items, folder / "questions.csv", bank.choices)
    chosen = find_format(name)
    unpacked = not chosen.capabilities.zipped
    path = folder / chosen.file_name("bank", unpacked)
    packed = FileArchive if chosen.capabilities.single_file else ZipArchive
    pools = bank.pools if items is None else [Pool("all", "all", len(chosen_items), 9)]
    info = BankInfo("bank", "bank", "en", tuple(pools))
    with (FolderArchive if unpacked else packed)(path) as archive:
        writer = chosen.writer(info, archive)
        for item in chosen_items:
            writer.add(item)
        writer.finish()
        archive.commit()
    return path


def _write_table(items: Sequence[Item], path: Path, choices: Container[At]) -> Path:
    """A row for each number asked for, to enter or to pick, in columns of someone else's choice."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        letters = "ABCD"
        heads = ("Ref", "Chapter", "Question text", "Answer", "Units", "Min", "Max")
        writer.writerow((*heads, *(f"Option {letter}" for letter in letters)))
        for item in items:
            stem = _text(item.stem[0].content) if isinstance(item.stem[0], Paragraph) else ""
            for number, part in enumerate(item.parts, 1):
                if isinstance(part, NumberEntry):
                    band = part.tolerance
                    writer.writerow((
                        f"{item.identifier}_{number}", item.title,
                        f"{stem} {_text(part.prompt)}", part.key_text, part.unit,
                        repr(band.low), repr(band.high), *([""] * len(letters)),
                    ))  # fmt: skip
                elif (item.identifier, number) in choices:
                    assert isinstance(part, Choice)
                    key = "".join(
                        letter
                        for letter, option in zip(letters, part.options, strict=True)
                        if option.correct
                    )
                    writer.writerow((
                        f"{item.identifier}_{number}", item.title, f"{stem} {_text(part.prompt)}",
                        key, "", "", "", *(_text(option.content) for option in part.options),
                    ))  # fmt: skip
    return path


def _text(content: Iterable[object]) -> str:
    return "".join(piece if isinstance(piece, str) else getattr(piece, "plain", "")
                   for piece in content)  # fmt: skip
