"""An item in QTI 1.2.1: every part a response of its own, points added part by part.

Numbers are compared with bounds worked out beforehand, since 1.2.1 has neither tolerances nor
arithmetic (mapping note, b3, b4). Every rule lets the next ones run, so that parts are
independent; a range that meets one before it is cut off by `not`, so the first still wins.
What 1.2.1 has no place for, the key as text among it, stands in metadata fields `qbank_...`.
"""

from __future__ import annotations

from collections.abc import Iterator

from qbank.formats import asi_markup as asi
from qbank.formats import qti12_arranged as arranged
from qbank.formats.arranging import answers_of
from qbank.formats.asi_versions import QTI_12
from qbank.formats.content import blocks, inline
from qbank.formats.pictures import PicturePlace
from qbank.formats.qti12_arranged import RESPONSE, feedback_name
from qbank.formats.qti_parts import feedback_labels
from qbank.formats.xmltext import escape, number, quote
from qbank.item import Choice, Item, Matching, NumberEntry, Ordering, Part

STEM, PROMPT, UNIT = "STEM", "PROMPT", "UNIT"
FACTS = ("family", "version", "digest", "seed", "index", "case")
_HEAD = asi.root_start(QTI_12.namespace, QTI_12.schema)


def item_document(item: Item) -> str:
    """The document of one item.

    Raises CheckFailed when a number is not finite, a text holds what XML cannot or a formula is
    no MathML.
    """
    place = PicturePlace(item.identifier)
    caution = ""
    if item.caution:
        said = asi.material(f"<p>{escape(item.caution)}</p>")
        caution = f'<itemrubric view="Candidate">\n{said}</itemrubric>\n'
    body = asi.material(blocks(item.stem, place), STEM) + "".join(map(_shown, item.parts))
    rules = (asi.show_solution() if item.solution else "") + _show_hints(item)
    rules += "".join(map(_rules, item.parts))
    feedback = "".join(map(_feedback, item.parts)) + asi.hints(item.hints)
    if item.solution:
        feedback += asi.solution(blocks(item.solution, place))
    return (
        f'{_HEAD}<item ident="{quote(item.identifier)}" title="{quote(item.title)}"'
        f' xml:lang="{quote(item.language)}">\n'
        f"{asi.metadata(_fields(item))}{caution}<presentation>\n{body}</presentation>\n"
        f"{asi.processing(item.points, rules)}{feedback}</item>\n</questestinterop>\n"
    )


def _fields(item: Item) -> Iterator[tuple[str, str]]:
    about, origin = item.metadata, item.provenance
    yield "qmd_topic", about.subject
    yield "qbank_level", about.level
    yield "qbank_licence", about.licence
    for author in about.authors:
        yield "qbank_author", author
    for objective in about.objectives:
        yield "qbank_objective", objective
    if origin is not None:
        for fact in FACTS:
            yield f"qbank_{fact}", str(getattr(origin, fact))
    for part in item.parts:
        name = part.identifier
        if isinstance(part, NumberEntry):
            yield f"qbank_key_{name}", part.key_text
            yield f"qbank_shown_{name}", part.key_shown
            yield f"qbank_tolerance_{name}", part.tolerance.stated
            yield f"qbank_figures_{name}", "" if part.figures is None else str(part.figures)
            yield f"qbank_decimals_{name}", "" if part.decimals is None else str(part.decimals)
        elif isinstance(part, Choice) and part.inline and not part.multiple:
            yield f"qbank_inline_{name}", "yes"
        elif isinstance(part, Ordering | Matching):
            yield from arranged.fields(part)


def _shown(part: Part) -> str:
    """Prompt, response and unit.

    The prompt is material before the response, not within it [?]: readers of one response an
    item look for it there, and readers of several show material in the order it stands.
    """
    response = RESPONSE + part.identifier
    prompt = asi.material(inline(part.prompt), PROMPT) if part.prompt else ""
    if isinstance(part, NumberEntry):
        # The default would be whole numbers; an exponent makes the number "Scientific" (b3).
        kind = "Scientific" if "e" in part.key_text.lower() else "Decimal"
        unit = asi.material(escape(part.unit), UNIT) if part.unit else ""
        return (
            f'{prompt}<response_num ident="{quote(response)}" rcardinality="Single"'
            f' numtype="{kind}"><render_fib fibtype="{kind}" prompt="Box" columns="12">'
            f'<response_label ident="A"/></render_fib></response_num>\n{unit}'
        )
    if isinstance(part, Choice):
        # There is no list within a sentence: an inline choice follows its sentence (b5).
        return prompt + asi.options(part, response, range(len(part.options)))
    return prompt + arranged.shown(part)


def _show_hints(item: Item) -> str:
    """A rule that offers the hints while a response is unanswered.

    1.2.1 has no request for a hint; a player that takes requests finds the `hint` elements
    itself [?].
    """
    if not item.hints:
        return ""
    unanswered = "".join(
        asi.unanswered(name) for part in item.parts for name in arranged.responses(part)
    )
    names = [f"{asi.HINT}{n}" for n in range(1, len(item.hints) + 1)]
    return asi.condition(f"<or>{unanswered}</or>", title="HINT", show=names, kind="Hint")


def _rules(part: Part) -> str:
    response = RESPONSE + part.identifier
    earns = ("Add", part.points)
    if isinstance(part, NumberEntry):
        return _number_rules(part, response)
    if isinstance(part, Ordering | Matching):
        return arranged.rules(part)
    rules = []
    labels = feedback_labels(part)
    if part.multiple:
        right = asi.exactly(part, response)
        rules.append(asi.condition(right, title=asi.RIGHT, score=earns))
    for option, label in zip(part.options, labels, strict=True):
        scores = option.correct and not part.multiple
        if label or scores:
            rules.append(
                asi.condition(
                    asi.equals(response, option.identifier),
                    title=label or asi.RIGHT,
                    score=earns if scores else None,
                    show=[feedback_name(part, label)] if option.feedback else (),
                )
            )
    return "".join(rules)


def _number_rules(part: NumberEntry, response: str) -> str:
    bands = [(part.tolerance.low, part.tolerance.high)]
    right = _band(response, *bands[0])
    rules = [asi.condition(right, title=asi.RIGHT, score=("Add", part.points))]
    for wrong, label in zip(part.wrong_values, feedback_labels(part), strict=True):
        met = [b for b in bands if wrong.low <= b[1] and b[0] <= wrong.high]
        test = _band(response, wrong.low, wrong.high)
        test += "".join(f"<not>{_band(response, *band)}</not>" for band in met)
        show = [feedback_name(part, label)] if wrong.feedback else []
        rules.append(asi.condition(test, title=label, show=show))
        bands.append((wrong.low, wrong.high))
    return "".join(rules)


def _band(response: str, low: float, high: float) -> str:
    name = quote(response)
    return (
        f'<and><vargte respident="{name}">{number(low)}</vargte>'
        f'<varlte respident="{name}">{number(high)}</varlte></and>'
    )


def _feedback(part: Part) -> str:
    return "".join(
        asi.feedback(feedback_name(part, label), answer.feedback)
        for answer, label in zip(answers_of(part), feedback_labels(part), strict=True)
        if answer.feedback and label
    )
