r"""Formulas as LaTeX for math mode, with the `amsmath` package: `m\,g = 14.7\,\mathrm{N}`.

Symbols of quantities are italic; units, labels in subscripts, names of functions and constants
of mathematics are upright; a thin space stands between a number and its unit and between the
units of a product (ISO 80000-1, clauses 6.2 and 7.2 to 7.3; ISO 80000-2, clause 4; NIST SP 811,
chapters 6, 7 and 10; all from memory). What is written is ASCII, apart from letters that TeX
has no command for.
"""

from __future__ import annotations

import re
import unicodedata

from qbank.expressions.formula_writer import (
    ATOM,
    DISTRIBUTIONS,
    FENCES,
    FUNCTIONS,
    LOWEST,
    QUANTILES,
    Piece,
    Writer,
    literal_number,
    raised_in_name,
)
from qbank.expressions.numbers import MINUS
from qbank.expressions.symbols import Standing, Symbol, needs_parentheses
from qbank.expressions.tree import Binary, Call, Name, Node, Number

_GREEK = dict(
    zip(
        "αβγδεζηθικλμνξπρστυφχψω",
        (
            *("alpha", "beta", "gamma", "delta", "varepsilon", "zeta", "eta", "theta", "iota"),
            *("kappa", "lambda", "mu", "nu", "xi", "pi", "rho", "sigma", "tau", "upsilon"),
            *("varphi", "chi", "psi", "omega"),
        ),
        strict=True,
    )
)
CAPITALS = {
    "Γ": "Gamma", "Δ": "Delta", "Θ": "Theta", "Λ": "Lambda", "Ξ": "Xi", "Π": "Pi",
    "Σ": "Sigma", "Υ": "Upsilon", "Φ": "Phi", "Ψ": "Psi", "Ω": "Omega",
}  # fmt: skip
_LATIN_TWINS = dict(zip("ΑΒΕΖΗΙΚΜΝΟΡΤΧο", "ABEZHIKMNOPTXo", strict=True))  # TeX has no others
_ACCENTS = {"\u0304": "bar", "\u0305": "bar", "\u0302": "hat", "\u0303": "tilde",
            "\u0307": "dot", "\u0308": "ddot", "\u20d7": "vec"}  # fmt: skip
_SPECIAL = {
    "\\": r"\backslash ", "{": r"\{", "}": r"\}", "_": r"\_", "%": r"\%", "&": r"\&", "#": r"\#",
    "$": r"\$", "^": r"\hat{}", "~": r"\sim ", "′": "'", "″": "''", "*": r"\ast ", "∞": r"\infty ",
}  # fmt: skip
LETTERS = {letter: rf"\{name} " for letter, name in {**_GREEK, **CAPITALS}.items()} | _LATIN_TWINS
"""Greek letters in math mode."""
_UNIT_SIGNS = {
    "µ": r"\text{\textmu}", "μ": r"\text{\textmu}", "Ω": r"\Omega ",
    "°": r"{}^{\circ}", "%": r"\%", "‰": r"\text{\textperthousand}", "Å": r"\text{\AA}",
    "·": r"\,", "⋅": r"\,", " ": r"\,", MINUS: "-",
}  # fmt: skip
_RAISED = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺]+")
_LOWERED = re.compile("[₀-₉]+")
_DIGITS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺₀₁₂₃₄₅₆₇₈₉", "0123456789-+0123456789")
_RELATIONS = {"≤": r"\le", "≥": r"\ge", "≠": r"\ne"}
_COMMANDS = frozenset(
    "sin cos tan arcsin arccos arctan sinh cosh tanh ln exp min max".split()  # noqa: SIM905
)
_TALL = (r"\frac", r"\sqrt", r"\sum")


def symbol_latex(sign: Symbol) -> str:
    r"""A quantity's symbol.

    >>> from qbank.expressions.symbols import symbol
    >>> symbol_latex(symbol("m_a")), symbol_latex(symbol("mu_1")), symbol_latex(symbol("pH"))
    ('m_{\\mathrm{a}}', '\\mu _{1}', '\\mathrm{pH}')
    """
    plain = _LOWERED.sub(lambda run: "_" + run[0].translate(_DIGITS), sign.plain)
    letter, _, label = plain.partition("_")
    if not label:
        return _letter(letter)
    labels = label.split(",")
    signs = ",".join(part if part.isdecimal() else rf"\mathrm{{{_signs(part)}}}" for part in labels)
    return f"{_letter(letter)}_{{{signs}}}"


def _letter(text: str) -> str:
    """One letter is italic; a leading Δ, and words such as pH, are upright."""
    if len(text) > 1 and text[0] == "Δ":
        return r"\Delta " + _letter(text[1:])
    letters = "".join(sign for sign in text if not unicodedata.combining(sign))
    primes = len(letters) - len(letters.rstrip("′"))
    base = letters.rstrip("′")
    if len(base) == 1:
        accents = [_ACCENTS.get(sign) for sign in text if unicodedata.combining(sign)]
        shown = rf"\var{CAPITALS[base]} " if base in CAPITALS else _signs(base)
        for accent in filter(None, accents):
            shown = rf"\{accent}{{{shown}}}"
        return shown + "'" * primes
    raised = re.fullmatch(f"(.)({_RAISED.pattern})", base)
    if raised:  # χ² is one sign
        return f"{_letter(raised[1])}^{{{raised[2].translate(_DIGITS)}}}"
    digits = re.fullmatch(r"([^\d])(\d+)", base)
    if digits:  # T2 is one letter and a number
        return f"{_letter(digits[1])}_{{{digits[2]}}}" + "'" * primes
    return rf"\mathrm{{{_signs(base)}}}" + "'" * primes


def _signs(text: str) -> str:
    """Letters one by one, as math mode writes them."""
    written = []
    for sign in unicodedata.normalize("NFC", text):
        if sign in _GREEK:
            written.append(rf"\{_GREEK[sign]} ")
        elif sign in CAPITALS:
            written.append(rf"\{CAPITALS[sign]} ")
        elif sign.isascii():
            written.append(_SPECIAL.get(sign, sign))
        elif sign in _SPECIAL or sign in _LATIN_TWINS:
            written.append(_SPECIAL.get(sign) or _LATIN_TWINS[sign])
        else:
            written.append(rf"\text{{{sign}}}")
    return "".join(written)


# ---------------------------------------------------------------------------- values


def number_latex(text: str) -> str:
    r"""A number as `expressions.numbers` and a language write it; its decimal comma takes no space.

    >>> number_latex("−1,80 × 10⁻⁴")
    '-1{,}80\\times 10^{-4}'
    """
    text = re.sub(r"(?<=\d),(?=\d)", "{,}", text).replace(MINUS, "-")
    text = text.replace(" × ", r"\times ")
    return _RAISED.sub(lambda run: f"^{{{run[0].translate(_DIGITS)}}}", text)


def unit_latex(unit: str) -> str:
    r"""A unit, upright; a thin space multiplies.

    >>> unit_latex("J/(kg·K)"), unit_latex("m/s²")
    ('\\mathrm{J/(kg\\,K)}', '\\mathrm{m/s^{2}}')
    """
    raised = _RAISED.sub(lambda run: f"^{{{run[0].translate(_DIGITS)}}}", unit)
    return rf"\mathrm{{{''.join(_UNIT_SIGNS.get(sign, sign) for sign in raised)}}}"


def with_unit_latex(number: str, unit: str) -> str:
    r"""A number, a thin space and its unit; no space before the degree sign of an angle."""
    if not unit:
        return number_latex(number)
    if unit == "°":
        return number_latex(number) + r"^{\circ}"
    return rf"{number_latex(number)}\,{unit_latex(unit)}"


def value_latex(number: str, unit: str, standing: Standing = "alone") -> str:
    """A value with its unit, in parentheses where its neighbours would be misread."""
    value = with_unit_latex(number, unit)
    return f"({value})" if needs_parentheses(number, unit, standing) else value


# ---------------------------------------------------------------------------- formulas


class LatexWriter(Writer):
    """Formulas for math mode."""

    minus, plus_between, minus_between = "-", " + ", " - "

    def fenced(self, pieces: list[Piece]) -> list[Piece]:
        tall = any(isinstance(piece, str) and sign in piece for piece in pieces for sign in _TALL)
        left, right = (r"\left(", r"\right)") if tall else ("(", ")")
        return [left, *pieces, right]

    def value(self, number: str, unit: str, standing: Standing) -> str:
        return value_latex(number, unit, standing)

    def sign(self, symbol: Symbol) -> str:
        return symbol_latex(symbol)

    def times(self, product: Binary) -> str:
        return r" \cdot " if self.needs_dot(product) else r"\,"

    def quotient(self, node: Binary) -> list[Piece]:
        above, below = self.write(node.left, LOWEST), self.write(node.right, LOWEST)
        return [r"\frac{", *above, "}{", *below, "}"]

    @staticmethod
    def relation(relation: str) -> str:
        return f" {_RELATIONS.get(relation, relation)} "

    def spoken(self, words: str) -> str:
        return rf"\text{{{words}}}"

    def number(self, node: Number, standing: Standing) -> str:
        text = self.words.number(literal_number(node))
        if "/" not in text:
            return value_latex(text, "", standing)
        above, _, below = text.partition("/")
        fraction = rf"\frac{{{number_latex(above)}}}{{{below}}}"
        return fraction if standing == "alone" else rf"\left({fraction}\right)"

    def power(self, node: Binary) -> list[Piece]:
        base, exponent = node.left, node.right
        if isinstance(base, Call) and raised_in_name(base, exponent):
            return self.call(base, exponent)
        left = self.write(base, ATOM, "factor")
        # TeX takes no second superscript on what has one
        if isinstance(base, Call) or (isinstance(base, Name) and "^" in str(left[-1])):
            left = ["{", *left, "}"]
        return [*left, "^{", *self.write(exponent, LOWEST), "}"]

    def call(self, node: Call, exponent: Node | None = None) -> list[Piece]:
        function = node.function
        parts = [self.write(argument, LOWEST) for argument in node.arguments]
        if function in FENCES:
            left, right = {"abs": ("|", "|"), "floor": (r"\lfloor ", r"\rfloor "),
                           "ceil": (r"\lceil ", r"\rceil ")}[function]  # fmt: skip
            return [rf"\left{left}", *parts[0], rf"\right{right}"]
        if function in {"sqrt", "cbrt"}:
            return [r"\sqrt{" if function == "sqrt" else r"\sqrt[3]{", *parts[0], "}"]
        if function == "exp":
            return [r"\mathrm{e}^{", *parts[0], "}"]
        if function in QUANTILES:
            sign = {"normal_quantile": "z", "t_quantile": "t"}.get(function, r"\chi ^{2}")
            inside = self.joined(parts, [r";\,"] * (len(parts) - 1))
            return [sign, "_{", *inside, "}"]
        if function in DISTRIBUTIONS:
            sign = {"normal_cdf": r"\Phi ", "t_cdf": "F_{t}"}.get(function, r"F_{\chi ^{2}}")
            return [sign, *self.fenced(self.joined(parts, [r";\,"] * (len(parts) - 1)))]
        inside = self.joined(parts, [r",\,"] * (len(parts) - 1))
        if function == "sum":
            return [r"\sum ", *self.fenced(inside)]
        name = FUNCTIONS.get(function, function)
        sign = rf"\{name}" if name in _COMMANDS else rf"\operatorname{{{name}}}"
        if function == "log10":
            sign = r"\log_{10}"
        raised: list[Piece] = [] if exponent is None else ["^{", *self.write(exponent, LOWEST), "}"]
        return [sign, *raised, *self.fenced(inside)]
