"""A bank as a QTI package: items, a test that shows each candidate one item a pool, a manifest.

Items are written as they come. What the test and the manifest say of each goes to spooled
files, so that memory does not grow with the count, and both are put together at the end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO

from qbank import __version__
from qbank.errors import CheckFailed
from qbank.formats import qti_readback, qti_validate, qti_written
from qbank.formats.archive import Archive, disk_faults
from qbank.formats.base import Capabilities, Finding, as_ncname, package_name
from qbank.formats.dialects import Dialect
from qbank.formats.item_judge import ItemJudge
from qbank.formats.metadata import package_metadata
from qbank.formats.package import Package
from qbank.formats.pictures import PicturePlace, images_of
from qbank.formats.qti_item import ItemText
from qbank.formats.qti_scan import MANIFEST
from qbank.formats.xmltext import quote, utf8
from qbank.item import BankInfo, Item, Pool

TEST = "test.xml"

_TEST_HEAD = """\
<?xml version="1.0" encoding="UTF-8"?>
<assessmentTest xmlns="{namespace}"
 xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
 xsi:schemaLocation="{namespace} {schema}"
 identifier="{identifier}" title="{title}" toolName="qbank" toolVersion="{version}">
<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float">\
<defaultValue><value>0</value></defaultValue></outcomeDeclaration>
<testPart identifier="PART_1" navigationMode="nonlinear" submissionMode="individual">
<itemSessionControl maxAttempts="1" showFeedback="true"/>
<assessmentSection identifier="ALL_POOLS" title="{title}" visible="true">
"""
_SECTION = '<assessmentSection identifier="%s" title="%s" visible="false" keepTogether="true">\n%s'
_SELECTION = '<selection select="1"/>\n'
_SECTION_END = "</assessmentSection>\n"
_TEST_TAIL = (
    "</assessmentSection>\n</testPart>\n"
    '<outcomeProcessing><setOutcomeValue identifier="SCORE"><sum>'
    '<testVariables variableIdentifier="SCORE"/></sum></setOutcomeValue></outcomeProcessing>\n'
    "</assessmentTest>\n"
)
_MANIFEST_HEAD = """\
<?xml version="1.0" encoding="UTF-8"?>
<manifest xmlns="{namespace}"
 xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
 xsi:schemaLocation="{namespace} {schema}"
 identifier="MANIFEST">
"""


class QtiWriter:
    """Writes one package; see `BankWriter`."""

    def __init__(self, dialect: Dialect, info: BankInfo, archive: Archive) -> None:
        self._dialect = dialect
        self._info = info
        self._archive = archive
        self._items = ItemText(dialect)
        self._judge = ItemJudge(dialect)
        self._entries = qti_written.ManifestEntries(dialect)
        self._test = archive.spool()
        self._dependencies = archive.spool()
        self._resources = archive.spool()
        self._item_ref = dialect.markup(qti_written.ITEM_REF)
        self._selection = dialect.markup(_SELECTION)
        self._pools = iter(info.pools)
        self._pool: Pool | None = None
        self._folder = ""
        self._left = 0
        self._count = 0
        self._write(
            self._test,
            dialect.markup(_TEST_HEAD).format(
                namespace=dialect.namespace,
                schema=dialect.schema,
                identifier=as_ncname(info.identifier),
                title=quote(info.title),
                version=__version__,
            ),
        )

    def add(self, item: Item) -> None:
        """Write an item into the pool whose turn it is."""
        path = self._place(item)
        document = self._items.document(item)
        data = utf8(document.text)
        place = PicturePlace(item.identifier)
        pictures = {f"{self._folder}/{place.href(image)}": image for image in images_of(item)}
        self._judge.ensure(path, data, document.structures, pictures)
        self._archive.add(path, data)
        for file, image in pictures.items():
            self._archive.add(file, image.data)
        self._list(item, path)

    def add_document(self, item: Item, data: bytes, *, template: bool = False) -> None:
        """Write an item whose document is there already, judged in full like any new one;
        `item` describes it in the manifest, and `template` says that it draws its own data.
        Raises CheckFailed when it breaks a rule."""
        path = self._place(item)
        self._judge.ensure(path, data, (("document", item.identifier),), ())
        self._archive.add(path, data)
        self._list(item, path, template=template)

    def _place(self, item: Item) -> str:
        """The path of the next item, in the pool whose turn it is."""
        while self._left == 0:
            self._next_pool(item)
        self._left -= 1
        return f"{self._folder}/{item.identifier}.xml"

    def _list(self, item: Item, path: str, *, template: bool = False) -> None:
        """An item's entries in the test and in the manifest."""
        self._count += 1
        self._write(self._test, self._item_ref % (item.identifier, path))
        self._write(self._dependencies, qti_written.DEPENDENCY % item.identifier)
        self._write(self._resources, self._entries.text(item, path, template=template))

    def finish(self) -> None:
        """Close the test, put the manifest together, validate both and write them."""
        while (pool := self._close_pool()) is not None:
            if pool.count:
                raise CheckFailed(f"the bank promised {pool.count} items for '{pool.title}'")
        self._write(self._test, self._dialect.markup(_TEST_TAIL))
        manifest = self._manifest()
        qti_written.ensure_package(
            self._dialect,
            manifest,
            self._test,
            TEST,
            items=self._count,
            members=self._archive.members + 1,
            holds=lambda path: path == TEST or self._archive.holds(path),
        )
        self._archive.add_file(TEST, self._test)
        self._archive.add_file(MANIFEST, manifest)

    def _next_pool(self, item: Item) -> None:
        pool = self._close_pool()
        if pool is None:
            raise CheckFailed(f"item '{item.identifier}' comes after the last pool is full")
        self._left = pool.count

    def _close_pool(self) -> Pool | None:
        """End the section of the pool at hand and open that of the next, which is returned."""
        if self._left:
            raise CheckFailed(f"{self._left} items of pool '{self._folder}' are missing")
        section = self._dialect.markup(_SECTION)
        if self._pool is not None:
            self._write(self._test, self._dialect.markup(_SECTION_END))
        pool = self._pool = next(self._pools, None)
        if pool is not None:
            name = as_ncname(pool.identifier)
            self._folder = f"items/{name}"
            selection = self._selection if pool.count else ""
            self._write(self._test, section % (f"POOL_{name}", quote(pool.title), selection))
        return pool

    def _manifest(self) -> IO[bytes]:
        manifest = self._archive.spool()
        self._write(
            manifest,
            _MANIFEST_HEAD.format(
                namespace=self._dialect.manifest_namespace, schema=self._dialect.manifest_schema
            )
            + package_metadata(
                self._info.identifier, self._info.title, self._info.language, self._dialect
            )
            + "<organizations/>\n<resources>\n"
            f'<resource identifier="TEST" type="{self._dialect.test_type}" href="{TEST}">\n'
            f'<file href="{TEST}"/>\n',
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


@dataclass(frozen=True, slots=True)
class QtiFormat:
    """QTI packages in one dialect."""

    dialect: Dialect

    @property
    def name(self) -> str:
        return self.dialect.name

    @property
    def title(self) -> str:
        return self.dialect.title

    @property
    def capabilities(self) -> Capabilities:
        return Capabilities(
            tolerance=True,
            several_parts=True,
            feedback=True,
            hints=True,
            adaptive_hints=True,
            mathml=True,
            pools=True,
            losses=(
                "of a wrong value only its band is kept; its value is read back as the middle",
                "formulas in a drop-down become plain text, which is all it can hold",
                "a part that is both inline and multiple becomes an ordinary choice",
            ),
        )

    def file_name(self, title: str, unpacked: bool) -> str:
        return package_name(title, self.name, unpacked)

    def recognises(self, package: Package) -> bool:
        if MANIFEST not in package.names:
            return False
        with package.open(MANIFEST) as manifest:
            return f"<schema>{self.dialect.package_schema}<".encode() in manifest.read(1 << 16)

    def writer(self, info: BankInfo, archive: Archive) -> QtiWriter:
        return QtiWriter(self.dialect, info, archive)

    def validate(self, package: Package) -> Iterator[Finding]:
        return qti_validate.iter_findings(self.dialect, package)

    def read(self, package: Package) -> Iterator[Item]:
        return qti_readback.iter_items(package)
