"""MathML from anyone as markup that is safe inside an HTML page.

Only presentation elements and attributes that place and shape symbols pass (MathML Core, W3C);
whatever else a formula holds makes it appear as its plain text.
"""

from __future__ import annotations

import re
from functools import lru_cache

from lxml import etree

from qbank.formats.grammar import secure_parser
from qbank.proof.text import attribute, escape

MATHML = "http://www.w3.org/1998/Math/MathML"
MOST_CHARACTERS = 100_000  # of one formula; a page of formulas is far shorter

# MathML Core's elements, `mfenced`, which is drawn another way, and the older `none`.
ELEMENTS = frozenset(
    (
        *("math", "mrow", "mi", "mn", "mo", "mtext", "mspace", "ms", "mfrac", "msqrt", "mroot"),
        *("msub", "msup", "msubsup", "munder", "mover", "munderover", "mmultiscripts"),
        *("mprescripts", "none", "mtable", "mtr", "mtd", "mpadded", "mphantom", "mstyle"),
        *("merror", "mfenced"),
    )
)

_LENGTH = re.compile(r"[+-]?[0-9]{0,2}(\.[0-9]{0,4})?(em|ex|px|pt|%)?")
_SMALL_INTEGER = re.compile(r"[+-]?[0-9]{1,2}")
_TRUTH = re.compile(r"true|false")
_WORD = re.compile(r"[a-z-]{1,30}")
_WORDS = re.compile(r"[a-z ]{1,200}")
_TEXT = re.compile(r".{0,400}", re.DOTALL)

# What an attribute's value may look like. Links, styles, colours, classes, identifiers and
# handlers are not among them.
ATTRIBUTES = {
    "mathvariant": _WORD,
    "form": _WORD,
    "displaystyle": _TRUTH,
    "stretchy": _TRUTH,
    "symmetric": _TRUTH,
    "fence": _TRUTH,
    "separator": _TRUTH,
    "largeop": _TRUTH,
    "movablelimits": _TRUTH,
    "accent": _TRUTH,
    "accentunder": _TRUTH,
    "scriptlevel": _SMALL_INTEGER,
    "columnspan": _SMALL_INTEGER,
    "rowspan": _SMALL_INTEGER,
    "columnalign": _WORDS,
    "rowalign": _WORDS,
    "linethickness": _LENGTH,
    "lspace": _LENGTH,
    "rspace": _LENGTH,
    "width": _LENGTH,
    "height": _LENGTH,
    "depth": _LENGTH,
    "voffset": _LENGTH,
    "minsize": _LENGTH,
    "maxsize": _LENGTH,
    "alttext": _TEXT,
}


class _NotPresentationError(Exception):
    """The formula holds something that is not passed on."""


def formula(mathml: str, plain: str, *, display: bool = False) -> str:
    """The formula as an HTML `math` element, or as its plain text where it is not safe."""
    safe = _filtered(mathml, display)
    return f'<span class="plain-formula">{escape(plain)}</span>' if safe is None else safe


@lru_cache(maxsize=4096)  # siblings share most of their formulas
def _filtered(mathml: str, display: bool) -> str | None:
    if len(mathml) > MOST_CHARACTERS:
        return None
    try:
        root = etree.fromstring(mathml, secure_parser())
    except (etree.XMLSyntaxError, ValueError):  # ValueError: characters XML cannot hold
        return None
    try:
        if _name(root) != "math":
            return None
        return _element(root, ' display="block"' if display else "")
    except _NotPresentationError:
        return None


def _name(element: etree._Element) -> str:
    """The local name; raises for entities and for other vocabularies."""
    if not isinstance(element.tag, str):
        raise _NotPresentationError
    namespace, _, local = element.tag.rpartition("}")
    if namespace not in ("", "{" + MATHML):
        raise _NotPresentationError
    return local


def _element(element: etree._Element, more: str = "") -> str:
    name = _name(element)
    if name == "semantics":  # what follows its first child repeats it in another notation
        return _element(element[0]) if len(element) else ""
    if name not in ELEMENTS:
        raise _NotPresentationError
    if name == "mfenced":
        return _fenced(element)
    attributes = "".join(
        f' {key}="{attribute(value)}"'
        for key, value in element.attrib.items()
        if isinstance(key, str)
        and isinstance(value, str)
        and key in ATTRIBUTES
        and ATTRIBUTES[key].fullmatch(value)
    )
    return f"<{name}{attributes}{more}>{_content(element)}</{name}>"


def _content(element: etree._Element) -> str:
    pieces = [escape(element.text or "")]
    for child in element:
        pieces.append(_element(child))
        pieces.append(escape(child.tail or ""))
    return "".join(pieces)


def _fenced(element: etree._Element) -> str:
    """`mfenced`, which browsers no longer draw, as a row with its fences and separators."""
    opening, closing = element.get("open", "("), element.get("close", ")")
    separators = element.get("separators", ",").replace(" ", "")
    pieces = [f"<mo>{escape(opening)}</mo>"]
    for place, child in enumerate(element):
        if place and separators:
            mark = separators[min(place - 1, len(separators) - 1)]
            pieces.append(f"<mo>{escape(mark)}</mo>")
        pieces.append(_element(child))
    return f"<mrow>{''.join(pieces)}<mo>{escape(closing)}</mo></mrow>"
