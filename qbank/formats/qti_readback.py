"""Reading items back from a QTI package of ours, by the elements and not by the writer's code.

Provenance and metadata come from the manifest, everything else from the item. Names are read by
their 2.1 form, so one reader serves every version.
"""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from urllib.parse import unquote

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.content_readback import PictureReader, blocks, images, inline
from qbank.formats.grammar import parse
from qbank.formats.package import Package
from qbank.formats.pictures import PicturePlace
from qbank.formats.qti_metadata import metadata_of, provenance_of
from qbank.formats.qti_scan import MANIFEST, stream
from qbank.formats.qti_scoring import DECLARATIONS, RULES, Declared, Scoring, declared, scoring
from qbank.formats.qti_tree import KINDS, any_of, attribute, child, children, text_of
from qbank.formats.qti_usual import Usual, usual
from qbank.formats.xmltext import text_of_name_part
from qbank.item import (
    Block,
    Choice,
    Inline,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Part,
    Tolerance,
    WrongValue,
)

SLIP = "SLIP_"
_BLOCK_INTERACTIONS = frozenset(["choiceInteraction", "orderInteraction", "matchInteraction"])
_CHOICES = frozenset(["simpleChoice", "inlineChoice"])
_SOLUTION = ("SOLUTION", "WORKED")
_REST = ["itemBody", "responseProcessing"]
_FEEDBACK = frozenset(["modalFeedback"])
_INNER = any_of("textEntryInteraction", "inlineChoiceInteraction", "endAttemptInteraction")


def iter_items(package: Package) -> Iterator[Item]:
    """The items in the manifest's order. Raises QbankError where one cannot be read."""
    with package.open(MANIFEST) as source:
        for resource in stream(source, MANIFEST, "resource"):
            if not attribute(resource, "type").startswith("imsqti_item"):
                continue
            href = unquote(attribute(resource, "href"))
            item = read_item(package.read(href), href, package.read)
            yield replace(item, metadata=metadata_of(resource), provenance=provenance_of(resource))


def read_item(
    data: bytes, member: str, read: Callable[[str], bytes], *, whole: bool = True
) -> Item:
    """The item in one document, without the provenance that only a manifest has.

    `read` gives the bytes of the package's members, of which pictures are some. Unless `whole`,
    what `skimmed` leaves out is not read.
    """
    root, known = _parsed(data, member, whole)
    identifier = attribute(root, "identifier")
    folder = member.rpartition("/")[0]
    pictures = PictureReader(
        PicturePlace(identifier), lambda href: read(posixpath.join(folder, href))
    )
    body: etree._Element | None = None
    declarations: dict[str, Declared] = {} if known is None else known.known
    shown: dict[tuple[str, str], etree._Element] = {}
    is_template = False
    for element in root:
        kind = KINDS[element.tag]
        if kind in DECLARATIONS:
            declarations[element.get("identifier", "")] = declared(element)
        elif kind == "modalFeedback":
            name = (attribute(element, "outcomeIdentifier"), element.get("identifier", ""))
            if whole or name == _SOLUTION:
                shown[name] = element
        elif kind == "itemBody" and body is None:
            body = element
        elif kind == "templateProcessing":
            is_template = True
    if body is None:
        raise QbankError(f"'{member}' is no item: it has no body")
    if is_template:
        raise QbankError(
            f"'{member}' draws its own data, so it is no one item with a text and a key",
            hint="read a package of instances; `qbank score` runs this one",
        )
    rules = scoring(root, declarations) if known is None else known.scoring
    reader = _PartReader(declarations, rules, shown, whole)
    stem: list[Block] = []
    parts: list[Part] = []
    caution = ""
    interactions = _interactions(body)
    for block in body:
        kind = KINDS[block.tag]
        within = interactions.get(block, ())
        interaction = next((e for e in within if KINDS[e.tag] != "endAttemptInteraction"), None)
        if kind == "rubricBlock":
            caution = text_of(block) if whole else ""
        elif kind in _BLOCK_INTERACTIONS:
            interaction = block
        elif any(KINDS[e.tag] == "endAttemptInteraction" for e in within):
            continue
        elif interaction is None and not parts:
            stem.extend(blocks(block if kind == "div" else [block], pictures, whole=whole))
        if interaction is not None:
            parts.append(reader.part(block, interaction))
    solution: tuple[Block, ...] = ()
    if (worked := shown.get(_SOLUTION)) is not None and len(content := _content(worked)):
        found = blocks(content[0], pictures) if whole else images(content[0], pictures)
        solution = tuple(found)
    return Item(
        identifier=identifier,
        title=root.get("title", ""),
        language=root.get("{http://www.w3.org/XML/1998/namespace}lang", ""),
        stem=tuple(stem),
        parts=tuple(parts),
        solution=solution,
        caution=caution,
        hints=tuple(_hints(shown)),
    )


def _hints(shown: dict[tuple[str, str], etree._Element]) -> Iterator[tuple[Inline, ...]]:
    n = 1
    while (hint := shown.get(("HINT", f"HINT_{n}"))) is not None:
        yield inline(_content(hint)[0])
        n += 1


def _parsed(data: bytes, member: str, whole: bool) -> tuple[etree._Element, Usual | None]:
    """The root of a document, and what was read of it that the root then lacks."""
    if (known := usual(data, whole=whole)) is not None:
        root = parse(known.rest, member)
        # What is left must be a body, rules that are no longer there, and feedback.
        kinds = [KINDS[element.tag] for element in root]
        if (
            kinds[:2] == _REST
            and not len(root[1])
            and set(kinds[2:]) <= _FEEDBACK
            and next(root.iter(*RULES), None) is None
        ):
            return root, known
    return parse(data, member), None


def _interactions(body: etree._Element) -> dict[etree._Element, list[etree._Element]]:
    """The interactions that stand within blocks of the body, by their block."""
    found: dict[etree._Element, list[etree._Element]] = {}
    for element in body.iter(*_INNER):
        block, above = element, element.getparent()
        while above is not body and above is not None:
            block, above = above, above.getparent()
        if block is not element:
            found.setdefault(block, []).append(element)
    return found


@lru_cache(maxsize=1024)
def _slip(label: str) -> str | None:
    if not label.startswith(SLIP):
        return None
    return text_of_name_part(label.removeprefix(SLIP).rstrip("."))


# ---------------------------------------------------------------------------- parts


@dataclass(frozen=True, slots=True)
class _PartReader:
    """Reads parts, each from the block that holds its interaction and what is declared for it."""

    declared: dict[str, Declared]
    scoring: dict[str, Scoring]
    shown: dict[tuple[str, str], etree._Element]
    whole: bool

    def part(self, block: etree._Element, interaction: etree._Element) -> Part:
        response = attribute(interaction, "responseIdentifier")
        name = response.removeprefix("RESPONSE_")
        scoring = self.scoring.get(response) or Scoring()
        declaration = self.declared[response]
        match KINDS[interaction.tag]:
            case "textEntryInteraction":
                return self._number(block, interaction, name, scoring, declaration)
            case "orderInteraction":
                return self._ordering(interaction, name, scoring, declaration)
            case "matchInteraction":
                return self._matching(interaction, name, scoring, declaration)
        return self._choice(block, interaction, name, scoring, declaration)

    def _inline(self, element: etree._Element) -> tuple[Inline, ...]:
        return inline(element, whole=self.whole)

    def _feedback(self, name: str, label: str) -> tuple[Inline, ...]:
        if not self.whole:
            return ()
        feedback = self.shown.get((f"FEEDBACK_{name}", label))
        if feedback is None or not len(content := _content(feedback)):
            return ()
        return inline(content[0])

    def _number(
        self,
        block: etree._Element,
        interaction: etree._Element,
        name: str,
        scoring: Scoring,
        declaration: Declared,
    ) -> NumberEntry:
        key_text = declaration.keys[0]
        score = self.declared[f"SCORE_{name}"]
        kind, _, digits = interaction.get("class", "").partition("-")
        unit = ""
        for span in block:
            if KINDS[span.tag] == "span" and span.get("class") == "unit":
                unit = text_of(span)
                break
        return NumberEntry(
            identifier=name,
            prompt=self._prompt_before(block, interaction),
            key=float(key_text),
            key_text=key_text,
            key_shown=declaration.keys_shown,
            unit=unit,
            tolerance=Tolerance(*scoring.band, score.interpretation),
            points=scoring.points,
            figures=int(digits) if kind == "figures" else None,
            decimals=int(digits) if kind == "decimals" else None,
            wrong_values=tuple(
                WrongValue(
                    _slip(label) or label, (low + high) / 2, low, high, self._feedback(name, label)
                )
                for label, low, high in scoring.wrong
            ),
        )

    def _choice(
        self,
        block: etree._Element,
        interaction: etree._Element,
        name: str,
        scoring: Scoring,
        declaration: Declared,
    ) -> Choice:
        keys = declaration.keys
        options = []
        prompt: tuple[Inline, ...] | None = None
        for element in interaction:
            kind = KINDS[element.tag]
            if kind in _CHOICES:
                identifier = element.get("identifier", "")
                label = scoring.labels.get(identifier, "")
                said = self._feedback(name, label)
                options.append(
                    Option(
                        identifier,
                        self._inline(element),
                        identifier in keys,
                        said,
                        _slip(label),
                    )
                )
            elif kind == "prompt" and prompt is None:
                prompt = self._inline(element)
        return Choice(
            identifier=name,
            prompt=self._prompt_before(block, interaction) if prompt is None else prompt,
            options=tuple(options),
            points=scoring.points,
            multiple=declaration.cardinality == "multiple",
            inline=KINDS[interaction.tag] == "inlineChoiceInteraction",
            shuffle=interaction.get("shuffle") == "true",
        )

    def _own_prompt(self, interaction: etree._Element) -> tuple[Inline, ...]:
        prompt = child(interaction, "prompt")
        return () if prompt is None else self._inline(prompt)

    def _ordering(
        self,
        interaction: etree._Element,
        name: str,
        scoring: Scoring,
        declaration: Declared,
    ) -> Ordering:
        entries = {
            option.identifier: option
            for option in self._options(interaction, "simpleChoice", name, scoring.labels)
        }
        return Ordering(
            name,
            self._own_prompt(interaction),
            tuple(entries[key] for key in declaration.keys),
            scoring.points,
            scoring.partial,
        )

    def _matching(
        self,
        interaction: etree._Element,
        name: str,
        scoring: Scoring,
        declaration: Declared,
    ) -> Matching:
        kind = "simpleAssociableChoice"
        left, right = children(interaction, "simpleMatchSet")
        pairs = [key.split() for key in declaration.keys]
        return Matching(
            name,
            self._own_prompt(interaction),
            self._options(left, kind, name, scoring.labels),
            self._options(right, kind, name, scoring.target_labels),
            tuple((source, target) for source, target in pairs),
            scoring.points,
            scoring.partial,
        )

    def _options(
        self, parent: etree._Element, kind: str, name: str, labels: dict[str, str]
    ) -> tuple[Option, ...]:
        found = []
        for element in children(parent, kind):
            identifier = element.get("identifier", "")
            label = labels.get(identifier, "")
            said = self._feedback(name, label)
            found.append(Option(identifier, self._inline(element), False, said, _slip(label)))
        return tuple(found)

    def _prompt_before(
        self, block: etree._Element, interaction: etree._Element
    ) -> tuple[Inline, ...]:
        """The content before the interaction, without the space that sets it off."""
        content = list(inline(block, stop=interaction, whole=self.whole))
        if content and isinstance(content[-1], str):
            content[-1] = content[-1].removesuffix(" ")
            if not content[-1]:
                content.pop()
        return tuple(content)


def _content(feedback: etree._Element) -> etree._Element:
    """What holds the blocks of a modal feedback: it, or the wrapper that only 3.0 has."""
    wrapper = child(feedback, "contentBody")
    return feedback if wrapper is None else wrapper
