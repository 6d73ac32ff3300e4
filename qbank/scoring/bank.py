"""Finding the item to score: in a package, a folder, a file, or bytes that hold one of them."""

from __future__ import annotations

import posixpath
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path, PurePosixPath
from urllib.parse import unquote

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.package import Package
from qbank.formats.validate import open_package
from qbank.scoring.assessment import ScoredTest
from qbank.scoring.compiled import item_of
from qbank.scoring.documents import read_document
from qbank.scoring.faults import ScoringError
from qbank.scoring.item import ScoredItem
from qbank.scoring.item12 import ScoredItem12
from qbank.scoring.names import name_of_tag

MANIFEST = "imsmanifest.xml"
MAX_MANIFEST = 1 << 29
_EXPECTED = "expected an item's .xml file, a zip file, or the folder it was unpacked to"
Source = str | Path | bytes
Scorable = ScoredItem | ScoredItem12


def find_item(source: Source, item: str | None = None) -> Scorable:
    """The item of that identifier, or file name, in a package; the only one when none is named.

    Raises QbankError when the source cannot be read, holds no such item, or holds several and
    none is named.
    """
    with _opened(source) as holder:
        if isinstance(holder, Package):
            return _in_package(holder, item, _called(source))
        name = "the document" if isinstance(source, bytes) else f"'{source}'"
        return _pick(_items_in(holder, name), item, name)


def find_test(source: Source) -> ScoredTest:
    """The test in a package, its items read as they are met.

    Raises QbankError when the source cannot be read or holds no test.
    """
    with _opened(source) as holder:
        if not isinstance(holder, Package):
            raise ScoringError("a test is scored with its items, so from a package")
        for name in _test_members(holder):
            root = read_document(holder.read(name, MAX_MANIFEST), name, MAX_MANIFEST)
            if name_of_tag(root.tag) == "assessmentTest":
                return ScoredTest(root, _Files(source, PurePosixPath(name).parent))
        raise ScoringError(f"{_called(source)} holds no test of QTI 2.x or 3.0")


class _Files:
    """Reads what a test refers to, from the test's own place in the package."""

    def __init__(self, source: Source, folder: PurePosixPath) -> None:
        self._source = source
        self._folder = folder
        self._package: Package | None = None

    @contextmanager
    def opened(self) -> Iterator[Package]:
        """The package stays open, so that its directory is read once for many items."""
        if self._package is not None:
            yield self._package
            return
        with _opened(self._source) as holder:
            if not isinstance(holder, Package):
                raise ScoringError("a test is scored with its items, so from a package")
            self._package = holder
            try:
                yield holder
            finally:
                self._package = None

    def item(self, href: str) -> ScoredItem:
        data, path = self._read(href)
        return item_of(read_document(data, path), path, data)

    def section(self, href: str) -> etree._Element:
        data, path = self._read(href)
        return read_document(data, path)

    def _read(self, href: str) -> tuple[bytes, str]:
        path = posixpath.normpath((self._folder / unquote(href)).as_posix())
        with self.opened() as package:
            if not package.holds(path):
                raise ScoringError(f"the test refers to '{href}', which the package does not hold")
            return package.read(path), path


def _called(source: Source) -> str:
    return "the package" if isinstance(source, bytes) else f"'{source}'"


def _test_members(package: Package) -> list[str]:
    """The documents that may be a test: by the manifest, else all that end in .xml."""
    if MANIFEST in package.names:
        found = [
            unquote(resource.get("href") or "")
            for resource in read_manifest(package).iter("{*}resource")
            if "test" in (resource.get("type") or "")
        ]
        found = [href for href in found if package.holds(href)]
        if found:
            return found
    return [n for n in package.names if n.lower().endswith(".xml") and n != MANIFEST]


@contextmanager
def _opened(source: Source) -> Iterator[Package | bytes]:
    """A package, or the bytes of a document."""
    if isinstance(source, bytes):
        if not source.startswith(b"PK"):
            yield source
            return
        with tempfile.NamedTemporaryFile(suffix=".zip") as file:
            file.write(source)
            file.flush()
            with Package(Path(file.name)) as package:
                yield package
        return
    path = Path(source)
    try:
        bare = path.is_file() and not zipfile.is_zipfile(path)
        document = path.read_bytes() if bare and path.suffix.lower() == ".xml" else None
    except (OSError, ValueError) as fault:
        said = getattr(fault, "strerror", None) or fault
        raise ScoringError(f"cannot read '{path}': {said}", hint=_EXPECTED) from fault
    if document is not None:
        yield document
        return
    if bare:
        raise ScoringError(f"'{path}' is no package of QTI", hint=_EXPECTED)
    with open_package(path) as package:
        yield package


@dataclass(frozen=True, slots=True)
class _Member:
    """A document of a package that may hold items."""

    href: str
    identifier: str  # of its resource in the manifest


def _in_package(package: Package, item: str | None, said: str) -> Scorable:
    members = _members(package)
    if not members:
        raise ScoringError(
            f"{said} holds no items of QTI",
            hint="expected an item or a package of QTI 1.2.1, 2.1, 2.2 or 3.0",
        )
    if item is None:
        if len(members) > 1:
            raise _ambiguous(said, [m.identifier for m in members])
        member = members[0]
        return _pick(_items_in(package.read(member.href), member.href), None, member.href)
    for member in members:
        path = PurePosixPath(member.href)
        if item in (member.identifier, member.href, path.name, path.stem):
            found = _items_in(package.read(member.href), member.href)
            named = [it for it in found if _identifier(it) == item]
            return _pick(named or found, None, member.href)
    mark = item.encode()
    names = [m.identifier for m in members]
    for member in members:
        data = package.read(member.href)
        if mark in data:
            found = _items_in(data, member.href)
            names.extend(map(_identifier, found))
            named = [it for it in found if _identifier(it) == item]
            if named:
                return _made(named[0])
    raise _missing(item, said, names)


def _members(package: Package) -> list[_Member]:
    """The documents that the manifest calls items, else all that end in .xml."""
    members = []
    if MANIFEST in package.names:
        root = read_manifest(package)
        for resource in root.iter("{*}resource"):
            href = unquote(resource.get("href") or "")
            kind = resource.get("type") or ""
            is_item = kind.startswith(("imsqti_item", "imsqti_xmlv1p"))
            if is_item and package.holds(href):
                members.append(_Member(href, resource.get("identifier") or href))
    if not members:
        members = [
            _Member(name, PurePosixPath(name).stem)
            for name in package.names
            if name.lower().endswith(".xml") and name != MANIFEST
        ]
        members = [m for m in members if _holds_items(package.read(m.href))]
    return members


def read_manifest(package: Package) -> etree._Element:
    """The manifest's root."""
    return read_document(package.read(MANIFEST, MAX_MANIFEST), MANIFEST, MAX_MANIFEST)


def _holds_items(data: bytes) -> bool:
    try:
        return bool(_items_in(data, ""))
    except QbankError:
        return False


def _items_in(data: bytes, name: str) -> list[etree._Element]:
    """The item elements of a document."""
    root = read_document(data, name)
    kind = name_of_tag(root.tag)
    if kind == "assessmentItem":
        return [root]
    if kind == "questestinterop":
        return list(root.iter("{*}item"))
    raise ScoringError(
        f"{name} is no item: it is <{etree.QName(root).localname}>",
        hint="expected an assessmentItem of QTI 2.x or 3.0, or a questestinterop of 1.2.1",
    )


def _pick(items: list[etree._Element], item: str | None, name: str) -> Scorable:
    if item is not None:
        names = [_identifier(element) for element in items]
        items = [element for element in items if _identifier(element) == item]
        if not items:
            raise _missing(item, name, names)
    if not items:
        raise ScoringError(f"{name} holds no item")
    if len(items) > 1:
        raise _ambiguous(name, [_identifier(element) for element in items])
    return _made(items[0])


def _identifier(element: etree._Element) -> str:
    return element.get("identifier") or element.get("ident") or ""


def _made(element: etree._Element) -> Scorable:
    if name_of_tag(element.tag) == "assessmentItem":
        return ScoredItem(element)
    return ScoredItem12(element)


def _ambiguous(name: str, names: list[str]) -> ScoringError:
    return ScoringError(
        f"{name} holds {len(names)} items", hint=f"name one of them: {_first_few(names)}"
    )


def _missing(item: str, name: str, names: list[str]) -> ScoringError:
    near = get_close_matches(item, names, n=1, cutoff=0.5)
    hint = f"did you mean '{near[0]}'?" if near else f"it holds: {_first_few(names)}"
    return ScoringError(f"{name} holds no item '{item}'", hint=hint)


def _first_few(names: list[str]) -> str:
    return ", ".join(names[:5]) + (", ..." if len(names) > 5 else "")
