"""Text, numbers and names as XML text."""

from __future__ import annotations

import math
import re

from qbank.errors import CheckFailed
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

# A finite XML Schema double with a point (mapping note, b3).
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")
# An item's identifier: an NCName of ASCII letters and digits, of the length the item promises.
IDENTIFIER = re.compile(r"[A-Za-z_][A-Za-z0-9._-]{0,31}")


def escape(text: str) -> str:
    """Text as the content of an element. Raises CheckFailed for what XML cannot hold."""
    # Printable text holds nothing that XML forbids; most text leaves by this quicker door.
    if text.isprintable() and "<" not in text and "&" not in text and ">" not in text:
        return text
    return ensure_allowed(text).translate(_IN_TEXT) if _SPECIAL_IN_TEXT.search(text) else text


def quote(text: str) -> str:
    """Text as an attribute's value, between double quotes. Raises CheckFailed as `escape`."""
    return (
        ensure_allowed(text).translate(_IN_ATTRIBUTE)
        if _SPECIAL_IN_ATTRIBUTE.search(text)
        else text
    )


def ensure_allowed(text: str) -> str:
    """The text itself. Raises CheckFailed when it holds a character that XML cannot hold."""
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


def utf8(text: str) -> bytes:
    """Text as UTF-8. Raises CheckFailed for half of a surrogate pair, which is no character."""
    try:
        return text.encode()
    except UnicodeEncodeError as fault:
        ensure_allowed(text)
        raise CheckFailed(f"a text cannot be written as UTF-8: {fault}") from fault


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
