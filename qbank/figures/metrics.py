"""How much room a label takes, whatever sans-serif font a reader's machine has.

Widths are the wider of DejaVu Sans and Liberation Sans (metrically Arial), in hundredths of the
font size, rounded up, read from the fonts' own tables; the same for their oblique cuts. A
character that is not listed counts as one em.
"""

from __future__ import annotations

from functools import lru_cache

from qbank.figures.canvas import Run, Runs

SIZE = 15.0  # CSS pixels
LOW_SIZE = 12.0  # of subscripts; no text is smaller
LOW_DROP = 4.0  # how far the baseline of a subscript lies below that of the text
ASCENT = 0.93  # of the font size
DESCENT = 0.24

_BY_WIDTH = {
    20: "\u2009\u202f",
    23: "′",
    28: "'ijl",
    30: "I",
    32: " ,.\u00a0·‘’‚",
    34: "/:;\\|ι",
    36: "f",
    37: "-",
    38: "″",
    40: "()[]t",
    41: "!²³⁰⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉¹",
    42: "r",
    46: '"',
    50: "*J`°",
    52: "“”„",
    53: "sz⁻",
    55: "cçεζ",
    56: "?L_νξ–",
    58: "kΓυ",
    59: "κς",
    60: "vxyγλχ",
    61: "τ",
    62: "FTaeoäöéèàåøδθο«»",
    63: "ß",
    64: "$0123456789bdghnpqu{}µüñΣβημρσ√€",
    65: "Ξ",
    66: "αφ",
    67: "EKPSY",
    69: "ABVXZÄΑΒΔΛπ",
    73: "CRψ",
    74: "UÜ",
    75: "N",
    76: "HΠ",
    77: "Ω",
    78: "&DG",
    79: "OQÖΘ",
    82: "w",
    84: "#+<=>^~±×ΦΨω−↑↓≤≥≈∞",
    87: "M",
    96: "%",
    98: "m",
    107: "W",  # 99 by the tables; an oblique one was measured 16 pixels wide at 15
    100: "—…→←",
    102: "@",
}
_WIDTHS = {letter: width / 100 for width, letters in _BY_WIDTH.items() for letter in letters}


@lru_cache(maxsize=4096)
def _width(run: Run) -> float:
    size = LOW_SIZE if run.style == "low" else SIZE
    return size * sum(_WIDTHS.get(letter, 1.0) for letter in run.text)


def width(runs: Runs) -> float:
    """An upper bound of the width of a label, in units of the drawing."""
    return sum(map(_width, runs))


def depth(runs: Runs) -> float:
    """How far a label reaches below its baseline."""
    for _, style in runs:
        if style == "low":
            return LOW_DROP + DESCENT * LOW_SIZE
    return DESCENT * SIZE
