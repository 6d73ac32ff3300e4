"""Opening a bank of anyone's making: which documents hold items, and reading them one by one.

Documents come in the manifest's order, then those no manifest lists, by name. What a resource
says of its type is not trusted: the root of a document decides (mapping note, a2).
"""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Self

from lxml import etree

from qbank.errors import QbankError
from qbank.formats import qti_readback
from qbank.formats.base import Format, Skimming
from qbank.formats.foreign.asi_item import read_asi_item
from qbank.formats.foreign.asi_usual import usual_item
from qbank.formats.foreign.documents import parse_document
from qbank.formats.foreign.lookup import Lookup
from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.manifest import (
    Head,
    Resource,
    format_name,
    format_of_root,
    iter_resources,
    read_head,
    told,
)
from qbank.formats.foreign.names import Unique
from qbank.formats.foreign.qti_item import read_qti_item
from qbank.formats.package import LooseFile, Package
from qbank.formats.qti_tree import local
from qbank.formats.registry import FORMATS
from qbank.formats.source import Loss, ReadItem
from qbank.item import Item, Metadata
from qbank.place import Place

MAX_DOCUMENT = 512 << 20  # a document of QTI 1.2.1 may hold a whole bank
MAX_TABLE = 512 << 20
UNDETERMINED = "und"  # the language tag for one that is not known (RFC 5646, 2.2.1 and 4.1)
_STAMPS = (b'toolName="qbank"', b'tool-name="qbank"')
_FAULTS = (
    QbankError, KeyError, IndexError, ValueError, StopIteration, AttributeError, TypeError,
    RecursionError, ArithmeticError, AssertionError, etree.LxmlError,
)  # fmt: skip
_ZIPPED = (".zip", ".imscc")
_TABLES = (".csv", ".tsv", ".tab", ".txt")
_EXACT = ("csv", "jsonl")
_NO_METADATA = Metadata()


class BankReading:
    """A bank being read: iterate for its items, in the bank's order. Closes what it opened.

    format      "qti-2.1", "qti-1.2", "cartridge-1.3", "csv", ...; may be settled by the first item
    title       of the bank; empty where it says none
    columns     of a table, what each column was taken for
    losses      of the bank as a whole; grows while iterating. Losses of one item are with the item
    unreadable  documents and items that could not be read; the others are
    """

    def __init__(self, name: str, title: str = "") -> None:
        self.format = name
        self.title = title
        self.columns: tuple[str, ...] = ()
        self.unreadable: list[Loss] = []
        self._own = Losses("")
        self._extra: Callable[[], list[Loss]] = list
        self._source: Callable[[], Iterator[ReadItem]] = lambda: iter(())
        self._stack = ExitStack()

    @property
    def losses(self) -> list[Loss]:
        """Of the bank as a whole."""
        return [*self._own.found, *self._extra()]

    def __iter__(self) -> Iterator[ReadItem]:
        return self._source()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the files that were opened."""
        self._stack.close()

    def fail(self, member: str, fault: BaseException, line: int = 1, item: str = "") -> None:
        """Keep what could not be read."""
        said = fault.message if isinstance(fault, QbankError) else f"cannot be read: {fault!r}"
        self.unreadable.append(Loss("unreadable", Place(member, line, 1), item, said))


def open_bank(
    path: str | Path,
    columns: Mapping[str, str] | None = None,
    *,
    tolerant: bool = False,
    whole: bool = True,
) -> BankReading:
    """The bank at `path`: a zip file, a folder, one XML document, a table or JSON Lines.

    columns   says for a table which column holds what (see `qbank.formats.tables`)
    tolerant  reads packages of our own making as if others had made them
    whole     whether all of each item is wanted; if not, what `skimmed` leaves out may be lacking,
              and with it what would be lost or cannot be read of that

    Raises QbankError where there is no bank, and for a package that is hostile: paths or links
    that leave it, members out of bounds, entities.
    """
    path = Path(path)
    if not path.exists():
        raise QbankError(f"there is no file or folder '{path}'", hint="check the path")
    suffix = path.suffix.lower()
    if path.is_file() and suffix == ".jsonl":
        return _from_package(LooseFile(path), FORMATS["jsonl"], whole)
    if path.is_file() and not zipfile.is_zipfile(path):
        if suffix in _ZIPPED:
            raise QbankError(
                f"'{path}' is no zip file", hint="the file is damaged; write or download it again"
            )
        if suffix in _TABLES:
            return _table(path, columns)
        return _packaged(LooseFile(path), path, tolerant, whole)
    package = Package(path)
    try:
        if package.links:
            raise QbankError(
                f"'{path}' holds a symbolic link, '{package.links[0]}'",
                hint="a link could lead anywhere; replace it by the file it means",
            )
        for name in _EXACT:
            found = FORMATS.get(name)
            if columns is None and found is not None and found.recognises(package):
                return _from_package(package, found, whole)
        tables = [name for name in package.names if name.lower().endswith(_TABLES[:3])]
        has_xml = any(name.lower().endswith(".xml") for name in package.names)
        if len(tables) == 1 and not has_xml:
            data = package.read(tables[0], MAX_TABLE)
            package.close()
            return _table(Path(tables[0]), columns, data)
    except BaseException:
        package.close()
        raise
    return _packaged(package, path, tolerant, whole)


# ---------------------------------------------------------------------------- tables, JSON Lines


def _table(path: Path, columns: Mapping[str, str] | None, data: bytes | None = None) -> BankReading:
    from qbank.formats.tables import TableReading  # noqa: PLC0415 - most banks are no tables

    table = TableReading(path, columns, data)
    reading = BankReading("csv", path.stem)
    reading.columns = tuple(table.columns)
    reading._source = lambda: table.items
    reading._extra = lambda: table.losses
    return reading


def _from_package(package: Package, found: Format, whole: bool) -> BankReading:
    """A format that says all an item is: its own reader, with places by record."""
    reading = BankReading(found.name)
    reading._own.member = package.path.name
    reading._stack.callback(package.close)
    member = next((n for n in package.names if n.endswith((".csv", ".jsonl"))), package.path.name)

    def items() -> Iterator[ReadItem]:
        seen: set[str] = set()
        try:
            for item in _exactly(package, found, whole):
                seen.add(item.identifier)
                yield ReadItem(item, Place(member, len(seen) + 1, 1))
        except QbankError as fault:
            record = len(seen) + 2
            reading.fail(member, fault, record)
            if not member.endswith(".csv"):
                reading._own.add("cut", f"what follows the record {record} was not read")
                return
            table = _table(Path(member), None, package.read(member, MAX_TABLE))
            for each in table:
                if each.item.identifier not in seen:
                    yield each

    reading._source = items
    return reading


def _exactly(package: Package, found: Format, whole: bool) -> Iterator[Item]:
    """The items by the format's own reader, by that for stems and keys where it is enough."""
    if not whole and isinstance(found, Skimming):
        return found.skim(package)
    return found.read(package)


# ---------------------------------------------------------------------------- packages


def _packaged(package: Package, path: Path, tolerant: bool, whole: bool) -> BankReading:
    reading = BankReading("")
    reading._stack.callback(package.close)
    try:
        reading._own.member = path.name
        reader = _PackageReader(package, reading, tolerant, whole)
    except BaseException:
        reading.close()
        raise
    reading._source = reader.items
    return reading


class _PackageReader:
    """Reads the documents of one package, or one document."""

    def __init__(self, package: Package, reading: BankReading, tolerant: bool, whole: bool) -> None:
        self._package = package
        self._reading = reading
        self._tolerant = tolerant
        self._whole = whole
        self._losses = reading._own
        self._lookup = Lookup(package, self._losses)
        self._head = Head()
        if self._lookup.manifest:
            with package.open(self._lookup.manifest) as source:
                self._head = read_head(source, self._lookup.manifest)
            reading.format = format_name(self._head)
            reading.title = self._head.title
        documents = [n for n in package.names if n.lower().endswith((".xml", ".qti", ".dat"))]
        if isinstance(package, LooseFile):
            documents = list(package.names)
            self._ensure_document(documents[0])
        if not documents:
            raise QbankError(
                f"'{package.path}' holds no document of items",
                hint="expected items of QTI 1.2.1 to 3.0, a cartridge, a table or JSON Lines",
            )
        self._documents = documents
        if not reading.format:
            reading.format = self._sniffed()

    def _ensure_document(self, member: str) -> None:
        """A single document must be readable: there is nothing else to read."""
        data = self._package.read(member, MAX_DOCUMENT)
        root = parse_document(data, member, Losses(member))
        name = local(str(root.tag))
        if name not in ("assessmentItem", "questestinterop", "assessmentTest", "item"):
            raise QbankError(
                f"'{member}' is no bank: its root is <{etree.QName(root).localname}>",
                hint="expected an assessmentItem, an assessmentTest or a questestinterop",
            )

    def _sniffed(self) -> str:
        """The format by the first document that holds items."""
        for member in self._documents[:50]:
            if member == self._lookup.manifest:
                continue
            try:
                root = parse_document(self._package.read(member), member, Losses(member))
            except QbankError:
                continue
            name = local(str(root.tag))
            if name in ("assessmentItem", "questestinterop", "assessmentTest"):
                return format_of_root(root)
        return ""

    # ------------------------------------------------------------------ documents

    def items(self) -> Iterator[ReadItem]:
        """Every item: of the listed documents, then of those that nothing lists."""
        self._unique = Unique()
        self._seen: set[str] = set()
        self._others: dict[str, int] = {}
        if self._lookup.manifest:
            self._seen.add(self._lookup.manifest)
            try:
                with self._package.open(self._lookup.manifest) as source:
                    for resource in iter_resources(
                        source, self._lookup.manifest, whole=self._whole
                    ):
                        yield from self._resource(resource)
            except QbankError as fault:
                self._reading.fail(self._lookup.manifest, fault)
        for member in self._documents:
            if member not in self._seen:
                unlisted = bool(self._lookup.manifest)
                yield from self._document(member, None, unlisted=unlisted)
        for kind, count in self._others.items():
            self._losses.add("resource", f"{count} resources of type '{kind}' hold no items")

    def _resource(self, resource: Resource) -> Iterator[ReadItem]:
        href = resource.href
        member = self._lookup.find(self._lookup.root, href) if href else None
        is_item = "item" in resource.kind or "imsqti" in resource.kind
        if member is None:
            if is_item or href.lower().endswith(".xml"):
                self._reading.unreadable.append(
                    Loss(
                        "missing",
                        Place(self._lookup.manifest, resource.line, 1),
                        "",
                        f"the resource '{href[:100]}' is not in the package",
                    )
                )
            return
        if not member.lower().endswith((".xml", ".qti", ".dat")) and not is_item:
            if not resource.kind.startswith(("webcontent", "associatedcontent", "css")):
                self._others[resource.kind] = self._others.get(resource.kind, 0) + 1
            elif member.lower().endswith((".html", ".htm", ".css")):
                kind = f"{resource.kind} ({member.rpartition('.')[2]})"
                self._others[kind] = self._others.get(kind, 0) + 1
            return
        if member not in self._seen:
            yield from self._document(member, resource)

    def _document(
        self, member: str, resource: Resource | None, *, unlisted: bool = False
    ) -> Iterator[ReadItem]:
        """The items of one document, whatever its resource says it is."""
        self._seen.add(member)
        losses = Losses(member)
        try:
            data = self._package.read(member, MAX_DOCUMENT)
            root: etree._Element | None = None
            own = not self._tolerant and any(stamp in data[:2000] for stamp in _STAMPS)
            if own and (found := self._own_item(data, member)) is not None:
                self._noted(unlisted, member)
                yield self._finished(found, resource, losses)
                return
            if (skimmed := self._usual(data, member, resource)) is not None:
                self._noted(unlisted, member)
                yield self._finished(skimmed, resource, losses)
                return
            root = parse_document(data, member, losses)
        except QbankError as fault:
            self._reading.fail(member, fault)
            return
        name = local(str(root.tag))
        if not self._reading.format and name in ("assessmentItem", "questestinterop"):
            self._reading.format = format_of_root(root)
        if name == "assessmentItem":
            self._noted(unlisted, member)
            if resource is not None and "item" not in resource.kind:
                losses.add("resource-type", f"an item is listed as '{resource.kind}'", root)
            reader = partial(read_qti_item, mathml=self._whole)
            for read in self._read(root, member, resource, losses, reader):
                yield replace(read, document=data)
        elif name in ("questestinterop", "item"):
            self._noted(unlisted, member)
            if resource is not None and "qti" not in resource.kind:
                losses.add("resource-type", f"items are listed as '{resource.kind}'", root)
            yield from self._asi(root, member, resource, losses)
        elif name == "assessmentTest":
            yield from self._test(root, member)
        else:
            kind = resource.kind if resource is not None else f"<{etree.QName(root).localname}>"
            self._others[kind] = self._others.get(kind, 0) + 1

    def _noted(self, unlisted: bool, member: str) -> None:
        if unlisted:
            self._losses.add("unlisted", f"the manifest does not list '{member}', which is read")

    def _own_item(self, data: bytes, member: str) -> ReadItem | None:
        """An item of our own making by its exact reader; None where that fails."""
        try:
            read = self._package.read if self._whole else self._package.glance
            item = qti_readback.read_item(data, member, read, whole=self._whole)
        except _FAULTS:
            return None
        return ReadItem(item, Place(member, 1, 1))

    def _usual(self, data: bytes, member: str, resource: Resource | None) -> ReadItem | None:
        """An item of QTI 1.2.1 in our own words, where less than the whole is wanted."""
        if self._whole or self._tolerant or (resource is not None and "qti" not in resource.kind):
            return None
        folder = member.rpartition("/")[0]
        found = usual_item(data, member, lambda href: self._lookup.glance(folder, href))
        if found is None:
            return None
        if not self._reading.format:
            self._reading.format = "qti-1.2"
        if not found.item.language:
            found = replace(found, item=replace(found.item, language=self._head.language))
        return found

    def _test(self, root: etree._Element, member: str) -> Iterator[ReadItem]:
        """A test: what it says is lost, the items it names that nothing lists are read."""
        if not self._reading.title:
            self._reading.title = root.get("title") or ""
        is_ours = root.get("toolName") == "qbank" or root.get("tool-name") == "qbank"
        if not is_ours or self._tolerant:
            self._losses.add("test", f"sections, selection and order of the test '{member}' "
                             "are not kept")  # fmt: skip
        if self._lookup.manifest:
            return
        folder = member.rpartition("/")[0]
        for reference in root.iter("{*}assessmentItemRef", "{*}qti-assessment-item-ref"):
            href = reference.get("href") or ""
            found = self._lookup.find(folder, href)
            if found is None:
                line = reference.sourceline
                place = Place(member, line if isinstance(line, int) else 1, 1)
                said = f"the item '{href[:100]}' is not there"
                self._reading.unreadable.append(Loss("missing", place, "", said))
            elif found not in self._seen:
                yield from self._document(found, None)

    def _asi(
        self, root: etree._Element, member: str, resource: Resource | None, losses: Losses
    ) -> Iterator[ReadItem]:
        """The items of a document of QTI 1.2.1, in sections, assessments and object banks."""
        title = next((e.get("title") for e in root.iter("{*}assessment") if e.get("title")), "")
        if title and not self._reading.title:
            self._reading.title = title
        for element in root.iter("{*}itemref", "{*}sectionref", "{*}selection_ordering",
                                 "{*}selection"):  # fmt: skip
            if local(str(element.tag)).endswith("ref"):
                self._losses.add(
                    "reference",
                    f"references in '{member}' are not followed: items are read where they stand",
                )
            else:
                self._losses.add("test", f"selection and order in '{member}' are not kept")
        folder = member.rpartition("/")[0]
        glance: Callable[[str], bytes] | None = None
        if not self._whole and not self._tolerant:

            def glance(href: str) -> bytes:
                return self._lookup.glance(folder, href)

        items = [root] if local(str(root.tag)) == "item" else root.iter("{*}item")
        first = True
        for element in items:
            mine = losses if first else Losses(member)
            first = False

            def read(
                item: etree._Element, name: str, reach: Callable[[str], bytes], kept: Losses
            ) -> ReadItem:
                return read_asi_item(item, name, reach, kept, self._head.language, glance)

            yield from self._read(element, member, resource, mine, read)

    def _read(
        self,
        element: etree._Element,
        member: str,
        resource: Resource | None,
        losses: Losses,
        read: Callable[[etree._Element, str, Callable[[str], bytes], Losses], ReadItem],
    ) -> Iterator[ReadItem]:
        folder = member.rpartition("/")[0]
        try:
            found = read(element, member, lambda href: self._lookup.read(folder, href), losses)
        except _FAULTS as fault:
            line = element.sourceline
            name = element.get("identifier") or element.get("ident") or ""
            self._reading.fail(member, fault, line if isinstance(line, int) else 1, name)
            return
        yield self._finished(found, resource, losses)

    def _finished(self, found: ReadItem, resource: Resource | None, losses: Losses) -> ReadItem:
        """The item with what the manifest says of it, under a name of its own."""
        item = found.item
        losses.found = list(found.losses)
        name = self._unique.name(item.identifier, losses)
        if name != item.identifier:
            item = replace(item, identifier=name)
        if resource is not None:
            told(resource, name, losses)
            item = replace(
                item,
                title=item.title or resource.title,
                language=item.language or resource.language or self._head.language,
                metadata=item.metadata if resource.metadata == _NO_METADATA else resource.metadata,
                provenance=resource.provenance or item.provenance,
            )
        if not item.language:
            losses.item = name
            losses.add("language", f"the item names no language: '{UNDETERMINED}' stands for it")
            item = replace(item, language=UNDETERMINED)
        return ReadItem(item, found.place, tuple(losses.found))
