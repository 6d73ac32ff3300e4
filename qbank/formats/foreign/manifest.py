"""The manifest of a package of anyone's making, read as a stream: resources in its order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import IO

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.foreign.losses import Losses
from qbank.formats.qti_metadata import metadata_of, provenance_of
from qbank.formats.qti_tree import attribute, child, local
from qbank.item import Metadata, Provenance

MANIFEST = "imsmanifest.xml"
_HEAD = 4096


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
    source: IO[bytes], member: str, kinds: tuple[str, ...]
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


def iter_resources(source: IO[bytes], member: str) -> Iterator[Resource]:
    """The resources in order."""
    space: str | None = None
    for event, element in _events(source, member, ("start", "end")):
        if space is None:
            space = etree.QName(element).namespace
        if event == "start" or etree.QName(element).localname != "resource":
            continue
        if etree.QName(element).namespace != space:
            continue  # LOM has a `resource` of its own
        yield _resource(element)
        parent = element.getparent()
        if parent is not None:
            parent.remove(element)


def _resource(element: etree._Element) -> Resource:
    files = tuple(
        attribute(c, "href") for c in element if isinstance(c.tag, str) and local(c.tag) == "file"
    )
    base = element.get("{http://www.w3.org/XML/1998/namespace}base") or ""
    parent = element.getparent()
    if parent is not None:
        base = (parent.get("{http://www.w3.org/XML/1998/namespace}base") or "") + base
    href = attribute(element, "href") or next(iter(files), "")
    line = element.sourceline
    found = Resource(
        attribute(element, "type"),
        base + href,
        tuple(base + name for name in files),
        line if isinstance(line, int) else 1,
    )
    metadata = child(element, "metadata")
    if metadata is not None:
        general = next(metadata.iter("{*}general"), None)
        if general is not None:
            found.title, found.language = _title(general), _language(general)
            found.keywords = tuple(
                " ".join("".join(map(str, e.itertext())).split())
                for e in general.iter("{*}keyword")
            )
        found.metadata = metadata_of(element)
        found.provenance = provenance_of(element)
    return found


def _title(general: etree._Element) -> str:
    title = next((e for e in general if _is(e, "title")), None)
    return "" if title is None else " ".join("".join(map(str, title.itertext())).split())


def _language(general: etree._Element) -> str:
    said = next((e for e in general if _is(e, "language")), None)
    return "" if said is None else (said.text or "").strip()


def _is(element: etree._Element, name: str) -> bool:
    return isinstance(element.tag, str) and etree.QName(element).localname == name


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
