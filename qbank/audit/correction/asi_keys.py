"""Where an item of QTI 1.2.1, or of a cartridge, states a key: conditions and our own fields."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise

from qbank.audit.correction.changes import Edit, LeftAlone
from qbank.audit.correction.newkeys import NewKey, new_key
from qbank.audit.correction.numerals import Numeral, whole_numeral
from qbank.audit.correction.plans import KEY, Plan, option_pairs, states_number
from qbank.audit.correction.spans import Element
from qbank.formats.cartridge_numbers import key_spellings
from qbank.item import NumberEntry, Tolerance

PREFIX = "RESPONSE_"
ONLY_PART = "answer"  # what the one part of a cartridge's item is called
_RESPONSES = ("response_lid", "response_str", "response_num", "response_xy", "response_grp")
_LOWER, _UPPER = ("vargte", "vargt"), ("varlte", "varlt")


def plan_edits(item: Element, plan: Plan) -> None:
    """Fill `plan` with all edits for its key. Raises LeftAlone when in doubt."""
    response = _response(item, plan.judgement.part)
    plan.response = response
    tests = [test for test in _scoring_tests(item) if _asks(test, response)]
    if plan.judgement.correct:
        _choice(item, response, tests, plan)
    else:
        _number(item, response, tests, plan, new_key(plan.judgement))
    if not plan.old:
        raise LeftAlone("the key is not written where one is expected")


def _response(item: Element, part: str) -> str:
    """The identifier of the response that a part is."""
    names = [element.attributes.get("ident", "") for element in item.iter(*_RESPONSES)]
    found = [name for name in names if name in (part, PREFIX + part)]
    if not found and part == ONLY_PART and len(names) == 1:
        found = names
    if len(found) != 1:
        raise LeftAlone(f"{len(found) or 'no'} responses of its item are called '{part}'")
    return found[0]


def _scoring_tests(item: Element) -> list[Element]:
    """The tests of conditions that pay something."""
    found = []
    for condition in item.iter("respcondition"):
        test = condition.child("conditionvar")
        pays = any(
            (read := whole_numeral(setting.text)) is not None and read.value > 0
            for setting in condition.iter("setvar")
        )
        if test is not None and pays:
            found.append(test)
    return found


def _asks(test: Element, response: str) -> bool:
    return any(element.attributes.get("respident") == response for element in test.iter())


def _number(item: Element, response: str, tests: list[Element], plan: Plan, key: NewKey) -> None:
    name = response.removeprefix(PREFIX)
    for label, entry in _fields(item):
        if label == f"qbank_key_{name}" and not plan.key(entry, key):
            raise LeftAlone("the key noted in its metadata is not the number that was judged")
        if label == f"qbank_shown_{name}":
            plan.shown(entry, key)
    pairs = [pair for test in tests for pair in _pairs(test, response)]
    around = [
        (low, high)
        for low, high in pairs
        if states_number(low.text) <= key.old <= states_number(high.text)
    ]
    if len({(a.text, b.text) for a, b in around}) > 1:
        raise LeftAlone("several bands hold the key")
    for low, high in around:
        plan.bounds(low, high, key)
    for test in tests:
        equal = [
            e for e in _affirmed(test, "varequal") if e.attributes.get("respident") == response
        ]
        matching = [e for e in equal if (n := whole_numeral(e.text)) and n.value == key.old]
        if len(matching) == len(equal):
            for element in matching:
                plan.key(element, key)
        elif matching:
            _spellings(equal, plan, key)
        elif not around:
            raise LeftAlone("the accepted answers do not hold the key that was judged")


def _spellings(equal: list[Element], plan: Plan, key: NewKey) -> None:
    """Write anew a list that spells every number of a band, which one rule can do."""
    texts = [element.text.strip() for element in equal]
    numerals = [whole_numeral(text) for text in texts]
    first = numerals[0]
    if first is None or any(numeral is None for numeral in numerals) or first.value != key.old:
        raise LeftAlone("its accepted spellings are not a list that one rule makes")
    values = [numeral.value for numeral in numerals if numeral is not None]
    language = "de" if any("," in text for text in texts) else "en"
    band = min(values), max(values)
    if _spelled(first, texts[0], band, language) != texts:
        raise LeftAlone("its accepted spellings are not a list that one rule makes")
    new_band = key.band(*band)
    new_text = key.text(first)
    spelled = _spelled(first, new_text, new_band, language)
    if spelled is None:
        raise LeftAlone("the new key would need too many accepted spellings")
    data = plan.data
    heads = {data[element.start : element.inner] for element in equal}
    tails = {data[element.close : element.end] for element in equal}
    between = {data[a.end : b.start] for a, b in pairwise(equal)}
    plain = all(data[e.inner : e.close].decode().strip() == e.text.strip() for e in equal)
    if len(heads) != 1 or len(tails) != 1 or len(between) > 1 or not plain:
        raise LeftAlone("its accepted spellings are not written alike")
    gap = next(iter(between), b"")
    if gap.strip():
        raise LeftAlone("something stands between its accepted spellings")
    head, tail = heads.pop(), tails.pop()
    written = gap.join(head + text.encode() + tail for text in spelled)
    plan.edits.append(Edit(equal[0].start, equal[-1].end, written, KEY))
    plan.old, plan.new = texts[0], new_text
    ordered = sorted(spelled, key=Decimal)
    plan.band = ordered[0], ordered[-1]


def _spelled(
    model: Numeral, key_text: str, band: tuple[Decimal, Decimal], language: str
) -> list[str] | None:
    """The spellings of a band, by the rule that cartridges are written by."""
    if model.comma or model.power not in ("", "e"):
        return None
    tolerance = Tolerance(float(band[0]), float(band[1]), "")
    part = NumberEntry("", (), float(key_text), key_text, key_text, "", tolerance, 1.0)
    return key_spellings(part, language)


def _choice(item: Element, response: str, tests: list[Element], plan: Plan) -> None:
    offered = {
        label.attributes.get("ident")
        for holder in item.iter(*_RESPONSES)
        if holder.attributes.get("ident") == response
        for label in holder.iter("response_label")
    }
    keyed = [
        element
        for test in tests
        for element in _affirmed(test, "varequal")
        if element.attributes.get("respident") == response
    ]
    if len(tests) != 1:
        raise LeftAlone("several conditions pay for its options")
    old, new = option_pairs((element.text.strip() for element in keyed), plan.judgement.correct)
    if new not in offered:
        raise LeftAlone(f"the item offers no option '{new}'")
    for element in tests[0].iter("varequal"):
        said = element.text.strip()
        if element.attributes.get("respident") == response and said in (old, new):
            plan.option(element, said, new if said == old else old)
    plan.old, plan.new = old, new


def _affirmed(test: Element, name: str) -> Iterator[Element]:
    """Tests of that name that are not denied."""
    for element in test.iter(name):
        if not any(above.name == "not" for above in element.above()):
            yield element


def _pairs(test: Element, response: str) -> Iterator[tuple[Element, Element]]:
    """Lower and upper bound of the response wherever one test states both."""
    for both in test.iter("conditionvar", "and"):
        mine = [e for e in both.children if e.attributes.get("respident") == response]
        lows = [e for e in mine if e.name in _LOWER]
        highs = [e for e in mine if e.name in _UPPER]
        if len(lows) == 1 and len(highs) == 1:
            yield lows[0], highs[0]


def _fields(item: Element) -> Iterator[tuple[str, Element]]:
    for holder in item.iter("qtimetadatafield"):
        label, entry = holder.child("fieldlabel"), holder.child("fieldentry")
        if label is not None and entry is not None:
            yield label.text.strip(), entry
