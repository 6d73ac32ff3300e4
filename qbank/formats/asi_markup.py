"""Pieces of an item of QTI 1.2.1 that its own packages and cartridges share.

Content is escaped HTML, well-formed as XML, in `mattext` (mapping note, section d); MathML in it
carries its namespace. Orders of children are those of the mapping note, a6 and c, from memory.
"""

from __future__ import annotations

from collections.abc import Iterable

from qbank.formats.content import inline
from qbank.formats.xmltext import escape, number, quote
from qbank.item import Choice, Inline, Option

SOLUTION = "SOLUTION"
HINT = "HINT_"
RIGHT = "RIGHT"
ALWAYS = "<other/>"


def root_start(namespace: str, schema: str) -> str:
    """The start of a document.

    It names its namespace and no document type [?]: a DOCTYPE would have to be fetched, and
    readers that know neither look for element names alone.
    """
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<questestinterop xmlns="{namespace}"\n'
        ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"\n'
        f' xsi:schemaLocation="{namespace} {schema}">\n'
    )


def material(html: str, label: str = "") -> str:
    """HTML, which may hold formulas, tables and pictures, as material."""
    said = f' label="{quote(label)}"' if label else ""
    return f'<material{said}><mattext texttype="text/html">{escape(html)}</mattext></material>\n'


def metadata(fields: Iterable[tuple[str, str]]) -> str:
    """The fields that have something to say, as metadata of an item."""
    said = "".join(
        f"<qtimetadatafield><fieldlabel>{escape(label)}</fieldlabel>"
        f"<fieldentry>{escape(entry)}</fieldentry></qtimetadatafield>\n"
        for label, entry in fields
        if entry
    )
    if not said:
        return ""
    return f"<itemmetadata><qtimetadata>\n{said}</qtimetadata></itemmetadata>\n"


def options(part: Choice, response: str, order: Iterable[int]) -> str:
    """A `response_lid` with the options in that order.

    The name of an option stands for it within its own response only [?]: `varequal` always says
    which response it asks for.
    """
    return labels(
        [part.options[n] for n in order],
        response,
        "Multiple" if part.multiple else "Single",
        shuffle="Yes" if part.shuffle else "No",
    )


def labels(offered: Iterable[Option], response: str, cardinality: str, *, shuffle: str) -> str:
    """A `response_lid` of that cardinality (Single, Multiple or Ordered)."""
    labels = "".join(
        f'<response_label ident="{quote(option.identifier)}">\n'
        f"{material(inline(option.content))}</response_label>\n"
        for option in offered
    )
    return (
        f'<response_lid ident="{quote(response)}" rcardinality="{cardinality}">'
        f'<render_choice shuffle="{shuffle}">\n{labels}</render_choice></response_lid>\n'
    )


def equals(response: str, text: str, case: str = "Yes") -> str:
    """True when the text is among the responses; whether case matters is stated."""
    return f'<varequal respident="{quote(response)}" case="{case}">{escape(text)}</varequal>'


def placed(response: str, text: str, place: int) -> str:
    """True when the text is the response at that place, counted from 1 (b6)."""
    return (
        f'<varequal respident="{quote(response)}" index="{place}" case="Yes">'
        f"{escape(text)}</varequal>"
    )


def unanswered(response: str) -> str:
    """True when nothing is given."""
    return f'<unanswered respident="{quote(response)}"/>'


def exactly(part: Choice, response: str) -> str:
    """True when all right options are among the responses and none of the others."""
    tests = [
        test if option.correct else f"<not>{test}</not>"
        for option in part.options
        for test in [equals(response, option.identifier)]
    ]
    return f"<and>{''.join(tests)}</and>"


def condition(
    test: str,
    *,
    title: str = "",
    go_on: bool = True,
    score: tuple[str, float] | None = None,
    show: Iterable[str] = (),
    kind: str = "Response",
) -> str:
    """A rule: when the test is true, change the score and show feedbacks of one kind.

    `score` is the action and the number; `go_on` lets the rules after it run too, which is not
    the default.
    """
    setting = (
        f'<setvar varname="SCORE" action="{score[0]}">{number(score[1])}</setvar>' if score else ""
    )
    shown = "".join(
        f'<displayfeedback feedbacktype="{kind}" linkrefid="{quote(name)}"/>' for name in show
    )
    titled = f' title="{quote(title)}"' if title else ""
    return (
        f'<respcondition{titled} continue="{"Yes" if go_on else "No"}">'
        f"<conditionvar>{test}</conditionvar>{setting}{shown}</respcondition>\n"
    )


def show_solution() -> str:
    """A rule that shows the solution whatever was answered: before all others (mapping, c, g5)."""
    return condition(ALWAYS, show=[SOLUTION], kind="Solution")


def processing(maximum: float, rules: str) -> str:
    """Response processing with the one variable SCORE, of decimals (its default is integers)."""
    return (
        '<resprocessing>\n<outcomes><decvar varname="SCORE" vartype="Decimal" minvalue="0" '
        f'maxvalue="{number(maximum)}" defaultval="0"/></outcomes>\n{rules}</resprocessing>\n'
    )


def feedback(name: str, content: tuple[Inline, ...]) -> str:
    """Feedback to a response."""
    html = f"<p>{inline(content)}</p>"
    return f'<itemfeedback ident="{quote(name)}">\n{material(html)}</itemfeedback>\n'


def solution(html: str) -> str:
    """The worked solution."""
    return (
        f'<itemfeedback ident="{SOLUTION}"><solution feedbackstyle="Complete">'
        f"<solutionmaterial>\n{material(html)}</solutionmaterial></solution></itemfeedback>\n"
    )


def hints(contents: Iterable[tuple[Inline, ...]]) -> str:
    """Hints, one feedback each."""
    return "".join(
        f'<itemfeedback ident="{HINT}{n}"><hint feedbackstyle="Complete">'
        f"<hintmaterial>\n{material(f'<p>{inline(content)}</p>')}</hintmaterial></hint>"
        "</itemfeedback>\n"
        for n, content in enumerate(contents, start=1)
    )
