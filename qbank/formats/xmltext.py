"""Text, numbers and formulas as XML text: the pieces that items are joined from."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from qbank.errors import CheckFailed
from qbank.formats.dialects import MATHML
from qbank.item import Inline, Math

# Characters that no XML document may hold, not even as references (XML 1.0, 2.2).
_NO_XML = "\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff"
_FORBIDDEN = re.compile(f"[{_NO_XML}]")
# A carriage return must be a reference, or a parser reads it as a line feed (XML 1.0, 2.11).
_SPECIAL_IN_TEXT = re.compile(f"[&<>\r{_NO_XML}]")
_IN_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", "\r": "&#13;"})
# In attributes line feeds and tabs must be references too (XML 1.0, 3.3.3).
_SPECIAL_IN_ATTRIBUTE = re.compile(f'[&<>"\r\n\t{_NO_XML}]')
_IN_ATTRIBUTE = str.maketrans(
    {
        "&": "&amp;",
        "<": "&lt;",
        ">": "&gt;",
        '"': "&quot;",
        "\r": "&#13;",
        "\n": "&#10;",
        "\t": "&#9;",
    }
)
_MATH_START = re.compile(r"<math((?:\s+[\w:.-]+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*)\s*(/?)>")
_HAS_NAMESPACE = re.compile(r"\sxmlns\s*=")
_ALTTEXT_OR_DISPLAY = re.compile(r"\s(?:alttext|display)\s*=\s*(?:\"[^\"]*\"|'[^']*')")


def escape(text: str) -> str:
    """Text as the content of an element. Raises CheckFailed for what XML cannot hold."""
    return _allowed(text).translate(_IN_TEXT) if _SPECIAL_IN_TEXT.search(text) else text


def quote(text: str) -> str:
    """Text as an attribute's value, between double quotes. Raises CheckFailed as `escape`."""
    return _allowed(text).translate(_IN_ATTRIBUTE) if _SPECIAL_IN_ATTRIBUTE.search(text) else text


def _allowed(text: str) -> str:
    found = _FORBIDDEN.search(text)
    if found:
        raise CheckFailed(
            f"a text holds the character U+{ord(found[0]):04X}, which XML cannot hold: "
            f"{text[max(0, found.start() - 30) : found.start()]!r} and then it"
        )
    return text


def number(value: float) -> str:
    """A float as the shortest XML Schema double that reads back as the same float.

    Raises CheckFailed for infinity and not-a-number, which no key or bound may be.

    >>> number(2.0), number(0.1), number(1.8e-05)
    ('2', '0.1', '1.8e-05')
    """
    if not math.isfinite(value):
        raise CheckFailed(f"a key, bound or score to be written is {value}")
    return repr(float(value)).removesuffix(".0")


@lru_cache(maxsize=4096)
def formula(mathml: str, plain: str, display: bool = False) -> str:
    """A `math` element in its own namespace, with `alttext` for who cannot see it.

    Only 1 of 95 formulas of the official examples has the alternative text (mapping note,
    section d); without it a screen reader may read nothing at all.
    """
    start = _MATH_START.match(mathml)
    if start is None:
        raise CheckFailed(f"a formula does not start with a math element: {mathml[:60]!r}")
    _allowed(mathml)
    attributes = _ALTTEXT_OR_DISPLAY.sub("", start[1])
    if not _HAS_NAMESPACE.search(attributes):
        attributes = f' xmlns="{MATHML}"{attributes}'
    block = ' display="block"' if display else ""
    return f'<math{attributes}{block} alttext="{quote(plain)}"{start[2]}>{mathml[start.end() :]}'


def utf8(text: str) -> bytes:
    """Text as UTF-8. Raises CheckFailed for half of a surrogate pair, which is no character."""
    try:
        return text.encode()
    except UnicodeEncodeError as fault:
        _allowed(text)
        raise CheckFailed(f"a text cannot be written as UTF-8: {fault}") from fault


def inline(content: tuple[Inline, ...]) -> str:
    """Text and formulas in turn, as the content of a paragraph."""
    if len(content) == 1 and isinstance(content[0], str):
        return escape(content[0])
    return "".join(
        formula(piece.mathml, piece.plain) if isinstance(piece, Math) else escape(piece)
        for piece in content
    )


def plain(content: tuple[Inline, ...]) -> str:
    """Text and formulas in turn, as characters alone."""
    return "".join(piece.plain if isinstance(piece, Math) else piece for piece in content)


_UNSAFE_IN_NAME = re.compile(r"[^A-Za-z0-9_-]|_x(?=[0-9A-F]+_)")
_ESCAPED_IN_NAME = re.compile(r"_x([0-9A-F]+)_")


def name_part(text: str) -> str:
    """Any text as the end of an XML name; `text_of_name_part` gives it back.

    >>> name_part("wrong way")
    'wrong_x20_way'
    """
    return _UNSAFE_IN_NAME.sub(lambda found: f"_x{ord(found[0][0]):X}_{found[0][1:]}", text)


def text_of_name_part(name: str) -> str:
    """The text that `name_part` made a name of."""
    return _ESCAPED_IN_NAME.sub(lambda found: chr(int(found[1], 16)), name)
