"""Text from anyone as characters of an HTML page."""

from __future__ import annotations

import re

# What HTML does not allow as a character (HTML standard, preprocessing the input stream), and
# marks that would turn the direction of text that is not theirs.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_IN_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
_IN_ATTRIBUTE = str.maketrans(
    {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;", "\n": "&#10;"}
)


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


def number(value: float) -> str:
    """A bound or count as people read it, with up to twelve figures.

    >>> number(-0.25), number(27.918), number(1.5e-7)
    ('−0.25', '27.918', '1.5 × 10⁻⁷')
    """
    return spelled(f"{value:.12g}")


def spelled(numeral: str) -> str:
    """A numeral of Python's as people write it: a true minus sign, and powers of ten.

    >>> spelled("-2e+05")
    '−2 × 10⁵'
    """
    digits, _, power = numeral.partition("e")
    raised = f" × 10{str(int(power)).translate(_RAISED)}" if power else ""
    return digits.replace("-", "\u2212") + raised


def points_text(points: float, one: str, many: str) -> str:
    """A number of points with its word.

    >>> points_text(1, "point", "points"), points_text(0.5, "point", "points")
    ('1 point', '0.5 points')
    """
    return f"{number(points)} {one if points == 1 else many}"
