"""The main job: families in, packages of solved and checked items out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from qbank.errors import FamilyError, OutputError
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.formats.base import Format, WriteReport
from qbank.formats.registry import find_format
from qbank.formats.writing import write_bank
from qbank.generation import Generator, Report
from qbank.item import BankInfo, Item, Pool
from qbank.rendering.png import png_maker
from qbank.rendering.renderer import Renderer

DEFAULT_FORMATS = ("qti-2.1", "qti-3.0", "csv")


@dataclass(frozen=True, slots=True)
class MakeReport:
    """What was made: the packages, and per family what drawing and checking it came to."""

    packages: tuple[WriteReport, ...]
    families: dict[str, Report]

    def as_json(self) -> dict[str, Any]:
        return {
            "packages": [
                {
                    "path": str(package.path),
                    "format": package.format,
                    "items": package.items,
                    "notes": list(package.notes),
                }
                for package in self.packages
            ],
            "families": {name: report.as_json() for name, report in self.families.items()},
        }


def make(
    families: Sequence[Family | str | Path],
    *,
    count: int = 10,
    seed: int = 0,
    formats: Sequence[str] = DEFAULT_FORMATS,
    out: str | Path = "exports",
    name: str | None = None,
    unpacked: bool = False,
    hints: bool = False,
    pictures: Literal["svg", "png"] = "svg",
    progress: Callable[[int], None] | None = None,
) -> MakeReport:
    """Write `count` instances of each family to one package per format in the folder `out`.

    A family is a `Family`, the name of a shipped one, or the path of a family file. Every
    instance is solved, checked and put into each package as one item; the siblings of a family
    form a pool of which a test shows each candidate one; no two families may have one name.
    `unpacked` writes folders in place of
    zip files; a table is always a folder. `hints` writes hints even where a format can offer them
    only by making the items adaptive. `pictures` is what figures are written as; "png" is for
    platforms that take no SVG and needs CairoSVG. `progress` is called with the number of items
    written since its last call.

    Raises FamilyError for a family that cannot be used, DrawError when its rules cannot be met
    or fewer than `count` instances exist, CheckFailed when a check on the tool's own work does
    not hold, OutputError when a package cannot be written or a picture not drawn. A package that
    was there before stays whole until the new one is complete.
    """
    redraw = png_maker() if pictures == "png" else None
    loaded = [_as_family(family) for family in families]
    ensure_distinct(loaded)
    title = name or (loaded[0].name if len(loaded) == 1 else "bank")
    folder = Path(out)
    writers = [find_format(name) for name in dict.fromkeys(formats)]
    generators = [Generator(family) for family in loaded]
    for generator in generators:
        generator.ensure_enough(count)
    make_folder(folder)
    info = _bank_info(title, loaded, count)
    packages = []
    reports: dict[str, Report] = {}
    for writer in writers:
        reports = {family.name: Report(family) for family in loaded}
        items = _items(generators, reports, count, seed)
        if not hints:
            items = unadaptive(items, writer)
        if redraw is not None:
            items = map(redraw, items)
        as_folder = unpacked or not writer.capabilities.zipped
        packages.append(
            write_bank(
                info,
                items,
                folder / writer.file_name(title, as_folder),
                writer.name,
                unpacked=as_folder,
                progress=progress,
            )
        )
    return MakeReport(tuple(packages), reports)


def _as_family(family: Family | str | Path) -> Family:
    return family if isinstance(family, Family) else load_family(find_family(str(family)))


def ensure_distinct(families: Sequence[Family]) -> None:
    """Refuse two families of one name in one bank: their items could not be told apart."""
    first: dict[str, Family] = {}
    for family in families:
        other = first.setdefault(family.name, family)
        if other is not family:
            raise FamilyError(
                f"the family '{family.name}' is named twice for one bank",
                place=family.place,
                hint="name it once, with a larger --count for more instances"
                if other.digest == family.digest
                else f"the other is {other.place.file}; rename one, or make a bank of each",
            )


def unadaptive(items: Iterator[Item], target: Format) -> Iterator[Item]:
    """The items without the hints that `target` can offer only by making them adaptive."""
    if not target.capabilities.adaptive_hints:
        return items
    return (replace(item, hints=()) for item in items)


def make_folder(folder: Path) -> None:
    """Make the output folder if it is missing; OutputError says why it cannot be made."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        why = "it is a file" if folder.is_file() else fault.strerror or fault
        raise OutputError(
            f"cannot make the output folder '{folder}': {why}",
            hint="name a folder you may write to with --out",
        ) from fault


def _bank_info(title: str, families: Sequence[Family], count: int) -> BankInfo:
    pools = tuple(Pool(family.name, family.title, count, len(family.ask)) for family in families)
    language = families[0].texts.language if families else "en"
    return BankInfo(title, title, language, pools)


def _items(
    generators: Sequence[Generator], reports: dict[str, Report], count: int, seed: int
) -> Iterator[Item]:
    """The items of all families in turn; each exists only while it is being written."""
    for generator in generators:
        family = generator.family
        renderer = Renderer(family)
        for instances in generator.generate(count, seed=seed, report=reports[family.name]):
            yield from renderer.items(instances)
