"""Whether a QTI package holds together: every member by its grammar, and the references between
items, test and manifest."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from urllib.parse import unquote

from qbank.formats.base import Finding
from qbank.formats.dialects import Dialect
from qbank.formats.item_judge import item_findings
from qbank.formats.package import Package
from qbank.formats.qti_scan import MANIFEST, MANY, Scan, scan_manifest, scan_test, stream
from qbank.formats.qti_tree import attribute, children, local


def iter_findings(dialect: Dialect, package: Package) -> Iterator[Finding]:
    """Every fault of a package: of each item, of the manifest, of the test, of the references.

    Raises QbankError when a member cannot be read, or the manifest or the test is not
    well-formed.
    """
    names = frozenset(package.names)
    if MANIFEST not in names:
        said = f"the package has no {MANIFEST} at its root"
        yield Finding("package.manifest", MANIFEST, said, None, _source("2"))
        return
    if len(names) < len(package.names):
        said = "two members have the same path"
        yield Finding("package.unique", MANIFEST, said, None, _source("8"))
    test = ""
    with package.open(MANIFEST) as source:
        for element in stream(source, MANIFEST, "resource"):
            href = unquote(attribute(element, "href"))
            if local(element.tag) != "resource" or href not in names:
                continue
            if attribute(element, "type") == dialect.test_type:
                test = href
            elif attribute(element, "type") == dialect.item_type:
                own = {unquote(attribute(file, "href")) for file in children(element, "file")}
                yield from item_findings(dialect, href, package.read(href), own)
    if not test:
        yield Finding("package.test", MANIFEST, "no test is listed and there", None, _source("6"))
        return
    with package.open(MANIFEST) as source:
        manifest = scan_manifest(dialect, source, names.__contains__)
    with package.open(test) as source:
        tested = scan_test(dialect, source, test)

    def spell(hashes: set[int], member: str) -> set[str]:
        with package.open(member) as again:
            if member == MANIFEST:
                return scan_manifest(dialect, again, names.__contains__, hashes).spelled
            return scan_test(dialect, again, member, hashes).spelled

    counts = (manifest.items, len(package.names) - 1)
    yield from iter_reference_findings(manifest, tested, test, counts, spell)


def iter_reference_findings(
    manifest: Scan,
    tested: Scan,
    test: str,
    counted: tuple[int, int],
    spell: Callable[[set[int], str], set[str]],
) -> Iterator[Finding]:
    """Faults of the two documents and of the references between them and the members.

    `counted` is how many items there should be, and how many members there are but the manifest;
    `spell` finds the names of hashes in a document.
    """
    yield from manifest.findings
    yield from tested.findings
    named, asked = manifest.names, tested.names
    checks = (
        (MANIFEST, "manifest.unique", "two resources are called", named["resource"].repeated()),
        (
            MANIFEST,
            "manifest.dependency",
            "a dependency names no resource:",
            named["dependency"].without(named["resource"]),
        ),
        (
            MANIFEST,
            "manifest.file",
            "the href of a resource is none of its files:",
            named["href"].without(named["file"]),
        ),
        (MANIFEST, "manifest.listed-once", "two resources list", named["file"].repeated()),
        (test, "test.unique", "two references are called", asked["reference"].repeated()),
        (test, "test.section", "two sections are called", asked["section"].repeated()),
        (
            test,
            "test.href",
            "an item reference points to what no resource is:",
            asked["href"].without(named["href"]),
        ),
    )
    for member, rule, said, hashes in checks:
        if hashes:
            for name in sorted(spell(hashes, member))[:MANY]:
                yield Finding(rule, member, f"{said} '{name}'", None, _source(_DEFECTS[rule]))
    for path in manifest.missing:
        said = f"the file '{path}' is listed but not in the package"
        yield Finding("manifest.href", MANIFEST, said, None, _source("3"))
    items, members = counted
    counts = (
        ("manifest.items", "the manifest lists {} items, not {}", manifest.items, items, "3"),
        (
            "manifest.test-dependencies",
            "the test depends on {} items, not {}",
            len(named["dependency"]),
            items,
            "7",
        ),
        ("test.complete", "the test refers to {} items, not {}", len(asked["href"]), items, "7"),
        (
            "manifest.complete",
            "the manifest lists {} files, the package holds {} beside it",
            len(named["file"]),
            members,
            "3, 4",
        ),
    )
    for rule, what, count, wanted, defect in counts:
        if count != wanted:
            said = what.format(count, wanted)
            yield Finding(rule, MANIFEST, said, None, _source(defect))


_DEFECTS = {
    "manifest.unique": "8",
    "manifest.dependency": "3",
    "manifest.file": "3",
    "manifest.listed-once": "3",
    "test.unique": "8",
    "test.section": "8",
    "test.href": "6",
}


def _source(defect: str) -> str:
    return f"mapping h, defect {defect}"
