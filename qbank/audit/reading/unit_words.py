"""How people write units: words, abbreviations and symbols run together, as plain tables.

Every spelling leads to a symbol of `qbank.expressions.unit_symbols`. Names of units and their
plurals are those of the SI Brochure, chapter 5.3, and NIST SP 811, chapter 9; the abbreviations
are common practice, no source.
"""

from __future__ import annotations

from functools import cache

from qbank.expressions import unit_symbols as table

PREFIX_WORDS = {
    "tera": "T", "giga": "G", "mega": "M", "kilo": "k", "hecto": "h", "deca": "da", "deka": "da",
    "deci": "d", "centi": "c", "milli": "m", "micro": "µ", "nano": "n", "pico": "p",
    "femto": "f", "atto": "a",
}  # fmt: skip

# name: (symbol, whether it takes prefixes); plurals in s are made below
_NAMES: dict[str, tuple[str, bool]] = {
    "metre": ("m", True), "meter": ("m", True), "gram": ("g", True), "gramme": ("g", True),
    "second": ("s", True), "ampere": ("A", True), "amp": ("A", True), "kelvin": ("K", True),
    "mole": ("mol", True), "candela": ("cd", True), "radian": ("rad", True),
    "steradian": ("sr", False), "newton": ("N", True), "pascal": ("Pa", True),
    "joule": ("J", True), "watt": ("W", True), "coulomb": ("C", True), "volt": ("V", True),
    "farad": ("F", True), "ohm": ("Ω", True), "tesla": ("T", True), "weber": ("Wb", True),
    "lumen": ("lm", True), "becquerel": ("Bq", True), "gray": ("Gy", True),
    "sievert": ("Sv", True), "litre": ("L", True), "liter": ("L", True), "tonne": ("t", True),
    "minute": ("min", False), "hour": ("h", False), "day": ("d", False), "year": ("yr", False),
    "electronvolt": ("eV", True), "electron-volt": ("eV", True), "bar": ("bar", True),
    "atmosphere": ("atm", False), "calorie": ("cal", True), "degree": ("°", False),
    "revolution": ("rev", False), "hectare": ("ha", False), "angstrom": ("Å", False),
    "yard": ("yd", False), "mile": ("mi", False), "acre": ("acre", False),
    "gallon": ("gal", False), "pound": ("lb", False), "ounce": ("oz", False),
    "slug": ("slug", False), "knot": ("kn", False), "dyne": ("dyn", False), "erg": ("erg", False),
    "curie": ("Ci", True), "parsec": ("pc", True), "dalton": ("u", False),
    "micron": ("µm", False), "poise": ("P", True), "gauss": ("G", True),
    "light-year": ("ly", False), "lightyear": ("ly", False), "pound-force": ("lbf", False),
}  # fmt: skip
_IRREGULAR = {
    "hertz": "Hz", "kilohertz": "kHz", "megahertz": "MHz", "gigahertz": "GHz", "henry": "H",
    "henries": "H", "henrys": "H", "millihenry": "mH", "millihenries": "mH", "siemens": "S",
    "microhenry": "µH", "microhenries": "µH", "lux": "lx", "foot": "ft", "feet": "ft",
    "inch": "in", "inches": "in", "percent": "%", "horsepower": "hp", "megohm": "MΩ",
    "megohms": "MΩ", "kilohm": "kΩ", "kilohms": "kΩ",
}  # fmt: skip

# German, French, Spanish and Italian names that are no English words
_ELSEWHERE = {
    "s": "sekunde sekunden seconde secondes segundo segundos secondo secondi",
    "min": "minuten minuto minutos minuti", "h": "stunde stunden heure heures horas",
    "d": "tage tagen jour jours días", "yr": "jahr jahre jahren années años",
    "m": "metern mètre mètres metros metri", "cm": "zentimeter centimètre centimètres centímetros",
    "mm": "millimètre millimètres milímetros", "km": "kilometern kilomètre kilomètres kilómetros",
    "dm": "dezimeter", "µm": "mikrometer micromètre micromètres", "g": "gramm gramos grammi",
    "kg": "kilogramm kilogrammes kilogramos", "mg": "milligramm", "t": "tonnen tonnes",
    "°": "degré degrés grados gradi", "%": "prozent pct", "L": "litern litros litri",
    "rev": "umdrehungen", "S": "mho mhos",
}  # fmt: skip

# abbreviations, in any case of letters
_HABITS = {
    "sec": "s", "secs": "s", "msec": "ms", "µsec": "µs", "hr": "h", "hrs": "h", "mins": "min",
    "kgs": "kg", "gms": "g", "lbs": "lb", "kph": "km/h", "kmh": "km/h", "kmph": "km/h",
    "mph": "mph", "psi": "psi", "ksi": "kpsi", "btu": "Btu", "cc": "cm^3", "amu": "u",
    "rpm": "rpm", "rps": "rev/s", "degs": "°", "yrs": "yr", "sqm": "m^2", "torr": "torr",
    "ohms": "Ω", "mol": "mol", "mols": "mol", "mps": "m/s",
    "revs": "rev", "rads": "rad", "mcg": "µg", "ppm": "ppm",
    "kohm": "kΩ", "kohms": "kΩ",
}  # fmt: skip
# abbreviations whose capitals count
_EXACT = {
    "Da": "u", "kDa": "u", "Nm": "N m", "kNm": "kN m", "mNm": "mN m", "MNm": "MN m", "gr": "g",
    "Ns": "N s", "Js": "J s", "Pas": "Pa s", "mPas": "mPa s", "Vs": "V s", "As": "A s",
    "Cm": "C m", "Ωm": "Ω m", "Mpa": "MPa", "Kpa": "kPa", "KPa": "kPa", "kpa": "kPa",
    "KN": "kN", "KJ": "kJ", "KW": "kW", "KHz": "kHz", "Khz": "kHz", "khz": "kHz", "Mhz": "MHz",
    "hz": "Hz", "KV": "kV", "Kg": "kg", "KG": "kg", "Km": "km", "Kcal": "kcal", "Cal": "kcal",
    "ev": "eV", "kev": "keV", "KeV": "keV", "Mev": "MeV", "kwh": "kWh", "KWh": "kWh",
    "mM": "mmol/L", "µM": "µmol/L", "nM": "nmol/L", "uM": "µmol/L", "AU": "au",
    "ftlb": "ft lbf", "ftlbf": "ft lbf", "ml": "mL", "ML": "mL", "mHg": "m", "Ohm": "Ω",
    "Ohms": "Ω", "kOhm": "kΩ", "MOhm": "MΩ", "Mohm": "MΩ", "Mohms": "MΩ", "mOhm": "mΩ",
    "cP": "cP", "oC": "°C", "ºC": "°C", "oF": "°F", "C°": "°C", "rev": "rev",
    "Grad": "°",
}  # fmt: skip
del _EXACT["kDa"], _EXACT["mHg"], _EXACT["ML"]

# symbols with a prefix that nobody means after a number, for they are words or other things
_WORDS_INSTEAD = frozenset(
    [
        "a",
        "as",
        "am",
        "at",
        "do",
        "das",
        "dam",
        "dag",
        "dat",
        "had",
        "has",
        "hat",
        "ham",
        "mat",
        "pat",
        "pas",
        "pad",
        "mad",
        "fad",
        "Ed",
        "Es",
        "Em",
        "PA",
        "Pm",
        "Ps",
        "PS",
        "YS",
        "ES",
    ]
)
NOT_MEANT = _WORDS_INSTEAD - {"a"}  # not in a cell of their own either
_COMMON_PREFIXES = frozenset("TGMkhdcmµnpfa") | {"da"}

# what is put together without a space or a sign: kgm⁻³, rads-1, JK-1. Longest first
_LAST = ("mol", "rad", "min", "kg", "cm", "mm", "km", "Pa", "Hz", "m", "s", "K", "A", "V", "J",
         "N", "C", "T", "h", "g", "L", "W")  # fmt: skip


@cache
def symbols() -> dict[str, str]:
    """Every symbol as typed, with the prefixes people use, and what it is in the language."""
    found: dict[str, str] = {}
    for symbol, (_, _, prefixes) in table.UNITS.items():
        spellings = [symbol, *(s for s, shown in table.SPELLINGS.items() if shown == symbol)]
        for prefix in ["", *sorted(prefixes & _COMMON_PREFIXES)]:
            shown = prefix + symbol
            for spelling in spellings:
                for typed in {prefix, prefix.replace("µ", "μ"), prefix.replace("µ", "u")}:
                    found.setdefault(typed + spelling, shown)
    for word in _WORDS_INSTEAD:
        found.pop(word, None)
    found.update(_EXACT)
    return found


@cache
def words() -> dict[str, str]:
    """Names of units and abbreviations, in small letters, and the symbol meant."""
    found = dict(_HABITS)
    for name, (symbol, prefixed) in _NAMES.items():
        prefixes = {"": "", **PREFIX_WORDS} if prefixed else {"": ""}
        for prefix, sign in prefixes.items():
            shown = sign + symbol if symbol != "kg" else symbol
            for ending in ("", "s"):
                found[prefix + name + ending] = shown
    found.update(_IRREGULAR)
    for symbol, names in _ELSEWHERE.items():
        found.update(dict.fromkeys(names.split(), symbol))
    return found


@cache
def run_together(word: str) -> tuple[str, ...]:
    """The symbols of two or three units written as one word; empty where it is none.

    Only the first of them has a prefix, save where the last is kg: "kms" is km s.
    """
    known = symbols()
    if len(word) > 8:
        return ()
    for last in _LAST:
        first = word.removesuffix(last)
        if first == word or not first:
            continue
        if first in known and " " not in known[first]:
            return (known[first], last)
    return ()
