"""Reading items back from a QTI package of ours, by the elements and not by the writer's code.

Provenance and metadata come from the manifest, everything else from the item. Names are read by
their 2.1 form, so one reader serves every version.
"""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from urllib.parse import unquote

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.content_readback import PictureReader, blocks, inline
from qbank.formats.grammar import parse
from qbank.formats.package import Package
from qbank.formats.pictures import PicturePlace
from qbank.formats.qti_metadata import metadata_of, provenance_of
from qbank.formats.qti_scan import MANIFEST, stream
from qbank.formats.qti_tree import attribute, child, children, descendants, local, text_of, values
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


def iter_items(package: Package) -> Iterator[Item]:
    """The items in the manifest's order. Raises QbankError where one cannot be read."""
    with package.open(MANIFEST) as source:
        for resource in stream(source, MANIFEST, "resource"):
            if not attribute(resource, "type").startswith("imsqti_item"):
                continue
            href = unquote(attribute(resource, "href"))
            item = read_item(package.read(href), href, package.read)
            yield replace(item, metadata=metadata_of(resource), provenance=provenance_of(resource))


def read_item(data: bytes, member: str, read: Callable[[str], bytes]) -> Item:
    """The item in one document, without the provenance that only a manifest has.

    `read` gives the bytes of the package's members, of which pictures are some.
    """
    root = parse(data, member)
    identifier = attribute(root, "identifier")
    folder = member.rpartition("/")[0]
    pictures = PictureReader(
        PicturePlace(identifier), lambda href: read(posixpath.join(folder, href))
    )
    body = child(root, "itemBody")
    if body is None:
        raise QbankError(f"'{member}' is no item: it has no body")
    if child(root, "templateProcessing") is not None:
        raise QbankError(
            f"'{member}' draws its own data, so it is no one item with a text and a key",
            hint="read a package of instances; `qbank score` runs this one",
        )
    scoring = _scoring(root)
    shown = {
        (attribute(f, "outcomeIdentifier"), attribute(f, "identifier")): _content(f)
        for f in children(root, "modalFeedback")
    }
    declared = {
        attribute(e, "identifier"): e
        for e in children(root, "responseDeclaration", "outcomeDeclaration")
    }
    stem: list[Block] = []
    parts: list[Part] = []
    caution = ""
    for block in body:
        interaction = next(
            descendants(block, "textEntryInteraction", "inlineChoiceInteraction"), None
        )
        if local(block.tag) == "rubricBlock":
            caution = text_of(block)
        elif local(block.tag) in _BLOCK_INTERACTIONS:
            interaction = block
        elif next(descendants(block, "endAttemptInteraction"), None) is not None:
            continue
        elif interaction is None and not parts:
            stem.extend(blocks(block if local(block.tag) == "div" else [block], pictures))
        if interaction is not None:
            reader = _PartReader(block, interaction, declared, scoring, shown)
            parts.append(reader.part())
    hints: list[tuple[Inline, ...]] = []
    while (hint := shown.get(("HINT", f"HINT_{len(hints) + 1}"))) is not None:
        hints.append(inline(hint[0]))
    solution = shown.get(("SOLUTION", "WORKED"), [])
    return Item(
        identifier=identifier,
        title=attribute(root, "title"),
        language=root.get("{http://www.w3.org/XML/1998/namespace}lang", ""),
        stem=tuple(stem),
        parts=tuple(parts),
        solution=tuple(blocks(solution[0], pictures)) if solution else (),
        caution=caution,
        hints=tuple(hints),
    )


# ---------------------------------------------------------------------------- scoring


@dataclass(slots=True)
class _Scoring:
    """What the rules do with one response."""

    points: float = 0.0
    partial: bool = False
    band: tuple[float, float] = (0.0, 0.0)
    wrong: list[tuple[str, float, float]] = field(default_factory=list)
    labels: dict[str, str] = field(default_factory=dict)  # option -> feedback identifier
    target_labels: dict[str, str] = field(default_factory=dict)  # the same of a matching's targets


def _scoring(root: etree._Element) -> dict[str, _Scoring]:
    found: dict[str, _Scoring] = {}
    keys = {
        attribute(e, "identifier"): values(child(e, "correctResponse"))
        for e in children(root, "responseDeclaration")
    }
    arranged = {
        attribute(e, "identifier")
        for e in children(root, "responseDeclaration")
        if attribute(e, "cardinality") == "ordered" or attribute(e, "baseType") == "directedPair"
    }
    for condition in descendants(root, "responseIf", "responseElseIf"):
        test = condition[0]
        variable = next(descendants(test, "variable"), None)
        if variable is None:
            continue
        response = attribute(variable, "identifier")
        scoring = found.setdefault(response, _Scoring())
        label = ""
        for setting in children(condition, "setOutcomeValue"):
            outcome = attribute(setting, "identifier")
            base = next(descendants(setting, "baseValue"), None)
            text = "" if base is None else (base.text or "")
            if outcome.startswith("SCORE_"):
                if child(setting, "sum") is not None:
                    scoring.partial = True
                else:
                    scoring.points = float(text)
            elif outcome.startswith("FEEDBACK_"):
                label = text
        if response in arranged:
            if label:
                _label_arranged(scoring, test, label)
        elif local(test.tag) == "and":
            low, high = (float(b.text or "nan") for b in descendants(test, "baseValue"))
            if local(condition.tag) == "responseIf":
                scoring.band = (low, high)
            else:
                scoring.wrong.append((label, low, high))
        elif label:
            base = next(descendants(test, "baseValue"), None)
            option = keys[response][0] if base is None else (base.text or "")
            scoring.labels[option] = label
    return found


def _label_arranged(scoring: _Scoring, test: etree._Element, label: str) -> None:
    """Whose feedback a rule shows: an entry's that is not in its place, a source's that is not
    rightly paired, or a target's in any of its wrong pairs."""
    said = next(descendants(test, "baseValue")).text or ""
    source, _, target = said.partition(" ")
    if local(test.tag) == "or":
        scoring.target_labels[target] = label
    else:
        scoring.labels[source] = label


def _slip(label: str) -> str | None:
    if not label.startswith(SLIP):
        return None
    return text_of_name_part(label.removeprefix(SLIP).rstrip("."))


# ---------------------------------------------------------------------------- parts


@dataclass(frozen=True, slots=True)
class _PartReader:
    """One part, from the block that holds its interaction and what is declared for it."""

    block: etree._Element
    interaction: etree._Element
    declared: dict[str, etree._Element]
    scoring: dict[str, _Scoring]
    shown: dict[tuple[str, str], list[etree._Element]]

    def part(self) -> Part:
        response = attribute(self.interaction, "responseIdentifier")
        name = response.removeprefix("RESPONSE_")
        scoring = self.scoring.get(response, _Scoring())
        declaration = self.declared[response]
        match local(self.interaction.tag):
            case "textEntryInteraction":
                return self._number(name, scoring, declaration)
            case "orderInteraction":
                return self._ordering(name, scoring, declaration)
            case "matchInteraction":
                return self._matching(name, scoring, declaration)
        return self._choice(name, scoring, declaration)

    def _feedback(self, name: str, label: str) -> tuple[Inline, ...]:
        content = self.shown.get((f"FEEDBACK_{name}", label))
        return inline(content[0]) if content else ()

    def _number(self, name: str, scoring: _Scoring, declaration: etree._Element) -> NumberEntry:
        correct = child(declaration, "correctResponse")
        key_text = values(correct)[0]
        score = self.declared[f"SCORE_{name}"]
        kind, _, digits = attribute(self.interaction, "class").partition("-")
        unit = next(
            (s for s in children(self.block, "span") if attribute(s, "class") == "unit"), None
        )
        return NumberEntry(
            identifier=name,
            prompt=self._prompt_before(),
            key=float(key_text),
            key_text=key_text,
            key_shown="" if correct is None else attribute(correct, "interpretation"),
            unit="" if unit is None else text_of(unit),
            tolerance=Tolerance(*scoring.band, attribute(score, "interpretation")),
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

    def _choice(self, name: str, scoring: _Scoring, declaration: etree._Element) -> Choice:
        keys = values(child(declaration, "correctResponse"))
        options = []
        for element in children(self.interaction, "simpleChoice", "inlineChoice"):
            identifier = attribute(element, "identifier")
            label = scoring.labels.get(identifier, "")
            options.append(
                Option(
                    identifier,
                    inline(element),
                    identifier in keys,
                    self._feedback(name, label),
                    _slip(label),
                )
            )
        is_inline = local(self.interaction.tag) == "inlineChoiceInteraction"
        prompt = child(self.interaction, "prompt")
        return Choice(
            identifier=name,
            prompt=self._prompt_before() if prompt is None else inline(prompt),
            options=tuple(options),
            points=scoring.points,
            multiple=attribute(declaration, "cardinality") == "multiple",
            inline=is_inline,
            shuffle=attribute(self.interaction, "shuffle") == "true",
        )

    def _own_prompt(self) -> tuple[Inline, ...]:
        prompt = child(self.interaction, "prompt")
        return () if prompt is None else inline(prompt)

    def _ordering(self, name: str, scoring: _Scoring, declaration: etree._Element) -> Ordering:
        entries = {
            option.identifier: option
            for option in self._options(self.interaction, "simpleChoice", name, scoring.labels)
        }
        keys = values(child(declaration, "correctResponse"))
        return Ordering(
            name,
            self._own_prompt(),
            tuple(entries[key] for key in keys),
            scoring.points,
            scoring.partial,
        )

    def _matching(self, name: str, scoring: _Scoring, declaration: etree._Element) -> Matching:
        kind = "simpleAssociableChoice"
        left, right = children(self.interaction, "simpleMatchSet")
        pairs = [key.split() for key in values(child(declaration, "correctResponse"))]
        return Matching(
            name,
            self._own_prompt(),
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
            identifier = attribute(element, "identifier")
            label = labels.get(identifier, "")
            said = self._feedback(name, label)
            found.append(Option(identifier, inline(element), False, said, _slip(label)))
        return tuple(found)

    def _prompt_before(self) -> tuple[Inline, ...]:
        """The content before the interaction, without the space that sets it off."""
        content = list(inline(self.block, stop=self.interaction))
        if content and isinstance(content[-1], str):
            content[-1] = content[-1].removesuffix(" ")
            if not content[-1]:
                content.pop()
        return tuple(content)


def _content(feedback: etree._Element) -> list[etree._Element]:
    """The blocks of a modal feedback, inside the wrapper that only 3.0 has."""
    wrapper = child(feedback, "contentBody")
    return list(feedback if wrapper is None else wrapper)
