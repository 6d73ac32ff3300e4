"""Formulas as MathML in a document: their own namespace, alternative text, and a judgement.

Formulas come ready from the item. Each is judged by the grammar once per structure: two formulas
that differ in nothing but the text between their tags are the same to a grammar.
"""

from __future__ import annotations

import re
from functools import lru_cache

from lxml import etree

from qbank.errors import CheckFailed
from qbank.formats.dialects import MATHML
from qbank.formats.grammar import grammar, secure_parser
from qbank.formats.xmltext import ensure_allowed, quote

_START = re.compile(r"<math((?:\s+[\w:.-]+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*)\s*(/?)>")
_HAS_NAMESPACE = re.compile(r"\sxmlns\s*=")
_ALTTEXT_OR_DISPLAY = re.compile(r"\s(?:alttext|display)\s*=\s*(?:\"[^\"]*\"|'[^']*')")
_TEXT = re.compile(r">[^<>&]+<")
_REFERENCE = re.compile(r"&(?:amp|lt|gt);")
_MOST = 4096

_accepted: set[str] = set()


@lru_cache(maxsize=2048)
def formula(mathml: str, plain: str, display: bool = False) -> str:
    """A `math` element in its own namespace, with `alttext` for who cannot see it.

    Only 1 of 95 formulas of the official examples has the alternative text (mapping note,
    section d); without it a screen reader may read nothing at all. Raises CheckFailed when it
    is no presentation MathML.
    """
    start = _START.match(mathml)
    if start is None:
        raise CheckFailed(f"a formula does not start with a math element: {mathml[:60]!r}")
    ensure_allowed(mathml)
    attributes = _ALTTEXT_OR_DISPLAY.sub("", start[1])
    if not _HAS_NAMESPACE.search(attributes):
        attributes = f' xmlns="{MATHML}"{attributes}'
    rest = f"{start[2]}>{mathml[start.end() :]}"
    _ensure_valid(f'<math{attributes} alttext="."{rest}')
    block = ' display="block"' if display else ""
    return f'<math{attributes}{block} alttext="{quote(plain or "formula")}"{rest}'


def _ensure_valid(text: str) -> None:
    """Raise CheckFailed unless the grammar accepts the formula or one of the same structure."""
    structure = _TEXT.sub(">.<", _REFERENCE.sub(".", text) if "&" in text else text)
    if structure in _accepted:
        return
    try:
        root = etree.fromstring(text, secure_parser())
    except etree.XMLSyntaxError as fault:
        raise CheckFailed(f"a formula is not well-formed: {fault.msg}: {text[:200]}") from fault
    # MathML is the same in every version, so any of the grammars that include it will do.
    findings = list(grammar("qti-2.1").iter_findings(root, "formula", "math"))
    if findings:
        raise CheckFailed(f"a formula is no MathML: {findings[0]}", hint=text[:400])
    if len(_accepted) >= _MOST:
        _accepted.clear()
    _accepted.add(structure)
