"""Metadata and provenance of an item, read from its entry in the manifest."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import cast

from lxml import etree

from qbank.formats.dialects import LOM
from qbank.formats.metadata import CATALOGUE
from qbank.item import Metadata, Provenance

_LOM = {"lom": LOM}


def _path(path: str) -> etree.XPath:
    return etree.XPath(path, namespaces=_LOM, smart_strings=False)


_IDENTIFIERS = _path(".//lom:relation/lom:resource/lom:identifier")
_CLASSIFICATIONS = _path(".//lom:classification")
_PURPOSE = _path("lom:purpose/lom:value")
_TAXA = _path("lom:taxonPath/lom:taxon/lom:entry/*")
_SAID = _path("lom:description/lom:string")
_LICENCE = _path(".//lom:rights/lom:description/lom:string")
_ENTITIES = _path(".//lom:lifeCycle/lom:contribute/lom:entity")
_CATALOG, _ENTRY = f"{{{LOM}}}catalog", f"{{{LOM}}}entry"


def provenance_of(resource: etree._Element) -> Provenance | None:
    """The family, version, digest, seed, index and case; None where they are not stated."""
    facts = {}
    for identifier in _found(_IDENTIFIERS, resource):
        catalogue = entry = ""
        for element in reversed(identifier):  # the first of each kind counts
            if element.tag == _CATALOG:
                catalogue = element.text or ""
            elif element.tag == _ENTRY:
                entry = element.text or ""
        if catalogue.startswith(CATALOGUE):
            facts[catalogue.removeprefix(CATALOGUE)] = entry
    try:
        return Provenance(
            facts["family"],
            facts["version"],
            facts["digest"],
            int(facts["seed"]),
            int(facts["index"]),
            facts.get("case", ""),
        )
    except (KeyError, ValueError):
        return None


def metadata_of(resource: etree._Element) -> Metadata:
    """Subject, level, licence, authors and objectives, as far as stated."""
    by_purpose: dict[str, list[str]] = {}
    for classification in _found(_CLASSIFICATIONS, resource):
        taxa = [taxon.text or "" for taxon in _found(_TAXA, classification)]
        said = "/".join(taxa) if taxa else _first(_SAID, classification)
        by_purpose.setdefault(_first(_PURPOSE, classification), []).append(said)
    return Metadata(
        subject="".join(by_purpose.get("discipline", [])[:1]),
        level="".join(by_purpose.get("educational level", [])[:1]),
        licence=_first(_LICENCE, resource),
        authors=tuple(_authors(resource)),
        objectives=tuple(by_purpose.get("educational objective", ())),
    )


def _authors(resource: etree._Element) -> Iterator[str]:
    for entity in _found(_ENTITIES, resource):
        for line in (entity.text or "").splitlines():
            if line.startswith("FN:"):
                yield re.sub(r"\\(.)", r"\1", line.removeprefix("FN:"))


def _found(path: etree.XPath, element: etree._Element) -> list[etree._Element]:
    return cast("list[etree._Element]", path(element))


def _first(path: etree.XPath, element: etree._Element) -> str:
    """The text of the first element found; empty for none."""
    found = _found(path, element)
    return (found[0].text or "") if found else ""
