"""One item of QTI 1.2.1 or of a cartridge, from anyone (mapping note, sections b, c, g5)."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cached_property

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.asi_readback import FILE_BASE, fields_of, metadata_of, provenance_of
from qbank.formats.cartridge_item import CAUTION as CAUTION_CLASS
from qbank.formats.cartridge_item import PROMPT as PROMPT_CLASS
from qbank.formats.cartridge_item import STEM as STEM_CLASS
from qbank.formats.content_readback import picture_paragraphs
from qbank.formats.foreign.asi_parts import AsiPartMaker
from qbank.formats.foreign.asi_rules import AsiRules
from qbank.formats.foreign.assembly import assembled
from qbank.formats.foreign.content import BREAK, ContentReader, Hole, Token, UnitText
from qbank.formats.foreign.losses import Losses, place_of
from qbank.formats.foreign.names import item_identifier
from qbank.formats.foreign.pictures import PictureLoader
from qbank.formats.foreign.probing import Prober
from qbank.formats.grammar import secure_parser
from qbank.formats.qti12_arranged import SOURCE, matching_of
from qbank.formats.qti12_item import PROMPT, STEM, UNIT
from qbank.formats.qti_tree import any_of, attribute, children, local, text_of
from qbank.formats.source import ReadItem
from qbank.item import Block, Image, Inline, Item, Metadata
from qbank.scoring.item12 import ScoredItem12
from qbank.scoring.responses import Answer

_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
_RESPONSES = frozenset(
    ["response_lid", "response_str", "response_num", "response_grp", "response_xy", "response_na"]
)
_FLOWS = frozenset(["flow", "flow_mat", "presentation_material", "material", "flow_label"])
_XML = secure_parser()
_MAX_HTML_DEPTH = 200
_TEXTS, _SOLUTIONS, _HINTS = any_of("mattext"), any_of("solution"), any_of("hint")
_MARKED = re.compile(r"[<&\r]|]]>")  # what plain text that is no markup cannot hold
_OUR_STARTS = (f'<p class="{CAUTION_CLASS}">', f'<div class="{STEM_CLASS}">')
_SAYS = re.compile(r"(?:<p>)?[^\s<&]")
_SAID = ("",)  # stands for feedback that is there


def read_asi_item(
    root: etree._Element,
    member: str,
    read: Callable[[str], bytes],
    losses: Losses,
    language: str = "",
    glance: Callable[[str], bytes] | None = None,
) -> ReadItem:
    """The item of one element; `read` gives the bytes at an address seen from its document.

    `glance` says whether there are any. Where it is given, what `skimmed` leaves out is not read
    of items of our own making, and what would be lost of that is not told.
    """
    identifier = losses.item = item_identifier(attribute(root, "ident"), member, losses)
    return _AsiReader(root, member, read, losses, identifier, glance).item(language)


class _AsiReader:
    def __init__(
        self,
        root: etree._Element,
        member: str,
        read: Callable[[str], bytes],
        losses: Losses,
        identifier: str,
        glance: Callable[[str], bytes] | None,
    ) -> None:
        self._root = root
        self._member = member
        self._losses = losses
        self._identifier = identifier
        self._lead = False  # whether the last material is marked as a prompt
        self._caution: list[str] = []
        self._matchings: set[str] = set()
        self._fields: dict[str, list[str]] = {}
        for label, entry in fields_of(root):
            self._fields.setdefault(label, []).append(entry)
        self._named = {attribute(f, "ident"): f for f in children(root, "itemfeedback")}
        # Items of a cartridge that was split share the pictures of the item they were.
        shared = re.sub(r"_\d+$", "", identifier)
        self.silent = glance is not None and self._is_ours()
        look = _based(glance) if self.silent and glance is not None else None
        load = PictureLoader(shared, _based(read), losses, look)
        self._content = ContentReader(losses, load, mathml=glance is None)

    def _is_ours(self) -> bool:
        """Whether it says that we wrote it: by fields of our own, or in a cartridge, which has no
        place for any, by how its text is put together."""
        if any(label.startswith("qbank_") for label in self._fields):
            return True
        if not self._fields.keys() >= {"cc_profile", "cc_question_category"}:
            return False
        text = next(self._root.iter(*_TEXTS), None)
        said = "" if text is None else text.text or ""
        return said.startswith(_OUR_STARTS) and f'<p class="{PROMPT_CLASS}">' in said

    def item(self, language: str) -> ReadItem:
        rules = AsiRules(self._root, self._losses)
        maker = AsiPartMaker(self, rules, self._fields, self._losses)
        tokens: list[Token] = []
        presentation = next(children(self._root, "presentation"), None)
        if presentation is None:
            self._losses.add("body", "the item has no presentation", self._root)
        else:
            self._flow(presentation, tokens, 0)
        stem, parts = assembled(tokens, self._content, maker.part, maker.takes_unit)
        for element in children(self._root, "rubric", "itemrubric"):
            view = attribute(element, "view") or "All"
            if view in ("All", "Candidate"):
                self._caution.append("" if self.silent else self._text(element))
            else:
                self._losses.add("rubric", f"a rubric for {view} is left out", element)
        for name in ("objectives", "itemcontrol", "itemproc_extension", "duration"):
            for element in children(self._root, name):
                self._losses.add("element", f"<{name}> is left out", element)
        solution, hints = self._solution(), self._hints()
        for name, element in self._named.items():
            if name not in maker.taken:
                self._losses.add("feedback", f"feedback '{name}' is left out", element)
        item = Item(
            identifier=self._identifier,
            title=attribute(self._root, "title"),
            language=self._root.get(_LANGUAGE) or language,
            stem=stem,
            parts=parts,
            solution=solution,
            caution=" ".join(text for text in self._caution if text),
            hints=hints,
            metadata=Metadata() if self.silent else metadata_of(self._fields),
            provenance=provenance_of(self._fields),
        )
        return ReadItem(item, place_of(self._member, self._root), tuple(self._losses.found))

    # ------------------------------------------------------------------ content

    def _flow(self, element: etree._Element, tokens: list[Token], depth: int) -> None:
        """Materials and responses in reading order."""
        for child in element:
            if not isinstance(child.tag, str):
                continue
            name = local(child.tag)
            if name in ("material", "altmaterial"):
                if not (attribute(child, "label") == SOURCE and self._matching(child.getnext())):
                    self._material(child, tokens)
            elif name in _RESPONSES:
                # Of the lists of a matching that we wrote the first stands for all.
                matching = self._matching(child)
                if not matching or matching not in self._matchings:
                    self._matchings.add(matching)
                    self._response(child, tokens, depth)
            elif depth < _MAX_HTML_DEPTH:
                if name not in _FLOWS:
                    self._losses.add("element", f"<{name}> is read as its content", child)
                self._flow(child, tokens, depth + 1)

    def _matching(self, element: etree._Element | None) -> str:
        """The matching of ours that a list of targets belongs to; empty for anything else."""
        if element is None or local(str(element.tag)) != "response_lid":
            return ""
        return matching_of(attribute(element, "ident"), self._fields)

    def _response(self, element: etree._Element, tokens: list[Token], depth: int) -> None:
        """The words that stand with a response, and its hole."""
        for child in element:
            name = local(child.tag) if isinstance(child.tag, str) else ""
            if name in ("material", "material_ref"):
                self._material(child, tokens)
        for render in element:
            name = local(render.tag) if isinstance(render.tag, str) else ""
            if name == "render_fib":
                for child in render:
                    if isinstance(child.tag, str) and local(child.tag) in ("material", *_FLOWS):
                        self._flow_of_blank(child, tokens, depth)
        if local(str(element.tag)) in ("response_lid", "response_grp"):
            label = next((t for t in reversed(tokens) if t is not BREAK), None)
            if not isinstance(label, str) or not self._lead:
                tokens.append(BREAK)
        tokens.append(Hole(element))

    def _flow_of_blank(self, element: etree._Element, tokens: list[Token], depth: int) -> None:
        if local(str(element.tag)) == "material":
            self._material(element, tokens)
            return
        for child in element:
            if isinstance(child.tag, str) and depth < _MAX_HTML_DEPTH:
                self._flow_of_blank(child, tokens, depth + 1)

    def _material(self, element: etree._Element, tokens: list[Token]) -> None:
        label = attribute(element, "label")
        self._lead = label == PROMPT
        if label == UNIT:
            tokens.append(UnitText(self._text(element)))
            return
        if label == PROMPT:
            tokens.append(BREAK)
        tokens.extend(self._tokens(element))
        if label == STEM:
            tokens.append(BREAK)

    def _tokens(self, element: etree._Element) -> list[Token]:
        """The content of a material, or of all materials below an element."""
        found: list[Token] = []
        for piece in element.iter(etree.Element):
            name = local(str(piece.tag))
            if name in ("mattext", "matemtext"):
                found.extend(self._mattext(piece))
            elif name == "matimage":
                image = self._content.picture(attribute(piece, "uri"), text_of(piece), piece)
                if image is not None:
                    found.append(image)
            elif name == "matbreak":
                found.append(BREAK)
            elif name.startswith("mat") and name not in ("material", "material_ref"):
                self._losses.add("media", f"<{name}> is left out", piece)
            elif name == "flow_mat" and found:
                found.append(BREAK)
        return found

    def _mattext(self, element: etree._Element) -> list[Token]:
        text = element.text or ""
        kind = (attribute(element, "texttype") or "text/plain").lower()
        if len(element):  # XHTML that is not escaped
            return self._content.tokens(element)
        if kind not in ("text/html", "text/xhtml", "application/xhtml+xml"):
            if kind != "text/plain":
                self._losses.add("text-type", f"text of type {kind} is read as plain", element)
            return [text]
        if not _MARKED.search(text):
            return [text] if text else []
        root = self._html(text, element)
        found: list[Token] = []
        if root.text:
            found.append(root.text)
        for child in root:
            if not isinstance(child.tag, str):
                continue
            kind = child.get("class") or ""
            if kind == CAUTION_CLASS:
                self._caution.append("" if self.silent else text_of(child))
            elif kind == PROMPT_CLASS:
                self._lead = True
                found.extend((BREAK, *self._content.tokens(child)))
                continue
            else:
                found.extend(self._content.tokens_of([child]))
                continue
            if child.tail:
                found.append(child.tail)
        return found

    def _html(self, text: str, element: etree._Element) -> etree._Element:
        """Escaped HTML, as XML where it is well-formed, else as browsers read it."""
        if "<!" in text and ("<!ENTITY" in text or "<!DOCTYPE" in text):
            self._losses.add("element", "a document type within a text is left out", element)
            text = re.sub(r"<![A-Z][^>]*>", "", text)
        try:
            return etree.fromstring(f"<div>{text}</div>", _XML)
        except (etree.XMLSyntaxError, ValueError):
            pass
        parser = etree.HTMLParser(no_network=True, remove_comments=True, remove_pis=True)
        try:
            root = etree.fromstring(f"<div>{text}</div>", parser)
            found = None if root is None else root.find(".//div")
        except (etree.XMLSyntaxError, ValueError):
            found = None
        if found is None:
            self._losses.add("element", "HTML that cannot be read is kept as it stands", element)
            found = etree.Element("div")
            found.text = re.sub(r"[^\t\n\r -\ud7ff\ue000-\ufffd]", "", text)
        return found

    def inline(self, element: etree._Element) -> tuple[Inline, ...]:
        """The content of an element's materials as one line."""
        if self.silent and local(str(element.tag)) == "itemfeedback":
            return ()
        return self._content.as_inline(self._tokens(element), element)

    def _text(self, element: etree._Element) -> str:
        pieces = self.inline(element)
        return "".join(p if isinstance(p, str) else p.plain for p in pieces)

    # ------------------------------------------------------------------ feedback

    def feedback(self, name: str) -> tuple[Inline, ...]:
        """The feedback of that name as one line."""
        element = self._named.get(name)
        if element is None:
            return ()
        if self.silent:
            text = next(element.iter(*_TEXTS), None)
            if text is not None and _SAYS.match(text.text or ""):
                return _SAID
            return self._content.as_inline(self._tokens(element), element)
        return self.inline(element)

    def _solution(self) -> tuple[Block, ...]:
        for name, element in list(self._named.items()):
            if name == "SOLUTION" or next(element.iterdescendants(*_SOLUTIONS), None) is not None:
                del self._named[name]
                if self.silent and (text := next(element.iter(*_TEXTS), None)) is not None:
                    return self._pictures(text)
                return tuple(self._content.as_blocks(self._tokens(element)))
        return ()

    def _pictures(self, element: etree._Element) -> tuple[Block, ...]:
        """The pictures of a text of ours, without reading the rest of it."""
        text = element.text or ""
        if "<img" not in text:
            return ()
        if not (found := picture_paragraphs(text)):
            tokens = self._mattext(element)
        else:
            tokens = self._content.tokens_of(self._html(found, element))
        return tuple(block for block in self._content.as_blocks(tokens) if isinstance(block, Image))

    def _hints(self) -> tuple[tuple[Inline, ...], ...]:
        found = []
        for name, element in list(self._named.items()):
            if name.startswith("HINT_") or next(element.iterdescendants(*_HINTS), None) is not None:
                del self._named[name]
                if not self.silent:
                    found.append(self.inline(element))
        return tuple(found)

    # ------------------------------------------------------------------ trying

    @cached_property
    def scorer(self) -> ScoredItem12 | None:
        """The item ready to be scored; None, with a loss, where it cannot be."""
        try:
            return ScoredItem12(self._root)
        except (QbankError, ValueError, RecursionError) as fault:
            self._losses.add("scoring", f"the rules cannot be run: {fault}")
            return None

    def prober(self, keys: Mapping[str, Answer]) -> Prober | None:
        """Scores responses of the item."""
        scorer = self.scorer
        return None if scorer is None else Prober(lambda given: scorer.score(given).score, keys)


def _based(read: Callable[[str], bytes]) -> Callable[[str], bytes]:
    """Reads addresses that may start with the base of a cartridge."""
    return lambda address: read(address.replace(FILE_BASE, "").replace("%24IMS-CC-FILEBASE%24", ""))
