"""The last check of a QTI package before it is moved into place, on the text just written.

Entries of the manifest are judged by its grammar as they are written, those that differ in
nothing but identifier and index once. At the end both documents are read once more: what is not
an entry, with the first entry of each kind, is judged as a whole document by the grammar, and
the names in all entries by the rules on references. `qti_validate` does the same by parsing
everything; the tests hold both against each other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import IO

from lxml import etree

from qbank.errors import CheckFailed, QbankError
from qbank.formats.dialects import Dialect
from qbank.formats.grammar import Grammar, grammar, parse
from qbank.formats.metadata import item_metadata, metadata_structure
from qbank.formats.pictures import PicturePlace, images_of
from qbank.formats.qti_scan import MANIFEST, Scan, manifest_grammar
from qbank.formats.qti_validate import iter_reference_findings
from qbank.item import Item

ITEM_REF = '<assessmentItemRef identifier="%s" href="%s"/>\n'
DEPENDENCY = '<dependency identifierref="%s"/>\n'
RESOURCE_START = '<resource identifier="%s" type="%s" href="%s">\n'
FILE = '<file href="%s"/>\n'
RESOURCE_END = "</resource>\n"

_CHUNK = 1 << 18
_MOST_PLANS = 1000


class ManifestEntries:
    """Writes the manifest's entry of each item, and judges the first of each structure.

    Entries of one structure differ in the item's identifier, which is an NCName, its path, made
    of it, and its index, an integer.
    """

    def __init__(self, dialect: Dialect) -> None:
        self._dialect = dialect
        self._rules = manifest_grammar(dialect)
        self._plans: dict[Hashable, str] = {}

    def text(self, item: Item, path: str, *, template: bool = False) -> str:
        """The entry; `template` says that the item draws its own data.

        Raises CheckFailed with the findings when it breaks a rule.
        """
        folder = path.rpartition("/")[0]
        place = PicturePlace(item.identifier)
        pictures = tuple(
            [
                f"{folder}/{place.href(image)}".replace(item.identifier, "%(identifier)s")
                for image in images_of(item)
            ]
        )
        structure = (folder, pictures, template, *metadata_structure(item))
        plan = self._plans.get(structure)
        index = item.provenance.index if item.provenance else 0
        if plan is None:
            plan = self._plan(item, pictures, template)
            self._judge(plan % self._holes(item.identifier, path, index), item.identifier)
            if len(self._plans) >= _MOST_PLANS:
                self._plans.clear()
            self._plans[structure] = plan
        return plan % self._holes(item.identifier, path, index)

    @staticmethod
    def _holes(identifier: str, path: str, index: int) -> dict[str, str | int]:
        return {"identifier": identifier, "path": path, "index": index}

    def _plan(self, item: Item, pictures: tuple[str, ...], template: bool) -> str:
        mark = "\ue000entry-%s\ue001"  # no text of an item holds that
        identifier, index = mark % "identifier", mark % "index"
        metadata = item_metadata(item, self._dialect, identifier, index, template=template)
        metadata = metadata.replace("%", "%%")
        for name in ("identifier", "index"):
            metadata = metadata.replace(mark % name, f"%({name})s")
        start = RESOURCE_START % ("%(identifier)s", self._dialect.item_type, "%(path)s")
        files = "".join(FILE % file for file in ("%(path)s", *pictures))
        return start + metadata + files + RESOURCE_END

    def _judge(self, entry: str, identifier: str) -> None:
        try:
            wrapped = etree.fromstring(f'<a xmlns="{self._dialect.manifest_namespace}">{entry}</a>')
        except etree.XMLSyntaxError as fault:
            raise CheckFailed(
                f"the manifest's entry of '{identifier}' is not well-formed: {fault.msg}"
            ) from fault
        _refuse(list(self._rules.iter_findings(wrapped[0], MANIFEST, "resource")))


def ensure_package(
    dialect: Dialect,
    manifest: IO[bytes],
    test: IO[bytes],
    test_name: str,
    *,
    items: int,
    members: int,
    holds: Callable[[str], bool],
) -> None:
    """Raise CheckFailed unless the manifest, the test and all references are sound.

    `items` is how many items were written, `members` how many files but the manifest; `holds`
    says whether one was.
    """

    def spell(hashes: set[int], member: str) -> set[str]:
        if member == MANIFEST:
            return _scan_manifest(dialect, manifest, holds, hashes).spelled
        return _scan_test(dialect, test, test_name, hashes).spelled

    _refuse(
        list(
            iter_reference_findings(
                _scan_manifest(dialect, manifest, holds),
                _scan_test(dialect, test, test_name),
                test_name,
                (items, members),
                spell,
            )
        )
    )


def _scan_manifest(
    dialect: Dialect,
    source: IO[bytes],
    holds: Callable[[str], bool],
    wanted: set[int] | None = None,
) -> Scan:
    scan = Scan(wanted)

    opening = _pattern(RESOURCE_START % ("\0", dialect.item_type, "\0"))
    file = _pattern(FILE % "\0")
    dependency = _pattern(DEPENDENCY % "\0")
    frame = []

    def note_dependency(found: re.Match[bytes]) -> bytes:
        scan.note("dependency", found[1].decode())
        return found[0] if len(scan.names["dependency"]) == 1 else b""

    for piece in _pieces(source, b"</resource>\n"):
        start = opening.match(piece)
        # The files of a resource stand at its end, below its metadata.
        for found in file.finditer(piece, max(0, piece.rfind(b"</metadata>"))):
            path = found[1].decode()
            scan.note("file", path)
            if not holds(path):
                scan.missing.append(path)
        if start is None:  # what stands around the items: the head with the test, the tail
            frame.append(dependency.sub(note_dependency, piece))
            continue
        if not scan.items:
            frame.append(piece)
        scan.items += 1
        scan.note("resource", start[1].decode())
        scan.note("href", start[2].decode())
    _judge_frame(scan, manifest_grammar(dialect), b"".join(frame), MANIFEST)
    return scan


def _scan_test(
    dialect: Dialect, source: IO[bytes], member: str, wanted: set[int] | None = None
) -> Scan:
    scan = Scan(wanted)
    reference = _pattern(dialect.markup(ITEM_REF) % ("\0", "\0"))
    section = _pattern(dialect.markup('<assessmentSection identifier="%s"') % "\0")
    frame = []
    for line in _pieces(source, b"\n"):
        if found := reference.fullmatch(line):
            scan.note("reference", found[1].decode())
            scan.note("href", found[2].decode())
            scan.items += 1
            if scan.items > 1:
                continue
        elif found := section.match(line):
            scan.note("section", found[1].decode())
        frame.append(line)
    _judge_frame(scan, grammar(dialect.name), b"".join(frame), member)
    return scan


def _pattern(text: str) -> re.Pattern[bytes]:
    """A pattern for that text, in which each NUL stands for a name."""
    return re.compile(re.escape(text).replace("\0", '([^"<>&]*)').encode())


def _pieces(source: IO[bytes], boundary: bytes) -> Iterator[bytes]:
    """The bytes of a file in pieces that end with `boundary`, and what is left.

    Lines in which the boundary does not come for long are handed out without waiting for it.
    """
    source.seek(0)
    left = b""
    while data := source.read(_CHUNK):
        *whole, left = (left + data).split(boundary)
        for piece in whole:
            yield piece + boundary
        if len(left) > _CHUNK:
            lines, end, left = left.rpartition(b"\n")
            yield lines + end
    yield left


def _judge_frame(scan: Scan, rules: Grammar, frame: bytes, member: str) -> None:
    try:
        root = parse(frame, member)
    except QbankError as fault:
        raise CheckFailed(fault.message) from fault
    scan.findings.extend(rules.iter_findings(root, member))


def _refuse(findings: Sequence[object]) -> None:
    if findings:
        raise CheckFailed(
            f"the package written breaks {len(findings)} rules",
            hint="\n    ".join(map(str, findings[:10])),
        )
