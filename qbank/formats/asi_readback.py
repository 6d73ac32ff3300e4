"""What reading items of QTI 1.2.1 needs in either kind of package: rules, feedback, content."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.content_readback import PictureReader, blocks, inline
from qbank.formats.grammar import secure_parser
from qbank.formats.pictures import PicturePlace
from qbank.formats.qti_markup import SLIP
from qbank.formats.qti_tree import KINDS, any_of, attribute, child, children, descendants, local
from qbank.formats.xmltext import text_of_name_part
from qbank.item import Block, Inline, Metadata, Provenance

_FIELDS = any_of("qtimetadatafield")
# Where a cartridge's addresses start (mapping note, a3).
FILE_BASE = "$IMS-CC-FILEBASE$"


@dataclass(frozen=True, slots=True)
class Rule:
    """A respcondition: its title, its test, the score it gives, the feedback it shows."""

    title: str
    test: etree._Element
    score: float | None
    shown: tuple[str, ...]

    @property
    def responses(self) -> set[str]:
        """The responses its test asks for."""
        return {attribute(e, "respident") for e in self.test.iter("{*}*") if e.get("respident")}

    @property
    def places(self) -> set[str]:
        """The places of an order that its test asks for."""
        return {attribute(e, "index") for e in self.test.iter("{*}*") if e.get("index")}

    @property
    def slip(self) -> str | None:
        """The slip it recognises, by its title."""
        if not self.title.startswith(SLIP):
            return None
        return text_of_name_part(self.title.removeprefix(SLIP).rstrip("."))


def rules_of(item: etree._Element) -> list[Rule]:
    """The rules of an item in order."""
    found = []
    for condition in descendants(item, "respcondition"):
        test = child(condition, "conditionvar")
        setting = child(condition, "setvar")
        if test is not None:
            shown = tuple(attribute(e, "linkrefid") for e in children(condition, "displayfeedback"))
            score = None if setting is None else float(setting.text or "nan")
            found.append(Rule(attribute(condition, "title"), test, score, shown))
    return found


def right_options(rule: Rule) -> set[str]:
    """The options that must be chosen for a rule: those whose `varequal` is not denied."""
    return {
        (test.text or "").strip()
        for test in descendants(rule.test, "varequal")
        if (parent := test.getparent()) is not None and local(parent.tag) != "not"
    }


def right_order(rules: list[Rule], response: str) -> list[str]:
    """The entries of an order as the rules that score it place them."""
    places: dict[int, str] = {}
    for rule in rules:
        if rule.score is None or rule.responses != {response}:
            continue
        for test in descendants(rule.test, "varequal"):
            if test.get("index"):
                places[int(attribute(test, "index"))] = (test.text or "").strip()
    return [places[n] for n in sorted(places)]


def fields_of(item: etree._Element) -> Iterator[tuple[str, str]]:
    """The metadata fields of an item."""
    for field in item.iterdescendants(*_FIELDS):
        label = entry = ""
        for said in reversed(field):  # the first of each kind counts
            if isinstance(tag := said.tag, str):
                if KINDS[tag] == "fieldlabel":
                    label = said.text or ""
                elif KINDS[tag] == "fieldentry":
                    entry = said.text or ""
        yield label, entry


@dataclass(frozen=True, slots=True)
class Content:
    """Reads escaped HTML; `member` is the document it stands in, `read` gives a member's bytes."""

    member: str
    identifier: str
    read: Callable[[str], bytes]

    def root(self, element: etree._Element | None) -> etree._Element:
        """The HTML of the first `mattext` in an element, in a `div`."""
        text = None if element is None else next(descendants(element, "mattext"), None)
        said = "" if text is None else text.text or ""
        try:
            return etree.fromstring(f"<div>{said}</div>", secure_parser())
        except etree.XMLSyntaxError as fault:
            raise QbankError(
                f"HTML in '{self.member}' is not well-formed: {fault.msg}",
                hint="`validate_package` says where",
            ) from fault

    def inline(self, element: etree._Element | None) -> tuple[Inline, ...]:
        """Text and formulas; those of the paragraph where there is one."""
        root = self.root(element)
        return inline(root[0] if len(root) == 1 and root[0].tag == "p" else root)

    def blocks(self, root: etree._Element) -> tuple[Block, ...]:
        """Paragraphs, formulas, tables and pictures."""
        folder = self.member.rpartition("/")[0]

        def read(href: str) -> bytes:
            return self.read(posixpath.join(folder, href.removeprefix(FILE_BASE)))

        return tuple(blocks(root, PictureReader(PicturePlace(self.identifier), read)))


def metadata_of(fields: Mapping[str, list[str]]) -> Metadata:
    """Metadata from an item's metadata fields, label -> entries."""

    def one(*labels: str) -> str:
        return next((fields[label][0] for label in labels if fields.get(label)), "")

    return Metadata(
        subject=one("qmd_topic"),
        level=one("qbank_level", "qmd_levelofdifficulty"),
        licence=one("qbank_licence"),
        authors=tuple(fields.get("qbank_author", ())),
        objectives=tuple(fields.get("qbank_objective", ())),
    )


def provenance_of(fields: Mapping[str, list[str]]) -> Provenance | None:
    """Where an item of ours came from; None where a fact is missing."""
    facts = {name.removeprefix("qbank_"): said[0] for name, said in fields.items()}
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
