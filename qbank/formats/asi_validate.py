"""Packages with items of QTI 1.2.1: their manifest, their test, and what refers to what.

Both are read as streams, and of names only hashes are kept; see `qti_scan`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from typing import IO
from urllib.parse import unquote

from lxml import etree

from qbank.errors import CheckFailed, QbankError
from qbank.formats import asi_references
from qbank.formats.asi_versions import AsiVersion
from qbank.formats.base import Finding
from qbank.formats.grammar import grammar, parse
from qbank.formats.qti_scan import MANIFEST, MANY, Names, Scan, stream
from qbank.formats.qti_tree import attribute, children, local

Spell = Callable[[set[int]], set[str]]


def document_findings(
    version: AsiVersion, member: str, data: bytes, files: Collection[str] = ()
) -> list[Finding]:
    """The judgement in full of a document with one item or a bank of them."""
    try:
        root = parse(data, member)
    except QbankError as fault:
        return [Finding("xml.well-formed", member, fault.message, None, "XML 1.0")]
    found = list(grammar(version.name).iter_findings(root, member))
    if not found:
        for item in children(root, "item"):
            found.extend(asi_references.iter_findings(item, member, files))
    return found


def item_findings(
    version: AsiVersion, item: etree._Element, member: str, files: Collection[str]
) -> list[Finding]:
    """The judgement in full of one item of a bank, by the rules of cartridges besides."""
    return list(grammar(version.name).iter_findings(item, member, "item")) or [
        *asi_references.iter_findings(item, member, files),
        *asi_references.profile_findings(item, member),
    ]


def scan_manifest(
    version: AsiVersion,
    source: IO[bytes],
    holds: Callable[[str], bool],
    wanted: set[int] | None = None,
) -> Scan:
    """Read a manifest; `holds` says whether the package has a member."""
    scan = Scan(wanted)
    rules = grammar(version.manifest_grammar)
    source.seek(0)
    for element in stream(source, MANIFEST, "resource", "dependency", "file"):
        kind = local(element.tag)
        if kind == "manifest":
            scan.findings.extend(rules.iter_findings(element, MANIFEST))
        elif kind == "dependency":
            scan.note("dependency", attribute(element, "identifierref"))
        elif kind == "file":
            path = unquote(attribute(element, "href"))
            scan.note("file", path)
            if len(scan.missing) < MANY and not holds(path):
                scan.missing.append(path)
        else:
            scan.note("resource", attribute(element, "identifier"))
            if href := unquote(attribute(element, "href")):
                scan.note("href", href)
            if attribute(element, "type") == version.bank_type:
                scan.items += 1
            if len(scan.findings) < MANY:
                scan.findings.extend(rules.iter_findings(element, MANIFEST, "resource"))
    return scan


def iter_manifest_findings(
    version: AsiVersion, source: IO[bytes], holds: Callable[[str], bool], members: int
) -> Iterator[Finding]:
    """Faults of a manifest; `members` is how many files it should list."""
    scan = scan_manifest(version, source, holds)
    yield from scan.findings
    names = scan.names
    checks = (
        ("manifest.unique", "two resources are called", names["resource"].repeated(), "8"),
        (
            "manifest.dependency",
            "a dependency names no resource:",
            names["dependency"].without(names["resource"]),
            "3",
        ),
        (
            "manifest.file",
            "the href of a resource is none of its files:",
            names["href"].without(names["file"]),
            "3",
        ),
        ("manifest.listed-once", "two resources list", names["file"].repeated(), "3"),
    )
    yield from _spelled(
        MANIFEST, checks, lambda hashes: scan_manifest(version, source, holds, hashes).spelled
    )
    for path in scan.missing:
        said = f"the file '{path}' is listed but not in the package"
        yield Finding("manifest.href", MANIFEST, said, None, _source("3"))
    if len(names["file"]) != members:
        said = f"the manifest lists {len(names['file'])} files, there are {members} beside it"
        yield Finding("manifest.complete", MANIFEST, said, None, _source("3, 4"))


def scan_test(
    version: AsiVersion, source: IO[bytes], member: str, wanted: set[int] | None = None
) -> Scan:
    """Read an assessment of references to items."""
    scan = Scan(wanted)
    rules = grammar(version.name)
    source.seek(0)
    for element in stream(source, member, "itemref", "section"):
        kind = local(element.tag)
        if kind == "itemref":
            scan.note("reference", attribute(element, "linkrefid"))
        elif kind == "section":
            scan.note("section", attribute(element, "ident"))
            if len(scan.findings) < MANY:
                scan.findings.extend(rules.iter_findings(element, member, "section"))
        else:
            scan.findings.extend(rules.iter_findings(element, member))
    return scan


def iter_test_findings(
    version: AsiVersion, source: IO[bytes], member: str, items: Names
) -> Iterator[Finding]:
    """Faults of an assessment over those items."""
    scan = scan_test(version, source, member)
    yield from scan.findings
    references = scan.names["reference"]
    checks = (
        ("test.unique", "two references name", references.repeated(), "8"),
        ("test.section", "two sections are called", scan.names["section"].repeated(), "8"),
        ("test.item", "a reference names no item:", references.without(items), "6"),
    )
    yield from _spelled(
        member, checks, lambda hashes: scan_test(version, source, member, hashes).spelled
    )
    if len(references) != len(items):
        said = f"the test refers to {len(references)} items, not {len(items)}"
        yield Finding("test.complete", member, said, None, _source("7"))


def _spelled(
    member: str, checks: tuple[tuple[str, str, set[int], str], ...], spell: Spell
) -> Iterator[Finding]:
    for rule, said, hashes, defect in checks:
        if hashes:
            for name in sorted(spell(hashes))[:MANY]:
                yield Finding(rule, member, f"{said} '{name}'", None, _source(defect))


def repeated_items(member: str, items: Names) -> Iterator[Finding]:
    """A finding when two items of a package share their name."""
    if count := len(items.repeated()):
        said = f"{count} names are borne by more than one item"
        yield Finding("item.unique", member, said, None, _source("9"))


def refuse(what: str, findings: list[Finding]) -> None:
    """Raise CheckFailed with the findings when there are any."""
    if findings:
        raise CheckFailed(
            f"{what} breaks {len(findings)} of the rules for packages",
            hint="\n    ".join(map(str, findings[:10])),
        )


def _source(defect: str) -> str:
    return f"mapping h, defect {defect}"
