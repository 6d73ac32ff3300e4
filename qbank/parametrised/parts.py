"""The parts of a parametrised item: what differs between the cases joined, keys set by template."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from qbank.errors import CheckFailed
from qbank.expressions.tree import Node
from qbank.family.model import (
    ChooseStatements,
    ChooseValue,
    ChooseWord,
    Enter,
    Family,
)
from qbank.formats.content import inline, plain
from qbank.formats.dialects import Dialect
from qbank.formats.qti_markup import MARKUP, SLIP
from qbank.formats.qti_parts import precision_class
from qbank.formats.xmltext import escape, name_part, number
from qbank.instances import Instances
from qbank.item import Choice, Inline, Matching, NumberEntry, Option, Ordering
from qbank.item import Part as ItemPart
from qbank.parametrised.answers import Answer, Answers
from qbank.parametrised.arranged import arranged_part
from qbank.parametrised.expressions import (
    Env,
    condition,
    name_of,
    op,
    some,
    variable,
)
from qbank.parametrised.printing import Printer, key_of, mark, shown_for
from qbank.parametrised.template import Template, matches
from qbank.parametrised.texts import inline_of
from qbank.sampling.options import shown_answers

CASE = "CASE"


@dataclass(slots=True)
class PartMarkup:
    """One part in its places; `response` and `outcomes`, `rules` in the names of 2.1.

    `key` says how the key is declared: base type and cardinality; its value is that of the
    template's own defaults.
    """

    identifier: str
    base_type: str
    cardinality: str
    outcomes: str
    body: str
    rules: str
    feedback: list[tuple[str, str]] = field(default_factory=list)  # identifier and content


class PartWriter:
    """Writes the parts of a family in one dialect."""

    def __init__(
        self,
        family: Family,
        dialect: Dialect,
        template: Template,
        printer: Printer,
        env: Env,
        rules: Answers,
        answers: dict[str, Answer],
        sample: Instances,
    ) -> None:
        self._family = family
        self._rules = rules
        self._sample = sample
        self._dialect = dialect
        self._template = template
        self._printer = printer
        self._env = env
        self._answers = answers
        self._t = {name: dialect.markup(text) for name, text in MARKUP.items()}

    def part(self, position: int, versions: Sequence[ItemPart]) -> PartMarkup:
        """A part from what it is in each case."""
        ask = self._family.ask[position]
        first = versions[0]
        if isinstance(ask, Enter):
            entries = [v for v in versions if isinstance(v, NumberEntry)]
            return self._number(entries, ask.quantity)
        arranged = [v for v in versions if isinstance(v, Ordering | Matching)]
        if arranged:
            made = arranged_part(arranged, self._dialect, self._inline, position + 1)
            self._template.correct(f"RESPONSE_{first.identifier}", made.key)
            return PartMarkup(
                first.identifier,
                made.base_type,
                made.cardinality,
                made.outcomes,
                made.body,
                made.rules,
                made.feedback,
            )
        choices = [v for v in versions if isinstance(v, Choice)]
        if len(choices) < len(versions):
            raise CheckFailed(f"a part of kind {type(first).__name__} cannot be parametrised")
        if isinstance(ask, ChooseValue):
            return self._value(choices, ask)
        if isinstance(ask, ChooseStatements):
            return self._statements(choices, [s.when for s in ask.statements])
        return self._options(choices, inline_list=isinstance(ask, ChooseWord))

    # ------------------------------------------------------------------ content

    def by_case(self, texts: Sequence[str]) -> str:
        """Inline content, once where it is the same in all cases."""
        return by_case(self._dialect, texts)

    def _inline(self, versions: Sequence[tuple[Inline, ...]]) -> str:
        return self.by_case([inline(inline_of(content)) for content in versions])

    # ------------------------------------------------------------------ numbers

    def _number(self, entries: Sequence[NumberEntry], quantity: str) -> PartMarkup:
        t, part = self._t, entries[0]
        name, answer = part.identifier, self._answers[quantity]
        self._template.correct(f"RESPONSE_{name}", variable(answer.key))
        labels = {slip.slip: SLIP + name_part(slip.slip) for slip in answer.slips}
        response = variable(f"RESPONSE_{name}")

        def band(low: str, high: str) -> str:
            return op(
                "and", op("gte", response, variable(low)), op("lte", response, variable(high))
            )

        right = band(answer.low, answer.high) + MARKUP["set_score"] % (name, number(part.points))
        others = "".join(
            MARKUP["else_if"]
            % (band(slip.low, slip.high) + MARKUP["set_feedback"] % (name, labels[slip.slip]))
            for slip in answer.slips
        )
        unit = t["unit"] % escape(part.unit) if part.unit else ""
        prompt = self._inline([entry.prompt for entry in entries])
        says = {slip: escape(self._family.slips[slip].says) for slip in labels}
        return PartMarkup(
            name,
            "float",
            "single",
            self._outcomes(name, bool(labels), "single"),
            t["entry"] % (prompt, precision_class(part), name, unit),
            MARKUP["rule"] % (right, others),
            [(labels[slip], says[slip]) for slip in labels],
        )

    # ------------------------------------------------------------------ choices

    def _value(self, choices: Sequence[Choice], ask: ChooseValue) -> PartMarkup:
        """The key and the slips' values, of which the template shows as many as are asked for."""
        part, answer = choices[0], self._answers[ask.quantity]
        name = part.identifier
        unknown = self._family.find[ask.quantity]
        shown = self._rules.offered(answer, name, ask.options)
        self._template.correct(f"RESPONSE_{name}", name_of("C1"))
        unit = unknown.unit.text
        after = "" if not unit else unit if unit == "°" else f" {unit}"
        texts = [mark(key_of(f"answer {ask.quantity}"))]
        for slip in answer.slips:
            values = shown_answers(unknown, self._sample.wrong[slip.slip][ask.quantity])
            texts.append(
                self._printer.number(
                    key_of(f"wrong {ask.quantity} {slip.slip}"), slip.shown, unknown.shown, values
                )
            )
        options = "".join(
            self._simple_choice(f"C{k}", escape(text + after), shown)
            for k, text in enumerate(texts, 1)
        )
        labels = [SLIP + name_part(slip.slip) for slip in answer.slips]
        rules = self._single_rule(
            part, [(f"C{k}", None, label) for k, label in enumerate(labels, 2)]
        )
        says = [escape(self._family.slips[slip.slip].says) for slip in answer.slips]
        return PartMarkup(
            name,
            "identifier",
            "single",
            self._outcomes(name, bool(labels), "single"),
            self._choice_body(part, self._inline([c.prompt for c in choices]), options),
            rules,
            list(zip(labels, says, strict=True)),
        )

    def _options(self, choices: Sequence[Choice], inline_list: bool) -> PartMarkup:
        """Words or equations; those of all cases, of which the template shows a case's own."""
        part = choices[0]
        name = part.identifier
        drop_down = inline_list and all(choice.inline for choice in choices)
        contents: dict[str, list[Option | None]] = {}
        for n, choice in enumerate(choices):
            for option in choice.options:
                said = (
                    escape(plain(option.content))
                    if drop_down
                    else inline(inline_of(option.content))
                )
                contents.setdefault(said, [None] * len(choices))[n] = option
        names = {said: f"C{k}" for k, said in enumerate(contents, 1)}
        keys = [
            next(names[s] for s, per_case in contents.items() if (o := per_case[n]) and o.correct)
            for n in range(len(choices))
        ]
        self._template.correct(f"RESPONSE_{name}", self._constant_by_case(f"RIGHT_{name}", keys))
        shown = ""
        if any(None in per_case for per_case in contents.values()):
            shown = self._template.declare(f"SHOWN_{name}", "identifier", "multiple")
            self._template.choose(
                [
                    (
                        matches(CASE, f"K{n + 1}"),
                        {
                            shown: op(
                                "multiple",
                                *(name_of(names[s]) for s, per in contents.items() if per[n]),
                            )
                        },
                    )
                    for n in range(len(choices))
                ]
            )
        if drop_down:
            options = "".join(self._t["inline_option"] % (names[said], said) for said in contents)
            body = self._t["inline_choice"] % (
                self._inline([c.prompt for c in choices]),
                name,
                "false",
                options,
            )
        else:
            options = "".join(self._simple_choice(names[said], said, shown) for said in contents)
            body = self._choice_body(part, self._inline([c.prompt for c in choices]), options)
        return self._with_slips(part, name, contents, names, body)

    def _with_slips(
        self,
        part: Choice,
        name: str,
        contents: dict[str, list[Option | None]],
        names: dict[str, str],
        body: str,
    ) -> PartMarkup:
        """Rules and feedback; which slip an option stands for may hang on the case."""
        picks: list[tuple[str, str | None, str]] = []
        feedback: dict[str, str] = {}
        for said, per_case in contents.items():
            cases_of: dict[str, list[int]] = {}
            for n, option in enumerate(per_case):
                if option is not None and option.slip and option.feedback:
                    cases_of.setdefault(option.slip, []).append(n)
                    content = inline(inline_of(option.feedback))
                    feedback.setdefault(SLIP + name_part(option.slip), content)
            for slip, cases in cases_of.items():
                everywhere = len(cases) == len(per_case)
                held = some([matches(CASE, f"K{n + 1}") for n in cases])
                picks.append((names[said], None if everywhere else held, SLIP + name_part(slip)))
        return PartMarkup(
            name,
            "identifier",
            "single",
            self._outcomes(name, bool(picks), "single"),
            body,
            self._single_rule(part, picks),
            list(feedback.items()),
        )

    def _statements(self, choices: Sequence[Choice], holds: Sequence[Node]) -> PartMarkup:
        """Statements, each marked right where it holds for the draw."""
        part, template = choices[0], self._template
        name = part.identifier
        members = []
        for k, node in enumerate(holds, 1):
            member = template.declare(f"HOLDS_{name}_C{k}", "identifier")
            template.choose([(condition(node, self._env), {member: name_of(f"C{k}")})])
            members.append(variable(member))
        template.correct(f"RESPONSE_{name}", op("multiple", *members))
        options = []
        feedback = []
        rules = []
        for k in range(1, len(holds) + 1):
            versions = [choice.options[k - 1] for choice in choices]
            said = self._inline([option.content for option in versions])
            options.append(self._simple_choice(f"C{k}", said, ""))
            if versions[0].feedback:
                feedback.append((f"C{k}", self._inline([option.feedback for option in versions])))
                picked = MARKUP["among"] % (f"C{k}", name)
                added = MARKUP["add_feedback"] % (name, name, f"C{k}")
                rules.append(MARKUP["rule"] % (picked + added, ""))
        response, key = variable(f"RESPONSE_{name}"), f'<correct identifier="RESPONSE_{name}"/>'
        # where no statement holds, marking none is right; a match with NULL is none
        none = op("and", op("isNull", response), op("isNull", key))
        right = op("or", op("match", response, key), none)
        right += MARKUP["set_score"] % (name, number(part.points))
        body = self._choice_body(
            part, self._inline([choice.prompt for choice in choices]), "".join(options), "0"
        )
        return PartMarkup(
            name,
            "identifier",
            "multiple",
            self._outcomes(name, bool(feedback), "multiple"),
            body,
            MARKUP["rule"] % (right, "") + "".join(rules),
            feedback,
        )

    # ------------------------------------------------------------------ pieces

    def _constant_by_case(self, variable_name: str, values: Sequence[str]) -> str:
        if len(set(values)) == 1:
            return name_of(values[0])
        name = self._template.declare(variable_name, "identifier")
        self._template.choose(
            [(matches(CASE, f"K{n}"), {name: name_of(value)}) for n, value in enumerate(values, 1)]
        )
        return variable(name)

    def _simple_choice(self, identifier: str, content: str, shown: str) -> str:
        hidden = f' templateIdentifier="{shown}" showHide="show"' if shown else ""
        head = self._dialect.markup(f'<simpleChoice identifier="{identifier}"{hidden}>')
        return f"{head}{content}{self._dialect.markup('</simpleChoice>')}\n"

    def _choice_body(self, part: Choice, prompt: str, options: str, most: str = "1") -> str:
        # the order of options cannot hang on the draw, so it is left to the delivery system
        return self._t["choice"] % (part.identifier, "true", most, prompt, options)

    @staticmethod
    def _single_rule(part: Choice, picks: Sequence[tuple[str, str | None, str]]) -> str:
        name = part.identifier
        right = MARKUP["matches"] % (name, name)
        right += MARKUP["set_score"] % (name, number(part.points))
        others = []
        for option, held, label in picks:
            picked = MARKUP["picked"] % (name, option)
            if held is not None:
                picked = op("and", picked, held)
            others.append(MARKUP["else_if"] % (picked + MARKUP["set_feedback"] % (name, label)))
        return MARKUP["rule"] % (right, "".join(others))

    @staticmethod
    def _outcomes(name: str, feedback: bool, cardinality: str) -> str:
        flag = MARKUP["declare_flag"] % (f"FEEDBACK_{name}", cardinality) if feedback else ""
        return MARKUP["declare_score"] % (name, "") + flag


def by_case(dialect: Dialect, texts: Sequence[str]) -> str:
    """Inline content of each case as one; once where it is the same in all."""
    if len(set(texts)) == 1:
        return texts[0]
    return "".join(
        shown_for(dialect, CASE, f"K{n}", text) for n, text in enumerate(texts, 1) if text
    )
