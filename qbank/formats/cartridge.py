"""A bank as a Common Cartridge 1.3: one question bank of all items, and its pictures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import IO

from lxml import etree

from qbank.errors import CheckFailed, QbankError
from qbank.formats import asi_validate, cartridge_readback
from qbank.formats.archive import Archive, disk_faults
from qbank.formats.asi_markup import root_start
from qbank.formats.asi_versions import CARTRIDGE_13
from qbank.formats.base import Capabilities, Finding, as_ncname, package_name
from qbank.formats.cartridge_item import cartridge_items
from qbank.formats.cartridge_readback import BANK
from qbank.formats.grammar import grammar, secure_parser
from qbank.formats.package import Package
from qbank.formats.pictures import PicturePlace, images_of
from qbank.formats.qti12 import manifest_start, resource
from qbank.formats.qti_scan import MANIFEST, MANY, Names, stream
from qbank.formats.qti_tree import attribute, local
from qbank.formats.xmltext import escape, quote, utf8
from qbank.item import BankInfo, Item, Matching

_LOM = "http://ltsc.ieee.org/xsd/imsccv1p3/LOM/manifest"
_START = root_start(CARTRIDGE_13.namespace, CARTRIDGE_13.schema)
_END = "</questestinterop>\n"


class CartridgeWriter:
    """Writes one cartridge; see `BankWriter`. `notes` count what fell back, and how."""

    def __init__(self, info: BankInfo, archive: Archive) -> None:
        self._info = info
        self._archive = archive
        self._bank = archive.spool()
        self._dependencies = archive.spool()
        self._resources = archive.spool()
        self._names = Names()
        self._ways: Counter[str] = Counter()
        self._split = self._matchings = self._pictures = self._left = 0
        self._pools = iter(info.pools)
        self._category = ""
        self._write(self._bank, f'{_START}<objectbank ident="{as_ncname(info.identifier)}">\n')

    @property
    def notes(self) -> tuple[str, ...]:
        ways = self._ways
        numbers = ways["spellings"] + ways["distractors"] + ways["essay"]
        notes = []
        if self._split:
            total = sum(ways.values())
            notes.append(
                f"{self._split} items with several parts were split; {total} items are written"
            )
        for way, became in (
            ("spellings", "fill-in items that accept the listed spellings alone"),
            ("distractors", "multiple choice between the key and wrong values"),
            ("essay", "essays, which no machine scores"),
        ):
            if ways[way]:
                notes.append(f"{ways[way]} of {numbers} numbers became {became}")
        if self._matchings:
            notes.append(
                f"{_counted(self._matchings, 'matching')} became {ways['pairs']} multiple choices, "
                "one for each source and credited one by one"
            )
        if ways["orders"]:
            notes.append(
                f"{_counted(ways['orders'], 'order')} became multiple choice among whole orders, "
                "all or nothing"
            )
        return tuple(notes)

    def add(self, item: Item) -> None:
        """Write an item of the pool whose turn it is."""
        while self._left == 0:
            pool = next(self._pools, None)
            if pool is None:
                raise CheckFailed(f"item '{item.identifier}' comes after the last pool is full")
            self._left, self._category = pool.count, pool.title
        self._left -= 1
        place = PicturePlace(item.identifier)
        pictures = {place.href(image): image for image in images_of(item)}
        for written in cartridge_items(item, self._category):
            text = written.text
            findings = _text_findings(text, written.identifier, pictures)
            asi_validate.refuse(f"the item '{written.identifier}'", findings)
            self._write(self._bank, text)
            self._names.add(written.identifier)
            self._ways[written.way] += 1
        self._split += len(item.parts) > 1
        self._matchings += sum(isinstance(part, Matching) for part in item.parts)
        for path, image in pictures.items():
            if self._archive.holds(path):
                raise CheckFailed(f"two pictures are called '{path}'")
            self._archive.add(path, image.data)
            self._pictures += 1
            name = f"PICTURE_{self._pictures}"
            self._write(self._dependencies, f'<dependency identifierref="{name}"/>\n')
            self._write(self._resources, resource(name, "webcontent", path))

    def finish(self) -> None:
        """Close the bank and the manifest, validate both and write them."""
        missing = self._left + sum(pool.count for pool in self._pools)
        if missing:
            raise CheckFailed(f"{missing} items of the bank are missing")
        self._write(self._bank, f"</objectbank>\n{_END}")
        manifest = self._manifest()
        if repeated := list(asi_validate.repeated_items(BANK, self._names)):
            raise CheckFailed(f"two items are called the same: {repeated[0]}")

        def holds(path: str) -> bool:
            return path == BANK or self._archive.holds(path)

        members = self._archive.members + 1
        findings = [*asi_validate.iter_manifest_findings(CARTRIDGE_13, manifest, holds, members)]
        asi_validate.refuse("the cartridge", findings)
        self._archive.add_file(BANK, self._bank)
        self._archive.add_file(MANIFEST, manifest)

    def _manifest(self) -> IO[bytes]:
        language = quote(self._info.language)
        manifest = self._archive.spool()
        self._write(
            manifest,
            manifest_start(CARTRIDGE_13)
            + f'<lom xmlns="{_LOM}"><general><title><string language="{language}">'
            f"{escape(self._info.title)}</string></title><language>{language}</language>"
            "</general></lom></metadata>\n"
            '<organizations><organization identifier="ORGANIZATION"'
            ' structure="rooted-hierarchy"><item identifier="ROOT"/></organization>'
            "</organizations>\n<resources>\n"
            f'<resource identifier="BANK" type="{CARTRIDGE_13.bank_type}" href="{BANK}">'
            f'<file href="{BANK}"/>\n',
        )
        self._append(manifest, self._dependencies)
        self._write(manifest, "</resource>\n")
        self._append(manifest, self._resources)
        self._write(manifest, "</resources>\n</manifest>\n")
        return manifest

    def _write(self, spool: IO[bytes], text: str) -> None:
        with disk_faults(self._archive.destination):
            spool.write(utf8(text))

    def _append(self, target: IO[bytes], source: IO[bytes]) -> None:
        with disk_faults(self._archive.destination):
            source.seek(0)
            while chunk := source.read(1 << 20):
                target.write(chunk)


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _text_findings(text: str, name: str, pictures: Collection[str]) -> list[Finding]:
    """The judgement in full of one item's text."""
    try:
        root = etree.fromstring(utf8(f"{_START}{text}{_END}"), secure_parser())
    except etree.XMLSyntaxError as fault:
        return [Finding("xml.well-formed", name, fault.msg, None, "XML 1.0")]
    return asi_validate.item_findings(CARTRIDGE_13, root[0], name, pictures)


@dataclass(frozen=True, slots=True)
class CartridgeFormat:
    """Common Cartridge 1.3 with a question bank."""

    name: str = CARTRIDGE_13.name
    title: str = "Common Cartridge 1.3 question bank"

    @property
    def capabilities(self) -> Capabilities:
        return Capabilities(
            tolerance=False,
            several_parts=False,
            feedback=True,
            hints=True,
            mathml=True,
            pools=False,
            arranging=False,
            losses=(
                "an item with several parts becomes several items, named with _1, _2, ...; the "
                "last has the worked solution",
                "a number accepts at most 20 listed spellings at the precision of its key; where "
                "there are more it becomes a choice among wrong values, or an essay that no "
                "machine scores, which is read back as an item without parts",
                "a matching becomes a multiple choice for each source, an order a multiple choice "
                "among whole orders; partial credit and the feedback of sources and entries go",
                "options that may be shuffled stand in another order, and a list within a "
                "sentence becomes a multiple choice after it",
                "points that are no whole number, slips without feedback, the stated tolerance, "
                "metadata and origin are left out; each item has the bank's language",
            ),
        )

    def file_name(self, title: str, unpacked: bool) -> str:
        name = package_name(title, self.name, unpacked)
        return name if unpacked else f"{name.removesuffix('.zip')}.imscc"

    def recognises(self, package: Package) -> bool:
        if MANIFEST not in package.names:
            return False
        with package.open(MANIFEST) as manifest:
            return b"<schema>IMS Common Cartridge<" in manifest.read(1 << 16)

    def writer(self, info: BankInfo, archive: Archive) -> CartridgeWriter:
        return CartridgeWriter(info, archive)

    def validate(self, package: Package) -> Iterator[Finding]:
        members = set(package.names)
        with package.open(MANIFEST) as source:
            yield from asi_validate.iter_manifest_findings(
                CARTRIDGE_13, source, members.__contains__, len(members) - 1
            )
        with package.open(MANIFEST) as source:
            banks = asi_validate.scan_manifest(CARTRIDGE_13, source, members.__contains__).items
        if banks != 1 or BANK not in members:
            said = f"there are {banks} question banks"
            yield Finding("bank.one", MANIFEST, said, None, "mapping h, defect 51")
        if BANK in members:
            yield from self._bank_findings(package, members)

    def _bank_findings(self, package: Package, members: set[str]) -> Iterator[Finding]:
        names = Names()
        found: list[Finding] = []
        try:
            with package.open(BANK) as source:
                for element in stream(source, BANK, "item"):
                    if local(element.tag) != "item":
                        found.extend(grammar(self.name).iter_findings(element, BANK))
                        continue
                    names.add(attribute(element, "ident"))
                    if len(found) < MANY:
                        found.extend(
                            asi_validate.item_findings(CARTRIDGE_13, element, BANK, members)
                        )
        except QbankError as fault:
            found.append(Finding("xml.well-formed", BANK, fault.message, None, "XML 1.0"))
        yield from dict.fromkeys(found)
        yield from asi_validate.repeated_items(BANK, names)

    def read(self, package: Package) -> Iterator[Item]:
        return cartridge_readback.iter_items(package)
