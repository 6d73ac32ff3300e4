"""The text a candidate sees of an element: printed variables, conditional parts, formulas.

Blocks end in a line break, table cells are set apart, a formula is its own plain text
(`alttext`) where it has one and else its characters with mathematical variables put in.
"""

from __future__ import annotations

import html
import re
from collections.abc import Mapping
from functools import cached_property

from lxml import etree

from qbank.scoring.declarations import Declaration
from qbank.scoring.names import get, kebab, name_of_tag
from qbank.scoring.printing import print_value
from qbank.scoring.values import Value

_PRINTED = ("format", "powerForm", "base", "index", "delimiter", "field", "mappingIndicator")
_BLOCKS = frozenset([
    "p", "div", "li", "ul", "ol", "dl", "dt", "dd", "table", "tr", "caption", "thead", "tbody",
    "h1", "h2", "h3", "h4", "h5", "h6", "blockquote", "pre", "br", "hr", "simpleChoice", "prompt",
    "contentBody", "feedbackBlock", "templateBlock", "flow_mat", "flow", "material",
])  # fmt: skip
_CONDITIONAL = frozenset(["feedbackInline", "feedbackBlock", "templateInline", "templateBlock"])
_CHOICES = frozenset(["simpleChoice", "inlineChoice"])  # that some draws may do without
_HIDDEN = frozenset(["rubricBlock", "stylesheet", "catalogInfo"])
MAX_NESTING = 200
_CELL = "\x1f"  # ends a table's cell until white space is evened; no XML can hold it


def is_shown(element: etree._Element, outcome: str, values: Mapping[str, Value | None]) -> bool:
    """Whether an element that depends on the variable named by its attribute `outcome` shows.

    `showHide="show"`: hidden until the variable is or contains the identifier; "hide" is the
    inverse (mapping note, c).
    """
    value = values.get(get(element, outcome) or "")
    name = element.get("identifier")
    met = value is not None and value.cardinality != "record" and name in value.members
    return met is (get(element, "showHide") != "hide")


class Shown:
    """Texts of one session's elements, as its variables stand."""

    def __init__(
        self, declared: Mapping[str, Declaration], values: Mapping[str, Value | None]
    ) -> None:
        self._declared = declared
        self._values = values

    @cached_property
    def _math(self) -> dict[str, Value | None]:
        """The values of mathematical variables, which stand for themselves in formulas."""
        return {
            name: self._values.get(name)
            for name, declared in self._declared.items()
            if declared.kind == "template" and declared.math_variable
        }

    def text(self, element: etree._Element) -> str:
        """All that shows of an element's content, with its white space evened."""
        pieces: list[str] = []
        self._content(element, pieces, 0)
        lines = "".join(pieces).split("\n")
        evened = (
            re.sub(f" *{_CELL} *", "   ", re.sub(r"[ \t\r\f\v]+", " ", line)).strip()
            for line in lines
        )
        return "\n".join(line for line in evened if line)

    def _content(self, element: etree._Element, pieces: list[str], depth: int) -> None:
        if element.text:
            pieces.append(_spaced(element.text))
        for child in element:
            if isinstance(child.tag, str) and depth < MAX_NESTING:
                self._child(child, pieces, depth)
            if child.tail:
                pieces.append(_spaced(child.tail))

    def _child(self, element: etree._Element, pieces: list[str], depth: int) -> None:
        name = name_of_tag(element.tag)
        if name in _HIDDEN:
            return
        if name in _CONDITIONAL:
            variable = "templateIdentifier" if name.startswith("template") else "outcomeIdentifier"
            if not is_shown(element, variable, self._values):
                return
        elif (
            name in _CHOICES
            and get(element, "templateIdentifier")
            and not is_shown(element, "templateIdentifier", self._values)
        ):
            return
        if name == "printedVariable":
            pieces.append(self._printed(element))
        elif name == "math" and element.get("alttext") and not self._math:
            pieces.append(element.get("alttext", ""))
        elif name in ("mi", "ci") and (element.text or "").strip() in self._math:
            pieces.append(print_value(self._math[(element.text or "").strip()], {}))
        elif name == "mattext":
            pieces.append(_mattext(element))
        elif name == "img":
            pieces.append(element.get("alt", ""))
        else:
            self._content(element, pieces, depth + 1)
            if name in ("td", "th"):
                pieces.append(_CELL)
        if name in _BLOCKS:
            pieces.append("\n")

    def _printed(self, element: etree._Element) -> str:
        attributes = {
            name: text for name in _PRINTED if (text := get(element, name)) is not None
        }  # fmt: skip
        value = self._values.get(element.get("identifier") or "")
        try:
            return print_value(value, attributes)
        except ValueError:
            # A format that is none: the value as it would be printed without.
            return print_value(value, {})


_TAG = re.compile(r"<(/?)([A-Za-z][A-Za-z0-9]*)[^<>]*>")


def _mattext(element: etree._Element) -> str:
    """The text of QTI 1.2.1, which holds HTML as escaped text where it says so."""
    text = "".join(str(piece) for piece in element.itertext())
    if element.get("texttype") != "text/html":
        return _spaced(text)
    return html.unescape(
        _TAG.sub(lambda tag: "\n" if tag[2].lower() in _BLOCKS else " ", _spaced(text))
    )


def _spaced(text: str) -> str:
    return text.replace("\n", " ")


def tags(*names: str) -> tuple[str, ...]:
    """Tags that lxml finds quickly: elements of these 2.1 names in any version.

    >>> tags("feedbackBlock")
    ('{*}feedbackBlock', '{*}qti-feedback-block')
    """
    return tuple(tag for name in names for tag in ("{*}" + name, f"{{*}}qti-{kebab(name)}"))
