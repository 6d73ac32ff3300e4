"""What a grammar cannot say of the template rules of an item: that names refer to something.

Defect numbers are those of section h of the mapping note.
"""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from qbank.formats.base import Finding
from qbank.formats.qti_tree import attribute, child, children, descendants, line_of, local, values


def iter_template_findings(root: etree._Element, member: str) -> Iterator[Finding]:
    """Faults of template variables, of what reads them and of what they are set by."""
    declared = {attribute(e, "identifier"): e for e in children(root, "templateDeclaration")}
    responses = {attribute(e, "identifier") for e in children(root, "responseDeclaration")}
    processing = child(root, "templateProcessing")
    if processing is None:
        return
    set_somewhere: set[str] = set()
    keyed: set[str] = set()
    for rule in descendants(processing, "setTemplateValue", "setCorrectResponse"):
        name = attribute(rule, "identifier")
        if local(rule.tag) == "setCorrectResponse":
            keyed.add(name)
            if name not in responses:
                said = f"a template rule sets the key of the undeclared response '{name}'"
                yield _finding("template.declared", member, rule, said, "12")
        elif name not in declared:
            said = f"a rule sets the undeclared template variable '{name}'"
            yield _finding("template.declared", member, rule, said, "12")
        set_somewhere.add(name)
    for element, name in _read(root, processing):
        if name not in declared:
            said = f"{local(element.tag)} reads the undeclared template variable '{name}'"
            yield _finding("template.declared", member, element, said, "12")
    always = _set_always(processing)
    constrained = next(descendants(processing, "templateConstraint"), None) is not None
    for name, element in declared.items():
        if name not in set_somewhere:
            said = f"no rule sets the template variable '{name}'"
            yield _finding("template.set", member, element, said, "42")
        elif name not in always:
            said = f"'{name}' keeps its value of an earlier draw on some paths"
            yield _finding("template.path", member, element, said, "42")
    if constrained and not any(values(child(e, "defaultValue")) for e in declared.values()):
        said = "there are constraints, but no defaults to fall back on"
        yield _finding("template.default", member, processing, said, "42")
    for element in children(root, "responseDeclaration"):
        name = attribute(element, "identifier")
        if name in keyed and not values(child(element, "correctResponse")):
            said = f"the key of '{name}' is drawn, but none is declared to fall back on"
            yield _finding("template.key", member, element, said, "42")


def _read(root: etree._Element, processing: etree._Element) -> Iterator[tuple[etree._Element, str]]:
    """Elements that name a template variable, and the name."""
    for element in descendants(processing, "variable"):
        yield element, attribute(element, "identifier")
    for element in descendants(processing, "index"):
        if not attribute(element, "n").isdigit():
            yield element, attribute(element, "n")
    for element in descendants(root, "printedVariable"):
        yield element, attribute(element, "identifier")
    for element in descendants(root, "templateInline", "templateBlock", "simpleChoice"):
        name = attribute(element, "templateIdentifier")
        if name:
            yield element, name


def _set_always(processing: etree._Element) -> set[str]:
    """Variables that a rule outside of all conditions sets."""
    return {attribute(rule, "identifier") for rule in children(processing, "setTemplateValue")}


def _finding(rule: str, member: str, element: etree._Element, said: str, defect: str) -> Finding:
    return Finding(rule, member, said, line_of(element), f"mapping h, defect {defect}")
