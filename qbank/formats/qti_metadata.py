"""Metadata and provenance of an item, read from its entry in the manifest."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lxml import etree

from qbank.formats.dialects import LOM
from qbank.formats.metadata import CATALOGUE
from qbank.item import Metadata, Provenance

_LOM = {"lom": LOM}


def provenance_of(resource: etree._Element) -> Provenance | None:
    """The family, version, digest, seed, index and case; None where they are not stated."""
    facts = {}
    for identifier in _find(resource, ".//lom:relation/lom:resource/lom:identifier"):
        catalogue = identifier.findtext("lom:catalog", "", _LOM)
        if catalogue.startswith(CATALOGUE):
            facts[catalogue.removeprefix(CATALOGUE)] = identifier.findtext("lom:entry", "", _LOM)
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
    for classification in _find(resource, ".//lom:classification"):
        purpose = classification.findtext("lom:purpose/lom:value", "", _LOM)
        taxa = [t.text or "" for t in _find(classification, "lom:taxonPath/lom:taxon/lom:entry/*")]
        said = classification.findtext("lom:description/lom:string", "", _LOM)
        by_purpose.setdefault(purpose, []).append("/".join(taxa) if taxa else said)
    licence = next(iter(_find(resource, ".//lom:rights/lom:description/lom:string")), None)
    return Metadata(
        subject="".join(by_purpose.get("discipline", [])[:1]),
        level="".join(by_purpose.get("educational level", [])[:1]),
        licence="" if licence is None else licence.text or "",
        authors=tuple(_authors(resource)),
        objectives=tuple(by_purpose.get("educational objective", ())),
    )


def _authors(resource: etree._Element) -> Iterator[str]:
    for entity in _find(resource, ".//lom:lifeCycle/lom:contribute/lom:entity"):
        for line in (entity.text or "").splitlines():
            if line.startswith("FN:"):
                yield re.sub(r"\\(.)", r"\1", line.removeprefix("FN:"))


def _find(element: etree._Element, path: str) -> list[etree._Element]:
    return element.findall(path, _LOM)
