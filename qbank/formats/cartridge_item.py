"""Items of a cartridge: one response each, in one of the profiles of Common Cartridge 1.3.

An item with several parts is split into as many, whose identifiers end in `_1`, `_2`, ...; the
worked solution goes with the last of them, since it would give the others away. Orders and pairs
fall back to multiple choices, of a matching one for each source. Numbers fall back in the order of
the mapping note, b3: listed spellings, then a choice among computed distractors, then an essay that
no machine scores. Scores run from 0 to 100; points are a weight.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256

from qbank.formats import asi_markup as asi
from qbank.formats.asi_readback import FILE_BASE
from qbank.formats.cartridge_arranged import choices_of
from qbank.formats.cartridge_numbers import distractors, key_spellings, slip_spellings
from qbank.formats.content import blocks, inline
from qbank.formats.pictures import PicturePlace
from qbank.formats.qti_parts import feedback_labels
from qbank.formats.xmltext import escape, number, quote
from qbank.item import Choice, Image, Item, Matching, NumberEntry, Ordering, Part

RESPONSE = "RESPONSE"
CAUTION, STEM, PROMPT, UNIT = "caution", "stem", "prompt", "unit"
FULL = 100.0
_STR = (
    f'<response_str ident="{RESPONSE}" rcardinality="Single"><render_fib>'
    '<response_label ident="A"/></render_fib></response_str>\n'
)


@dataclass(frozen=True, slots=True)
class CartridgePlace(PicturePlace):
    """Where pictures are: from the base of the cartridge, at whose root the bank stands, so that
    it is the same whether the base is the bank's folder or the package [?] (mapping note, a3)."""

    def href(self, image: Image) -> str:
        return FILE_BASE + PicturePlace.href(self, image)


@dataclass(frozen=True, slots=True)
class Body:
    """What differs between profiles; `way` is what became of the part."""

    way: str
    profile: str
    response: str
    rules: str
    feedback: str


@dataclass(frozen=True, slots=True)
class CartridgeItem:
    """One item of the bank: its name, its text and what became of the part it was."""

    identifier: str
    text: str
    way: str


def cartridge_items(item: Item, category: str) -> Iterator[CartridgeItem]:
    """The items that the parts of an item become.

    Raises CheckFailed when a number is not finite, a text holds what XML cannot or a formula is
    no MathML.
    """
    asked = [one for part in item.parts for one in _asked(part)]
    count = len(asked)
    for n, (part, way) in enumerate(asked, start=1):
        name = item.identifier if count == 1 else f"{item.identifier}_{n}"
        title = item.title if count == 1 else f"{item.title} ({n}/{count})"
        body = _choice(part, name, way) if isinstance(part, Choice) else _number(part, item, name)
        fields = [
            ("cc_profile", body.profile),
            ("cc_question_category", category),
            # A weight is a whole number [?]: others are left out.
            ("cc_weighting", number(part.points) if part.points.is_integer() else ""),
            ("qmd_computerscored", "No" if body.way == "essay" else ""),
        ]
        place = CartridgePlace(item.identifier)
        told = blocks(item.solution, place) if n == count else ""
        if body.way == "essay" and isinstance(part, NumberEntry):
            key = f"{part.key_shown} ({part.tolerance.stated})"
            told = f"<p>{escape(key)}</p>\n{told}"
        rules = asi.show_solution() if told else ""
        if item.hints:
            # Without requests for hints they show once something is answered.
            names = [f"{asi.HINT}{k}" for k in range(1, len(item.hints) + 1)]
            rules += asi.condition(asi.ALWAYS, show=names, kind="Hint")
        yield CartridgeItem(
            name,
            f'<item ident="{quote(name)}" title="{quote(title)}">\n{asi.metadata(fields)}'
            f"<presentation>\n{asi.material(_shown(item, part, place))}{body.response}"
            f"</presentation>\n{asi.processing(FULL, rules + body.rules)}{body.feedback}"
            f"{asi.hints(item.hints)}{asi.solution(told) if told else ''}</item>\n",
            body.way,
        )


def _shown(item: Item, part: Part, place: PicturePlace) -> str:
    """Caution, stem, prompt and unit in one HTML text: a list within a sentence follows it."""
    caution = f'<p class="{CAUTION}">{escape(item.caution)}</p>\n' if item.caution else ""
    unit = ""
    if isinstance(part, NumberEntry) and part.unit:
        unit = f' <span class="{UNIT}">{escape(part.unit)}</span>'
    stem = f'<div class="{STEM}">\n{blocks(item.stem, place)}</div>\n'
    return f'{caution}{stem}<p class="{PROMPT}">{inline(part.prompt)}{unit}</p>'


def _asked(part: Part) -> Iterator[tuple[Choice | NumberEntry, str]]:
    """The items that a part becomes, and for choices the way."""
    match part:
        case NumberEntry():
            yield part, ""
        case Choice():
            yield part, "choice"
        case Ordering() | Matching():
            way = "orders" if isinstance(part, Ordering) else "pairs"
            for choice in choices_of(part):
                yield choice, way


def _number(part: NumberEntry, item: Item, name: str) -> Body:
    accepted = key_spellings(part, item.language)
    if accepted is not None:
        return _spelled(part, accepted, item.language)
    choice = distractors(part, item.language)
    if choice is not None:
        return _choice(choice, name, "distractors")
    return Body("essay", "cc.essay.v0p1", _STR, "", "")


def _choice(part: Choice, name: str, way: str) -> Body:
    # Shuffling is up to the platform [?], so what may be shuffled stands in no telling order.
    order = list(range(len(part.options)))
    if part.shuffle:
        order.sort(key=lambda n: sha256(f"{name}/{part.options[n].identifier}".encode()).digest())
    rules = feedback = ""
    for option, label in zip(part.options, feedback_labels(part), strict=True):
        if option.feedback:
            shown = f"FEEDBACK.{label}"
            rules += asi.condition(asi.equals(RESPONSE, option.identifier), show=[shown])
            feedback += asi.feedback(shown, option.feedback)
    if part.multiple:
        right = asi.exactly(part, RESPONSE)
    else:
        right = "".join(asi.equals(RESPONSE, o.identifier) for o in part.options if o.correct)
    kind = "response" if part.multiple else "choice"
    return Body(
        way,
        f"cc.multiple_{kind}.v0p1",
        asi.options(part, RESPONSE, order),
        rules + asi.condition(right, go_on=False, score=("Set", FULL)),
        feedback,
    )


def _spelled(part: NumberEntry, accepted: list[str], language: str) -> Body:
    taken = set(accepted)
    rules = feedback = ""
    slips = slip_spellings(part, language)
    for wrong, label, texts in zip(part.wrong_values, feedback_labels(part), slips, strict=True):
        own = [text for text in texts if text not in taken]
        taken.update(own)
        if wrong.feedback and own:
            shown = f"FEEDBACK.{label}"
            rules += asi.condition(_one_of(own), show=[shown])
            feedback += asi.feedback(shown, wrong.feedback)
    rules += asi.condition(_one_of(accepted), go_on=False, score=("Set", FULL))
    return Body("spellings", "cc.fib.v0p1", _STR, rules, feedback)


def _one_of(texts: list[str]) -> str:
    """True for one of the texts. Within `or`, since the tests of a rule are joined by and."""
    return f"<or>{''.join(asi.equals(RESPONSE, text, case='No') for text in texts)}</or>"
