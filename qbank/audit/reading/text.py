"""Content of items as one line of plain text: words, MathML, HTML cells and TeX-like formulas.

Nothing is run or fetched: markup is walked as a tree, scripts and comments are dropped, and depth
and length are bounded. Raised figures become superscripts where Unicode has them and "^(…)"
elsewhere, lowered ones "_…", fractions "(a/b)".
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache

from lxml import etree
from lxml import html as lxml_html

from qbank.audit.reading.tex import untexed
from qbank.audit.reading.unit_text import read_unit
from qbank.formats.grammar import secure_parser
from qbank.item import Block, Display, Image, Inline, Math, Paragraph, Table

MOST_TEXT = 200_000
MOST_DEPTH = 100
GAP = "___"  # a place to fill in

_SPACES = re.compile(r"[ \t\r\n\f\v]{2,}|[\t\r\n\f\v]")  # a lone blank stays as it is
_MARKUP = re.compile(
    r"</?[A-Za-z][^<>]{0,2000}>|<!--|&(?:#[0-9]{1,7}|#[xX][0-9a-fA-F]{1,6}|[A-Za-z]{2,8}[0-9]{0,2});"
)
_RAISED = str.maketrans("0123456789-−+", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁻⁺")
_RAISABLE = re.compile(r"[-−+]?[0-9]+")
_CELLS, _ROWS = " | ", " || "
_BARE_NUMBER = re.compile(r"[-−–+]?[0-9][0-9.,\u2009\u202f\u00a0×·⁰¹²³⁴⁵⁶⁷⁸⁹⁻]{0,30}")
_UNIT_OF_HEADER = re.compile(r"\s/\s?(\S.{0,24})$|[(\[](.{1,24})[)\]]$|\bin (\S{1,24})$")
_APART = frozenset({
    "p", "div", "li", "ul", "ol", "tr", "td", "th", "table", "h1", "h2", "h3", "h4", "h5", "h6",
    "blockquote", "pre", "dt", "dd", "caption", "section", "article", "br", "hr",
})  # fmt: skip
_DROPPED = frozenset({
    "script", "style", "head", "title", "template", "noscript", "iframe", "object", "annotation",
    "annotation-xml", "mphantom", "maligngroup", "malignmark",
})  # fmt: skip
# What is not seen, and signs that look like a letter or a solidus and are no other thing
_INVISIBLE = str.maketrans({
    "\u2061": "", "\u2062": "\u2009", "\u2063": ",", "\u2064": "+", "\u200b": "", "\ufeff": "",
    "\xad": "", "\u2126": "Ω", "\u212b": "Å", "\u2215": "/",
    "\u2044": "/",
})  # fmt: skip
_INVISIBLES = re.compile("[\u2061-\u2064\u200b\ufeff\xad\u2126\u212b\u2215\u2044]")


def plain_text(blocks: Iterable[Block]) -> str:
    """The content of a stem or a solution as one line; pictures are left out.

    Runs of blanks become one; thin and no-break spaces stay, for they group digits.
    """
    said: list[str] = []
    for block in blocks:
        if isinstance(block, Paragraph):
            said.append(_inlines(block.content))
        elif isinstance(block, Display):
            said.append(_inline(block.math))
        elif isinstance(block, Table):
            said.append(_table(block))
        elif isinstance(block, Image):
            continue
    return _one_line(" ".join(part for part in said if part))


def _table(table: Table) -> str:
    """Rows in turn; a number takes the unit that its column's or its row's header states."""
    header = [_one_line(_inlines(cell)) for cell in table.header]
    units = [_header_unit(cell) for cell in header]
    rows = [_of_string(table.caption), _CELLS.join(header)]
    for row in table.rows:
        cells = [_one_line(_inlines(cell)) for cell in row]
        of_row = _header_unit(cells[0]) if cells and table.row_headers else ""
        for at, cell in enumerate(cells):
            unit = of_row or (units[at] if at < len(units) else "")
            if unit and _BARE_NUMBER.fullmatch(cell):
                cells[at] = f"{cell} {unit}"
        rows.append(_CELLS.join(cells))
    return _ROWS.join(row for row in rows if row)


def _header_unit(header: str) -> str:
    """The unit of "x / mm", "x (mm)" and "x in mm" (the first is that of ISO 80000-1)."""
    match = _UNIT_OF_HEADER.search(header[-60:])
    unit = (match[1] or match[2] or match[3]).strip() if match else ""
    return unit if unit and read_unit(unit) is not None else ""


def inline_text(inline: Sequence[Inline] | Math) -> str:
    """A prompt, an option or one piece of either as one line of plain text."""
    if isinstance(inline, str):
        return _one_line(_of_string(inline))
    if isinstance(inline, Math):
        return _one_line(_inline(inline))
    return _one_line(_inlines(inline))


def _inlines(pieces: Sequence[Inline]) -> str:
    return "".join(map(_inline, pieces)) if len(pieces) != 1 else _inline(pieces[0])


def _inline(piece: Inline) -> str:
    if isinstance(piece, str):
        return _of_string(piece)
    plain = _visible(piece.plain)
    return (untexed(plain) if "\\" in plain else plain) or mathml_text(piece.mathml)


def _one_line(text: str) -> str:
    if "  " not in text and text.isprintable():  # neither line ends nor tabs
        return text.strip(" ")
    return _SPACES.sub(" ", text).strip(" ")


def _of_string(text: str) -> str:
    """A string, read as HTML only where it holds tags or character references."""
    text = text[:MOST_TEXT]
    if ("<" in text or "&" in text) and _MARKUP.search(text):
        text = html_text(text)
    if "\\" in text or "$" in text:
        text = untexed(text)
    return _visible(text)


def _visible(text: str) -> str:
    if text.isascii() or not _INVISIBLES.search(text):  # hardly any text holds one
        return text
    return text.translate(_INVISIBLE)


def html_text(text: str) -> str:
    """The text of a piece of HTML; with what can be read of it where it is broken."""
    try:
        root = lxml_html.fragment_fromstring(
            text[:MOST_TEXT].replace("\x00", ""), create_parent="div", parser=_html_parser()
        )
    except (etree.ParserError, etree.XMLSyntaxError, ValueError):
        return re.sub(r"<[^<>]*>", " ", text[:MOST_TEXT])
    out: list[str] = []
    _walk(root, out, 0)
    return "".join(out)


def _html_parser() -> lxml_html.HTMLParser:
    return lxml_html.HTMLParser(no_network=True, remove_comments=True, remove_pis=True)


@lru_cache(maxsize=8192)
def mathml_text(mathml: str) -> str:
    """Presentation MathML as text; empty where it is not well-formed."""
    if len(mathml) > MOST_TEXT:
        return ""
    try:
        root = etree.fromstring(mathml, secure_parser())
    except (etree.XMLSyntaxError, ValueError):
        return html_text(mathml) if "<" in mathml else ""
    out: list[str] = []
    _walk(root, out, 0)
    return "".join(out)


# ---------------------------------------------------------------------------- the tree


def _text_of(element: etree._Element, depth: int) -> str:
    out: list[str] = []
    _walk(element, out, depth + 1)
    return "".join(out)


def _walk(element: etree._Element, out: list[str], depth: int) -> None:
    """Append the text of an element without its tail."""
    tag = element.tag
    if not isinstance(tag, str) or depth > MOST_DEPTH:
        return
    kind = tag.rpartition("}")[2].lower()
    if kind in _DROPPED:
        return
    if kind in ("input", "select", "textentryinteraction"):
        out.append(f" {GAP} ")
        return
    builder = _BUILDERS.get(kind)
    if builder is not None:
        out.append(
            builder([child for child in element if isinstance(child.tag, str)], depth, element)
        )
        return
    if kind == "semantics":
        first = next((child for child in element if isinstance(child.tag, str)), None)
        if first is not None:
            _walk(first, out, depth + 1)
        return
    apart = kind in _APART
    if apart:
        out.append(" ")
    if element.text:
        out.append(element.text)
    before = ""
    for child in element:
        name = child.tag.rpartition("}")[2] if isinstance(child.tag, str) else ""
        if before == "mn" and name in ("mi", "mtext", "mrow", "mstyle", "mfrac", "msup"):
            if not (child.text or "").strip().startswith(("°", "%")):
                out.append(" ")
        elif before in ("mi", "mtext", "msup") and name == "mn":
            out.append(" ")
        before = name
        _walk(child, out, depth + 1)
        if child.tail:
            out.append(child.tail)
    if apart:
        out.append(" ")


_Children = list[etree._Element]
_Builder = Callable[[_Children, int, etree._Element], str]


def _raised(base: str, power: str) -> str:
    power = power.strip()
    if not power:
        return base
    if power in ("°", "∘", "o", "º"):
        return base + "°"
    if _RAISABLE.fullmatch(power):
        return base + power.translate(_RAISED)
    return f"{base}^{power}" if len(power) == 1 else f"{base}^({power})"


def _lowered(base: str, label: str) -> str:
    label = re.sub(r"\s+", "", label)
    return f"{base}_{label}" if label else base


def _sup(_children: _Children, depth: int, element: etree._Element) -> str:
    return _raised("", _inside(element, depth))


def _sub(_children: _Children, depth: int, element: etree._Element) -> str:
    return _lowered("", _inside(element, depth))


def _inside(element: etree._Element, depth: int) -> str:
    out = [element.text or ""]
    for child in element:
        _walk(child, out, depth + 1)
        out.append(child.tail or "")
    return "".join(out)


def _msup(children: _Children, depth: int, _element: etree._Element) -> str:
    parts = [_text_of(child, depth) for child in children[:2]]
    return _raised(parts[0].strip(), parts[1]) if len(parts) == 2 else "".join(parts)


def _msub(children: _Children, depth: int, _element: etree._Element) -> str:
    parts = [_text_of(child, depth) for child in children[:2]]
    return _lowered(parts[0].strip(), parts[1]) if len(parts) == 2 else "".join(parts)


def _msubsup(children: _Children, depth: int, _element: etree._Element) -> str:
    parts = [_text_of(child, depth) for child in children[:3]]
    if len(parts) < 3:
        return "".join(parts)
    return _raised(_lowered(parts[0].strip(), parts[1]), parts[2])


def _mfrac(children: _Children, depth: int, _element: etree._Element) -> str:
    parts = [_text_of(child, depth).strip() for child in children[:2]]
    if len(parts) < 2:
        return "".join(parts)
    above, below = (f"({part})" if re.search(r"[\s/+−·*-]", part) else part for part in parts)
    return f"({above}/{below})"


def _msqrt(_children: _Children, depth: int, element: etree._Element) -> str:
    return f"√({_inside(element, depth).strip()})"


def _mroot(children: _Children, depth: int, _element: etree._Element) -> str:
    parts = [_text_of(child, depth).strip() for child in children[:2]]
    return f"({parts[0]})^(1/{parts[1]})" if len(parts) == 2 else "".join(parts)


def _base(children: _Children, depth: int, _element: etree._Element) -> str:
    return _text_of(children[0], depth) if children else ""


def _mfenced(children: _Children, depth: int, element: etree._Element) -> str:
    inside = ",".join(_text_of(child, depth).strip() for child in children)
    return f"{element.get('open', '(')}{inside}{element.get('close', ')')}"


def _mtable(children: _Children, depth: int, _element: etree._Element) -> str:
    rows = []
    for row in children:
        rows.append(", ".join(_text_of(cell, depth + 1).strip() for cell in row))
    return "; ".join(rows)


def _mi(_children: _Children, depth: int, element: etree._Element) -> str:
    return _inside(element, depth).strip(" \t\r\n")


def _space(_children: _Children, _depth: int, _element: etree._Element) -> str:
    return " "


def _image(_children: _Children, _depth: int, _element: etree._Element) -> str:
    return " "


_BUILDERS: dict[str, _Builder] = {
    "sup": _sup, "sub": _sub, "msup": _msup, "msub": _msub, "msubsup": _msubsup,
    "mfrac": _mfrac, "msqrt": _msqrt, "mroot": _mroot, "mover": _base, "munder": _base,
    "munderover": _base, "mmultiscripts": _base, "mfenced": _mfenced, "mtable": _mtable,
    "mi": _mi, "mn": _mi, "mo": _mi, "mspace": _space, "br": _space, "hr": _space, "img": _image,
}  # fmt: skip
