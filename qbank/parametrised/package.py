"""Families written to packages as one parametrised item each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from qbank.errors import QbankError
from qbank.family.model import Family
from qbank.formats.archive import FolderArchive, ZipArchive
from qbank.formats.base import WriteReport
from qbank.formats.qti import QtiFormat
from qbank.formats.registry import FORMATS, find_format
from qbank.item import BankInfo, Pool
from qbank.making import ensure_distinct, make_folder
from qbank.parametrised.expressions import InexpressibleError
from qbank.parametrised.item import Parametrised, Parametriser


@dataclass(slots=True)
class OneItemReport:
    """What was written; by family, the share of draws that meet its rules, what its item goes
    without, and why a family could not be written so."""

    packages: list[WriteReport] = field(default_factory=list)
    acceptance: dict[str, float] = field(default_factory=dict)
    notes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """The report as plain values."""
        return {
            "packages": [
                {"path": str(package.path), "format": package.format, "items": package.items}
                for package in self.packages
            ],
            "families": {
                name: {"acceptance": share, "notes": list(self.notes[name])}
                for name, share in self.acceptance.items()
            },
            "refused": dict(self.refused),
        }


def make_parametrised(
    families: Sequence[Family],
    *,
    formats: Sequence[str] = (),
    out: str | Path = "exports",
    name: str | None = None,
    unpacked: bool = False,
    progress: Callable[[int], None] | None = None,
) -> OneItemReport:
    """Write each family as one item that draws its own data, to one package per version of QTI.

    Without `formats`, to all versions there are. A family that cannot be written so is left out
    and its reason is in the report. `progress` is called with how much has been done since its
    last call, in units of which each family is one and one more for each version.

    Raises QbankError for a format that has no template rules and where no family can be written
    so; other errors as `make`.
    """
    ensure_distinct(families)
    writers = [_qti(chosen) for chosen in dict.fromkeys(formats or versions())]
    advance = progress or (lambda _steps: None)
    report = OneItemReport()
    ready: list[Parametriser] = []
    for family in families:
        try:
            parametriser = Parametriser(family)
            first = parametriser.write(writers[0].dialect)
        except InexpressibleError as reason:
            report.refused[family.name] = reason.message
            advance(1 + len(writers))
            continue
        advance(1)
        ready.append(parametriser)
        report.acceptance[family.name] = first.acceptance
        report.notes[family.name] = first.notes
    if not ready:
        said = "; ".join(f"{name}: {why}" for name, why in report.refused.items())
        raise QbankError(
            f"no family can be one item: {said}",
            hint="leave out --one-item to write instances of it, each an item of its own",
        )
    title = name or (families[0].name if len(families) == 1 else "bank")
    folder = Path(out)
    make_folder(folder)
    for writer in writers:
        destination = folder / writer.file_name(f"{title}-one-item", unpacked)
        report.packages.append(_write(writer, title, ready, destination, unpacked, advance))
    return report


def versions() -> list[str]:
    """The formats that have template rules."""
    return [name for name, chosen in FORMATS.items() if isinstance(chosen, QtiFormat)]


def _qti(name: str) -> QtiFormat:
    chosen = find_format(name)
    if isinstance(chosen, QtiFormat):
        return chosen
    raise QbankError(
        f"the format '{name}' has no rules that draw data, so a family cannot be one item in it",
        hint=f"choose from {', '.join(versions())}, or write instances",
    )


def _write(
    writer: QtiFormat,
    title: str,
    ready: Sequence[Parametriser],
    destination: Path,
    unpacked: bool,
    advance: Callable[[int], None],
) -> WriteReport:
    pools = tuple(Pool(p.family.name, p.family.title, 1, len(p.family.ask)) for p in ready)
    language = ready[0].family.texts.language
    info = BankInfo(title, title, language, pools)
    with (FolderArchive if unpacked else ZipArchive)(destination) as archive:
        package = writer.writer(info, archive)
        for parametriser in ready:
            made: Parametrised = parametriser.write(writer.dialect)
            package.add_document(made.item, made.data, template=True)
            advance(1)
        package.finish()
        archive.commit()
    return WriteReport(destination, writer.name, len(ready), archive.members)
