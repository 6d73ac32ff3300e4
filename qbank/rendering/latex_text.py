r"""Running text as LaTeX: what TeX would take for a command is escaped, signs become commands.

TeX's special characters and the ligatures of its fonts (``--``, `` ?` `` and their like) are
those of D. E. Knuth, The TeXbook, chapters 2, 7 and 9, and of the T1 encoding (from memory).
"""

from __future__ import annotations

import re
import unicodedata

from qbank.errors import QbankError
from qbank.expressions.latex_formulas import LETTERS
from qbank.expressions.units import parse_unit

_SPECIAL = {
    "\\": r"\textbackslash{}", "{": r"\{", "}": r"\}", "$": r"\$", "&": r"\&", "#": r"\#",
    "%": r"\%", "_": r"\_", "^": r"\textasciicircum{}", "~": r"\textasciitilde{}",
    "<": r"\textless{}", ">": r"\textgreater{}", "|": r"\textbar{}", '"': r"\textquotedbl{}",
    "`": r"\textasciigrave{}", "\u00a0": "~", "\u2009": r"\,", "\u202f": r"\,",
    "−": r"\(-\)", "×": r"\(\times\)", "·": r"\(\cdot\)", "⋅": r"\(\cdot\)", "±": r"\(\pm\)",
    "≤": r"\(\le\)", "≥": r"\(\ge\)", "≠": r"\(\ne\)", "≈": r"\(\approx\)", "√": r"\(\surd\)",
    "∛": r"\(\sqrt[3]{}\)", "∑": r"\(\sum\)", "∞": r"\(\infty\)", "→": r"\(\to\)",
    "⇌": r"\(\rightleftharpoons\)", "′": r"\('\)", "°": r"\textdegree{}", "µ": r"\textmu{}",
    "‰": r"\textperthousand{}", "Ω": r"\textohm{}", "½": r"\textonehalf{}",
    "–": r"\textendash{}", "—": r"\textemdash{}", "…": r"\dots{}", "“": r"\textquotedblleft{}",
    "”": r"\textquotedblright{}", "‘": r"\textquoteleft{}", "’": "'", "„": r"\quotedblbase{}",
    "‚": r"\quotesinglbase{}", "«": r"\guillemotleft{}", "»": r"\guillemotright{}",
    "\u00ad": r"\-", "\ufeff": "", "\u200b": "",
}  # fmt: skip
_LIGATURES = frozenset("-',!?")  # next to each other, or before a quotation mark, they merge
_RAISED = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+")
_LOWERED = re.compile("[₀-₉]+")
_DIGITS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉", "01234567890123456789")
_MEASURE = re.compile(r"(?<=[\d⁰¹²³⁴⁵⁶⁷⁸⁹]) (?=([A-Za-zµμΩÅ°%‰1][^\s,;:)(]*(?:\([^\s()]*\))?))")


def latex_text(text: str) -> str:
    r"""Any text, as TeX sets it; a number stays on the line of its unit.

    >>> latex_text("50 % of 2.0 kg·m²")
    '50~\\% of 2.0~kg\\(\\cdot\\)m\\textsuperscript{2}'
    """
    joined = _MEASURE.sub(_kept_together, unicodedata.normalize("NFC", text))
    written: list[str] = []
    at = 0
    while at < len(joined):
        run = _RAISED.match(joined, at) or _LOWERED.match(joined, at)
        if run:
            kind = "superscript" if _RAISED.match(joined, at) else "subscript"
            digits = run[0].translate(_DIGITS).replace("⁻", r"\(-\)")
            written.append(rf"\text{kind}{{{digits}}}")
            at = run.end()
            continue
        sign = joined[at]
        at += 1
        if unicodedata.category(sign) in {"Cc", "Cs", "Co", "Cn"}:
            written.append(" " if sign in "\t\n\r" else "")
        elif sign in LETTERS:
            written.append(rf"\({LETTERS[sign].strip()}\)")
        elif sign in _LIGATURES and written and written[-1] and written[-1][-1] in _LIGATURES:
            written.append("{}" + sign)
        else:
            written.append(_SPECIAL.get(sign, sign))
    return "".join(written)


def _kept_together(found: re.Match[str]) -> str:
    """A space that does not break, between a number and what is a unit."""
    unit = found[1].rstrip(".!?")
    try:
        parse_unit(unit)
    except QbankError:
        return " "
    return "\u00a0"
