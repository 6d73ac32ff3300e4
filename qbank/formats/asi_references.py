"""What a grammar cannot say of an item of QTI 1.2.1: names refer to something, numbers agree.

Each rule has a code `subject.rule`; defect numbers are those of section h of the mapping note.
"""

from __future__ import annotations

import math
import posixpath
from collections import Counter
from collections.abc import Collection, Iterator
from urllib.parse import unquote

from lxml import etree

from qbank.formats.asi_readback import FILE_BASE, Rule, fields_of, right_order, rules_of
from qbank.formats.base import Finding
from qbank.formats.grammar import secure_parser
from qbank.formats.qti_tree import attribute, child, descendants, line_of, local

_RESPONSES = ("response_lid", "response_num", "response_str")
_HTML = frozenset(
    ["p", "div", "span", "table", "caption", "thead", "tbody", "tr", "th", "td", "img"]
)
_ATTRIBUTES = frozenset(["class", "src", "alt", "width", "height", "scope"])
_MATHML = "{http://www.w3.org/1998/Math/MathML}"


def iter_findings(
    item: etree._Element, member: str, files: Collection[str] = ()
) -> Iterator[Finding]:
    """Every broken reference and disagreement in an item that its grammar accepts.

    `files` are the paths of the pictures that belong to it.
    """
    responses = _by_name(item, _RESPONSES)
    feedback = _by_name(item, ("itemfeedback",))
    for rule, found in (("response.unique", responses), ("feedback.unique", feedback)):
        for name, elements in found.items():
            if len(elements) > 1:
                yield _finding(rule, member, elements[1], f"two are called '{name}'", "8")
    labels = {}
    for name, elements in responses.items():
        idents = [attribute(e, "ident") for e in descendants(elements[0], "response_label")]
        labels[name] = idents
        for ident, count in Counter(idents).items():
            if count > 1:
                said = f"{count} options of '{name}' are called '{ident}'"
                yield _finding("option.unique", member, elements[0], said, "8")
    yield from _tests(item, member, responses, labels)
    yield from _shown(item, member, feedback)
    rules = rules_of(item)
    yield from _scores(item, member, rules)
    yield from _bands(item, member, rules)
    yield from _orders(item, member)
    yield from _content(item, member, files)


def _by_name(item: etree._Element, kinds: tuple[str, ...]) -> dict[str, list[etree._Element]]:
    found: dict[str, list[etree._Element]] = {}
    for element in descendants(item, *kinds):
        found.setdefault(attribute(element, "ident"), []).append(element)
    return found


def _tests(
    item: etree._Element,
    member: str,
    responses: dict[str, list[etree._Element]],
    labels: dict[str, list[str]],
) -> Iterator[Finding]:
    asked: set[str] = set()
    for test in (e for c in descendants(item, "conditionvar") for e in c.iter(etree.Element)):
        name = test.get("respident")
        if name is None:
            continue
        asked.add(name)
        if name not in responses:
            said = f"a rule asks for '{name}', which is no response"
            yield _finding("rule.declared", member, test, said, "12")
        elif (
            local(test.tag) == "varequal"
            and local(responses[name][0].tag) == "response_lid"
            and (test.text or "") not in labels[name]
        ):
            said = f"'{test.text}' is no option of '{name}'"
            yield _finding("rule.option", member, test, said, "15")
    for name in responses:
        if name not in asked and not _by_hand(item):
            yield _finding("rule.scored", member, item, f"no rule asks for '{name}'", "20")
    declared = {attribute(e, "varname") for e in descendants(item, "decvar")}
    for setting in descendants(item, "setvar"):
        if attribute(setting, "varname") not in declared:
            said = f"a rule sets the undeclared variable '{attribute(setting, 'varname')}'"
            yield _finding("rule.declared", member, setting, said, "12")


def _by_hand(item: etree._Element) -> bool:
    """Whether a person marks the item."""
    return ("qmd_computerscored", "No") in fields_of(item)


def _shown(
    item: etree._Element, member: str, feedback: dict[str, list[etree._Element]]
) -> Iterator[Finding]:
    shown: set[str] = set()
    for element in descendants(item, "displayfeedback"):
        name = attribute(element, "linkrefid")
        shown.add(name)
        if name not in feedback:
            said = f"a rule shows '{name}', which is no feedback"
            yield _finding("feedback.declared", member, element, said, "38")
            continue
        holder = feedback[name][0][0]
        holds = {"solution": "Solution", "hint": "Hint"}.get(local(holder.tag), "Response")
        if attribute(element, "feedbacktype") != holds:
            said = f"'{name}' is shown as another kind than {holds}"
            yield _finding("feedback.kind", member, element, said, "38")
    for name, elements in feedback.items():
        if name not in shown:
            said = f"no rule shows the feedback '{name}'"
            yield _finding("feedback.reachable", member, elements[0], said, "38")


def _scores(item: etree._Element, member: str, rules: list[Rule]) -> Iterator[Finding]:
    variable = next(descendants(item, "decvar"), None)
    if variable is None:
        return
    conditions = list(descendants(item, "respcondition"))
    adds = [e for e in conditions if _action(e) == "Add"]
    for condition in adds:
        if attribute(condition, "continue") != "Yes" and condition is not conditions[-1]:
            said = "points are added, but the rules after are not run"
            yield _finding("score.continue", member, condition, said, "50")
    if adds:
        best: dict[frozenset[str], float] = {}
        for rule in rules:
            if rule.score is not None:
                # A share for an entry in its place adds to those of the other places.
                on = frozenset(rule.responses) | rule.places
                best[on] = max(best.get(on, 0.0), rule.score)
        attainable = math.fsum(best.values())
    else:
        attainable = max((r.score for r in rules if r.score is not None), default=0.0)
    stated = float(attribute(variable, "maxvalue") or "nan")
    if not math.isclose(stated, attainable, rel_tol=1e-9, abs_tol=1e-12) and not _by_hand(item):
        said = f"maxvalue is {stated:g}, but {attainable:g} can be reached"
        yield _finding("score.maximum", member, variable, said, "32")


def _orders(item: etree._Element, member: str) -> Iterator[Finding]:
    """Orders: rules place every entry once, and the entries stand in another order than that."""
    for element in descendants(item, "response_lid"):
        if attribute(element, "rcardinality") != "Ordered":
            continue
        name = attribute(element, "ident")
        shown = [attribute(e, "ident") for e in descendants(element, "response_label")]
        order = right_order(rules_of(item), name)
        if sorted(order) != sorted(shown):
            said = f"the rules on '{name}' do not place each entry once"
            yield _finding("order.key", member, element, said, "15")
        elif order == shown:
            said = f"the entries of '{name}' stand in the right order, which tells the answer"
            yield _finding("order.told", member, element, said, "16")


def _action(condition: etree._Element) -> str:
    setting = child(condition, "setvar")
    return "" if setting is None else attribute(setting, "action")


def _bands(item: etree._Element, member: str, rules: list[Rule]) -> Iterator[Finding]:
    keys = {
        label.removeprefix("qbank_key_"): entry
        for label, entry in fields_of(item)
        if label.startswith("qbank_key_")
    }
    for element in descendants(item, "response_num"):
        name = attribute(element, "ident")
        accepted: tuple[float, float] | None = None
        for rule in rules:
            both = rule.test[0]
            if rule.responses != {name} or local(both.tag) != "and":
                continue
            low, high = float(both[0].text or "nan"), float(both[1].text or "nan")
            if not low <= high:
                said = f"the band {low:g} .. {high:g} of '{name}' is empty"
                yield _finding("band.order", member, both, said, "25")
            if rule.score is not None:
                accepted = low, high
                key = keys.get(name.removeprefix("RESPONSE_"))
                if key is not None and not low <= float(key) <= high:
                    said = f"the key {key} lies outside {low:g} .. {high:g}"
                    yield _finding("band.key", member, both, said, "25")
            elif accepted and low < accepted[1] and accepted[0] < high:
                said = f"the wrong range {low:g} .. {high:g} meets the accepted one"
                yield _finding("band.apart", member, both, said, "39")
        if accepted is None:
            said = f"no rule says which range of '{name}' is right"
            yield _finding("band.missing", member, element, said, "25")


def _content(item: etree._Element, member: str, files: Collection[str]) -> Iterator[Finding]:
    """The HTML in an item: well-formed, of the elements we write, its pictures there."""
    folder = member.rpartition("/")[0]
    for text in descendants(item, "mattext"):
        if attribute(text, "texttype") != "text/html":
            continue
        try:
            root = etree.fromstring(f"<div>{text.text or ''}</div>", secure_parser())
        except etree.XMLSyntaxError as fault:
            said = f"the HTML is not well-formed: {fault.msg}"
            yield _finding("html.well-formed", member, text, said, "1")
            continue
        for element in root.iter(etree.Element):
            if str(element.tag).startswith(_MATHML):
                continue
            if element.tag not in _HTML or not _ATTRIBUTES.issuperset(element.attrib):
                said = f"the HTML holds '{element.tag}' with {sorted(map(str, element.attrib))}"
                yield _finding("html.element", member, text, said, "10")
            elif element.tag == "img":
                path = unquote(attribute(element, "src")).removeprefix(FILE_BASE)
                if posixpath.normpath(posixpath.join(folder, path)) not in files:
                    said = f"the picture '{path}' is no file of the item's"
                    yield _finding("picture.file", member, text, said, "3, 4")
                if not attribute(element, "alt"):
                    yield _finding("picture.words", member, text, "a picture without alt", "45")


def profile_findings(item: etree._Element, member: str) -> Iterator[Finding]:
    """What a cartridge asks besides: a profile that says what the item is (defect 51)."""
    profiles = [entry for label, entry in fields_of(item) if label == "cc_profile"]
    response = next(descendants(item, *_RESPONSES), None)
    if len(profiles) != 1 or response is None:
        yield _finding("profile.stated", member, item, f"{len(profiles)} profiles", "51")
        return
    kind = local(response.tag)
    if kind == "response_lid":
        several = attribute(response, "rcardinality") == "Multiple"
        fitting = {"cc.multiple_response.v0p1" if several else "cc.multiple_choice.v0p1"}
    elif _by_hand(item):
        fitting = {"cc.essay.v0p1"}
    else:
        fitting = {"cc.fib.v0p1"}
    if profiles[0] not in fitting:
        said = f"the profile {profiles[0]} does not fit a {kind}"
        yield _finding("profile.fits", member, response, said, "51")
    scored = any(rule.score is not None for rule in rules_of(item))
    if scored == ("cc.essay.v0p1" in fitting):
        yield _finding(
            "profile.scored", member, item, "scored by no rule, or an essay by one", "51"
        )


def _finding(rule: str, member: str, element: etree._Element, message: str, defect: str) -> Finding:
    return Finding(rule, member, message, line_of(element), f"mapping h, defect {defect}")
