"""Parts from the interactions of QTI 2.x and 3.0 (mapping note, sections b1 to b7)."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from lxml import etree

from qbank.formats.foreign.content import ContentReader, evened
from qbank.formats.foreign.feedback import Feedbacks
from qbank.formats.foreign.numbers import Keyed, as_number, number_part, numeral
from qbank.formats.foreign.probing import Spent
from qbank.formats.foreign.qti_context import QtiContext, elements
from qbank.formats.foreign.regions import Region, between
from qbank.formats.foreign.rules import Branch, Picks
from qbank.formats.qti_tree import attribute, local
from qbank.item import Choice, Inline, Matching, Option, Ordering, Part
from qbank.scoring.declarations import Declaration

Prompt = tuple[Inline, ...]
_MOST_OPTIONS = 60  # that are tried one by one
UNSCORED = {
    "extendedTextInteraction": "a free text",
    "uploadInteraction": "a file to hand in",
    "drawingInteraction": "a drawing",
    "mediaInteraction": "a medium to play",
    "endAttemptInteraction": "a request for a hint or a solution",
    "customInteraction": "an interaction of its maker's own",
    "portableCustomInteraction": "an interaction of its maker's own",
}


@dataclass(frozen=True, slots=True)
class PartMaker:
    """Makes parts of one item."""

    context: QtiContext
    content: ContentReader
    feedbacks: Feedbacks

    def part(self, element: etree._Element, prompt: Prompt, unit: str) -> Part | None:
        """The part of an interaction; None, with a loss, where no part fits it."""
        name = local(str(element.tag))
        makers: dict[str, Callable[[etree._Element, Prompt, str, Declaration], Part | None]] = {
            "textEntryInteraction": self._text_entry,
            "sliderInteraction": self._text_entry,
            "choiceInteraction": self._choice,
            "inlineChoiceInteraction": self._choice,
            "orderInteraction": self._order,
            "matchInteraction": self._match,
            "associateInteraction": self._match,
            "gapMatchInteraction": self._match,
        }
        make = makers.get(name)
        losses = self.context.losses
        if make is None:
            what = UNSCORED.get(name, "it has no kind of part to become")
            losses.add("interaction", f"{name} is left out: {what}, not scored by a machine here"
                       if name in UNSCORED else f"{name} is left out: {what}", element)  # fmt: skip
            return None
        response = attribute(element, "responseIdentifier")
        declared = self.context.declared.get(response)
        own = elements(element, "prompt")
        if own:
            prompt = (*prompt, *((" ",) if prompt else ()), *self.content.inline(own[0]))
        if declared is None or declared.kind != "response":
            losses.add("declaration", f"the response '{response}' is not declared", element)
            declared = Declaration("response", response, "single", "string", None, None, element)
        return make(element, prompt, unit, declared)

    # ------------------------------------------------------------------ points

    def _about(self, response: str) -> list[tuple[Branch, float | None]]:
        """The branches that ask for a response, with what each gives."""
        rules = self.context.rules
        return [(b, b.amount(rules.counting)) for b in rules.branches if response in b.tests]

    def _mapped(self, response: str) -> bool:
        rules = self.context.rules
        return any(response in rules.mapped.get(outcome, ()) for outcome in rules.counting)

    def _fallback_points(self, response: str, element: etree._Element) -> float:
        """Points where no rule scores the response: an equal share of what the item states."""
        responses = [d for d in self.context.declared.values() if d.kind == "response"]
        self.context.losses.add(
            "points", f"no rule gives points for '{response}': its share is assumed", element
        )
        return self.context.default_points() / max(1, len(responses))

    def _joint(self, branch: Branch, amount: float, response: str) -> float:
        """The share of a response in what a branch gives for several together."""
        asked = [r for r in branch.tests if r in self.context.declared]
        if len(asked) > 1:
            self.context.losses.add(
                "joint-scoring",
                f"'{response}' is scored only together with others: the points are divided",
            )
        return amount / max(1, len(asked))

    # ------------------------------------------------------------------ numbers

    def _text_entry(
        self, element: etree._Element, prompt: Prompt, unit: str, declared: Declaration
    ) -> Part | None:
        response = declared.name
        keyed = Keyed()
        keyed.take_key(self.context.keys.get(response, ()))
        if declared.base in ("float", "integer", "duration"):
            self._number(response, declared, keyed, element)
        elif declared.cardinality == "record":
            self._try(response, keyed, element)
        elif not self._spellings(response, declared, keyed, element):
            return None
        if local(str(element.tag)) == "sliderInteraction":
            low, high = attribute(element, "lowerBound"), attribute(element, "upperBound")
            self.context.losses.add(
                "slider", f"a slider from {low} to {high} became a number to enter", element
            )
        score = self.context.declared.get(f"SCORE_{_name(response)}")
        stated = "" if score is None else attribute(score.element, "interpretation")
        part = number_part(
            _name(response),
            prompt,
            unit,
            keyed,
            self.context.losses,
            element,
            shown=self.context.interpretations.get(response, ""),
            precision=attribute(element, "class"),
        )
        return replace(part, tolerance=replace(part.tolerance, stated=stated)) if stated else part

    def _number(
        self, response: str, declared: Declaration, keyed: Keyed, element: etree._Element
    ) -> None:
        rules = self.context.rules
        giving = [
            (branch, amount, test)
            for branch, amount in self._about(response)
            if isinstance(test := branch.tests[response], Region)
            and amount is not None
            and amount > 0
            and test
        ]
        if not rules.understood and self._try(response, keyed, element):
            return
        if giving:
            best = max(amount for _, amount, _ in giving)
            region = Region(())
            for branch, amount, test in giving:
                if amount == best:
                    region = region | test
                    keyed.points = self._joint(branch, amount, response)
            keyed.region = region
            keyed.stated = rules.stated.get(response, "")
            if math.isnan(keyed.key):
                self._key_from_rules(response, keyed)
            self._other_branches(response, best, keyed)
        elif self._mapped(response) and self._entries(declared, keyed, element):
            return
        else:
            keyed.points = self._fallback_points(response, element)

    def _key_from_rules(self, response: str, keyed: Keyed) -> None:
        for value, region in self.context.rules.centres.get(response, ()):
            if keyed.region is not None and region & keyed.region:
                keyed.key, keyed.key_text = value, numeral(value)
                return

    def _other_branches(self, response: str, best: float, keyed: Keyed) -> None:
        """Wrong or half right numbers that branches tell apart."""
        for branch, amount in self._about(response):
            test = branch.tests[response]
            if not isinstance(test, Region) or not test or amount == best:
                continue
            label = next(iter(branch.labels.values()), "")
            outcome = next(iter(branch.labels), "")
            said = self.feedbacks.take(outcome, label) if label else ()
            told = ""
            if amount is not None and amount > 0:
                told = f"{amount:g} of {best:g} points for other answers to '{response}' are lost"
            slip = self.feedbacks.slip(label) or label
            if label or told:
                keyed.wrong.append((test, slip if label else "", said, told))

    def _entries(self, declared: Declaration, keyed: Keyed, element: etree._Element) -> bool:
        """A mapping from numbers to points: the best of them are the key."""
        mapping = declared.mapping
        if mapping is None:
            return False
        entries: list[tuple[str | float, float]] = []
        for entry, worth in mapping.entries.items():
            entries.append((entry if isinstance(entry, str | float | int) else "", worth))
        for entry, worth in mapping.folded.items():
            entries.append((entry, worth))
        best = max((worth for _, worth in entries), default=0.0)
        if best <= 0:
            return False
        right = [str(entry) for entry, worth in entries if worth == best]
        values = [as_number(text) for text in right]
        known = [value for value in values if value is not None]
        if len(known) < len(values) or not known:
            return False
        if math.isnan(keyed.key):
            keyed.take_key(right)
        keyed.region = between(min(known), max(known))
        keyed.points = mapping.clamp(best)
        if len(known) > 1:
            self.context.losses.add(
                "spellings",
                f"{len(known)} listed answers became a band from the least to the greatest",
                element,
            )
        if any(0 < worth < best for _, worth in entries):
            self.context.losses.add(
                "partial-credit", "answers worth less than the best are left out", element
            )
        return True

    def _spellings(
        self, response: str, declared: Declaration, keyed: Keyed, element: etree._Element
    ) -> bool:
        """A number keyed as text; False, with a loss, where it is no number."""
        texts = list(self.context.keys.get(response, ()))
        points = 0.0
        mapped = self._mapped(response) and self._entries(declared, keyed, element)
        if mapped:
            return True
        for branch, amount in self._about(response):
            test = branch.tests[response]
            if isinstance(test, Picks) and amount is not None and amount >= points and amount > 0:
                fresh = [pick[0] for pick in test.of if len(pick) == 1]
                texts = fresh if amount > points else [*texts, *fresh]
                points = self._joint(branch, amount, response)
        values = [as_number(text) for text in texts]
        known = [value for value in values if value is not None]
        if not known or len(known) < len(values):
            shown = f" ('{texts[0][:40]}')" if texts else ""
            self.context.losses.add(
                "text-answer", f"'{response}' takes a text{shown}, not a number", element
            )
            return False
        if math.isnan(keyed.key):
            keyed.take_key(texts)
        keyed.region = between(min(known), max(known))
        keyed.points = points or self._tried_points(response, element)
        self.context.losses.add(
            "spellings", f"'{response}' is a number that the rules compare as a text", element
        )
        return True

    def _tried_points(self, response: str, element: etree._Element) -> float:
        prober = self.context.prober
        try:
            gain = 0.0 if prober is None else prober.worth(response)
        except Spent:
            gain = 0.0
        return gain if gain > 0 else self._fallback_points(response, element)

    def _try(self, response: str, keyed: Keyed, element: etree._Element) -> bool:
        """Find the band by trying."""
        prober = self.context.prober
        if prober is None:
            return False
        keys = [keyed.key] if not math.isnan(keyed.key) else []
        keys += [value for value, _ in self.context.rules.centres.get(response, ())][:20]
        for key in keys:
            band = prober.band(response, key)
            if band is None:
                continue
            if math.isnan(keyed.key):
                keyed.key, keyed.key_text = key, numeral(key)
            keyed.region = between(band.low, band.high)
            keyed.points = band.points
            self.context.losses.add(
                "tried", f"the band of '{response}' was found by trying answers", element
            )
            return True
        return False

    # ------------------------------------------------------------------ choices

    def _options(
        self, element: etree._Element, kinds: tuple[str, ...], keys: set[str], response: str
    ) -> list[Option]:
        found = []
        echo = next((o for b in self.context.rules.branches
                     for o, r in b.echoes.items() if r == response), "")  # fmt: skip
        labels = self._labels(response)
        for choice in elements(element, *kinds):
            name = choice.get("identifier") or ""
            if attribute(choice, "templateIdentifier") and self.context.shows(choice) is False:
                continue
            said = self.feedbacks.inline_in(choice)
            outcome, label = labels.get(name, (echo, name))
            if not said and outcome:
                said = self.feedbacks.take(outcome, label)
            found.append(
                Option(
                    name,
                    self.content.inline(choice),
                    name in keys,
                    said,
                    self.feedbacks.slip(label) if name in labels else None,
                )
            )
        if any(attribute(c, "fixed") == "true" for c in elements(element, *kinds)):
            self.context.losses.add("fixed", "options that keep their place may move", element)
        return found

    def _labels(self, response: str) -> dict[str, tuple[str, str]]:
        """Option -> outcome and identifier of its feedback."""
        found: dict[str, tuple[str, str]] = {}
        for branch, _ in self._about(response):
            test = branch.tests[response]
            if isinstance(test, Picks) and len(test.of) == 1 == len(test.of[0]) and branch.labels:
                found.setdefault(test.of[0][0], next(iter(branch.labels.items())))
        for name, told in self.context.rules.members.get(response, {}).items():
            found.setdefault(name, told)
        return found

    def _choice(
        self, element: etree._Element, prompt: Prompt, _unit: str, declared: Declaration
    ) -> Part | None:
        kinds = ("simpleChoice", "inlineChoice")
        names = [c.get("identifier") or "" for c in elements(element, *kinds)]
        keys, points = self._keyed(declared, names, element)
        multiple = declared.cardinality in ("multiple", "ordered")
        options = self._options(element, kinds, keys, declared.name)
        if not multiple and len(keys) > 1:
            self.context.losses.add("key", f"{len(keys)} options earn the most; all are keyed "
                                    "though only one can be chosen", element)  # fmt: skip
        unknown = keys.difference(names)
        if unknown:
            listed = ", ".join(sorted(unknown)[:5])
            self.context.losses.add("key", f"the key names no option: {listed}", element)
        return Choice(
            identifier=_name(declared.name),
            prompt=prompt,
            options=tuple(options),
            points=points,
            multiple=multiple,
            inline=local(str(element.tag)) == "inlineChoiceInteraction",
            shuffle=attribute(element, "shuffle") == "true",
        )

    def _keyed(
        self, declared: Declaration, names: list[str], element: etree._Element
    ) -> tuple[set[str], float]:
        """The options that are right, and the points for them."""
        response = declared.name
        keys = self.context.keys.get(response, ())
        picked = [
            (branch, amount, test)
            for branch, amount in self._about(response)
            if isinstance(test := branch.tests[response], Picks) and amount is not None
        ]
        mapping = declared.mapping
        if self._mapped(response) and mapping is not None:
            entries = {str(entry): worth for entry, worth in mapping.entries.items()}
            best = max(entries.values(), default=0.0)
            single = declared.cardinality == "single"
            right = {n for n, worth in entries.items() if (worth == best if single else worth > 0)}
            points = mapping.clamp(best if single else sum(entries[n] for n in right))
            others = [w for n, w in entries.items() if n not in right and w > 0]
            if best > 0 and (others or not single):
                self.context.losses.add(
                    "partial-credit", f"'{response}' gives points for parts of an answer", element
                )
            if best > 0:
                self._compare(set(keys), right, response, element)
                return set(keys) or right, points
        if picked and self.context.rules.understood:
            branch, amount, test = max(picked, key=lambda found: found[1])
            if amount > 0:
                right = set(test.of[0]) if declared.cardinality != "single" else {
                    value for pick in test.of for value in pick
                }  # fmt: skip
                if any(0 < other < amount for _, other, _ in picked):
                    self.context.losses.add(
                        "partial-credit", f"other answers to '{response}' earn points", element
                    )
                self._compare(set(keys), right, response, element)
                return set(keys) or right, self._joint(branch, amount, response)
        return self._tried(declared, names, element)

    def _compare(
        self, stated: set[str], right: set[str], response: str, element: etree._Element
    ) -> None:
        if stated and stated != right:
            self.context.losses.add(
                "key-scoring",
                f"the correct response of '{response}' is {', '.join(sorted(stated))}, but the "
                f"rules give most for {', '.join(sorted(right))}",
                element,
            )

    def _tried(
        self, declared: Declaration, names: list[str], element: etree._Element
    ) -> tuple[set[str], float]:
        """Key and points by trying options."""
        response = declared.name
        keys = set(self.context.keys.get(response, ()))
        prober = self.context.prober
        gain, found = 0.0, set()
        try:
            if prober is not None and declared.cardinality == "single":
                gain, answers = prober.best(response, names[:_MOST_OPTIONS])
                found = {str(answer) for answer in answers}
            elif prober is not None and keys:
                gain, found = prober.worth(response), keys
        except Spent:
            gain = 0.0
        if gain <= 0:
            if not keys:
                self.context.losses.add("key", f"'{response}' has no key", element)
            return keys, self._fallback_points(response, element)
        self._compare(keys, found, response, element)
        if not keys:
            self.context.losses.add(
                "tried", f"the key of '{response}' was found by trying the options", element
            )
        return keys or found, gain

    # ------------------------------------------------------------------ order and matching

    def _order(
        self, element: etree._Element, prompt: Prompt, _unit: str, declared: Declaration
    ) -> Part | None:
        options = self._options(element, ("simpleChoice",), set(), declared.name)
        by_name = {option.identifier: option for option in options}
        keys = self._sequence(declared)
        if not keys or any(name not in by_name for name in keys):
            self.context.losses.add("key", "an order without a key among its entries", element)
            return None
        if len(set(keys)) < len(by_name):
            self.context.losses.add("entries", "entries outside the right order are lost", element)
        return Ordering(
            _name(declared.name),
            prompt,
            tuple(by_name[name] for name in dict.fromkeys(keys)),
            self._points(declared, element),
        )

    def _sequence(self, declared: Declaration) -> tuple[str, ...]:
        """The declared key, else what the best branch asks for."""
        keys = self.context.keys.get(declared.name, ())
        if keys:
            return keys
        picked = [
            (amount or 0.0, test.of[0])
            for branch, amount in self._about(declared.name)
            if isinstance(test := branch.tests[declared.name], Picks) and test.of
        ]
        return max(picked, key=lambda found: found[0])[1] if picked else ()

    def _points(self, declared: Declaration, element: etree._Element) -> float:
        amounts = [
            self._joint(branch, amount, declared.name)
            for branch, amount in self._about(declared.name)
            if amount is not None and amount > 0
        ]
        if amounts and self.context.rules.understood:
            return max(amounts)
        return self._tried_points(declared.name, element)

    def _match(
        self, element: etree._Element, prompt: Prompt, _unit: str, declared: Declaration
    ) -> Part | None:
        """Pairs, where each source has exactly one target."""
        name = local(str(element.tag))
        losses = self.context.losses
        pairs = [tuple(text.split()) for text in self._sequence(declared)]
        mapping = declared.mapping
        if not pairs and mapping is not None:
            pairs = [tuple(map(str, entry)) for entry, worth in mapping.entries.items()
                     if isinstance(entry, tuple) and worth > 0]  # fmt: skip
        sources, targets = self._sides(element, name, {p[0] for p in pairs if p})
        source_names = {option.identifier for option in sources}
        target_names = {option.identifier for option in targets}
        exact = (
            bool(pairs)
            and all(len(p) == 2 and p[0] in source_names and p[1] in target_names for p in pairs)
            and len({p[0] for p in pairs}) == len(pairs) == len(sources)
        )
        if not exact:
            losses.add(
                "interaction",
                f"{name} is left out: its key does not pair each source with one target",
                element,
            )
            return None
        if name == "gapMatchInteraction":
            prompt = evened((*prompt, " ", *self._gapped(element)))
        elif name == "associateInteraction":
            losses.add("pairs", "pairs of equals became sources and targets", element)
        return Matching(
            _name(declared.name),
            prompt,
            tuple(sources),
            tuple(targets),
            tuple((p[0], p[1]) for p in pairs),
            self._points(declared, element),
            partial=self._mapped(declared.name),
        )

    def _sides(
        self, element: etree._Element, name: str, keyed: set[str]
    ) -> tuple[list[Option], list[Option]]:
        def option(choice: etree._Element) -> Option:
            return Option(choice.get("identifier") or "", self.content.inline(choice), False)

        if name == "matchInteraction":
            sets = elements(element, "simpleMatchSet")
            if len(sets) != 2:
                return [], []
            first, second = (
                [option(c) for c in elements(side, "simpleAssociableChoice")] for side in sets
            )
            return first, second
        if name == "associateInteraction":
            choices = [option(c) for c in elements(element, "simpleAssociableChoice")]
            return (
                [c for c in choices if c.identifier in keyed],
                [c for c in choices if c.identifier not in keyed],
            )
        texts = [option(c) for c in elements(element, "gapText")]
        gaps = [g for g in element.iter(etree.Element) if local(str(g.tag)) == "gap"]
        self.context.losses.add(
            "gaps", "gaps in a text became numbered targets; the text is in the prompt", element
        )
        names = [g.get("identifier") or "" for g in gaps]
        return texts, [Option(n, (f"gap {k}",), False) for k, n in enumerate(names, 1)]

    def _gapped(self, element: etree._Element) -> list[Inline]:
        """The text of a gap match, its gaps numbered."""
        gaps = [g for g in element.iter(etree.Element) if local(str(g.tag)) == "gap"]
        for number, gap in enumerate(gaps, 1):
            gap.tag, gap.text = "span", f"(gap {number})"
        found: list[Inline] = []
        for child in element:
            if isinstance(child.tag, str) and local(child.tag) not in (
                "gapText",
                "gapImg",
                "prompt",
            ):
                found.extend((*self.content.inline(child), " "))
        return found


def _name(response: str) -> str:
    return response.removeprefix("RESPONSE_") or "RESPONSE"
