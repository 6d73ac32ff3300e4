"""MathML of anyone's making as the neutral item keeps it: presentation alone, one namespace.

Attributes are kept only where they are known to be harmless; what is no presentation MathML is
left out with a loss. The plain text is the author's `alttext`, else put together here.
"""

from __future__ import annotations

import copy
import re

from lxml import etree

from qbank.formats.dialects import MATHML
from qbank.formats.foreign.losses import Losses
from qbank.item import Math

MAX_DEPTH = 80
MAX_ELEMENTS = 2_000
_TOKENS = frozenset(["mi", "mn", "mo", "mtext", "ms"])
_LAYOUT = frozenset([
    "math", "mrow", "mfrac", "msqrt", "mroot", "mstyle", "mpadded", "mphantom", "merror", "mfenced",
    "menclose", "msub", "msup", "msubsup", "munder", "mover", "munderover", "mmultiscripts",
    "mprescripts", "none", "mtable", "mtr", "mlabeledtr", "mtd", "mspace",
])  # fmt: skip
_KEPT = frozenset([
    "mathvariant", "stretchy", "form", "fence", "separator", "open", "close", "separators",
    "linethickness", "displaystyle", "scriptlevel", "accent", "accentunder", "width", "height",
    "depth", "columnalign", "rowalign", "columnspan", "rowspan", "notation", "bevelled", "lspace",
    "rspace", "largeop", "movablelimits", "symmetric",
])  # fmt: skip
_CLEAN_TOKENS = frozenset(f"{{{MATHML}}}{name}" for name in _TOKENS)
_CLEAN = _CLEAN_TOKENS | {f"{{{MATHML}}}{name}" for name in _LAYOUT}
_SPACES = re.compile(r"\s+")
_INVISIBLE = {"\u2061": "", "\u2062": "·", "\u2063": "", "\u2064": "+"}


def formula_of(element: etree._Element, losses: Losses, *, mathml: bool = True) -> Math:
    """The formula of a `math` element in any namespace; without `mathml`, plain text will do."""
    plain = element.get("alttext") or ""
    if plain and not mathml and is_known(element):
        return Math("", plain)
    if plain and _is_clean(element):
        return Math(_alone(element), plain)
    count = [0]
    root = _copied(element, losses, 0, count)
    if root is None:
        root = _element("math")
    plain = plain or _SPACES.sub(" ", _plain(root, 0)).strip()
    return Math(etree.tostring(root, encoding="unicode"), plain)


def is_known(element: etree._Element) -> bool:
    """Whether a formula holds presentation elements alone, no more of them than may be nested."""
    tags = [one.tag for one in element.iter()]
    return len(tags) <= MAX_DEPTH and _CLEAN.issuperset(tags)


def _is_clean(element: etree._Element) -> bool:
    """Whether a formula can be kept as it stands."""
    if not is_known(element):
        return False
    for one in element.iter():
        if one.prefix is not None:
            return False
        if one is not element and (one.tail is not None or not _KEPT.issuperset(one.keys())):
            return False
        # White space between elements goes, other text there is no MathML: both are for copying.
        if len(one) if one.tag in _CLEAN_TOKENS else one.text is not None:
            return False
    return True


def _alone(element: etree._Element) -> str:
    """A clean formula as text, apart from its document."""
    alone = copy.deepcopy(element)
    alone.tail = None
    for key in [key for key in alone.attrib if key not in _KEPT]:
        del alone.attrib[key]
    etree.cleanup_namespaces(alone)
    return etree.tostring(alone, encoding="unicode")


def _element(name: str) -> etree._Element:
    # The stubs of lxml do not know that the default namespace has no prefix.
    return etree.Element(f"{{{MATHML}}}{name}", nsmap={None: MATHML})  # type: ignore[dict-item]


def _copied(
    element: etree._Element, losses: Losses, depth: int, count: list[int]
) -> etree._Element | None:
    name = str(element.tag).rpartition("}")[2]  # a tag of HTML may be no name of XML
    if name == "semantics":
        inner = next((c for c in element if isinstance(c.tag, str)), None)
        return None if inner is None else _copied(inner, losses, depth + 1, count)
    if name in ("annotation", "annotation-xml"):
        return None
    count[0] += 1
    if depth > MAX_DEPTH or count[0] > MAX_ELEMENTS:
        losses.add("formula", "a formula is nested too deep or too long: cut off", element)
        return None
    if name not in _TOKENS and name not in _LAYOUT:
        losses.add("formula", f"<{name}> in a formula is read as its text", element)
        name, text = "mtext", "".join(map(str, element.itertext())).strip()
        made = _element(name)
        made.text = text
        return made
    made = _element(name)
    for key, value in element.attrib.items():
        if key in _KEPT:
            made.set(key, value)
    if name in _TOKENS:
        made.text = "".join(map(str, element.itertext()))
        return made
    for child in element:
        if isinstance(child.tag, str):
            inner = _copied(child, losses, depth + 1, count)
            if inner is not None:
                made.append(inner)
    return made


def _plain(element: etree._Element, depth: int) -> str:
    name = etree.QName(element).localname
    if name in _TOKENS:
        text = (element.text or "").strip()
        return _INVISIBLE.get(text, f" {text} " if text in ("=", "<", ">", "≈", "≤", "≥") else text)
    parts = [_plain(child, depth + 1) for child in element]
    if name == "mfrac" and len(parts) == 2:
        return f"{_held(parts[0])}/{_held(parts[1])}"
    if name == "msqrt":
        return f"√({''.join(parts)})"
    if name == "mroot" and len(parts) == 2:
        return f"root({parts[0]}, {parts[1]})"
    if name in ("msub", "munder") and len(parts) == 2:
        return f"{parts[0]}_{_held(parts[1])}"
    if name in ("msup", "mover") and len(parts) == 2:
        return f"{parts[0]}^{_held(parts[1])}"
    if name in ("msubsup", "munderover") and len(parts) == 3:
        return f"{parts[0]}_{_held(parts[1])}^{_held(parts[2])}"
    if name == "mfenced":
        inner = element.get("separators", ",")[:1].join(parts)
        return f"{element.get('open', '(')}{inner}{element.get('close', ')')}"
    if name in ("mtr", "mlabeledtr"):
        return "; ".join(parts) + "; "
    return "".join(parts)


def _held(text: str) -> str:
    """In brackets unless it is one sign, number or name."""
    return text if re.fullmatch(r"[\w.]*", text) else f"({text})"
