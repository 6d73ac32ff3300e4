"""One item as the XML text of one QTI version.

Worded in the names of 2.1; `Dialect.markup` makes the templates of another version once, when
the writer is made, so that an item is then a join of strings. Scoring is explicit in every item
(mapping note, b3, b4, c), never by a standard template, so that it does not hang on what an
importing system knows:

- numbers: `lower <= response <= upper` as two comparisons (b3: the form that means the same in
  every engine), one rule a part, each part into its own outcome, then a sum (b4);
- feedback: one modal feedback per option and per wrong value, chosen by an outcome of type
  identifier; a response that a named slip explains sets it to SLIP_ and the slip's name;
- worked solution: modal feedback on an outcome that response processing always sets;
- hints: an endAttemptInteraction, which needs an adaptive item (defect 37 of section h), so only
  items with hints are adaptive; the next hint shows at each request, the answer ends the item.
"""

from __future__ import annotations

from collections.abc import Sequence

from qbank import __version__
from qbank.formats.dialects import Dialect
from qbank.formats.xmltext import escape, inline, name_part, number, plain, quote
from qbank.formats.xmltext import formula as formula_text
from qbank.item import (
    Block,
    Choice,
    Display,
    Item,
    NumberEntry,
    Option,
    Paragraph,
    Part,
    Table,
    WrongValue,
)

# Blocks a comma and everything else that is not a float of XML Schema (b3).
PATTERN_MASK = r"[+\-]?[0-9]*\.?[0-9]*([eE][+\-]?[0-9]+)?"
# The same for every key, so that the width of the field gives nothing away.
EXPECTED_LENGTH = 12
SLIP = "SLIP_"
HINT_TITLES = {"en": "Show a hint"}

_NUMBER = '<baseValue baseType="float">%s</baseValue>'
_BAND = (
    '<and><gte><variable identifier="RESPONSE_%s"/>'
    f"{_NUMBER}</gte>"
    '<lte><variable identifier="RESPONSE_%s"/>'
    f"{_NUMBER}</lte></and>\n"
)
_SET_FEEDBACK = (
    '<setOutcomeValue identifier="FEEDBACK_%s"><baseValue baseType="identifier">%s</baseValue>'
    "</setOutcomeValue>"
)

_TEMPLATES = {
    "declare_number": (
        '<responseDeclaration identifier="RESPONSE_%s" cardinality="single" baseType="float">'
        '<correctResponse interpretation="%s"><value>%s</value></correctResponse>'
        "</responseDeclaration>\n"
    ),
    "declare_choice": (
        '<responseDeclaration identifier="RESPONSE_%s" cardinality="%s" baseType="identifier">'
        "%s</responseDeclaration>\n"
    ),
    "keys": "<correctResponse>%s</correctResponse>",
    "value": "<value>%s</value>",
    "declare_request": (
        '<responseDeclaration identifier="HINTREQUEST" cardinality="single" baseType="boolean"/>\n'
    ),
    "declare_total": (
        '<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float"%s>'
        "<defaultValue><value>0</value></defaultValue></outcomeDeclaration>\n"
        '<outcomeDeclaration identifier="MAXSCORE" cardinality="single" baseType="float">'
        "<defaultValue><value>%s</value></defaultValue></outcomeDeclaration>\n"
    ),
    "normal_maximum": ' normalMaximum="%s"',
    "declare_score": (
        '<outcomeDeclaration identifier="SCORE_%s" cardinality="single" baseType="float"%s>'
        "<defaultValue><value>0</value></defaultValue></outcomeDeclaration>\n"
    ),
    "declare_flag": (
        '<outcomeDeclaration identifier="%s" cardinality="%s" baseType="identifier"/>\n'
    ),
    "body": "<itemBody>\n%s</itemBody>\n",
    "caution": (
        '<rubricBlock view="candidate"%s><contentBody><p>%s</p></contentBody></rubricBlock>\n'
    ),
    "entry": (
        '<p>%s <textEntryInteraction class="%s" responseIdentifier="RESPONSE_%s" '
        f'expectedLength="{EXPECTED_LENGTH}" patternMask="{PATTERN_MASK}"/>%s</p>\n'
    ),
    "unit": ' <span class="unit">%s</span>',
    "inline_choice": (
        '<p>%s <inlineChoiceInteraction responseIdentifier="RESPONSE_%s" shuffle="%s">'
        "%s</inlineChoiceInteraction></p>\n"
    ),
    "inline_option": '<inlineChoice identifier="%s">%s</inlineChoice>',
    "choice": (
        '<choiceInteraction responseIdentifier="RESPONSE_%s" shuffle="%s" maxChoices="%s">\n'
        "<prompt>%s</prompt>\n%s</choiceInteraction>\n"
    ),
    "option": '<simpleChoice identifier="%s">%s</simpleChoice>\n',
    "request": ('<p><endAttemptInteraction responseIdentifier="HINTREQUEST" title="%s"/></p>\n'),
    "band": _BAND,
    "rule": "<responseCondition><responseIf>%s</responseIf>\n%s</responseCondition>\n",
    "else_if": "<responseElseIf>%s</responseElseIf>\n",
    "matches": (
        '<match><variable identifier="RESPONSE_%s"/><correct identifier="RESPONSE_%s"/></match>\n'
    ),
    "unmarked": '<isNull><variable identifier="RESPONSE_%s"/></isNull>\n',
    "picked": (
        '<match><variable identifier="RESPONSE_%s"/>'
        '<baseValue baseType="identifier">%s</baseValue></match>'
    ),
    "among": (
        '<member><baseValue baseType="identifier">%s</baseValue>'
        '<variable identifier="RESPONSE_%s"/></member>'
    ),
    "set_score": (f'<setOutcomeValue identifier="SCORE_%s">{_NUMBER}</setOutcomeValue>'),
    "set_feedback": _SET_FEEDBACK,
    "add_feedback": (
        '<setOutcomeValue identifier="FEEDBACK_%s"><multiple><variable identifier="FEEDBACK_%s"/>'
        '<baseValue baseType="identifier">%s</baseValue></multiple></setOutcomeValue>'
    ),
    "set_total": '<setOutcomeValue identifier="SCORE"><sum>%s</sum></setOutcomeValue>\n',
    "score": '<variable identifier="SCORE_%s"/>',
    "set_solution": (
        '<setOutcomeValue identifier="SOLUTION"><baseValue baseType="identifier">WORKED'
        "</baseValue></setOutcomeValue>\n"
    ),
    "answered": "<responseProcessing>\n%s</responseProcessing>\n",
    "hinted": (
        "<responseProcessing>\n"
        '<responseCondition><responseIf><variable identifier="HINTREQUEST"/>\n'
        "<responseCondition>%s</responseCondition></responseIf>\n"
        '<responseElse>\n%s<setOutcomeValue identifier="completionStatus">'
        '<baseValue baseType="identifier">completed</baseValue></setOutcomeValue>'
        "</responseElse></responseCondition>\n</responseProcessing>\n"
    ),
    "first_hint": (
        '<responseIf><isNull><variable identifier="HINT"/></isNull>'
        '<setOutcomeValue identifier="HINT"><multiple><baseValue baseType="identifier">HINT_1'
        "</baseValue></multiple></setOutcomeValue></responseIf>\n"
    ),
    "next_hint": (
        '<responseElseIf><not><member><baseValue baseType="identifier">%s</baseValue>'
        '<variable identifier="HINT"/></member></not>'
        '<setOutcomeValue identifier="HINT"><multiple><variable identifier="HINT"/>'
        '<baseValue baseType="identifier">%s</baseValue></multiple></setOutcomeValue>'
        "</responseElseIf>\n"
    ),
    "modal": (
        '<modalFeedback outcomeIdentifier="%s" identifier="%s" showHide="show"><contentBody>'
        "%s</contentBody></modalFeedback>\n"
    ),
}


class ItemText:
    """Writes items in one dialect; made once, used for every item."""

    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self._t = {name: dialect.markup(text) for name, text in _TEMPLATES.items()}
        self._rubric_use = dialect.rubric_use
        self._head = '<?xml version="1.0" encoding="UTF-8"?>\n' + dialect.markup(
            f'<assessmentItem xmlns="{dialect.namespace}"\n'
            ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"\n'
            f' xsi:schemaLocation="{dialect.namespace} {dialect.schema}"\n'
            ' identifier="%s" title="%s" xml:lang="%s" adaptive="%s" timeDependent="false"\n'
            f' toolName="qbank" toolVersion="{__version__}">\n'
        )
        self._tail = f"</{dialect.element('assessmentItem')}>\n"

    def text(self, item: Item) -> str:
        """The whole document of an item.

        Raises CheckFailed when a key, bound or score is not finite or a formula is not MathML.
        """
        t = self._t
        out = [
            self._head
            % (
                item.identifier,
                quote(item.title),
                quote(item.language),
                "true" if item.hints else "false",
            )
        ]
        feedback = [self._feedback_names(part) for part in item.parts]
        self._declarations(item, feedback, out)
        body = "".join(map(self._part, item.parts))
        if item.hints:
            body += t["request"] % quote(_hint_title(item.language))
        caution = t["caution"] % (self._rubric_use, escape(item.caution)) if item.caution else ""
        stem = "".join(map(block, item.stem))
        out.append(t["body"] % f'{caution}<div class="stem">\n{stem}</div>\n{body}')
        self._processing(item, feedback, out)
        self._modal_feedback(item, feedback, out)
        out.append(self._tail)
        return "".join(out)

    # ------------------------------------------------------------------ declarations

    def _declarations(self, item: Item, feedback: list[list[str]], out: list[str]) -> None:
        t = self._t
        for part in item.parts:
            name = part.identifier
            if isinstance(part, NumberEntry):
                out.append(t["declare_number"] % (name, quote(part.key_shown), part.key_text))
            else:
                keys = "".join(t["value"] % o.identifier for o in part.options if o.correct)
                keys = t["keys"] % keys if keys else ""
                out.append(t["declare_choice"] % (name, _cardinality(part), keys))
        if item.hints:
            out.append(t["declare_request"])
        total = number(item.points)
        maximum = t["normal_maximum"] % total if item.points > 0 else ""
        out.append(t["declare_total"] % (maximum, total))
        for part, names in zip(item.parts, feedback, strict=True):
            stated = (
                f' interpretation="{quote(part.tolerance.stated)}"'
                if isinstance(part, NumberEntry)
                else ""
            )
            out.append(t["declare_score"] % (part.identifier, stated))
            if any(names):
                kind = "single" if isinstance(part, NumberEntry) else _cardinality(part)
                out.append(t["declare_flag"] % (f"FEEDBACK_{part.identifier}", kind))
        if item.solution:
            out.append(t["declare_flag"] % ("SOLUTION", "single"))
        if item.hints:
            out.append(t["declare_flag"] % ("HINT", "multiple"))

    @staticmethod
    def _feedback_names(part: Part) -> list[str]:
        """What each option or wrong value sets the feedback outcome to; empty for nothing."""
        taken: set[str] = set()
        names = []
        for answer in _answers(part):
            if answer.slip:
                name = SLIP + name_part(answer.slip)
                while name in taken:  # two answers of one slip keep feedback of their own
                    name += "."
            elif isinstance(answer, Option) and answer.feedback:
                name = answer.identifier
            else:
                name = ""
            taken.add(name)
            names.append(name)
        return names

    # ------------------------------------------------------------------ body

    def _part(self, part: Part) -> str:
        t = self._t
        name = part.identifier
        prompt = inline(part.prompt)
        if isinstance(part, NumberEntry):
            unit = t["unit"] % escape(part.unit) if part.unit else ""
            return t["entry"] % (prompt, precision_class(part), name, unit)
        shuffle = "true" if part.shuffle else "false"
        if part.inline and not part.multiple:
            options = "".join(
                t["inline_option"] % (o.identifier, escape(plain(o.content))) for o in part.options
            )
            return t["inline_choice"] % (prompt, name, shuffle, options)
        options = "".join(t["option"] % (o.identifier, inline(o.content)) for o in part.options)
        return t["choice"] % (name, shuffle, "0" if part.multiple else "1", prompt, options)

    # ------------------------------------------------------------------ processing

    def _processing(self, item: Item, feedback: list[list[str]], out: list[str]) -> None:
        t = self._t
        rules = []
        for part, names in zip(item.parts, feedback, strict=True):
            if isinstance(part, NumberEntry):
                rules.append(self._number_rule(part, names))
            elif part.multiple:
                rules.extend(self._multiple_rules(part, names))
            else:
                rules.append(self._single_rule(part, names))
        rules.append(t["set_total"] % "".join(t["score"] % p.identifier for p in item.parts))
        if item.solution:
            rules.append(t["set_solution"])
        answered = "".join(rules)
        if not item.hints:
            out.append(t["answered"] % answered)
            return
        hints = [t["first_hint"]]
        for n in range(2, len(item.hints) + 1):
            hints.append(t["next_hint"] % (f"HINT_{n}", f"HINT_{n}"))
        out.append(t["hinted"] % ("".join(hints), answered))

    def _number_rule(self, part: NumberEntry, names: list[str]) -> str:
        t = self._t
        name = part.identifier
        low, high = number(part.tolerance.low), number(part.tolerance.high)
        right = t["band"] % (name, low, name, high)
        right += t["set_score"] % (name, number(part.points))
        others = []
        for wrong, label in zip(part.wrong_values, names, strict=True):
            band = t["band"] % (name, number(wrong.low), name, number(wrong.high))
            others.append(t["else_if"] % (band + t["set_feedback"] % (name, label)))
        return t["rule"] % (right, "".join(others))

    def _single_rule(self, part: Choice, names: list[str]) -> str:
        t = self._t
        name = part.identifier
        right = t["matches"] % (name, name) + t["set_score"] % (name, number(part.points))
        others = []
        for option, label in zip(part.options, names, strict=True):
            if not label:
                continue
            setting = t["set_feedback"] % (name, label)
            if option.correct:
                right += setting
            else:
                others.append(t["else_if"] % (t["picked"] % (name, option.identifier) + setting))
        return t["rule"] % (right, "".join(others))

    def _multiple_rules(self, part: Choice, names: list[str]) -> list[str]:
        t = self._t
        name = part.identifier
        # Where no option is right, the right answer is to mark none: there is no key to match.
        keyed = any(option.correct for option in part.options)
        right = t["matches"] % (name, name) if keyed else t["unmarked"] % name
        right += t["set_score"] % (name, number(part.points))
        rules = [t["rule"] % (right, "")]
        for option, label in zip(part.options, names, strict=True):
            if label:
                picked = t["among"] % (option.identifier, name)
                rules.append(t["rule"] % (picked + t["add_feedback"] % (name, name, label), ""))
        return rules

    # ------------------------------------------------------------------ feedback

    def _modal_feedback(self, item: Item, feedback: list[list[str]], out: list[str]) -> None:
        modal = self._t["modal"]
        for part, names in zip(item.parts, feedback, strict=True):
            outcome = f"FEEDBACK_{part.identifier}"
            for answer, label in zip(_answers(part), names, strict=True):
                if label and answer.feedback:
                    out.append(modal % (outcome, label, f"<p>{inline(answer.feedback)}</p>"))
        for n, hint in enumerate(item.hints, start=1):
            out.append(modal % ("HINT", f"HINT_{n}", f"<p>{inline(hint)}</p>"))
        if item.solution:
            solution = "".join(map(block, item.solution))
            out.append(modal % ("SOLUTION", "WORKED", f'<div class="solution">\n{solution}</div>'))


# ---------------------------------------------------------------------------- content


def block(content: Block) -> str:
    """A paragraph, a formula on its own line or a table; the same markup in every version."""
    if isinstance(content, Paragraph):
        return f"<p>{inline(content.content)}</p>\n"
    if isinstance(content, Display):
        return formula_text(content.math.mathml, content.math.plain, display=True) + "\n"
    return _table(content)


def _table(table: Table) -> str:
    caption = f"<caption>{escape(table.caption)}</caption>" if table.caption else ""
    header = "".join(f'<th scope="col">{inline(cell)}</th>' for cell in table.header)
    rows = []
    for row in table.rows:
        cells = [f"<td>{inline(cell)}</td>" for cell in row]
        if table.row_headers and row:
            cells[0] = f'<th scope="row">{inline(row[0])}</th>'
        rows.append(f"<tr>{''.join(cells)}</tr>\n")
    head = f"<thead><tr>{header}</tr></thead>" if header else ""
    return f"<table>{caption}{head}<tbody>\n{''.join(rows)}</tbody></table>\n"


def precision_class(part: NumberEntry) -> str:
    """How the key is rounded, as a class of the field: figures-3, decimals-1 or number."""
    if part.figures is not None:
        return f"figures-{part.figures}"
    return f"decimals-{part.decimals}" if part.decimals is not None else "number"


def _answers(part: Part) -> Sequence[WrongValue | Option]:
    return part.wrong_values if isinstance(part, NumberEntry) else part.options


def _cardinality(part: Choice) -> str:
    return "multiple" if part.multiple else "single"


def _hint_title(language: str) -> str:
    return HINT_TITLES.get(language.partition("-")[0], HINT_TITLES["en"])
