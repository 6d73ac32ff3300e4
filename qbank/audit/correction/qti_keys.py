"""Where an item of QTI 2.1, 2.2 or 3.0 states a key: declaration, mapping, response processing."""

from __future__ import annotations

from collections.abc import Iterator

from qbank.audit.correction.changes import LeftAlone
from qbank.audit.correction.newkeys import NewKey, new_key
from qbank.audit.correction.numerals import whole_numeral
from qbank.audit.correction.plans import KEY, Plan, option_pairs, states_number
from qbank.audit.correction.spans import Element

PREFIX = "RESPONSE_"
_LOWER, _UPPER = ("gte", "gt"), ("lte", "lt")
_BRANCHES = ("responseIf", "responseElseIf", "responseElse")
_NUMERIC = ("float", "integer")


def plan_edits(item: Element, plan: Plan) -> None:
    """Fill `plan` with all edits for its key. Raises LeftAlone when in doubt."""
    if item.child("templateProcessing") is not None:
        raise LeftAlone("the item draws its own data")
    declaration = _declaration(item, plan.judgement.part)
    plan.response = declaration.attributes["identifier"]
    if plan.judgement.correct:
        _choice(item, declaration, plan)
    else:
        _number(item, declaration, plan, new_key(plan.judgement))
    if not plan.old:
        raise LeftAlone("the key is not written where one is expected")


def _declaration(item: Element, part: str) -> Element:
    """The declaration of the response that a part is."""
    found = [
        element
        for element in item.children
        if element.name == "responseDeclaration"
        and element.attributes.get("identifier") in (part, PREFIX + part)
    ]
    if len(found) != 1:
        raise LeftAlone(f"{len(found) or 'no'} responses of its item are called '{part}'")
    return found[0]


def _number(item: Element, declaration: Element, plan: Plan, key: NewKey) -> None:
    response = declaration.attributes["identifier"]
    correct = declaration.child("correctResponse")
    if correct is not None:
        values = [child for child in correct.children if child.name == "value"]
        if len(values) != 1 or not plan.key(values[0], key):
            raise LeftAlone("the declared key is not the number that was judged")
        plan.shown_attribute(correct, "interpretation", key)
    _mapping(declaration, plan, key)
    tests = _scoring_tests(item, response)
    pairs = [pair for test in tests for pair in _pairs(test, response)]
    around = [
        (low, high)
        for low, high in pairs
        if states_number(low.text) <= key.old <= states_number(high.text)
    ]
    if len({(low.text, high.text) for low, high in around}) > 1:
        raise LeftAlone("several bands hold the key")
    for low, high in around:
        plan.bounds(low, high, key)
    bounds = {id(bound) for pair in pairs for bound in pair}
    for test in tests:
        for constant in _constants_beside(test, response):
            if id(constant) not in bounds:
                plan.key(constant, key)


def _mapping(declaration: Element, plan: Plan, key: NewKey) -> None:
    mapping = declaration.child("mapping")
    if mapping is None:
        return
    paying = [
        entry
        for entry in mapping.children
        if entry.name == "mapEntry" and _positive(entry.attributes.get("mappedValue", ""))
    ]
    for entry in paying:
        if not plan.key_attribute(entry, "mapKey", key):
            raise LeftAlone("its mapping pays for other values beside the key")


def _choice(item: Element, declaration: Element, plan: Plan) -> None:
    response = declaration.attributes["identifier"]
    correct = declaration.child("correctResponse")
    if correct is None:
        raise LeftAlone("no option is declared as its key")
    values = [child for child in correct.children if child.name == "value"]
    old, new = option_pairs((value.text.strip() for value in values), plan.judgement.correct)
    _ensure_offered(item, response, new)
    for value in values:
        if value.text.strip() == old:
            plan.option(value, old, new)
    mapping = declaration.child("mapping")
    for entry in () if mapping is None else mapping.children:
        named = entry.attributes.get("mapKey")
        if named in (old, new):
            plan.attribute(entry, "mapKey", new if named == old else old, KEY)
    for test in _scoring_tests(item, response):
        for constant in _constants_beside(test, response):
            if constant.text.strip() == old:
                plan.option(constant, old, new)


def _ensure_offered(item: Element, response: str, option: str) -> None:
    for interaction in item.iter():
        if interaction.attributes.get("responseIdentifier") == response:
            offered = {e.attributes.get("identifier") for e in interaction.iter()}
            if option in offered:
                return
    raise LeftAlone(f"the item offers no option '{option}'")


# ---------------------------------------------------------------------------- rules


def _scoring_tests(item: Element, response: str) -> list[Element]:
    """The tests on a response that something is paid for; all tests on it where none is paid.

    A branch that only chooses a feedback tells of a known mistake, not of the key.
    """
    processing = item.child("responseProcessing")
    if processing is None:
        return []
    paid: list[Element] = []
    unpaid: list[Element] = []
    for branch in processing.iter(*_BRANCHES):
        if not branch.children or branch.name == "responseElse":
            continue
        test = branch.children[0]
        if not _names(test, response):
            continue
        (paid if any(map(_pays, branch.children[1:])) else unpaid).append(test)
    return paid or unpaid


def _pays(rule: Element) -> bool:
    """Whether a rule sets an outcome to a positive number, or by a mapping."""
    if rule.name != "setOutcomeValue":
        return False
    return any(
        expression.name == "mapResponse"
        or (
            expression.name == "baseValue"
            and expression.attributes.get("baseType") in _NUMERIC
            and _positive(expression.text)
        )
        for expression in rule.iter("mapResponse", "baseValue")
    )


def _names(test: Element, response: str) -> bool:
    return any(
        element.attributes.get("identifier") == response
        for element in test.iter("variable", "correct")
    )


def _pairs(test: Element, response: str) -> Iterator[tuple[Element, Element]]:
    """Lower and upper bound of the response wherever an `and` states both."""
    for both in test.iter("and"):
        lows = [b for e in both.children if (b := _bound(e, response, _LOWER, _UPPER))]
        highs = [b for e in both.children if (b := _bound(e, response, _UPPER, _LOWER))]
        if len(lows) == 1 and len(highs) == 1:
            yield lows[0], highs[0]


def _bound(
    test: Element, response: str, after: tuple[str, ...], before: tuple[str, ...]
) -> Element | None:
    """The constant of a comparison with the response: it stands after it or, turned, before."""
    if len(test.children) != 2:
        return None
    first, second = test.children
    if test.name in after and _is(first, response) and second.name == "baseValue":
        return second
    if test.name in before and _is(second, response) and first.name == "baseValue":
        return first
    return None


def _is(expression: Element, response: str) -> bool:
    return expression.name == "variable" and expression.attributes.get("identifier") == response


def _constants_beside(test: Element, response: str) -> Iterator[Element]:
    """Constants whose nearest operator has the response among what it compares."""
    for constant in test.iter("baseValue"):
        if constant.parent is not None and any(
            _names(other, response) for other in constant.parent.children if other is not constant
        ):
            yield constant


def _positive(text: str) -> bool:
    read = whole_numeral(text)
    return read is not None and read.value > 0
