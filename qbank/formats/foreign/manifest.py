"""The manifest of a package of anyone's making, read as a stream: resources in its order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import IO

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.foreign.losses import Losses
from qbank.formats.qti_metadata import metadata_of, provenance_of
from qbank.formats.qti_tree import KINDS, text_of
from qbank.item import Metadata, Provenance

MANIFEST = "imsmanifest.xml"
_HEAD = 4096
_BASE = "{http://www.w3.org/XML/1998/namespace}base"


@dataclass(slots=True)
class Resource:
    """A resource as far as items need it."""

    kind: str  # its type
    href: str
    files: tuple[str, ...]
    line: int
    title: str = ""
    language: str = ""
    keywords: tuple[str, ...] = ()
    metadata: Metadata = field(default_factory=Metadata)
    provenance: Provenance | None = None


@dataclass(slots=True)
class Head:
    """What a manifest says of the package as a whole."""

    namespace: str = ""
    schema: str = ""
    version: str = ""
    title: str = ""
    language: str = ""


def _events(
    source: IO[bytes], member: str, kinds: tuple[str, ...], tag: str | None = None
) -> Iterator[tuple[str, etree._Element]]:
    head = source.read(_HEAD)
    if b"<!ENTITY" in head or b"[" in head.partition(b"<!DOCTYPE")[2].partition(b">")[0]:
        raise QbankError(
            f"'{member}' declares entities or a document type of its own",
            hint="manifests need none; entities in it could grow without bound",
        )
    source.seek(0)
    events = etree.iterparse(
        source,
        events=kinds,
        tag=tag,
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        yield from events
    except etree.XMLSyntaxError as fault:
        raise QbankError(f"'{member}' is not well-formed XML: {fault.msg}") from fault


def read_head(source: IO[bytes], member: str) -> Head:
    """Schema, title and language, without reading the resources."""
    head = Head()
    for event, element in _events(source, member, ("start", "end")):
        name = etree.QName(element).localname
        if event == "start":
            if not head.namespace:
                head.namespace = etree.QName(element).namespace or ""
            if name == "resources":
                break
        elif name == "schema" and not head.schema:
            head.schema = (element.text or "").strip()
        elif name == "schemaversion" and not head.version:
            head.version = (element.text or "").strip()
        elif name == "general" and not head.title:
            head.title, head.language = _title(element), _language(element)
    return head


def iter_resources(source: IO[bytes], member: str, *, whole: bool = True) -> Iterator[Resource]:
    """The resources in order; unless `whole`, without their metadata."""
    wanted: str | None = None
    for _, element in _events(source, member, ("end",), "{*}resource"):
        if wanted is None:
            space = etree.QName(element.getroottree().getroot()).namespace
            wanted = f"{{{space}}}resource" if space else "resource"
        if element.tag != wanted:
            continue  # LOM has a `resource` of its own
        yield _resource(element, whole)
        parent = element.getparent()
        if parent is not None:
            parent.remove(element)


def _resource(element: etree._Element, whole: bool) -> Resource:
    files = []
    metadata: etree._Element | None = None
    for inner in element:
        if isinstance(tag := inner.tag, str):
            if (kind := KINDS[tag]) == "file":
                files.append(inner.get("href", ""))
            elif kind == "metadata" and metadata is None:
                metadata = inner
    base = element.get(_BASE, "")
    parent = element.getparent()
    if parent is not None:
        base = parent.get(_BASE, "") + base
    href = element.get("href") or next(iter(files), "")
    line = element.sourceline
    found = Resource(
        element.get("type", ""),
        base + href,
        tuple(base + name for name in files),
        line if isinstance(line, int) else 1,
    )
    if metadata is not None:
        general = next(metadata.iter("{*}general"), None)
        if general is not None:
            found.title, found.language = _title(general), _language(general)
            found.keywords = tuple(map(_words, general.iter("{*}keyword")))
        if whole:
            found.metadata = metadata_of(element)
        found.provenance = provenance_of(element)
    return found


def _title(general: etree._Element) -> str:
    title = next((e for e in general if _is(e, "title")), None)
    return "" if title is None else _words(title)


def _language(general: etree._Element) -> str:
    said = next((e for e in general if _is(e, "language")), None)
    return "" if said is None else (said.text or "").strip()


def _words(element: etree._Element) -> str:
    return " ".join(text_of(element).split())


def _is(element: etree._Element, name: str) -> bool:
    return isinstance(tag := element.tag, str) and tag.rpartition("}")[2] == name


def format_name(head: Head) -> str:
    """The format a manifest says, by its schema or its namespace; empty where it says none.

    Strings of the mapping note, a1: measured for 2.2 and 3.0, from memory for the others.
    """
    schema, version = head.schema.casefold(), head.version
    if "common cartridge" in schema or "imscc" in head.namespace:
        number = ".".join(version.split(".")[:2])
        if not number:
            number = head.namespace.partition("imsccv")[2][:3].replace("p", ".")
        return f"cartridge-{number or '1.0'}"
    for said, name in (("qtiv2.0", "qti-2.0"), ("qtiv2.1", "qti-2.1"), ("qtiv2.2", "qti-2.2")):
        if said in schema:
            return name
    if (schema.startswith("qti") and version.startswith("3")) or "qtiv3p0" in head.namespace:
        return "qti-3.0"
    return ""


_CONTENT = (
    ("imsqti_v2p0", "qti-2.0"),
    ("imsqti_v2p1", "qti-2.1"),
    ("imsqti_v2p2", "qti-2.2"),
    ("imsqtiasi_v3p0", "qti-3.0"),
)


def format_of_root(root: etree._Element) -> str:
    """The format of a document, by its root and namespace."""
    name = etree.QName(root)
    if name.localname.startswith("qti-"):
        return "qti-3.0"
    if name.localname == "questestinterop":
        return "qti-1.2"
    for part, said in _CONTENT:
        if part in (name.namespace or ""):
            return said
    return "qti-2.1"


def told(resource: Resource, item: str, losses: Losses) -> None:
    """Tell of what a resource says that an item has no place for."""
    losses.item = item
    if resource.keywords:
        said = ", ".join(resource.keywords)[:200]
        losses.add("keywords", f"the keywords {said} are left out")
