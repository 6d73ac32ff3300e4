"""A bank as a QTI 1.2.1 package: a document for each item, an assessment over them, a manifest.

A pool is a section of the assessment, of which each candidate is shown one item. Items stand at
the root of the package, so that addresses in them mean the same whether they are taken from the
item's place or from the package's [?] (mapping note, a3).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO
from urllib.parse import unquote

from qbank.errors import CheckFailed, QbankError
from qbank.formats import asi_validate, qti12_readback
from qbank.formats.archive import Archive, disk_faults
from qbank.formats.asi_markup import root_start
from qbank.formats.asi_versions import QTI_12, AsiVersion
from qbank.formats.base import Capabilities, Finding, as_ncname, package_name
from qbank.formats.grammar import parse
from qbank.formats.package import Package
from qbank.formats.pictures import PicturePlace, images_of
from qbank.formats.qti12_item import item_document
from qbank.formats.qti12_readback import TEST
from qbank.formats.qti_scan import MANIFEST, Names, stream
from qbank.formats.qti_tree import attribute, children, local
from qbank.formats.xmltext import quote, utf8
from qbank.item import BankInfo, Item, Pool


class Qti12Writer:
    """Writes one package; see `BankWriter`."""

    def __init__(self, info: BankInfo, archive: Archive) -> None:
        self._info = info
        self._archive = archive
        self._test = archive.spool()
        self._manifest = archive.spool()
        self._names = Names()
        self._pools = iter(info.pools)
        self._pool: Pool | None = None
        self._left = 0
        self._write(
            self._test,
            root_start(QTI_12.namespace, QTI_12.schema)
            + f'<assessment ident="{as_ncname(info.identifier)}" title="{quote(info.title)}">\n'
            '<outcomes_processing scoremodel="SumOfScores"><outcomes><decvar varname="SCORE"'
            ' vartype="Decimal" defaultval="0"/></outcomes></outcomes_processing>\n',
        )
        self._write(
            self._manifest,
            manifest_start(QTI_12)
            + "</metadata>\n<organizations/>\n<resources>\n"
            + resource("TEST", QTI_12.bank_type, TEST),
        )

    def add(self, item: Item) -> None:
        """Write an item into the pool whose turn it is."""
        while self._left == 0:
            if self._next_pool() is None:
                raise CheckFailed(f"item '{item.identifier}' comes after the last pool is full")
        self._left -= 1
        path = f"item-{item.identifier}.xml"
        if self._archive.holds(path):
            raise CheckFailed(f"two items are called '{item.identifier}'")
        data = utf8(item_document(item))
        place = PicturePlace(item.identifier)
        pictures = {place.href(image): image for image in images_of(item)}
        findings = asi_validate.document_findings(QTI_12, path, data, pictures)
        asi_validate.refuse(f"the item written as '{path}'", findings)
        self._archive.add(path, data)
        for file, image in pictures.items():
            self._archive.add(file, image.data)
        self._names.add(item.identifier)
        self._write(self._test, f'<itemref linkrefid="{item.identifier}"/>\n')
        entry = resource(item.identifier, QTI_12.bank_type, path, *pictures)
        self._write(self._manifest, entry)

    def finish(self) -> None:
        """Close the assessment and the manifest, validate both and write them."""
        while (pool := self._next_pool()) is not None:
            if pool.count:
                raise CheckFailed(f"the bank promised {pool.count} items for '{pool.title}'")
        self._write(self._test, "</assessment>\n</questestinterop>\n")
        self._write(self._manifest, "</resources>\n</manifest>\n")

        def holds(path: str) -> bool:
            return path == TEST or self._archive.holds(path)

        members = self._archive.members + 1
        findings = [
            *asi_validate.repeated_items(MANIFEST, self._names),
            *asi_validate.iter_manifest_findings(QTI_12, self._manifest, holds, members),
            *asi_validate.iter_test_findings(QTI_12, self._test, TEST, self._names),
        ]
        asi_validate.refuse("the package", findings)
        self._archive.add_file(TEST, self._test)
        self._archive.add_file(MANIFEST, self._manifest)

    def _next_pool(self) -> Pool | None:
        """End the section of the pool at hand and open that of the next, which is returned."""
        if self._left and self._pool is not None:
            raise CheckFailed(f"{self._left} items of pool '{self._pool.identifier}' are missing")
        if self._pool is not None:
            self._write(self._test, "</section>\n")
        pool = self._pool = next(self._pools, None)
        if pool is not None:
            self._left = pool.count
            name = f"POOL_{as_ncname(pool.identifier)}"
            self._write(self._test, f'<section ident="{name}" title="{quote(pool.title)}">\n')
            if pool.count:
                # The whole section is drawn from, so no sourcebank_ref is needed.
                self._write(
                    self._test,
                    '<selection_ordering sequence_type="Normal"><selection><selection_number>1'
                    '</selection_number></selection><order order_type="Random"/>'
                    "</selection_ordering>\n",
                )
        return pool

    def _write(self, spool: IO[bytes], text: str) -> None:
        with disk_faults(self._archive.destination):
            spool.write(utf8(text))


def manifest_start(version: AsiVersion) -> str:
    """The start of a manifest, up to its own metadata."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<manifest xmlns="{version.manifest_namespace}"\n'
        ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"\n'
        f' xsi:schemaLocation="{version.manifest_namespace} {version.manifest_schema}"\n'
        ' identifier="MANIFEST">\n'
        f"<metadata><schema>{version.package_schema}</schema>"
        f"<schemaversion>{version.package_version}</schemaversion>"
    )


def resource(identifier: str, kind: str, path: str, *files: str) -> str:
    """A resource of the manifest, with its files."""
    listed = "".join(f'<file href="{file}"/>' for file in (path, *files))
    return f'<resource identifier="{identifier}" type="{kind}" href="{path}">{listed}</resource>\n'


@dataclass(frozen=True, slots=True)
class Qti12Format:
    """QTI 1.2.1 packages."""

    name: str = QTI_12.name
    title: str = "QTI 1.2.1 package"

    @property
    def capabilities(self) -> Capabilities:
        return Capabilities(
            tolerance=True,
            several_parts=True,
            feedback=True,
            hints=True,
            mathml=True,
            pools=True,
            losses=(
                "of a wrong value only its band is kept; its value is read back as the middle",
                "a list within a sentence stands after it",
                "key, precision and origin stand in metadata of our own: elsewhere they are "
                "ignored, and the bounds alone count",
            ),
        )

    def file_name(self, title: str, unpacked: bool) -> str:
        return package_name(title, self.name, unpacked)

    def recognises(self, package: Package) -> bool:
        if MANIFEST not in package.names:
            return False
        with package.open(MANIFEST) as manifest:
            head = manifest.read(1 << 16)
        return b"<schema>IMS Content<" in head and b'"imsqti_xmlv1p2"' in head

    def writer(self, info: BankInfo, archive: Archive) -> Qti12Writer:
        return Qti12Writer(info, archive)

    def validate(self, package: Package) -> Iterator[Finding]:
        members = set(package.names)
        names = Names()
        with package.open(MANIFEST) as source:
            for entry in stream(source, MANIFEST, "resource"):
                href = unquote(attribute(entry, "href"))
                if local(entry.tag) != "resource" or href == TEST or href not in members:
                    continue
                own = {unquote(attribute(file, "href")) for file in children(entry, "file")}
                data = package.read(href)
                found = asi_validate.document_findings(QTI_12, href, data, own & members)
                yield from found
                if not any(finding.rule == "xml.well-formed" for finding in found):
                    for item in children(parse(data, href), "item"):
                        names.add(attribute(item, "ident"))
        yield from asi_validate.repeated_items(MANIFEST, names)
        with package.open(MANIFEST) as source:
            yield from asi_validate.iter_manifest_findings(
                QTI_12, source, members.__contains__, len(members) - 1
            )
        if TEST not in members:
            yield Finding("package.test", MANIFEST, "there is no test", None, "mapping h, defect 6")
            return
        try:
            with package.open(TEST) as source:
                yield from asi_validate.iter_test_findings(QTI_12, source, TEST, names)
        except QbankError as fault:
            yield Finding("xml.well-formed", TEST, fault.message, None, "XML 1.0")

    def read(self, package: Package) -> Iterator[Item]:
        return qti12_readback.iter_items(package)
