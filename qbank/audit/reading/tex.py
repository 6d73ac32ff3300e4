"""TeX-like formulas in running text, unwrapped as text: "\\( m_1 = 2.0\\,\\mathrm{kg} \\)".

Commands are replaced by signs, words or blanks, once; nothing is ever expanded. What is written is
never longer than what stood there, so that every character keeps its position.
"""

from __future__ import annotations

import re

_SIGNS = {
    "times": "×", "cdot": "·", "pm": "±", "approx": "≈", "simeq": "≈", "sim": "~", "leq": "≤",
    "geq": "≥", "le": "≤", "ge": "≥", "neq": "≠", "circ": "°", "degree": "°", "infty": "∞",
    "ohm": "Ω", "micro": "µ", "angstrom": "Å", "percent": "%", "celsius": "°C", "sqrt": "√",
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "varepsilon": "ε",
    "zeta": "ζ", "eta": "η", "theta": "θ", "vartheta": "θ", "kappa": "κ", "lambda": "λ", "mu": "µ",
    "nu": "ν", "xi": "ξ", "pi": "π", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ",
    "varphi": "φ", "chi": "χ", "psi": "ψ", "omega": "ω", "Gamma": "Γ", "Delta": "Δ",
    "Theta": "Θ", "Lambda": "Λ", "Pi": "Π", "Sigma": "Σ", "Phi": "Φ", "Psi": "Ψ", "Omega": "Ω",
    "SI": "", "si": "", "qty": "", "unit": "",
    "metre": "m", "meter": "m", "gram": "g", "kilogram": "kg", "second": "s", "ampere": "A",
    "kelvin": "K", "mole": "mol", "newton": "N", "joule": "J", "watt": "W", "pascal": "Pa",
    "volt": "V", "coulomb": "C", "farad": "F", "tesla": "T", "henry": "H", "hertz": "Hz",
    "litre": "L", "liter": "L", "radian": "rad", "kilo": "k", "centi": "c", "milli": "m",
    "nano": "n", "mega": "M", "giga": "G", "per": "/", "squared": "²", "cubed": "³",
}  # fmt: skip
# an escaped sign, a command with the blanks that end it, or a brace, dollar or tie
_PIECE = re.compile(
    r"\\(?P<name>[A-Za-z]{1,40})(?P<gap>[ ]?)|\\(?P<sign>[^A-Za-z])|(?P<brace>[{}~])|(?P<dollar>\$)"
)
_DEGREES = re.compile(r"\^\s?\{?\s?\\(?:circ|degree)\s?\}?")
_RAISED = re.compile(r"\^\{([^{}\\]{0,40})\}")
_LOWERED = re.compile(r"_\{(?:\\(?:text|mathrm|rm|mathit|textrm)\s?\{?)?([^{}\\]{0,40})\}{1,2}")
_FRACTION = re.compile(r"\\[dt]?frac\s?\{([^{}]{0,60})\}\s?\{([^{}]{0,60})\}")
_UNITS = re.compile(r"\{((?:\\[A-Za-z]{2,12}){2,12})\}")
_MICRO = re.compile(r"\\mu\s?(?:\\(?:mathrm|text|rm)\s?)?\{?([A-Za-z]{1,4})\}?(?![A-Za-z])")


def untexed(text: str) -> str:
    """The text with TeX unwrapped."""
    return _masked(text).replace(_FILLER, "") if _holds_tex(text) else text


def untexed_with_places(text: str) -> tuple[str, list[int] | None]:
    """The text with TeX unwrapped, and the position in `text` of each of its characters and of its
    end; None for the positions where the text holds no TeX."""
    if not _holds_tex(text):
        return text, None
    mask = _masked(text)
    places = [at for at, sign in enumerate(mask) if sign != _FILLER]
    places.append(len(text))
    return mask.replace(_FILLER, ""), places


def _holds_tex(text: str) -> bool:
    return "\\" in text or (("$" in text or "{" in text) and _HINT.search(text) is not None)


def _masked(text: str) -> str:
    """The text with TeX unwrapped, of the same length: every sign kept stands where it stood."""
    text = text.replace(_FILLER, " ")

    def filled(new: str, match: re.Match[str]) -> str:
        return new.ljust(len(match[0]), _FILLER)

    text = _DEGREES.sub(lambda m: filled("°", m), text)
    text = _UNITS.sub(lambda m: filled(_composed(m[1]), m), text)
    text = _MICRO.sub(lambda m: filled("µ" + m[1], m), text)
    text = _LOWERED.sub(lambda m: filled("_" + m[1].replace(" ", ""), m), text)
    text = _RAISED.sub(lambda m: filled(f"^({m[1]})" if len(m[1]) > 1 else "^" + m[1], m), text)
    text = _FRACTION.sub(lambda m: filled(f"({_bracketed(m[1])}/{_bracketed(m[2])})", m), text)

    def piece(match: re.Match[str]) -> str:
        if name := match["name"]:
            new = _SIGNS.get(name, " " if name in _SPACERS else "")
            if new.isalpha() and match["gap"] and len(match[0]) > len(new):
                new += " "
        elif sign := match["sign"]:
            new = sign if sign in "%&#_$" else "" if sign in "()[]!" else " "
        else:
            new = " " if match["brace"] == "~" else ""
        return filled(new, match)

    return _PIECE.sub(piece, text)


_FILLER = "\x00"
_HINT = re.compile(r"\$[^$]{1,400}\$|[_^]\{")
_SPACERS = frozenset({"quad", "qquad", "space", "enspace", "thinspace"})


def _composed(commands: str) -> str:
    return "".join(_SIGNS.get(name, "") for name in commands.split("\\"))


def _bracketed(part: str) -> str:
    return f"({part})" if re.search(r"[\s/+*-]", part.strip()) else part.strip()
