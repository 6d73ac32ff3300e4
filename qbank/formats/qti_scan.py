"""Reading the manifest and the test of a bank as streams, keeping little of either.

Each entry is judged alone and then dropped, and of names only 64-bit hashes are kept, so that
memory hardly grows with the count. A name is spelled out, by a second reading, only when
something is wrong with it.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import IO
from urllib.parse import unquote

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.base import Finding
from qbank.formats.dialects import Dialect
from qbank.formats.grammar import Grammar, grammar
from qbank.formats.qti_tree import attribute, local

MANIFEST = "imsmanifest.xml"
MANY = 20  # findings of one kind that are spelled out
_KEPT = ("assessmentSection", "file")  # few, and judged with what they are in
KINDS = ("resource", "file", "dependency", "reference", "section", "href")


class Names:
    """Names by their hash, 8 bytes each: of a million, two collide once in ten million banks."""

    def __init__(self) -> None:
        self._hashes = array("q")

    def add(self, name: str) -> None:
        self._hashes.append(hash(name))

    def __len__(self) -> int:
        return len(self._hashes)

    def repeated(self) -> set[int]:
        """The hashes of names that were added twice."""
        return {a for a, b in pairwise(sorted(self._hashes)) if a == b}

    def without(self, other: Names) -> set[int]:
        """The hashes of names that are here and not there."""
        return set(self._hashes).difference(other._hashes)


class Scan:
    """What one document names, kind by kind, and what is wrong with it.

    With `wanted` it keeps no hashes but spells the names that have one of those.
    """

    def __init__(self, wanted: set[int] | None = None) -> None:
        self.names = {kind: Names() for kind in KINDS}
        self.findings: list[Finding] = []
        self.missing: list[str] = []  # files listed and not there
        self.items = 0
        self.spelled: set[str] = set()
        self._wanted = wanted

    def note(self, kind: str, name: str) -> None:
        """Take down a name; hrefs are percent-decoded first, by the caller."""
        if self._wanted is None:
            self.names[kind].add(name)
        elif hash(name) in self._wanted:
            self.spelled.add(name)


def manifest_grammar(dialect: Dialect) -> Grammar:
    """The grammar of a version's manifest."""
    return grammar(f"manifest-{dialect.name.removeprefix('qti-')}")


def stream(source: IO[bytes], member: str, *names: str) -> Iterator[etree._Element]:
    """Each element of these 2.1 names at its end, then the root.

    Of a run of equal siblings only the first and the last stay in the tree, but of sections
    and files all. Raises QbankError when the document is not well-formed or declares a
    document type.
    """
    head = source.read(4096)
    if b"<!DOCTYPE" in head or b"<!ENTITY" in head or b"\0" in head:
        raise QbankError(f"'{member}' declares a document type or is not UTF-8")
    source.seek(0)
    events = etree.iterparse(
        source,
        events=("end",),
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        remove_comments=True,
        remove_pis=True,
    )
    # LOM has a `resource` of its own: only the root's namespace counts.
    space: str | None = None
    try:
        for _, element in events:
            if (kind := local(element.tag)) not in names:
                continue
            if space is None:
                space = etree.QName(element.getroottree().getroot()).namespace
            if etree.QName(element).namespace != space:
                continue
            yield element
            if kind not in _KEPT:
                _drop_before(element)
    except etree.XMLSyntaxError as fault:
        raise QbankError(f"'{member}' is not well-formed XML: {fault.msg}") from fault
    if events.root is not None:
        yield events.root


def _drop_before(element: etree._Element) -> None:
    """Drop the sibling before, when it is neither another kind nor the first of its run."""
    before = element.getprevious()
    first = None if before is None else before.getprevious()
    parent = element.getparent()
    if before is None or first is None or parent is None:
        return
    if first.tag == before.tag == element.tag:
        parent.remove(before)


def scan_manifest(
    dialect: Dialect,
    source: IO[bytes],
    holds: Callable[[str], bool],
    wanted: set[int] | None = None,
) -> Scan:
    """Read a manifest; `holds` says whether the package has a member."""
    scan = Scan(wanted)
    rules = manifest_grammar(dialect)
    for element in stream(source, MANIFEST, "resource", "dependency", "file"):
        kind = local(element.tag)
        if kind == "manifest":
            scan.findings.extend(rules.iter_findings(element, MANIFEST))
        elif kind == "dependency":
            scan.note("dependency", attribute(element, "identifierref"))
            if len(scan.findings) < MANY:
                scan.findings.extend(rules.iter_findings(element, MANIFEST, "dependency"))
        elif kind == "file":
            path = unquote(attribute(element, "href"))
            scan.note("file", path)
            if len(scan.missing) < MANY and not holds(path):
                scan.missing.append(path)
        else:
            scan.note("resource", attribute(element, "identifier"))
            scan.note("href", unquote(attribute(element, "href")))
            if attribute(element, "type") == dialect.item_type:
                scan.items += 1
            if len(scan.findings) < MANY:
                scan.findings.extend(rules.iter_findings(element, MANIFEST, "resource"))
    return scan


def scan_test(
    dialect: Dialect, source: IO[bytes], member: str, wanted: set[int] | None = None
) -> Scan:
    """Read a test."""
    scan = Scan(wanted)
    rules = grammar(dialect.name)
    for element in stream(source, member, "assessmentItemRef", "assessmentSection"):
        kind = local(element.tag)
        if kind == "assessmentTest":
            scan.findings.extend(rules.iter_findings(element, member))
        elif kind == "assessmentSection":
            scan.note("section", attribute(element, "identifier"))
        else:
            scan.note("reference", attribute(element, "identifier"))
            scan.note("href", unquote(attribute(element, "href")))
            if len(scan.findings) < MANY:
                scan.findings.extend(rules.iter_findings(element, member, "assessmentItemRef"))
    return scan
