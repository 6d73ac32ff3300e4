"""What a grammar cannot say of an item: that names refer to something and numbers agree.

Each rule has a code `subject.rule`, used in findings and in the tests. Defect numbers are those
of section h of the mapping note.
"""

from __future__ import annotations

import math
import posixpath
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import unquote

from lxml import etree

from qbank.formats.base import Finding
from qbank.formats.qti_tree import attribute, child, children, descendants, line_of, local, values
from qbank.formats.template_references import iter_template_findings

INTERACTIONS = {
    "textEntryInteraction": ("float",),
    "inlineChoiceInteraction": ("identifier",),
    "choiceInteraction": ("identifier",),
    "orderInteraction": ("identifier",),
    "matchInteraction": ("directedPair",),
    "endAttemptInteraction": ("boolean",),
}
# Declared by every item without saying so (mapping note, a4).
BUILT_IN = {"completionStatus": "identifier", "numAttempts": "integer", "duration": "duration"}


@dataclass(frozen=True, slots=True)
class Variable:
    """A declared variable: what kind it is and where it stands."""

    role: str  # response, outcome or template
    base_type: str
    cardinality: str
    element: etree._Element


@dataclass(frozen=True, slots=True)
class Band:
    """`low <= response <= high` in response processing, by the elements that hold the bounds."""

    response: str
    lower: etree._Element
    upper: etree._Element

    @property
    def low(self) -> float:
        return float(self.lower.text or "nan")

    @property
    def high(self) -> float:
        return float(self.upper.text or "nan")


def iter_findings(
    root: etree._Element, member: str, files: Collection[str] = ()
) -> Iterator[Finding]:
    """Every broken reference and disagreement in an item that its grammar accepts.

    `files` are the paths of the pictures that belong to it.
    """
    variables: dict[str, Variable] = {}
    for element in children(
        root, "responseDeclaration", "outcomeDeclaration", "templateDeclaration"
    ):
        name = attribute(element, "identifier")
        if name in variables or name in BUILT_IN:
            yield _finding("variable.unique", member, element, f"'{name}' is declared twice", "8")
        variables[name] = Variable(
            local(element.tag).removesuffix("Declaration"),
            attribute(element, "baseType"),
            attribute(element, "cardinality"),
            element,
        )
    yield from _interactions(root, member, variables)
    yield from _processing(root, member, variables)
    yield from _feedback(root, member, variables)
    yield from _scores(root, member, variables)
    if child(root, "templateProcessing") is None:
        yield from _bands(root, member, variables)
    else:  # bands are computed when the item is drawn
        yield from iter_template_findings(root, member)
    yield from _pictures(root, member, files)


def _rules(root: etree._Element) -> etree._Element:
    """Where rules are; the root itself in an item without."""
    found = child(root, "responseProcessing")
    return root if found is None else found


def _body(root: etree._Element) -> etree._Element:
    """Where interactions are; the root itself in an item without."""
    found = child(root, "itemBody")
    return root if found is None else found


# ---------------------------------------------------------------------------- interactions


def _interactions(
    root: etree._Element, member: str, variables: dict[str, Variable]
) -> Iterator[Finding]:
    bound: Counter[str] = Counter()
    for element in descendants(_body(root), *INTERACTIONS):
        kind = local(element.tag)
        name = attribute(element, "responseIdentifier")
        bound[name] += 1
        variable = variables.get(name)
        if variable is None or variable.role != "response":
            said = f"{kind} is bound to the undeclared response '{name}'"
            yield _finding("interaction.declared", member, element, said, "11")
            continue
        if bound[name] == 2:
            said = f"two interactions share the response '{name}'"
            yield _finding("interaction.unique", member, element, said, "11")
        if variable.base_type not in INTERACTIONS[kind]:
            said = f"{kind} cannot answer a response of type '{variable.base_type}'"
            yield _finding("interaction.type", member, element, said, "13")
        if kind in ("choiceInteraction", "inlineChoiceInteraction"):
            yield from _choices(element, member, variable)
        elif kind == "orderInteraction":
            yield from _order(element, member, variable)
        elif kind == "matchInteraction":
            yield from _pairs(element, member, variable)
    for name, variable in variables.items():
        if variable.role == "response" and not bound[name]:
            said = f"no interaction answers the response '{name}'"
            yield _finding("interaction.missing", member, variable.element, said, "11")


def _named_twice(element: etree._Element, member: str, options: Sequence[str]) -> Iterator[Finding]:
    for name, count in Counter(options).items():
        if count > 1:
            said = f"{count} options are called '{name}'"
            yield _finding("option.unique", member, element, said, "8")


def _order(element: etree._Element, member: str, variable: Variable) -> Iterator[Finding]:
    options = [attribute(option, "identifier") for option in children(element, "simpleChoice")]
    yield from _named_twice(element, member, options)
    keys = values(child(variable.element, "correctResponse"))
    if sorted(keys) != sorted(options):
        said = (
            f"the key of '{attribute(variable.element, 'identifier')}' is no order of its entries"
        )
        yield _finding("key.option", member, variable.element, said, "15")
    elif keys == options:
        said = "the entries stand in the right order, which tells the answer"
        yield _finding("order.told", member, element, said, "16")
    if variable.cardinality != "ordered":
        said = f"an order is bound to a response of cardinality '{variable.cardinality}'"
        yield _finding("choice.cardinality", member, element, said, "14")


def _pairs(element: etree._Element, member: str, variable: Variable) -> Iterator[Finding]:
    sides = [
        [attribute(option, "identifier") for option in children(side, "simpleAssociableChoice")]
        for side in children(element, "simpleMatchSet")
    ]
    yield from _named_twice(element, member, [name for side in sides for name in side])
    pairs = [key.split() for key in values(child(variable.element, "correctResponse"))]
    for source, target in pairs:
        if source not in sides[0] or target not in sides[1]:
            said = f"the key '{source} {target}' pairs no source with a target"
            yield _finding("key.option", member, variable.element, said, "15")
    paired = Counter(source for source, _ in pairs)
    for source in sides[0]:
        if paired[source] != 1:
            said = f"the key pairs '{source}' {paired[source]} times"
            yield _finding("key.unique", member, variable.element, said, "16")


def _choices(element: etree._Element, member: str, variable: Variable) -> Iterator[Finding]:
    options = [
        attribute(option, "identifier")
        for option in children(element, "simpleChoice", "inlineChoice")
    ]
    yield from _named_twice(element, member, options)
    keys = values(child(variable.element, "correctResponse"))
    for key in keys:
        if key not in options:
            said = f"the key '{key}' names no option"
            yield _finding("key.option", member, variable.element, said, "15")
    if len(set(keys)) < len(keys):
        yield _finding("key.unique", member, variable.element, "a key is named twice", "16")
    single = local(element.tag) == "inlineChoiceInteraction" or (
        attribute(element, "maxChoices") == "1"
    )
    if single != (variable.cardinality == "single"):
        said = f"maxChoices and cardinality '{variable.cardinality}' disagree"
        yield _finding("choice.cardinality", member, element, said, "14")


# ---------------------------------------------------------------------------- processing


def _processing(
    root: etree._Element, member: str, variables: dict[str, Variable]
) -> Iterator[Finding]:
    processing = child(root, "responseProcessing")
    if processing is None:
        return
    read: set[str] = set()
    for element in descendants(processing, "variable", "correct"):
        name = attribute(element, "identifier")
        read.add(name)
        if name not in variables and name not in BUILT_IN:
            said = f"a rule reads the undeclared variable '{name}'"
            yield _finding("rule.declared", member, element, said, "12")
        elif local(element.tag) == "correct" and not values(
            child(variables[name].element, "correctResponse")
        ):
            said = f"a rule reads the key of '{name}', which has none"
            yield _finding("rule.key", member, element, said, "19")
    for element in descendants(processing, "match"):
        names = [attribute(v, "identifier") for v in children(element, "variable")]
        if any(n in variables and variables[n].base_type == "float" for n in names):
            yield _finding("rule.match", member, element, "match on a float", "22")
    for element in descendants(processing, "setOutcomeValue"):
        yield from _setting(element, member, variables)
    for name, variable in variables.items():
        if variable.role == "response" and name not in read:
            said = f"no rule reads the response '{name}'"
            yield _finding("rule.scored", member, variable.element, said, "20")


def _setting(
    element: etree._Element, member: str, variables: dict[str, Variable]
) -> Iterator[Finding]:
    name = attribute(element, "identifier")
    if name == "completionStatus":
        return
    variable = variables.get(name)
    if variable is None or variable.role != "outcome":
        said = f"a rule sets the undeclared outcome '{name}'"
        yield _finding("rule.declared", member, element, said, "12")
        return
    for value in children(element, "baseValue", "multiple", "sum"):
        kind = local(value.tag)
        container = kind == "multiple"
        if container != (variable.cardinality == "multiple"):
            said = f"'{name}' of cardinality '{variable.cardinality}' is set by {kind}"
            yield _finding("rule.cardinality", member, element, said, "12")
        for base in value.iter(etree.Element):
            if local(base.tag) == "baseValue":
                given = attribute(base, "baseType")
                if given != variable.base_type:
                    said = f"'{name}' of type '{variable.base_type}' is set to a '{given}'"
                    yield _finding("rule.type", member, element, said, "12")


# ---------------------------------------------------------------------------- feedback


def _feedback(
    root: etree._Element, member: str, variables: dict[str, Variable]
) -> Iterator[Finding]:
    settable: dict[str, set[str]] = {}
    for element in descendants(_rules(root), "setOutcomeValue"):
        named = settable.setdefault(attribute(element, "identifier"), set())
        for base in descendants(element, "baseValue"):
            named.add((base.text or "").strip())
    shown: set[tuple[str, str]] = set()
    for element in children(root, "modalFeedback"):
        outcome, name = attribute(element, "outcomeIdentifier"), attribute(element, "identifier")
        variable = variables.get(outcome)
        if variable is None or variable.role != "outcome" or variable.base_type != "identifier":
            said = f"feedback hangs on '{outcome}', which is no declared outcome of identifiers"
            yield _finding("feedback.declared", member, element, said, "38")
        elif name not in settable.get(outcome, ()):
            said = f"no rule can set '{outcome}' to '{name}'"
            yield _finding("feedback.reachable", member, element, said, "38")
        if (outcome, name) in shown:
            said = f"two feedbacks show on '{outcome}' = '{name}'"
            yield _finding("feedback.unique", member, element, said, "8")
        shown.add((outcome, name))
    if attribute(root, "adaptive") == "true" and "completionStatus" not in settable:
        yield _finding("adaptive.completed", member, root, "no rule completes the item", "37")


# ---------------------------------------------------------------------------- numbers


def _scores(root: etree._Element, member: str, variables: dict[str, Variable]) -> Iterator[Finding]:
    score, most = variables.get("SCORE"), variables.get("MAXSCORE")
    defaults = [] if most is None else values(child(most.element, "defaultValue"))
    if score is None or most is None or not defaults:
        yield _finding("score.declared", member, root, "SCORE and MAXSCORE are needed", "33")
        return
    parts: dict[str, float] = {}
    for element in descendants(_rules(root), "setOutcomeValue"):
        name = attribute(element, "identifier")
        value = child(element, "baseValue")
        if value is not None and attribute(value, "baseType") == "float":
            parts[name] = max(parts.get(name, 0.0), float(value.text or "nan"))
    attainable = math.fsum(parts.values())
    stated = float(defaults[0])
    if not math.isclose(stated, attainable, rel_tol=1e-9, abs_tol=1e-12):
        said = f"MAXSCORE is {stated:g}, but {attainable:g} can be reached"
        yield _finding("score.maximum", member, most.element, said, "32")
    normal = attribute(score.element, "normalMaximum")
    if normal and float(normal) != stated:
        said = f"normalMaximum {normal} differs from MAXSCORE {stated:g}"
        yield _finding("score.normal", member, score.element, said, "32")
    summed = {
        attribute(v, "identifier")
        for s in descendants(_rules(root), "sum")
        for v in children(s, "variable")
        if child(s, "baseValue") is None
    }
    yield from _shares(root, member, parts)
    for name in sorted(parts.keys() - summed - {"SCORE"}):
        said = f"'{name}' is no part of the sum"
        yield _finding("score.summed", member, root, said, "32")


def _shares(root: etree._Element, member: str, parts: dict[str, float]) -> Iterator[Finding]:
    """Partial credit: the shares that rules add to a score make up what its key earns."""
    shares: dict[str, list[float]] = {}
    for element in descendants(_rules(root), "setOutcomeValue"):
        total = child(element, "sum")
        base = None if total is None else child(total, "baseValue")
        if total is not None and base is not None:
            name = attribute(element, "identifier")
            shares.setdefault(name, []).append(float(base.text or "nan"))
            if [attribute(v, "identifier") for v in children(total, "variable")] != [name]:
                said = f"a share is added to another score than '{name}'"
                yield _finding("score.shares", member, element, said, "32")
    for name, added in shares.items():
        if not math.isclose(math.fsum(added), parts.get(name, 0.0), rel_tol=1e-9, abs_tol=1e-12):
            said = f"shares of {math.fsum(added):g} make up {parts.get(name, 0.0):g} of '{name}'"
            yield _finding("score.shares", member, root, said, "32")


def bands(root: etree._Element) -> Iterator[Band]:
    """The accepted and the recognised wrong ranges of every numeric response, in order."""
    for condition in descendants(_rules(root), "responseIf", "responseElseIf"):
        both = child(condition, "and")
        if both is None:
            continue
        lower, upper = child(both, "gte"), child(both, "lte")
        if lower is None or upper is None:
            continue
        variable = child(lower, "variable")
        low, high = child(lower, "baseValue"), child(upper, "baseValue")
        if variable is not None and low is not None and high is not None:
            yield Band(attribute(variable, "identifier"), low, high)


def _bands(root: etree._Element, member: str, variables: dict[str, Variable]) -> Iterator[Finding]:
    accepted: dict[str, Band] = {}
    for band in bands(root):
        variable = variables.get(band.response)
        if variable is None:
            continue
        if not band.low <= band.high:
            said = f"the band {band.low:g} .. {band.high:g} of '{band.response}' is empty"
            yield _finding("band.order", member, variable.element, said, "25")
        right = accepted.get(band.response)
        if right is None:
            accepted[band.response] = band
            keys = values(child(variable.element, "correctResponse"))
            if len(keys) == 1 and not band.low <= float(keys[0]) <= band.high:
                said = f"the key {keys[0]} lies outside {band.low:g} .. {band.high:g}"
                yield _finding("band.key", member, variable.element, said, "25")
        elif band.low < right.high and right.low < band.high:
            said = f"the wrong range {band.low:g} .. {band.high:g} meets the accepted one"
            yield _finding("band.apart", member, variable.element, said, "39")
    for name, variable in variables.items():
        if variable.base_type == "float" and variable.role == "response" and name not in accepted:
            said = f"no rule says which range of '{name}' is right"
            yield _finding("band.missing", member, variable.element, said, "25")


# ---------------------------------------------------------------------------- pictures


def _pictures(root: etree._Element, member: str, files: Collection[str]) -> Iterator[Finding]:
    """References to pictures resolve against the item's own place (mapping note, a3)."""
    folder = member.rpartition("/")[0]
    for element in descendants(root, "img"):
        path = posixpath.normpath(posixpath.join(folder, unquote(attribute(element, "src"))))
        if path not in files:
            said = f"the picture '{path}' is no file of the item's"
            yield _finding("picture.file", member, element, said, "3, 4")
        told = element.get("aria-describedby")
        if told and not any(e.get("id") == told for e in descendants(root, "div")):
            said = f"no block has the id '{told}'"
            yield _finding("picture.described", member, element, said, "49")


def _finding(rule: str, member: str, element: etree._Element, said: str, defect: str) -> Finding:
    return Finding(rule, member, said, line_of(element), f"mapping h, defect {defect}")
