"""Text from anyone as characters of an HTML page."""

from __future__ import annotations

import re

from qbank.rendering.plain import number_text

# What HTML does not allow as a character (HTML standard, preprocessing the input stream), and
# marks that would turn the direction of text that is not theirs.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
_IN_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
_IN_ATTRIBUTE = str.maketrans(
    {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;", "\n": "&#10;"}
)

number = number_text


def escape(text: str) -> str:
    """Text as the content of an element.

    >>> escape("5 < 6 & <script>")
    '5 &lt; 6 &amp; &lt;script&gt;'
    """
    return _printable(text).translate(_IN_TEXT)


def attribute(text: str) -> str:
    """Text as an attribute's value, between quotes.

    >>> attribute('a "b"')
    'a &quot;b&quot;'
    """
    return _printable(text).translate(_IN_ATTRIBUTE)


def _printable(text: str) -> str:
    return _TURNING.sub("", _UNPRINTABLE.sub("\ufffd", text))


def points_text(points: float, one: str, many: str) -> str:
    """A number of points with its word.

    >>> points_text(1, "point", "points"), points_text(0.5, "point", "points")
    ('1 point', '0.5 points')
    """
    return f"{number_text(points)} {one if points == 1 else many}"
