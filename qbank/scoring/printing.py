"""How printedVariable shows a value (mapping note, e; the conversions r and R in doubt).

`format` is a C-like conversion `%[flags][width][.precision]type`. Of the types, i and d show a
whole number, o x X it in another base, e E f F g G a float, s any text; r and R show a float
with as many significant figures as the precision says, zeros at the end included. Without a
format an integer is shown in its `base`, a float in its shortest form.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

from qbank.scoring.limits import MAX_FORMAT_WIDTH
from qbank.scoring.values import Value, text_of_scalar

_FORMAT = re.compile(r"%([-+ #0]*)([0-9]*)(?:\.([0-9]*))?([idoxXeEfFgGrRs])")
_SUPERSCRIPT = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"


def print_value(value: Value | None, attributes: Mapping[str, str]) -> str:
    """A value as printedVariable with these attributes (2.1 names) shows it; empty for NULL.

    Raises ValueError for a format that is none.
    """
    if value is None:
        return ""
    if value.cardinality == "record":
        return _record(value.data, attributes)
    if value.cardinality == "single":
        return _scalar(value.data, attributes)
    index = attributes.get("index", "")
    if value.cardinality == "ordered" and index.strip().isdigit():
        position = int(index) - 1
        return _scalar(value.data[position], attributes) if position < len(value.data) else ""
    return _list(value.data, attributes)


def _list(members: Sequence[object], attributes: Mapping[str, str]) -> str:
    delimiter = attributes.get("delimiter") or ";"
    return delimiter.join(_scalar(member, attributes) for member in members)


def _record(fields: Mapping[str, Value], attributes: Mapping[str, str]) -> str:
    if "field" in attributes:
        found = fields.get(attributes["field"])
        return "" if found is None else _scalar(found.data, attributes)
    sign = attributes.get("mappingIndicator") or "="
    delimiter = attributes.get("delimiter") or ";"
    shown = (f"{name}{sign}{_scalar(held.data, attributes)}" for name, held in fields.items())
    return delimiter.join(shown)


def _scalar(data: object, attributes: Mapping[str, str]) -> str:
    if isinstance(data, bool) or not isinstance(data, int | float):
        return text_of_scalar(data)
    if "format" in attributes:
        text = format_number(data, attributes["format"])
    elif isinstance(data, int):
        text = _in_base(data, attributes.get("base", "10"))
    else:
        text = text_of_scalar(data)
    return _power_form(text) if attributes.get("powerForm") == "true" else text


def format_number(number: float, form: str) -> str:
    """A number by a C-like format, with whatever text stands around the conversion.

    >>> format_number(2.5, "%.2f"), format_number(1234.5, "%.3r"), format_number(255, "%x")
    ('2.50', '1230', 'ff')
    """
    found = _FORMAT.search(form)
    if found is None:
        raise ValueError(f"'{form}' is no format; expected one such as %.2f")
    flags, width, precision, kind = found.groups()
    if max(int(width or 0), int(precision or 0)) > MAX_FORMAT_WIDTH:
        raise ValueError(f"'{form}' asks for more than {MAX_FORMAT_WIDTH} characters")
    width = int(width or 0)
    if not math.isfinite(number):
        shown = text_of_scalar(number)
    elif kind in "rR":
        shown = _significant(number, int(precision or 6), kind == "R")
        width_flags = "".join(flag for flag in flags if flag in "-")
        if number >= 0 and "+" in flags:
            shown = "+" + shown
        shown = f"%{width_flags}{width or ''}s" % shown
    else:
        point = "" if precision is None else f".{int(precision or 0)}"
        conversion = f"%{flags}{width or ''}{point}{'d' if kind == 'i' else kind}"
        if kind in "idoxX":
            shown = conversion % (int(number) if kind in "id" else math.trunc(number))
        elif kind == "s":
            shown = conversion % text_of_scalar(number)
        else:
            shown = conversion % float(number)
    return form[: found.start()] + shown + form[found.end() :]


def _significant(number: float, figures: int, capital: bool) -> str:
    """Significant figures with their zeros; an exponent where %g would use one above 10^6."""
    figures = max(figures, 1)
    mantissa, exponent_text = f"{number:.{figures - 1}e}".split("e")
    exponent = int(exponent_text)
    if -5 < exponent < max(figures, 6) or number == 0:
        places = figures - 1 - exponent
        if places >= 0:
            return f"{number:.{places}f}"
        return f"{float(f'{mantissa}e{exponent}'):.0f}"
    shown = f"{mantissa}e{exponent:+03d}"
    return shown.upper() if capital else shown


def _in_base(number: int, text: str) -> str:
    base = int(text) if text.strip().isdigit() else 10
    if not 2 <= base <= len(_DIGITS) or base == 10:
        return str(number)
    left = abs(number)
    digits = []
    while True:
        left, digit = divmod(left, base)
        digits.append(_DIGITS[digit])
        if not left:
            break
    return ("-" if number < 0 else "") + "".join(reversed(digits))


def _power_form(text: str) -> str:
    """`1.50e+08` as `1.50 × 10⁸`; text without an exponent stays."""
    mantissa, mark, exponent = text.replace("E", "e").partition("e")
    if not mark or not exponent.lstrip("+-").isdigit():
        return text
    return f"{mantissa} × 10{str(int(exponent)).translate(_SUPERSCRIPT)}"
