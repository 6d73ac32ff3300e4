"""One item as the XML text of one QTI version, with the structure it was made by."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from qbank import __version__
from qbank.formats.content import blocks, inline, shapes
from qbank.formats.dialects import Dialect
from qbank.formats.pictures import PicturePlace
from qbank.formats.qti_markup import HINT_TITLES, MARKUP
from qbank.formats.qti_parts import PartText, PartTexts
from qbank.formats.xmltext import escape, number, quote
from qbank.item import Item


@dataclass(frozen=True, slots=True)
class ItemDocument:
    """The text of an item and what a grammar can see of it, component by component.

    Two documents with the same `structures` differ in escaped text, in formulas that were judged
    alone, and in finite numbers; so what is known of all components is known of the document.
    """

    text: str
    structures: tuple[Hashable, ...]


class ItemText:
    """Writes items in one dialect; made once, used for every item."""

    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self._parts = PartTexts(dialect)
        self._t = {name: dialect.markup(text) for name, text in MARKUP.items()}
        self._head = '<?xml version="1.0" encoding="UTF-8"?>\n' + dialect.markup(
            f'<assessmentItem xmlns="{dialect.namespace}"\n'
            ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"\n'
            f' xsi:schemaLocation="{dialect.namespace} {dialect.schema}"\n'
            ' identifier="%s" title="%s" xml:lang="%s" adaptive="%s" timeDependent="false"\n'
            f' toolName="qbank" toolVersion="{__version__}">\n'
        )
        self._tail = f"</{dialect.element('assessmentItem')}>\n"

    def document(self, item: Item) -> ItemDocument:
        """The whole document of an item.

        Raises CheckFailed when a number is not finite, a text holds what XML cannot or a formula
        is no MathML.
        """
        t = self._t
        parts = [self._parts.text(part) for part in item.parts]
        names = tuple([part.identifier for part in item.parts])
        place = PicturePlace(item.identifier, self.dialect.content_body, self.dialect.described_by)
        total = number(item.points)
        maximum = t["normal_maximum"] % total if item.points > 0 else ""
        out = [
            self._head
            % (
                item.identifier,
                quote(item.title),
                quote(item.language),
                "true" if item.hints else "false",
            ),
            *[part.responses for part in parts],
            t["declare_request"] if item.hints else "",
            t["declare_total"] % (maximum, total),
            *[part.outcomes for part in parts],
            t["declare_flag"] % ("SOLUTION", "single") if item.solution else "",
            t["declare_flag"] % ("HINT", "multiple") if item.hints else "",
            self._body(item, parts, place),
            self._processing(item, parts, names),
            *[part.feedback for part in parts],
        ]
        modal = t["modal"]
        for n, hint in enumerate(item.hints, start=1):
            out.append(modal % ("HINT", f"HINT_{n}", f"<p>{inline(hint)}</p>"))
        if item.solution:
            solution = f'<div class="solution">\n{blocks(item.solution, place)}</div>'
            out.append(modal % ("SOLUTION", "WORKED", solution))
        out.append(self._tail)
        frame = (
            names,
            item.language,
            not item.title,
            len(item.hints),
            not item.caution,
            not item.solution,
            item.points > 0,
        )
        return ItemDocument(
            "".join(out),
            (
                frame,
                *[part.structure for part in parts],
                *shapes(item.stem),
                *shapes(item.solution),
            ),
        )

    def _body(self, item: Item, parts: list[PartText], place: PicturePlace) -> str:
        t = self._t
        use = self.dialect.rubric_use
        caution = t["caution"] % (use, escape(item.caution)) if item.caution else ""
        request = t["request"] % quote(_hint_title(item.language)) if item.hints else ""
        body = "".join([part.body for part in parts])
        stem = blocks(item.stem, place)
        return t["body"] % f'{caution}<div class="stem">\n{stem}</div>\n{body}{request}'

    def _processing(self, item: Item, parts: list[PartText], names: tuple[str, ...]) -> str:
        t = self._t
        score = t["score"]
        answered = "".join(
            [
                *[part.rules for part in parts],
                t["set_total"] % "".join([score % name for name in names]),
                t["set_solution"] if item.solution else "",
            ]
        )
        if not item.hints:
            return t["answered"] % answered
        hints = [t["first_hint"]]
        for n in range(2, len(item.hints) + 1):
            hints.append(t["next_hint"] % (f"HINT_{n}", f"HINT_{n}"))
        return t["hinted"] % ("".join(hints), answered)


def _hint_title(language: str) -> str:
    return HINT_TITLES.get(language.partition("-")[0], HINT_TITLES["en"])
