r"""Reads the LaTeX of a formula, as far as a person sees it: to the plain text of the same."""

from __future__ import annotations

import re

from qbank.expressions import latex_formulas

_SIGNS = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "varepsilon": "ε", "zeta": "ζ",
    "eta": "η", "theta": "θ", "kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν", "xi": "ξ",
    "pi": "π", "rho": "ρ", "sigma": "σ", "tau": "τ", "varphi": "φ", "chi": "χ", "psi": "ψ",
    "omega": "ω", "upsilon": "υ", "iota": "ι", **{
        var + name: sign
        for sign, name in latex_formulas.CAPITALS.items()
        for var in ("", "var")
    },
    "cdot": "·", ",": "·", "le": "≤", "ge": "≥", "ne": "≠", "times": " × ", "circ": "°",
    "%": "%", "textmu": "µ", "textperthousand": "‰", "AA": "Å", "sum": "∑", "left": "",
    "right": "", "lfloor": "⌊", "rfloor": "⌋",
}  # fmt: skip
_RAISED = str.maketrans("0123456789-−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁻")
_TOKEN = re.compile(r"\\([A-Za-z]+|.)|(.)", re.DOTALL)


class Strange(Exception):
    """LaTeX that the formulas of this project should not hold."""


def linear_latex(text: str) -> str:
    """The plain text of a formula: fractions and powers in parentheses."""
    read = _Read(text)
    plain = read.row().replace("·\b ", " ")  # the thin space before a unit
    plain = plain.replace(",·", ",").replace(";·", ";")
    if read.at != len(text):
        raise Strange(f"a brace too many in {text}")
    for sign in "=<>≤≥≠":
        plain = plain.replace(sign, f" {sign} ")
    return re.sub("  +", " ", plain)


class _Read:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0

    def row(self, end: str = "}") -> str:
        """Everything up to the end of a group."""
        parts: list[str] = []
        while self.at < len(self.text) and self.text[self.at] != end:
            parts.append(self.one("".join(parts)))
        return "".join(parts)

    def group(self) -> str:
        if not self.text.startswith("{", self.at):
            raise Strange(f"expected a group at '{self.text[self.at :]}'")
        self.at += 1
        inside = self.row()
        if not self.text.startswith("}", self.at):
            raise Strange(f"a group that does not end in {self.text}")
        self.at += 1
        return inside

    def one(self, before: str) -> str:
        if self.text[self.at] == "{":
            return self.group()
        found = _TOKEN.match(self.text, self.at)
        assert found
        self.at = found.end()
        if found[1] is None:
            return self.sign(found[2], before)
        return self.command(found[1], before)

    def sign(self, sign: str, before: str) -> str:
        if sign == "^":
            raised = self.group()
            if raised == "°":
                return raised
            power = re.fullmatch(r"[−\d]+", raised)
            if power and re.search("(10|sin|cos|tan|ln|χ)$", before):
                return raised.translate(_RAISED)
            return f"^({raised})"
        if sign == "_":
            lowered = self.group()
            if re.search("(?:^|[ ·(−/=+<>≤≥|,])[zt]$|χ²$", before) and not re.fullmatch(
                r"\w*", lowered
            ):  # the share of a quantile
                return f"({lowered.replace(';·', ';')})"
            return "_" + lowered
        return {"-": "−", " ": ""}.get(sign, sign)  # spaces mean nothing in math mode

    def command(self, name: str, before: str) -> str:
        match name:
            case "frac":
                above, below = self.group(), self.group()
                return f"(({above})/({below}))"
            case "sqrt":
                if self.text.startswith("[3]", self.at):
                    self.at += 3
                    return f"∛({self.group()})"
                return f"√({self.group()})"
            case "mathrm":
                start = self.at
                inside = self.group()
                if inside == "e" and self.text.startswith("^", self.at):
                    self.at += 1
                    return f"exp({self.group()})"
                if re.search(r"[\d¹²³⁰-⁹]·$", before):
                    self.at = start
                    return "\b " + self.unit()
                return inside
            case "text":
                if self.text.startswith("{ ", self.at):  # a word between conditions
                    end = self.text.index("}", self.at)
                    word, self.at = self.text[self.at + 1 : end], end + 1
                    return word
                return self.group()
            case "operatorname":
                return self.group()
            case "log":
                return "log"
            case "bar" | "hat" | "tilde":
                return self.group() + {"bar": "\u0304", "hat": "\u0302", "tilde": "\u0303"}[name]
            case _ if name in _SIGNS:
                return _SIGNS[name]
            case _ if re.fullmatch("arc(sin|cos|tan)|sin|cos|tan|sinh|cosh|tanh|ln|min|max", name):
                return name
        raise Strange(f"\\{name}")

    def unit(self) -> str:
        return re.sub(r"\^\((.+?)\)", lambda power: power[1].translate(_RAISED), self.group())
