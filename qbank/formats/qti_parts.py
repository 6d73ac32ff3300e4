"""The parts of an item as markup: what siblings share is put together once.

The parts of siblings differ in text and numbers, hardly in structure. For each structure a plan
holds the markup with a `%s` for every text and number, in five places of the document: where
responses are declared, where outcomes are, in the body, in response processing, in the feedback.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import count

from qbank.formats.arranging import (
    answers_of,
    can_be_wrong,
    share,
    shown_entries,
    wrong_with_source,
    wrong_with_target,
)
from qbank.formats.content import inline, plain
from qbank.formats.dialects import Dialect
from qbank.formats.qti_markup import MARKUP, SLIP
from qbank.formats.xmltext import escape, name_part, number, quote
from qbank.item import Choice, Matching, NumberEntry, Option, Ordering, Part, WrongValue

_MOST_PLANS = 20_000
_HOLE = "%s"


@dataclass(frozen=True, slots=True)
class PartText:
    """One part in its five places; `structure` numbers the plan it was made by.

    As a plan it has a `%s` for each text and number, but where choices have neither: in their
    declarations and rules.
    """

    responses: str
    outcomes: str
    body: str
    rules: str
    feedback: str
    structure: int


class PartTexts:
    """Writes parts in one dialect, keeping a plan for each structure it has met."""

    def __init__(self, dialect: Dialect) -> None:
        self._t = {name: dialect.markup(text) for name, text in MARKUP.items()}
        self._plans: dict[Hashable, PartText] = {}
        self._numbers = count()

    def text(self, part: Part) -> PartText:
        """The markup of a part.

        Raises CheckFailed when a number is not finite or a formula is no MathML.
        """
        match part:
            case NumberEntry():
                return self._number(part)
            case Choice():
                return self._choice(part)
            case Ordering():
                return self._ordering(part)
            case Matching():
                return self._matching(part)

    # ------------------------------------------------------------------ numbers

    def _number(self, part: NumberEntry) -> PartText:
        wrong = part.wrong_values
        structure = (
            part.identifier,
            part.unit,
            part.points,
            part.figures,
            part.decimals,
            *[(w.slip, bool(w.feedback)) for w in wrong],
        )
        plan = self._plans.get(structure) or self._keep(structure, self._number_plan(part))
        bounds = [number(part.tolerance.low), number(part.tolerance.high)]
        for w in wrong:
            bounds.append(number(w.low))
            bounds.append(number(w.high))
        return PartText(
            plan.responses % (quote(part.key_shown), part.key_text),
            plan.outcomes % quote(part.tolerance.stated),
            plan.body % inline(part.prompt),
            plan.rules % tuple(bounds),
            plan.feedback % tuple([inline(w.feedback) for w in wrong if w.feedback]),
            plan.structure,
        )

    def _number_plan(self, part: NumberEntry) -> PartText:
        t = self._t
        name = _literal(part.identifier)
        labels = feedback_labels(part)
        unit = t["unit"] % _literal(escape(part.unit)) if part.unit else ""
        right = t["band"] % (name, _HOLE, name, _HOLE)
        right += t["set_score"] % (name, number(part.points))
        others = [
            t["else_if"]
            % (t["band"] % (name, _HOLE, name, _HOLE) + t["set_feedback"] % (name, label))
            for label in labels
        ]
        return PartText(
            t["declare_number"] % (name, _HOLE, _HOLE),
            t["declare_score"] % (name, f' interpretation="{_HOLE}"')
            + self._declare_feedback(name, labels, "single"),
            t["entry"] % (_HOLE, precision_class(part), name, unit),
            t["rule"] % (right, "".join(others)),
            self._modal(name, part.wrong_values, labels),
            next(self._numbers),
        )

    # ------------------------------------------------------------------ choices

    def _choice(self, part: Choice) -> PartText:
        options = part.options
        structure = (
            part.identifier,
            part.points,
            part.multiple,
            part.inline,
            part.shuffle,
            *[(o.identifier, o.correct, o.slip, bool(o.feedback)) for o in options],
        )
        plan = self._plans.get(structure) or self._keep(structure, self._choice_plan(part))
        if part.inline and not part.multiple:
            shown = [escape(plain(o.content)) for o in options]
        else:
            shown = [inline(o.content) for o in options]
        return PartText(
            plan.responses,
            plan.outcomes,
            plan.body % (inline(part.prompt), *shown),
            plan.rules,
            plan.feedback % tuple([inline(o.feedback) for o in options if o.feedback]),
            plan.structure,
        )

    def _choice_plan(self, part: Choice) -> PartText:
        t = self._t
        name = _literal(part.identifier)
        labels = feedback_labels(part)
        cardinality = "multiple" if part.multiple else "single"
        keys = "".join(t["value"] % o.identifier for o in part.options if o.correct)
        keys = t["keys"] % keys if keys else ""
        shuffle = "true" if part.shuffle else "false"
        if part.inline and not part.multiple:
            kind = "inline_option"
            body = t["inline_choice"] % (_HOLE, name, shuffle, _HOLE)
        else:
            kind = "option"
            most = "0" if part.multiple else "1"
            body = t["choice"] % (name, shuffle, most, _HOLE, _HOLE)
        options = "".join(t[kind] % (_literal(o.identifier), _HOLE) for o in part.options)
        rules = self._multiple_rules if part.multiple else self._single_rule
        return PartText(
            t["declare_choice"] % (part.identifier, cardinality, keys),
            t["declare_score"] % (part.identifier, "")
            + self._declare_feedback(part.identifier, labels, cardinality),
            body % (_HOLE, options),
            rules(part, labels),
            self._modal(name, part.options, labels),
            next(self._numbers),
        )

    def _single_rule(self, part: Choice, labels: list[str]) -> str:
        t = self._t
        name = part.identifier
        right = t["matches"] % (name, name) + t["set_score"] % (name, number(part.points))
        others = []
        for option, label in zip(part.options, labels, strict=True):
            if not label:
                continue
            setting = t["set_feedback"] % (name, label)
            if option.correct:
                right += setting
            else:
                others.append(t["else_if"] % (t["picked"] % (name, option.identifier) + setting))
        return t["rule"] % (right, "".join(others))

    def _multiple_rules(self, part: Choice, labels: list[str]) -> str:
        t = self._t
        name = part.identifier
        # Where no option is right, the right answer is to mark none: there is no key to match.
        keyed = any(option.correct for option in part.options)
        right = t["matches"] % (name, name) if keyed else t["unmarked"] % name
        right += t["set_score"] % (name, number(part.points))
        rules = [t["rule"] % (right, "")]
        for option, label in zip(part.options, labels, strict=True):
            if label:
                picked = t["among"] % (option.identifier, name)
                rules.append(t["rule"] % (picked + t["add_feedback"] % (name, name, label), ""))
        return "".join(rules)

    # ------------------------------------------------------------------ order and pairs

    def arranged_plan(self, part: Ordering | Matching) -> PartText:
        """The markup of an order or a matching with a `%s` in the body for the prompt and each
        entry as shown, or each source and target, and in the feedback for each that there is."""
        return self._order_plan(part) if isinstance(part, Ordering) else self._match_plan(part)

    def _ordering(self, part: Ordering) -> PartText:
        structure = (
            "order",
            part.identifier,
            part.points,
            part.partial,
            *[(o.identifier, o.slip, bool(o.feedback)) for o in part.entries],
        )
        plan = self._plans.get(structure) or self._keep(structure, self._order_plan(part))
        shown = [inline(o.content) for o in shown_entries(part)]
        return self._filled(plan, part, shown)

    def _matching(self, part: Matching) -> PartText:
        options = (*part.sources, *part.targets)
        structure = (
            "match",
            part.identifier,
            part.points,
            part.partial,
            len(part.sources),
            part.pairs,
            *[(o.identifier, o.slip, bool(o.feedback)) for o in options],
        )
        plan = self._plans.get(structure) or self._keep(structure, self._match_plan(part))
        return self._filled(plan, part, [inline(o.content) for o in options])

    def _filled(self, plan: PartText, part: Ordering | Matching, shown: list[str]) -> PartText:
        told = [inline(o.feedback) for o in answers_of(part) if o.feedback]
        return PartText(
            plan.responses,
            plan.outcomes,
            plan.body % (inline(part.prompt), *shown),
            plan.rules,
            plan.feedback % tuple(told),
            plan.structure,
        )

    def _order_plan(self, part: Ordering) -> PartText:
        t, name = self._t, part.identifier
        keys = t["keys"] % "".join(t["value"] % entry.identifier for entry in part.entries)
        entries = "".join(
            t["option"] % (_literal(entry.identifier), _HOLE) for entry in shown_entries(part)
        )
        placed = [t["placed"] % (n, name, e.identifier) for n, e in enumerate(part.entries, 1)]
        answered = t["not"] % (t["unmarked"] % name)
        misplaced = [t["all"] % (answered + t["not"] % test) for test in placed]
        return self._arranged_plan(
            part,
            t["declare_choice"] % (name, "ordered", keys),
            t["order"] % (_literal(name), _HOLE, entries),
            placed,
            misplaced,
        )

    def _match_plan(self, part: Matching) -> PartText:
        t, name = self._t, part.identifier
        keys = t["keys"] % "".join(t["value"] % " ".join(pair) for pair in part.pairs)

        def associable(options: Sequence[Option], most: str) -> str:
            return "".join(t["associable"] % (_literal(o.identifier), most, _HOLE) for o in options)

        def tests(pairs: Sequence[tuple[str, str]]) -> list[str]:
            return [t["paired"] % (*pair, name) for pair in pairs]

        right, mispaired = [], []
        target_of = dict(part.pairs)
        for source in part.sources:
            wrong = tests(wrong_with_source(part, source.identifier))
            (its,) = tests([(source.identifier, target_of[source.identifier])])
            right.append(t["all"] % (its + "".join(t["not"] % test for test in wrong)))
            mispaired.append(t["all"] % (t["not"] % its + t["any"] % "".join(wrong)))
        for target in part.targets:
            wrong = tests(wrong_with_target(part, target.identifier))
            mispaired.append(t["any"] % "".join(wrong))
        # Any target may be picked for any source: what may be picked how often tells nothing.
        body = t["match"] % (
            _literal(name),
            len(part.sources),
            _HOLE,
            associable(part.sources, "1"),
            associable(part.targets, "0"),
        )
        return self._arranged_plan(part, t["declare_pairs"] % (name, keys), body, right, mispaired)

    def _arranged_plan(
        self,
        part: Ordering | Matching,
        responses: str,
        body: str,
        earning: Sequence[str],
        wrong: Sequence[str],
    ) -> PartText:
        """The plan of a part whose tests `earning` give a share each; `wrong` go with labels."""
        t, name = self._t, part.identifier
        labels = feedback_labels(part)
        whole = t["matches"] % (name, name) + t["set_score"] % (name, number(part.points))
        otherwise = ""
        if part.partial:
            earn = t["earn"] % (name, name, number(share(part)))
            otherwise = t["else"] % "".join(t["rule"] % (test + earn, "") for test in earning)
        rules = [t["rule"] % (whole, otherwise)]
        for test, label in zip(wrong, labels, strict=True):
            if label:
                rules.append(t["rule"] % (test + t["add_feedback"] % (name, name, label), ""))
        return PartText(
            responses,
            t["declare_score"] % (name, "") + self._declare_feedback(name, labels, "multiple"),
            body,
            "".join(rules),
            self._modal(_literal(name), answers_of(part), labels),
            next(self._numbers),
        )

    # ------------------------------------------------------------------ both

    def _keep(self, structure: Hashable, plan: PartText) -> PartText:
        if len(self._plans) >= _MOST_PLANS:
            self._plans.clear()
        self._plans[structure] = plan
        return plan

    def _declare_feedback(self, name: str, labels: list[str], cardinality: str) -> str:
        if not any(labels):
            return ""
        return self._t["declare_flag"] % (f"FEEDBACK_{name}", cardinality)

    def _modal(self, name: str, answers: Sequence[WrongValue | Option], labels: list[str]) -> str:
        modal = self._t["modal"]
        return "".join(
            modal % (f"FEEDBACK_{name}", _literal(label), f"<p>{_HOLE}</p>")
            for answer, label in zip(answers, labels, strict=True)
            if label and answer.feedback
        )


def feedback_labels(part: Part) -> list[str]:
    """What each wrong value or option sets the feedback outcome to; empty for nothing."""
    taken: set[str] = set()
    labels = []
    for answer in answers_of(part):
        if isinstance(part, Matching) and not can_be_wrong(part, answer):
            label = ""
        elif answer.slip or isinstance(answer, WrongValue):
            label = SLIP + name_part(answer.slip or "")
            while label in taken:  # two answers of one slip keep feedback of their own
                label += "."
        elif answer.feedback:
            label = answer.identifier
        else:
            label = ""
        taken.add(label)
        labels.append(label)
    return labels


def precision_class(part: NumberEntry) -> str:
    """How the key is rounded, as a class of the field: figures-3, decimals-1 or number."""
    if part.figures is not None:
        return f"figures-{part.figures}"
    return f"decimals-{part.decimals}" if part.decimals is not None else "number"


def _literal(text: str) -> str:
    """Text that stays as it is when the holes of a plan are filled."""
    return text.replace("%", "%%")
