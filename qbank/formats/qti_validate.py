"""Whether a QTI package holds together: every member by its grammar, and the references between
items, test and manifest.

The manifest and the test of a large bank are read as streams, each entry judged alone and then
dropped; of names only 64-bit hashes are kept, so memory hardly grows with the count. A name is
spelled out, by a second reading, only when something is wrong with it.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager
from itertools import pairwise
from typing import IO, Protocol
from urllib.parse import unquote

from lxml import etree

from qbank.errors import CheckFailed, QbankError
from qbank.formats.base import Finding
from qbank.formats.dialects import Dialect
from qbank.formats.grammar import grammar
from qbank.formats.item_judge import ItemJudge, plain_text
from qbank.formats.package import Package
from qbank.formats.qti_tree import attribute, local

MANIFEST = "imsmanifest.xml"
MANY = 20  # findings of one kind that are spelled out
_ENTRY = re.compile(r"<entry>[^<]+<")


class Members(Protocol):
    """What a package holds, as far as references between its members need it."""

    def open(self, name: str) -> AbstractContextManager[IO[bytes]]: ...

    def holds(self, name: str) -> bool: ...

    def item_count(self) -> int: ...


# ---------------------------------------------------------------------------- streams


class _Names:
    """Names by their hash: 8 bytes each. Two of 10**6 names collide once in 10**7 banks."""

    def __init__(self) -> None:
        self._hashes = array("q")

    def add(self, name: str) -> None:
        self._hashes.append(hash(name))

    def __len__(self) -> int:
        return len(self._hashes)

    def repeated(self) -> set[int]:
        ordered = sorted(self._hashes)
        return {a for a, b in pairwise(ordered) if a == b}

    def without(self, other: _Names) -> set[int]:
        """The hashes of names that are here and not there."""
        return set(self._hashes).difference(other._hashes)


_NAMED = ("resource", "file", "dependency", "reference", "href")


class _Scan:
    """What one streamed document names, kind by kind, and what is wrong with its entries."""

    def __init__(self, wanted: set[int] | None = None) -> None:
        self.names = {kind: _Names() for kind in _NAMED}
        self.findings: list[Finding] = []
        self.items = 0
        self.spelled: set[str] = set()
        self._wanted = wanted

    def note(self, kind: str, name: str) -> None:
        if self._wanted is None:
            self.names[kind].add(name)
        elif hash(name) in self._wanted:
            self.spelled.add(name)


def stream(source: IO[bytes], member: str, *names: str) -> Iterator[etree._Element]:
    """Each element of these 2.1 names at its end, then the root.

    Of a run of equal siblings only the first and the last stay in the tree, but of sections all.
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
    try:
        space: str | None = (
            None  # LOM has a `resource` of its own: only the root's namespace counts
        )
        for _, element in events:
            if (kind := local(element.tag)) not in names:
                continue
            if space is None:
                space = etree.QName(element.getroottree().getroot()).namespace
            if etree.QName(element).namespace != space:
                continue
            yield element
            if kind == "assessmentSection":
                continue
            before = element.getprevious()
            if before is not None and before.tag == element.tag:
                first = before.getprevious()
                if first is not None and first.tag == before.tag:
                    parent = element.getparent()
                    assert parent is not None  # noqa: S101 - an element with siblings has one
                    parent.remove(before)
    except etree.XMLSyntaxError as fault:
        raise QbankError(f"'{member}' is not well-formed XML: {fault.msg}") from fault
    if events.root is not None:
        yield events.root


def _scan_manifest(
    dialect: Dialect, source: IO[bytes], *, judge: bool, wanted: set[int] | None = None
) -> _Scan:
    scan = _Scan(wanted)
    rules = grammar(f"manifest-{dialect.name.removeprefix('qti-')}")
    for element in stream(source, MANIFEST, "resource", "dependency", "file"):
        kind = local(element.tag)
        if kind == "manifest":
            scan.findings.extend(rules.iter_findings(element, MANIFEST))
        elif kind == "dependency":
            scan.note("dependency", attribute(element, "identifierref"))
        elif kind == "file":
            scan.note("file", unquote(attribute(element, "href")))
        else:
            scan.note("resource", attribute(element, "identifier"))
            scan.note("href", unquote(attribute(element, "href")))
            if attribute(element, "type") == dialect.item_type:
                scan.items += 1
            if judge and len(scan.findings) < MANY:
                scan.findings.extend(rules.iter_findings(element, MANIFEST, "resource"))
    return scan


def _scan_test(
    dialect: Dialect, source: IO[bytes], member: str, *, wanted: set[int] | None = None
) -> _Scan:
    scan = _Scan(wanted)
    rules = grammar(dialect.name)
    for element in stream(source, member, "assessmentItemRef", "assessmentSection"):
        kind = local(element.tag)
        if kind == "assessmentItemRef":
            scan.note("reference", attribute(element, "identifier"))
            scan.note("href", unquote(attribute(element, "href")))
            if len(scan.findings) < MANY:
                scan.findings.extend(rules.iter_findings(element, member, "assessmentItemRef"))
        elif kind == "assessmentTest":
            scan.findings.extend(rules.iter_findings(element, member))
        else:
            scan.note("resource", attribute(element, "identifier"))
    return scan


# ---------------------------------------------------------------------------- the package


def iter_package_findings(
    dialect: Dialect, members: Members, test: str, *, judge_resources: bool
) -> Iterator[Finding]:
    """Faults of the manifest and the test, and of the references between all members.

    With `judge_resources` unset the resources of the manifest are taken as judged already.
    """
    with members.open(MANIFEST) as source:
        manifest = _scan_manifest(dialect, source, judge=judge_resources)
    with members.open(test) as source:
        tested = _scan_test(dialect, source, test)
    yield from manifest.findings
    yield from tested.findings

    def spell(hashes: set[int], *, in_test: bool) -> list[str]:
        with members.open(test if in_test else MANIFEST) as again:
            if in_test:
                scan = _scan_test(dialect, again, test, wanted=hashes)
            else:
                scan = _scan_manifest(dialect, again, judge=False, wanted=hashes)
        return sorted(scan.spelled)[:MANY]

    named, asked = manifest.names, tested.names
    checks: tuple[tuple[str, str, set[int], bool, str], ...] = (
        ("manifest.unique", "two resources are called", named["resource"].repeated(), False, "8"),
        (
            "manifest.dependency",
            "a dependency names no resource:",
            named["dependency"].without(named["resource"]),
            False,
            "3",
        ),
        (
            "manifest.file",
            "the href of a resource is none of its files:",
            named["href"].without(named["file"]),
            False,
            "3",
        ),
        ("manifest.listed-once", "two resources list", named["file"].repeated(), False, "3"),
        ("test.unique", "two references are called", asked["reference"].repeated(), True, "8"),
        ("test.section-unique", "two sections are called", asked["resource"].repeated(), True, "8"),
        (
            "test.href",
            "an item reference points to what no resource is:",
            asked["href"].without(named["href"]),
            True,
            "6",
        ),
    )
    for rule, said, hashes, in_test, defect in checks:
        if hashes:
            member = test if in_test else MANIFEST
            for name in spell(hashes, in_test=in_test):
                yield Finding(rule, member, f"{said} '{name}'", None, _source(defect))
    if len(named["dependency"]) != manifest.items:
        said = f"the test depends on {len(named['dependency'])} of {manifest.items} items"
        yield Finding("manifest.test-dependencies", MANIFEST, said, None, _source("7"))
    if len(asked["href"]) != manifest.items:
        said = f"the test refers to {len(asked['href'])} of {manifest.items} items"
        yield Finding("test.complete", test, said, None, _source("7"))
    if members.item_count() != manifest.items:
        said = f"{manifest.items} items are listed, {members.item_count()} are in the package"
        yield Finding("manifest.complete", MANIFEST, said, None, _source("3, 4"))
    with members.open(MANIFEST) as source:
        missing: Iterable[str] = (
            href
            for element in stream(source, MANIFEST, "file")
            if local(element.tag) == "file"
            and not members.holds(href := unquote(attribute(element, "href")))
        )
        for _, href in zip(range(MANY), missing, strict=False):
            said = f"the file '{href}' is listed but not in the package"
            yield Finding("manifest.href", MANIFEST, said, None, _source("3"))


def _source(defect: str) -> str:
    return f"mapping h, defect {defect}"


class ResourceJudge:
    """Judges the manifest's entry of each item; entries that differ in names alone once."""

    def __init__(self, dialect: Dialect) -> None:
        self._rules = grammar(f"manifest-{dialect.name.removeprefix('qti-')}")
        self._namespace = dialect.manifest_namespace
        self._accepted: set[str] = set()

    def ensure(self, identifier: str, entry: str) -> None:
        """Raise CheckFailed with the findings when an entry breaks a rule of the manifest.

        What may differ from an accepted entry is the item's identifier, an NCName already, and
        the text of catalogue entries, which is free.
        """
        key = _ENTRY.sub("<entry>.<", entry).replace(identifier, "\0")
        if key in self._accepted and plain_text(entry.encode()):
            return
        wrapped = f'<resources xmlns="{self._namespace}">{entry}</resources>'
        try:
            resource = etree.fromstring(wrapped)[0]
        except etree.XMLSyntaxError as fault:
            raise CheckFailed(
                f"the manifest's entry of '{identifier}' is not well-formed: {fault.msg}"
            ) from fault
        findings = list(self._rules.iter_findings(resource, MANIFEST, "resource"))
        if findings:
            raise CheckFailed(
                f"the manifest's entry of '{identifier}' breaks {len(findings)} rules",
                hint="\n    ".join(map(str, findings[:10])),
            )
        if len(self._accepted) < MANY * MANY:
            self._accepted.add(key)


def ensure_package(dialect: Dialect, members: Members, test: str) -> None:
    """Raise CheckFailed unless the manifest, the test and all references are sound."""
    findings = list(iter_package_findings(dialect, members, test, judge_resources=False))
    if findings:
        raise CheckFailed(
            f"the package written breaks {len(findings)} rules",
            hint="\n    ".join(map(str, findings[:10])),
        )


def iter_findings(dialect: Dialect, package: Package) -> Iterator[Finding]:
    """Every fault of a package: of each item, of the manifest, of the test, of the references.

    Raises QbankError when a member cannot be read or is not well-formed where that ends it all.
    """
    listed = _PackageMembers(package)
    if not listed.holds(MANIFEST):
        said = f"the package has no {MANIFEST} at its root"
        yield Finding("package.manifest", MANIFEST, said, None, _source("2"))
        return
    judge = ItemJudge(dialect)
    test = ""
    with package.open(MANIFEST) as source:
        for element in stream(source, MANIFEST, "resource"):
            href = unquote(attribute(element, "href"))
            if local(element.tag) != "resource" or not listed.holds(href):
                continue
            if attribute(element, "type") == dialect.test_type:
                test = href
            elif attribute(element, "type") == dialect.item_type:
                findings, _ = judge.findings(href, package.read(href))
                yield from findings
    if not test:
        yield Finding("package.test", MANIFEST, "no test is listed and there", None, _source("6"))
        return
    yield from iter_package_findings(dialect, listed, test, judge_resources=True)


class _PackageMembers:
    """A package on disk, as `Members`."""

    def __init__(self, package: Package) -> None:
        self._package = package
        self._names = frozenset(package.names)

    def open(self, name: str) -> AbstractContextManager[IO[bytes]]:
        return self._package.open(name)

    def holds(self, name: str) -> bool:
        return name in self._names

    def item_count(self) -> int:
        return len(self._package.names) - 2  # all but the manifest and the test
