"""One item of QTI 2.0, 2.1, 2.2 or 3.0, from anyone."""

from __future__ import annotations

from collections.abc import Callable

from lxml import etree

from qbank.formats.foreign.assembly import assembled
from qbank.formats.foreign.content import ContentReader
from qbank.formats.foreign.feedback import Feedbacks
from qbank.formats.foreign.losses import Losses, place_of
from qbank.formats.foreign.names import item_identifier
from qbank.formats.foreign.pictures import PictureLoader
from qbank.formats.foreign.qti_context import QtiContext
from qbank.formats.foreign.qti_parts import PartMaker
from qbank.formats.qti_tree import attribute, local
from qbank.formats.source import ReadItem
from qbank.item import Item

_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
_FOR_CANDIDATES = "candidate"
_ENTRIES = ("textEntryInteraction", "sliderInteraction")


def read_qti_item(
    root: etree._Element,
    member: str,
    read: Callable[[str], bytes],
    losses: Losses,
    *,
    mathml: bool = True,
) -> ReadItem:
    """The item of one document; `read` gives the bytes at an address seen from it.

    Without `mathml`, formulas that have plain text come with that alone.
    """
    identifier = losses.item = item_identifier(attribute(root, "identifier"), member, losses)
    if attribute(root, "adaptive") == "true":
        losses.add("adaptive", "an adaptive item is read as one of a single attempt", root)
    context = QtiContext(root, losses)
    rubrics: list[etree._Element] = []
    shown: list[etree._Element] = []

    def aside(name: str, element: etree._Element) -> bool:
        if name == "rubricBlock":
            rubrics.append(element)
        elif name in ("feedbackInline", "feedbackBlock"):
            if not _in_choice(element):
                shown.append(element)
        elif name != "prompt":
            return False
        return True

    content = ContentReader(
        losses,
        PictureLoader(identifier, read, losses),
        context.printed,
        context.shows,
        aside,
        mathml,
    )
    feedbacks = Feedbacks(context.modal, content)
    maker = PartMaker(context, content, feedbacks)
    body = context.parts.get("itemBody")
    if body is None:
        losses.add("body", "the item has no body", root)
        body = etree.Element("itemBody")
    tokens = content.tokens(body)
    for element in shown:
        feedbacks.add(element)
    stem, parts = assembled(
        tokens, content, maker.part, lambda element: local(str(element.tag)) in _ENTRIES
    )
    solution, hints = feedbacks.solution(), feedbacks.hints()
    feedbacks.tell(losses)
    item = Item(
        identifier=identifier,
        title=attribute(root, "title"),
        language=root.get(_LANGUAGE, ""),
        stem=stem,
        parts=parts,
        solution=solution,
        caution=_caution(rubrics, content, losses),
        hints=hints,
    )
    return ReadItem(item, place_of(member, root), tuple(losses.found))


def _caution(rubrics: list[etree._Element], content: ContentReader, losses: Losses) -> str:
    """What rubrics tell candidates, as one line."""
    said = []
    for rubric in rubrics:
        views = attribute(rubric, "view").split()
        if views and _FOR_CANDIDATES not in views:
            losses.add("rubric", f"a rubric for {' and '.join(views)} is left out", rubric)
            continue
        pieces = content.inline(rubric)
        said.append("".join(p if isinstance(p, str) else p.plain for p in pieces))
    return " ".join(text for text in said if text)


def _in_choice(element: etree._Element) -> bool:
    """Whether a feedback stands within an option, which takes it itself."""
    for parent in element.iterancestors():
        name = local(str(parent.tag))
        if name in ("simpleChoice", "inlineChoice", "simpleAssociableChoice"):
            return True
        if name == "itemBody":
            return False
    return False
