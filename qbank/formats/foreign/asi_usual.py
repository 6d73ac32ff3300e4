"""Items of QTI 1.2.1 in the very words of our writer, skimmed.

Fields and rules are taken from the text by patterns, one rule at once; an XML parser gets what is
left. What comes of it is what `asi_item` makes of the same document, without a loss. Whatever is
not just as the writer puts it, is rare, or would be told as a loss is left to that.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.asi_markup import RIGHT, SOLUTION
from qbank.formats.asi_readback import provenance_of
from qbank.formats.content_readback import MARKED, HtmlTexts, picture_paragraphs
from qbank.formats.dialects import MATHML
from qbank.formats.foreign.content import WHITE, ContentReader
from qbank.formats.foreign.formulas import is_known
from qbank.formats.foreign.losses import Losses, place_of
from qbank.formats.foreign.pictures import PictureLoader
from qbank.formats.grammar import parse
from qbank.formats.qti12_arranged import RESPONSE
from qbank.formats.qti12_item import PROMPT, STEM, UNIT
from qbank.formats.qti_markup import SLIP
from qbank.formats.qti_tree import KINDS, any_of
from qbank.formats.source import ReadItem
from qbank.formats.xmltext import IDENTIFIER, NUMBER, text_of_name_part
from qbank.item import (
    Block,
    Choice,
    Display,
    Image,
    Inline,
    Item,
    Math,
    NumberEntry,
    Option,
    Paragraph,
    Part,
    Table,
    Tolerance,
    WrongValue,
)

# Text of attributes and elements that needs no thought; see `qti_usual`.
_TEXT = rb'[^<>&"\x00-\x1f\xef]*'
_WORDS = rb"[^<>&\x00-\x1f\xef]*"
_START = re.compile(
    rb'<\?xml version="1\.0" encoding="UTF-8"\?>\n'
    rb'<questestinterop(?:\s+[A-Za-z:]+="' + _TEXT + rb'")*>\n'
    rb'<item(?: [A-Za-z:]+="' + _TEXT + rb'")*>\n<itemmetadata><qtimetadata>\n'
)
_FIELD = re.compile(
    rb"(<qtimetadatafield><fieldlabel>(" + _WORDS + rb")</fieldlabel><fieldentry>(" + _WORDS
    + rb")</fieldentry></qtimetadatafield>\n)"
)  # fmt: skip
_FIELDS_END = b"</qtimetadata></itemmetadata>\n"
_OUTCOMES = re.compile(
    rb'</presentation>\n<resprocessing>\n<outcomes><decvar varname="SCORE" vartype="Decimal"'
    rb' minvalue="0" maxvalue="' + _TEXT + rb'" defaultval="0"/></outcomes>\n'
)
_RULES_END = b"</resprocessing>\n"
_EQUAL = rb'<varequal respident="(' + _TEXT + rb')" case="Yes">(' + _WORDS + rb")</varequal>"
_EQUALS = re.compile(b"(<not>)?" + _EQUAL)
_ONE = _EQUAL.replace(b"(", b"(?:")
_RULE = re.compile(
    rb'(<respcondition(?: title="(' + _TEXT + rb')")? continue="Yes"><conditionvar>'
    rb'(?:<other/>|<or>(?:<unanswered respident="' + _TEXT + rb'"/>)+</or>'
    rb'|<and><vargte respident="(' + _TEXT + rb')">(' + _WORDS + rb")</vargte>"
    rb'<varlte respident="(' + _TEXT + rb')">(' + _WORDS + rb")</varlte></and>"
    rb"|" + _EQUAL +
    rb"|<and>((?:" + _ONE + rb"|<not>" + _ONE + rb"</not>)+)</and>"
    rb')</conditionvar>(?:<setvar varname="SCORE" action="Add">(' + _WORDS + rb")</setvar>)?"
    rb'((?:<displayfeedback feedbacktype="[A-Za-z]+" linkrefid="' + _TEXT + rb'"/>)*)'
    rb"</respcondition>\n)"
)  # fmt: skip
_SHOWN = re.compile(rb'linkrefid="([^"]*)"')
_CUT = any_of("respcondition", "qtimetadatafield")
_MATH = f"{{{MATHML}}}math"
_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
_MARK = b"<fieldlabel>qbank_"


class _Unusual(Exception):  # noqa: N818 - says what is so
    """Something is not as we write it, or would be told as a loss."""


_FAULTS = (
    _Unusual, QbankError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError,
    etree.LxmlError,
)  # fmt: skip


@dataclass(slots=True)
class _Rules:
    """What the rules do with one response."""

    bands: list[tuple[str, float, float, float]] = field(default_factory=list)  # title, score
    picked: list[tuple[str, str, float]] = field(default_factory=list)  # option, title, score
    exactly: list[tuple[set[str], float]] = field(default_factory=list)
    shown: set[str] = field(default_factory=set)


def usual_item(data: bytes, member: str, glance: Callable[[str], bytes]) -> ReadItem | None:
    """The item of a document in our own words, skimmed; None for any other document."""
    if _MARK not in data[:4000]:
        return None
    try:
        return _item(data, member, glance)
    except _FAULTS:
        return None


def _item(data: bytes, member: str, glance: Callable[[str], bytes]) -> ReadItem:
    start = _ensured(_START.match(data))
    fields_to = data.index(_FIELDS_END, start.end())
    outcomes = _ensured(_OUTCOMES.search(data, fields_to))
    rules_to = data.index(_RULES_END, outcomes.end())
    fields = _fields(data, start.end(), fields_to)
    rules = _rules(data, outcomes.end(), rules_to)
    rest = data[: start.end()] + data[fields_to : outcomes.end()] + data[rules_to:]
    root = parse(rest, member)
    (item,) = root
    metadata, *others = item
    kinds = [KINDS[element.tag] for element in others]
    named = {f.get("ident", ""): f for f in others if KINDS[f.tag] == "itemfeedback"}
    if kinds[:1] == ["itemrubric"]:
        if others[0].items() != [("view", "Candidate")]:
            raise _Unusual
        others, kinds = others[1:], kinds[1:]
    identifier = item.get("ident", "")
    if (
        KINDS[metadata.tag] != "itemmetadata"
        or kinds[:2] != ["presentation", "resprocessing"]
        or len(others[1]) != 1
        or len(named) != len(kinds) - 2
        or any(kind != "itemfeedback" for kind in kinds[2:])
        or next(root.iter(*_CUT), None) is not None
        or not IDENTIFIER.fullmatch(identifier)
    ):
        raise _Unusual
    losses = Losses(member, identifier)
    pictures = PictureLoader(re.sub(r"_\d+$", "", identifier), glance, losses, glance)
    reader = _Reader(fields, rules, losses, pictures, list(others[0]))
    stem, parts = reader.stem(), tuple(reader.parts())
    told = {name for name in named if name != SOLUTION and not name.startswith("HINT_")}
    solution = reader.pictures(named[SOLUTION]) if SOLUTION in named else ()
    if losses or not told <= reader.taken:
        raise _Unusual
    return ReadItem(
        Item(
            identifier=identifier,
            title=item.get("title", ""),
            language=item.get(_LANGUAGE, ""),
            stem=stem,
            parts=parts,
            solution=solution,
            provenance=provenance_of({label: [entry] for label, entry in fields.items()}),
        ),
        place_of(member, item),
    )


def _ensured(found: re.Match[bytes] | None) -> re.Match[bytes]:
    if found is None:
        raise _Unusual
    return found


def _fields(data: bytes, at: int, end: int) -> dict[str, str]:
    """The first entry of each field."""
    fields: dict[str, str] = {}
    for text, label, entry in _FIELD.findall(data, at, end):
        at += len(text)
        fields.setdefault(label.decode(), entry.decode())
    if at != end:
        raise _Unusual
    return fields


def _rules(data: bytes, at: int, end: int) -> dict[str, _Rules]:
    found: dict[str, _Rules] = {}
    for (
        text, title, compared, low, again, high, equal, option, among, score, shown,
    ) in _RULE.findall(data, at, end):  # fmt: skip
        at += len(text)
        points = float(score) if score else 0.0
        if score and points <= 0.0:
            raise _Unusual
        response = compared or equal
        if among:
            tests = _EQUALS.findall(among)
            (response,) = {name for _, name, _ in tests}
        elif not response:
            if points:
                raise _Unusual
            continue
        its = found.setdefault(response.decode(), _Rules())
        if compared:
            if compared != again:
                raise _Unusual
            its.bands.append((title.decode(), points, float(low), float(high)))
        elif among:
            its.exactly.append(({key.decode().strip() for no, _, key in tests if not no}, points))
        else:
            its.picked.append((option.decode().strip(), title.decode(), points))
        its.shown.update(name.decode() for name in _SHOWN.findall(shown))
    if at != end:
        raise _Unusual
    return found


# ---------------------------------------------------------------------------- presentation


class _Reader:
    """Reads what is presented; `taken` names the feedback that has a place."""

    def __init__(
        self,
        fields: dict[str, str],
        rules: dict[str, _Rules],
        losses: Losses,
        pictures: PictureLoader,
        presented: list[etree._Element],
    ) -> None:
        self._fields = fields
        self._rules = rules
        self._pictures = pictures
        self._tables = ContentReader(losses, pictures, mathml=False)
        self._presented = presented
        self._texts = {element: _mattext(element) for element in presented
                       if KINDS[element.tag] == "material"}  # fmt: skip
        self._labels = {
            element: _labels(element) for element in presented
            if KINDS[element.tag] == "response_lid"
        }  # fmt: skip
        texts = list(self._texts.values())
        texts.extend(text for labels in self._labels.values() for _, text in labels)
        self._html = HtmlTexts(texts, whole=False)
        self.taken: set[str] = set()

    def stem(self) -> tuple[Block, ...]:
        """The first material."""
        first = self._presented[0]
        if first.get("label") != STEM:
            raise _Unusual
        return tuple(self._blocks(self._html.root(self._texts[first])))

    def parts(self) -> Iterator[Part]:
        """A prompt where there is one, a response, a unit where there is one, again and again."""
        left = iter(self._presented[1:])
        prompt: tuple[Inline, ...] | None = None
        element = next(left, None)
        while element is not None:
            following = next(left, None)
            kind = KINDS[element.tag]
            if kind == "material":
                if element.get("label") != PROMPT or prompt is not None:
                    raise _Unusual
                prompt = self._line(self._texts[element])
            elif kind == "response_num":
                unit = ""
                if following is not None and following.get("label") == UNIT:
                    (unit,) = self._line(self._texts[following])  # type: ignore[assignment]
                    following = next(left, None)
                yield self._number(element, prompt or (), unit)
                prompt = None
            else:
                yield self._choice(element, prompt or ())
                prompt = None
            element = following
        if prompt is not None:
            raise _Unusual

    def _name(self, element: etree._Element) -> str:
        response = element.get("ident", "")
        if not response.startswith(RESPONSE) or response == RESPONSE:
            raise _Unusual
        return response.removeprefix(RESPONSE)

    def _field(self, kind: str, name: str) -> str:
        return self._fields.get(f"qbank_{kind}_{name}", "")

    def _number(
        self, element: etree._Element, prompt: tuple[Inline, ...], unit: str
    ) -> NumberEntry:
        name = self._name(element)
        (render,) = element
        if KINDS[render.tag] != "render_fib" or any(len(label) for label in render):
            raise _Unusual
        rules = self._rules[element.get("ident", "")]
        (title, points, low, high), *others = rules.bands
        key_text, shown = self._field("key", name), self._field("shown", name)
        stated = self._field("tolerance", name)
        figures, decimals = self._field("figures", name), self._field("decimals", name)
        key = float(key_text)
        if (
            title != RIGHT
            or not points
            or rules.picked
            or rules.exactly
            or not shown
            or not NUMBER.fullmatch(key_text)
            or not low <= key <= high
            or not float("-inf") < low <= high < float("inf")
            or (stated and unit and stated[-1].isdigit())
            or (figures and decimals)
            or not f"{figures}{decimals}0".isdecimal()
            or len(figures) > 2
            or len(decimals) > 2
        ):
            raise _Unusual
        wrong = []
        for label, score, least, most in others:
            slip = _slip(label)
            apart = most < low or least > high
            if score or not slip or not apart or not float("-inf") < least <= most < float("inf"):
                raise _Unusual
            wrong.append(WrongValue(slip, (least + most) / 2, least, most, ()))
        self.taken |= rules.shown
        return NumberEntry(
            identifier=name,
            prompt=prompt,
            key=key,
            key_text=key_text,
            key_shown=shown,
            unit=unit,
            tolerance=Tolerance(low, high, stated),
            points=points,
            figures=int(figures) if figures else None,
            decimals=int(decimals) if decimals else None,
            wrong_values=tuple(wrong),
        )

    def _choice(self, element: etree._Element, prompt: tuple[Inline, ...]) -> Choice:
        name = self._name(element)
        cardinality = element.get("rcardinality")
        rules = self._rules[element.get("ident", "")]
        multiple = cardinality == "Multiple"
        scoring = [(option, points) for option, _, points in rules.picked if points]
        if multiple and not scoring:
            ((right, points),) = rules.exactly
        elif cardinality == "Single" and not rules.exactly:
            ((option, points),) = scoring
            right = {option}
        else:
            raise _Unusual
        about = {option: _slip(title) or None for option, title, _ in reversed(rules.picked)}
        labels = self._labels[element]
        names = {option for option, _ in labels}
        untitled = any(not title for _, title, _ in rules.picked)
        if (
            rules.bands
            or untitled
            or not points
            or len(names) != len(labels)
            or len(about) != len(rules.picked)
            or not names >= right
            or not names >= about.keys()
        ):
            raise _Unusual
        self.taken |= rules.shown
        return Choice(
            identifier=name,
            prompt=prompt,
            options=tuple(
                Option(option, self._line(text), option in right, (), about.get(option))
                for option, text in labels
            ),
            points=points,
            multiple=multiple,
            inline=bool(self._field("inline", name)),
            shuffle=element[0].get("shuffle") == "Yes",
        )

    # ------------------------------------------------------------------ content

    def pictures(self, feedback: etree._Element) -> tuple[Block, ...]:
        """The pictures of the solution."""
        (text,) = feedback.iter("{*}mattext")
        said = text.text or ""
        if "<img" not in said:
            return ()
        if not (found := picture_paragraphs(said)):
            raise _Unusual
        root = HtmlTexts((), whole=False).root(found)
        return tuple(block for block in self._blocks(root) if isinstance(block, Image))

    def _line(self, text: str) -> tuple[Inline, ...]:
        """A text as one line."""
        if not MARKED.search(text):
            return _ensured_even([text])
        return self._content(self._html.root(text))

    def _content(self, element: etree._Element) -> tuple[Inline, ...]:
        content: list[Inline] = [element.text] if element.text else []
        for child in element:
            plain = child.get("alttext")
            if child.tag != _MATH or not plain or child.get("display") or not is_known(child):
                raise _Unusual
            content.append(Math("", plain))
            if child.tail:
                content.append(child.tail)
        return _ensured_even(content)

    def _blocks(self, root: etree._Element) -> Iterator[Block]:
        if (root.text or "").strip():
            raise _Unusual
        described = False
        for element in root:
            if (element.tail or "").strip():
                raise _Unusual
            kind, is_picture = element.tag, False
            if kind == "p" and len(element) == 1 and element[0].tag == "img":
                image = self._picture(element)
                is_picture = True
                yield image
            elif kind == "p":
                yield Paragraph(self._content(element))
            elif kind == _MATH and element.get("display") == "block" and is_known(element):
                if not (plain := element.get("alttext")):
                    raise _Unusual
                yield Display(Math("", plain))
            elif kind == "table":
                (table,) = (t for t in self._tables.tokens_of([element]) if isinstance(t, Table))
                yield table
            elif kind != "div" or element.get("class") != "description" or not described:
                raise _Unusual
            described = is_picture

    def _picture(self, paragraph: etree._Element) -> Image:
        element = paragraph[0]
        alt = element.get("alt", "")
        if paragraph.text or element.tail or not alt or not element.get("src"):
            raise _Unusual
        image = self._pictures(element.get("src", ""), alt, element)
        if image is None:
            raise _Unusual
        return image


def _ensured_even(content: list[Inline]) -> tuple[Inline, ...]:
    """The content, where its white space is even already."""
    for piece in content:
        if isinstance(piece, str) and (not piece or WHITE.search(piece)):
            raise _Unusual
    if not content:
        raise _Unusual
    first, last = content[0], content[-1]
    if (isinstance(first, str) and first[0] == " ") or (isinstance(last, str) and last[-1] == " "):
        raise _Unusual
    return tuple(content)


def _mattext(material: etree._Element) -> str:
    """The text of a material that holds nothing else."""
    (text,) = material
    if KINDS[text.tag] != "mattext" or len(text) or text.get("texttype") != "text/html":
        raise _Unusual
    return text.text or ""


def _labels(element: etree._Element) -> list[tuple[str, str]]:
    """The options of a list, with their texts."""
    (render,) = element
    if KINDS[render.tag] != "render_choice":
        raise _Unusual
    found = []
    for label in render:
        (material,) = label
        if KINDS[label.tag] != "response_label" or KINDS[material.tag] != "material":
            raise _Unusual
        if label.get("rshuffle") or material.get("label"):
            raise _Unusual
        found.append((label.get("ident", ""), _mattext(material)))
    return found


def _slip(label: str) -> str:
    if not label.startswith(SLIP):
        return ""
    return text_of_name_part(label.removeprefix(SLIP).rstrip("."))
