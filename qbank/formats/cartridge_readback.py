"""Reading the question bank of a cartridge of ours back, an item for each response."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.asi_readback import Content, Rule, fields_of, right_options, rules_of
from qbank.formats.cartridge_item import CAUTION, PROMPT, STEM, UNIT
from qbank.formats.content_readback import inline
from qbank.formats.package import Package
from qbank.formats.qti_markup import SLIP
from qbank.formats.qti_scan import MANIFEST, stream
from qbank.formats.qti_tree import attribute, child, children, descendants, local, text_of
from qbank.formats.xmltext import text_of_name_part
from qbank.item import (
    Block,
    Choice,
    Inline,
    Item,
    NumberEntry,
    Option,
    Paragraph,
    Part,
    Tolerance,
    WrongValue,
)

BANK = "bank.xml"
PART = "answer"  # the name of the one part of each item


def iter_items(package: Package) -> Iterator[Item]:
    """The items of the bank in order. Raises QbankError where one cannot be read."""
    language = _language(package)
    with package.open(BANK) as source:
        for element in stream(source, BANK, "item"):
            if local(element.tag) != "item":
                continue
            try:
                yield read_item(element, language, package.read)
            except (KeyError, IndexError, ValueError, StopIteration) as fault:
                raise QbankError(
                    f"cannot read the item '{attribute(element, 'ident')}': {fault}",
                    hint="`validate_package` says which rule it breaks",
                ) from fault


def read_item(item: etree._Element, language: str, read: Callable[[str], bytes]) -> Item:
    """The item of one element. An essay has no part: its prompt ends the stem."""
    identifier = attribute(item, "ident")
    content = Content(BANK, re.sub(r"_\d+$", "", identifier), read)
    named = {attribute(f, "ident"): f for f in children(item, "itemfeedback")}
    fields = dict(fields_of(item))
    caution, unit = "", ""
    stem: tuple[Block, ...] = ()
    prompt: tuple[Inline, ...] = ()
    for block in content.root(child(item, "presentation")):
        kind = block.get("class")
        if kind == CAUTION:
            caution = text_of(block)
        elif kind == STEM:
            stem = content.blocks(block)
        elif kind == PROMPT:
            mark = next((s for s in block if s.get("class") == UNIT), None)
            unit = "" if mark is None else text_of(mark)
            prompt = _before(block, mark)
    points = float(fields.get("cc_weighting", "1"))
    rules = rules_of(item)
    parts: tuple[Part, ...] = ()
    if fields.get("cc_profile") == "cc.fib.v0p1":
        parts = (_number(prompt, unit, points, rules, content, named),)
    elif fields.get("cc_profile") == "cc.essay.v0p1":
        stem = (*stem, Paragraph(prompt))
    else:
        parts = (_choice(item, prompt, points, rules, content, named),)
    hints: list[tuple[Inline, ...]] = []
    while (hint := named.get(f"HINT_{len(hints) + 1}")) is not None:
        hints.append(content.inline(hint))
    solution = named.get("SOLUTION")
    return Item(
        identifier=identifier,
        title=attribute(item, "title"),
        language=language,
        stem=stem,
        parts=parts,
        solution=() if solution is None else content.blocks(content.root(solution)),
        caution=caution,
        hints=tuple(hints),
    )


def _number(
    prompt: tuple[Inline, ...],
    unit: str,
    points: float,
    rules: list[Rule],
    content: Content,
    named: dict[str, etree._Element],
) -> NumberEntry:
    """A number by its accepted spellings: from the least of them to the greatest."""
    texts = _texts(next(rule for rule in rules if rule.score is not None))
    values = [float(text.replace(",", ".")) for text in texts]
    wrong = []
    for rule in _telling(rules):
        found = [float(text.replace(",", ".")) for text in _texts(rule)]
        said = content.inline(named[rule.shown[0]])
        slip = _slip(rule.shown[0]) or ""
        wrong.append(WrongValue(slip, found[0], min(found), max(found), said))
    return NumberEntry(
        identifier=PART,
        prompt=prompt,
        key=values[0],
        key_text=texts[0],
        key_shown=f"{texts[0]} {unit}".rstrip(),
        unit=unit,
        tolerance=Tolerance(min(values), max(values), ""),
        points=points,
        wrong_values=tuple(wrong),
    )


def _choice(
    item: etree._Element,
    prompt: tuple[Inline, ...],
    points: float,
    rules: list[Rule],
    content: Content,
    named: dict[str, etree._Element],
) -> Choice:
    right = right_options(next(rule for rule in rules if rule.score is not None))
    shown = {next(iter(right_options(rule))): rule.shown[0] for rule in _telling(rules)}
    options = []
    for label in descendants(item, "response_label"):
        name = attribute(label, "ident")
        feedback = content.inline(named[shown[name]]) if name in shown else ()
        slip = _slip(shown[name]) if name in shown else None
        options.append(Option(name, content.inline(label), name in right, feedback, slip))
    response = next(descendants(item, "response_lid"))
    choices = next(descendants(item, "render_choice"))
    return Choice(
        identifier=PART,
        prompt=prompt,
        options=tuple(options),
        points=points,
        multiple=attribute(response, "rcardinality") == "Multiple",
        shuffle=attribute(choices, "shuffle") == "Yes",
    )


def _telling(rules: list[Rule]) -> list[Rule]:
    """The rules that show a feedback to a response."""
    return [rule for rule in rules if rule.score is None and rule.responses]


def _texts(rule: Rule) -> list[str]:
    return [(e.text or "").strip() for e in descendants(rule.test, "varequal")]


def _slip(name: str) -> str | None:
    label = name.removeprefix("FEEDBACK.")
    if not label.startswith(SLIP):
        return None
    return text_of_name_part(label.removeprefix(SLIP).rstrip("."))


def _before(block: etree._Element, mark: etree._Element | None) -> tuple[Inline, ...]:
    """The prompt, without the unit and the space that sets it off."""
    content = list(inline(block, stop=mark))
    if mark is not None and content and isinstance(content[-1], str):
        content[-1] = content[-1].removesuffix(" ")
        if not content[-1]:
            content.pop()
    return tuple(content)


def _language(package: Package) -> str:
    """The language of the bank, which items of a cartridge do not state."""
    language = ""
    with package.open(MANIFEST) as source:
        for element in stream(source, MANIFEST, "resource"):
            if local(element.tag) == "manifest":
                language = element.findtext(".//{*}general/{*}language", "")
    return language
