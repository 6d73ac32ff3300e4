"""Numbers with their units in running text.

What is no quantity, where it is plain: digits of a name or a formula (H2O, m_1, U-235, x^2), an
ordinal (2nd), a date or a time of day, the number after a word that counts places (Figure 3,
part 2), an enumeration at the start or in brackets, and an uncertainty after ±.

"20 C" is a temperature after T = or a word on heat such as "temperature", else a charge. A whole
number may end in a point before a symbol: "250. mL".

A number without a unit inherits that of the next number where only a comma, "and", "or", "to",
"by", a dash, ± or × stands between them: "65, 70 and 67 mm", "20.0 to 100.0 °C".
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple, overload

from qbank.audit.question import Quantity
from qbank.audit.reading.numerals import VULGAR, Decimal, Numeral, read_numeral
from qbank.audit.reading.tex import untexed_with_places
from qbank.audit.reading.unit_text import unit_at
from qbank.audit.reading.unit_words import symbols
from qbank.expressions.units import Unit, parse_unit

MOST_QUANTITIES = 400
_DIGIT = re.compile(f"[0-9{VULGAR}]")
_GAP = re.compile(r"[ \t\u00a0\u2009\u202f]{0,8}-?(?=[A-Za-zµμΩΩÅÅ°º˚%‰℃℉(/]|1/[A-Za-zµ°])")
_GLUED_BRACKET = re.compile(r"\([^()]{0,20}(?:/|\^|[⁻⁰-⁹²³])")
_REST_OF_NAME = re.compile(r"[0-9A-Za-z_.]*[0-9A-Za-z_]")
_MINUS = "-−–‐‑"
_LABEL = re.compile(
    r"(?:^|[^A-Za-z])(?:fig|figs|figure|figures|table|tables|part|parts|question|problem|example"
    r"|exercise|chapter|section|page|step|eq|eqn|equation|no|nr|item|version|unit|appendix|lesson"
    r"|exhibit|option|answer|note|ref|task|diagram|graph|line|row|column|abbildung|abb|tabelle"
    r"|teil|aufgabe|frage|seite|partie|tableau)\.?[ \u00a0]?\(?$",
    re.IGNORECASE,
)
_MONTH_OR_YEAR = re.compile(
    r"(?:\b(?:in|since|year|january|february|march|april|may|june|july|august|september|october"
    r"|november|december)|[0-9],) ?$",
    re.IGNORECASE,
)
_MONTH = re.compile(
    r"\s(?:January|February|March|April|May|June|July|August|September|October|November|December)\b"
)
_MONTH_BEFORE = re.compile(
    r"(?:January|February|March|April|May|June|July|August|September|October|November|December) $"
)
_SYMBOL = re.compile(
    r"(?:^|[^A-Za-z0-9_₀-₉α-ωΑ-Ω])(?P<letter>[ΔδΔ∆]?[ ]{0,6}[A-Za-zα-ωΑ-ΩµΔ∆ℓ]{1,4})"
    r"[ ]?(?P<label>_\{?[A-Za-z0-9,′']{1,12}\}?|[₀-₉ₐ-ₜ]{1,4}|[0-9]{1,2})?"
    r"[ \u00a0\u2009]{0,12}(?:=|≈|:=|≃)[ \u00a0\u2009]{0,12}[-−–+]?[ ]?$"
)
_LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉ₐₑₒₓₕₖₗₘₙₚₛₜ", "0123456789aeoxhklmnpst")
_JOIN = re.compile(
    r"\s{0,3}(?:,|;|/)?\s{0,3}(?:and|or|to|by|through|und|oder|bis|et|ou|à|y|e|±|\+/-|\+-|-|–|—|−"
    r"|x|×|\.\.\.|…|,|;)\s{0,3}",
)
_UNCERTAIN = re.compile(r"(?:±|\+/[-−–]|\+[-−]|∓)\s{0,8}$")
_CLOSED = re.compile(r"\s{0,2}\)[ \u00a0\u2009]{0,4}(?=[A-Za-zµμΩ°º%(])")
_POINTED = re.compile(r"\.[ \u00a0](?!A\b)([A-Za-zµμΩ]{1,4})(?![A-Za-z0-9])")
_HEAT = re.compile(
    r"temperature|\bheat|\bcool|\bboil|\bmelt|\bfreez|\bwarm|\broom\b|(?<![A-Za-z])Δ?T[_₀-₉A-Za-z0-9]{0,4}"
    r"\s?=[^=]{0,16}$",
    re.IGNORECASE,
)
_PER = re.compile(r"/[A-Za-zµ°]")
_OF_FIGURES = re.compile(
    r"[ \u00a0-](?:significant|sig\.?[ \u00a0]?fig|s\.?f\b|decimal|digits?\b|figures?\b|gültige"
    r"|signifikante|nachkomma|dezimal|stellen|chiffres|cifras)",
    re.IGNORECASE,
)
_ENUMERATION = re.compile(r"[.)](?:\s|$)")
_ASSIGNED = re.compile(r"[^=≈]{0,24}[=≈]\s{0,4}(?:\\[,;: ]|[${]|\s)*$")
_PLAIN_NUMBER = re.compile(
    r"(?<![\w.,^/+±×·–-])(-?(?:[0-9]{1,9}\.)?[0-9]{1,9})(?: ?× ?10(⁻?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,2}))?"
    r"(?![0-9A-Za-z_^/⁰¹²³⁴⁵⁶⁷⁸⁹½¼¾]|[.,][0-9]|[ \u00a0\u2009\u202f]?(?!1/)[×x·*0-9])"
)
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_OF_FORMULA = re.compile(r"[=+*^·×√∙−]|[A-Za-zα-ω]\(|[A-Za-z]/|/[A-Za-z]|[A-Za-zα-ω]_")
_FEW_WORDS = re.compile(r"^\s*(?:\(?[A-Ha-h][).:]\s+|[A-H]\s{2,})")


class _Found(NamedTuple):
    quantity: Quantity
    uncertain: bool  # stands after ±


def read_quantities(text: str, decimal: Decimal = ".") -> tuple[Quantity, ...]:
    """The numbers of a text with their units, in order; at most `MOST_QUANTITIES`.

    `decimal` is the sign before decimals; see `judge_decimal`. A number that can be read in one
    way only ("1,5" where the sign is the point, out of brackets) is read so all the same. TeX-like
    formulas are read through, and positions are those of the text as given.
    """
    plain, places = untexed_with_places(text)
    found: list[_Found] = []
    at = 0
    while len(found) < MOST_QUANTITIES:
        match = _DIGIT.search(plain, at)
        if match is None:
            break
        one, at = _at(plain, match.start(), decimal, found)
        if one is not None:
            found.append(one)
    read = _joined(plain, found)
    if places is None:
        return read
    return tuple(_moved(one, text, places[one.start], places[one.end - 1] + 1) for one in read)


class Numbers(Sequence[Quantity]):
    """The numbers of a stem and then of a prompt, with their positions in both as one text; read
    when they are first looked at."""

    __slots__ = ("_found", "_prompt", "_stem")

    def __init__(self, stem: Stem, prompt: str) -> None:
        self._stem = stem
        self._prompt = prompt
        self._found: tuple[Quantity, ...] | None = None

    @property
    def found(self) -> tuple[Quantity, ...]:
        if self._found is None:
            shift = len(self._stem.text) + 1
            of_prompt = _of_prompt(self._prompt, self._stem.decimal) if self._prompt else ()
            moved = [replace(q, start=q.start + shift, end=q.end + shift) for q in of_prompt]
            self._found = (*self._stem.quantities, *moved)
        return self._found

    def __len__(self) -> int:
        return len(self.found)

    @overload
    def __getitem__(self, at: int) -> Quantity: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[Quantity, ...]: ...
    def __getitem__(self, at: int | slice) -> Quantity | tuple[Quantity, ...]:
        return self.found[at]

    def __iter__(self) -> Iterator[Quantity]:
        return iter(self.found)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self.found == tuple(other)

    def __hash__(self) -> int:
        return hash(self.found)

    def __repr__(self) -> str:
        return repr(self.found)


class Stem:
    """A stem's text, and its numbers read when they are first looked at."""

    __slots__ = ("_found", "decimal", "text")

    def __init__(self, text: str, decimal: Decimal) -> None:
        self.text = text
        self.decimal = decimal
        self._found: tuple[Quantity, ...] | None = None

    @property
    def quantities(self) -> tuple[Quantity, ...]:
        if self._found is None:
            self._found = read_quantities(self.text, self.decimal)
        return self._found


@lru_cache(maxsize=1024)  # siblings share their prompts
def _of_prompt(prompt: str, decimal: Decimal) -> tuple[Quantity, ...]:
    return read_quantities(prompt, decimal)


def plain_numbers(text: str) -> set[float]:
    """Numbers that a text states in the plainest way: digits with a point at most, a minus sign
    before and a raised power of ten after them. Groups, fractions and letters beside it make
    a number none of these.

    Much quicker than reading quantities, and enough to see that a text still has its numbers.
    """
    return {
        float(f"{digits}e{power.translate(_RAISED)}" if power else digits)
        for digits, power in _PLAIN_NUMBER.findall(text.replace("−", "-"))
    }


def _moved(quantity: Quantity, text: str, start: int, end: int) -> Quantity:
    return replace(quantity, start=start, end=end, text=text[start:end])


def read_number(text: str, decimal: Decimal = ".") -> Quantity | None:
    """The one number of a cell, an option or a response: "approximately 15 N", "B) 12 cm".

    None where there is none, or several that are not a range or a number with its uncertainty.
    """
    if len(text) > 400:
        return None
    skipped = _FEW_WORDS.match(text)
    start = skipped.end() if skipped else 0
    stripped = text[start:]
    found = read_quantities(stripped, decimal)
    if len(found) != 1:
        return None
    one = found[0]
    if not _is_about_a_number(stripped, one):
        return None
    if one.unit is None:
        bare = stripped[one.end :].strip(" \t.")
        if bare == "M":
            unit = unit_at("M", 0, alone=True)
            if unit:
                one = replace(one, unit=unit[0])
    if not start:
        return one
    return replace(one, start=one.start + start, end=one.end + start)


def _is_about_a_number(text: str, one: Quantity) -> bool:
    """Whether a text is its number with a few words, not a statement or a formula with one."""
    before = _ASSIGNED.sub("", text[: one.start])
    rest = f"{before} {text[one.end :]}"
    return len(rest) <= 48 and len(rest.split()) <= 4 and not _OF_FORMULA.search(rest)


# ---------------------------------------------------------------------------- one number


def _at(plain: str, first: int, decimal: Decimal, found: list[_Found]) -> tuple[_Found | None, int]:
    """The quantity whose first digit stands at `first`, and where to go on."""
    start = first
    before = plain[first - 1] if first else ""
    if before in (".", decimal) and before and not (first > 1 and plain[first - 2].isalnum()):
        start = first - 1  # ".5"
        decimal = "." if before == "." else ","
        before = plain[start - 1] if start else ""
    elif before == "." and first > 1 and plain[first - 2].isdigit():
        return None, _skip(plain, first)
    if before and ((before.isalpha() and before not in "×") or before in "_^₀₁₂₃₄₅₆₇₈₉"):
        return None, _skip(plain, first)
    numeral, end = read_numeral(plain, start, decimal)
    if numeral is None:
        return None, end
    sign_at = _sign(plain, start)
    if sign_at is None:
        return None, _skip(plain, end) if plain[end : end + 1].isalnum() else end
    if before == ")" or (before == "(" and start > 1 and plain[start - 2] == "^"):
        return None, end
    negative = sign_at < start and plain[sign_at] in _MINUS
    unit, after = _unit(plain, end, numeral)
    if numeral.plain and numeral.value == 1 and _PER.match(plain, end) and unit is not None:
        return None, after  # the 1/s of "in 1/s"
    if numeral.plain and _OF_FIGURES.match(plain, end):
        return None, end
    if unit is None:
        follows = plain[end : end + 1]
        if (follows.isalpha() and follows.isascii()) or follows == "_":
            return None, _skip(plain, end)
        if numeral.plain and _is_label(plain, start, end):
            return None, end
    window = plain[max(0, sign_at - 6) : sign_at]
    uncertain = bool(found) and bool(_UNCERTAIN.search(window))
    if unit is None and (closed := _CLOSED.match(plain, end)) and found and uncertain:
        read = unit_at(plain, closed.end(), decimals=numeral.place < 0)
        if read is not None:
            unit, after = read
    value = -numeral.value if negative else numeral.value
    quantity = Quantity(
        text=plain[sign_at:after],
        value=value,
        unit=unit,
        start=sign_at,
        end=after,
        figures=numeral.figures,
        place=numeral.place,
        symbol=_symbol(plain, start),
    )
    return _Found(quantity, uncertain), after


def _skip(text: str, at: int) -> int:
    """The end of the name that holds the digit at `at`."""
    rest = _REST_OF_NAME.match(text, at)
    return max(rest.end(), at + 1) if rest else at + 1


def _sign(text: str, start: int) -> int | None:
    """Where the number starts with its sign; None where a dash makes it part of a name."""
    if not start:
        return start
    before = text[start - 1]
    if before in _MINUS or before == "+":
        if start == 1:
            return 0
        further = text[start - 2]
        if further.isalpha():
            return None if before not in "+−" else start
        if further.isdigit() or further in ")]%°⁰¹²³⁴⁵⁶⁷⁸⁹" or further == "^":
            return None if further == "^" else start
        if further in "/+±":
            return start
        return start - 1
    if before in " \u00a0\u2009" and start > 1 and (text[start - 2] in _MINUS):
        ahead = text[max(0, start - 5) : start - 2].rstrip(" \u00a0\u2009")
        if not ahead or ahead[-1] in "=(:,;<>≈~":
            return start - 2
    return start


def _unit(text: str, end: int, numeral: Numeral) -> tuple[Unit | None, int]:
    if end >= len(text):
        return None, end
    if text[end] == "." and numeral.plain and (pointed := _POINTED.match(text, end)):
        if pointed[1] not in symbols():
            return None, end
        end += 1  # the point of "250. mL"
    gap = _GAP.match(text, end)
    if gap is None:
        return None, end
    at = gap.end()
    if gap[0].endswith("-") and len(gap[0]) > 1:
        return None, end
    if text[at] == "(" and not gap[0] and not _GLUED_BRACKET.match(text, at):
        return None, end
    found = unit_at(text, at, glued=at == end, decimals=numeral.place < 0)
    if found is None:
        return None, end
    unit, after = found
    if (unit.text == "t" and at == end) or unit.text.startswith("t^") or unit.text[:2] == "t²":
        return None, end  # the 3t and 3t² of a formula; tonnes stand after a space
    if unit.text == "C" and _HEAT.search(text[max(0, end - 70) : end]):
        unit = parse_unit("degC")
    if (
        numeral.plain
        and gap[0] == " "
        and unit.text in ("pm", "am")
        and numeral.value <= 12
        and re.search(r"\bat $", text[max(0, end - 6) : end].rstrip("0123456789"))
    ):
        return None, end
    return unit, after


def _is_label(text: str, start: int, end: int) -> bool:
    """Whether a whole number without a unit names something: a figure, a year, an entry."""
    window = text[max(0, start - 16) : start]
    follows = text[end : end + 1]
    if window and window[-1] in " \u00a0.(" and _LABEL.search(window):
        return True
    size = end - start
    if size == 4 and "1500" <= text[start:end] <= "2099" and _MONTH_OR_YEAR.search(window):
        return True
    if size <= 2:
        if _MONTH.match(text, end) or _MONTH_BEFORE.search(window):
            return True
        if window.endswith("(") and follows == ")":
            return not window[:-1] or window[-2:-1] in " \u00a0\n"
        if not window.strip() or window.endswith("\n"):
            return (
                follows in (".", ")")
                and bool(_ENUMERATION.match(text, end))
                and (len(text) > end + 2)
            )
        if follows == ")" and window[-1] in " " and "(" not in text[max(0, start - 60) : start]:
            return True
    return False


def _symbol(text: str, start: int) -> str:
    """The letter before "=", as "m_1"; empty where there is none."""
    window = text[max(0, start - 48) : start]
    if "=" not in window and "≈" not in window:
        return ""
    match = _SYMBOL.search(window)
    if match is None:
        return ""
    label = (match["label"] or "").strip("_{}").translate(_LOWERED)
    letter = match["letter"].replace(" ", "").replace("∆", "Δ").replace("μ", "µ")
    return f"{letter}_{label}" if label else letter


# ---------------------------------------------------------------------------- neighbours


def _joined(plain: str, found: list[_Found]) -> tuple[Quantity, ...]:
    """Units handed back along lists, ranges and uncertainties; uncertainties left out."""
    kept: list[Quantity] = []
    following: _Found | None = None
    for one in reversed(found):
        quantity = one.quantity
        if following is not None:
            after = following.quantity
            between = plain[quantity.end : after.start]
            bare = quantity.unit is None and after.unit is not None
            origin = quantity.value == 0 and quantity.symbol  # the "t = 0" before a comma
            if bare and not origin and len(between) <= 24 and _JOIN.fullmatch(between):
                quantity = replace(quantity, unit=after.unit)
            if following.uncertain:
                quantity = replace(quantity, end=after.end, text=plain[quantity.start : after.end])
        if not one.uncertain or (following is None and not found):
            kept.append(quantity)
        following = _Found(quantity, one.uncertain)
    kept.reverse()
    return tuple(kept)
