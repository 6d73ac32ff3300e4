"""Parts from the responses of QTI 1.2.1 and cartridges (mapping note, sections b1 to b7, g5)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Protocol

from lxml import etree

from qbank.formats.asi_readback import rules_of
from qbank.formats.foreign.asi_rules import AsiRule, AsiRules
from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.numbers import Keyed, as_number, number_part, numeral
from qbank.formats.foreign.probing import Prober, Spent
from qbank.formats.foreign.regions import Region, between, points
from qbank.formats.qti12_arranged import ORDER, PAIRS, matching_of, read_order, read_pairs
from qbank.formats.qti_markup import SLIP
from qbank.formats.qti_tree import any_of, attribute, descendants, local
from qbank.formats.xmltext import text_of_name_part
from qbank.item import Choice, Inline, Option, Ordering, Part
from qbank.scoring.responses import Answer

Prompt = tuple[Inline, ...]
_MOST_OPTIONS = 60
_LABELS = any_of("response_label")
_CHOICES = any_of("render_choice")


class Texts(Protocol):
    """What gives the words of an item, and its scorer."""

    def inline(self, element: etree._Element) -> tuple[Inline, ...]: ...

    def feedback(self, name: str) -> tuple[Inline, ...]: ...

    @property
    def silent(self) -> bool:
        """Whether feedback only says if there is any."""

    def prober(self, keys: Mapping[str, Answer]) -> Prober | None: ...


class AsiPartMaker:
    """Makes the parts of one item; `taken` names the feedback that found a place."""

    def __init__(
        self, texts: Texts, rules: AsiRules, fields: Mapping[str, list[str]], losses: Losses
    ) -> None:
        self._texts = texts
        self._rules = rules
        self._fields = fields
        self._losses = losses
        self.taken: set[str] = set()

    def takes_unit(self, element: etree._Element) -> bool:
        """Whether words after a response may be its unit."""
        return local(str(element.tag)) in ("response_num", "response_str")

    def part(self, element: etree._Element, prompt: Prompt, unit: str) -> Part | None:
        """The part of a response; None, with a loss, where no part fits it."""
        kind = local(str(element.tag))
        response = attribute(element, "ident")
        renders = [local(str(c.tag)) for c in element if isinstance(c.tag, str)]
        if kind == "response_num" or "render_slider" in renders:
            return self._number(element, response, prompt, unit)
        if kind == "response_lid" and "render_hotspot" not in renders:
            matching = matching_of(response, self._fields)
            ordered = attribute(element, "rcardinality") == "Ordered"
            if matching or (ordered and self._field(ORDER, _name(response))):
                return self._ours(element, matching, prompt)
            if ordered:
                return self._order(element, response, prompt)
            return self._choice(element, response, prompt)
        if kind == "response_str":
            return self._spelled(element, response, prompt, unit)
        self._losses.add("interaction", f"{kind} '{response}' is left out: no part fits", element)
        return None

    # ------------------------------------------------------------------ numbers

    def _giving(self, response: str) -> list[tuple[AsiRule, float]]:
        """The rules that give points for a response, with the points."""
        found = []
        for rule in self._rules.rules:
            if response in rule.asked and rule.points is not None and rule.points > 0:
                share = rule.points
                if len(rule.asked) > 1:
                    self._losses.add("joint-scoring", f"'{response}' is scored only together with "
                                     "others: the points are divided", rule.element)  # fmt: skip
                    share /= len(rule.asked)
                found.append((rule, share))
        return found

    def _weighted(self, points: float) -> float:
        """Points of a cartridge run from 0 to 100 and are weighted; others stand as they are."""
        weight = self._fields.get("cc_weighting")
        if self._fields.get("cc_profile"):
            share = points / (self._rules.maximum or 100.0)
            return share * ((as_number(weight[0]) if weight else None) or 1.0)
        return points

    def _number(
        self, element: etree._Element, response: str, prompt: Prompt, unit: str
    ) -> Part | None:
        name = _name(response)
        keyed = Keyed(stated=self._field("tolerance", name), silent=self._texts.silent)
        keyed.take_key([self._field("key", name)])
        giving = self._giving(response)
        for rule, share in giving:
            if share == max(points for _, points in giving):
                about = rule.asked[response]
                region = about.region if about.compares else Region(())
                exact = [v for v in map(as_number, (*about.every, *about.alike)) if v is not None]
                if exact:
                    region = region | points(exact)
                if math.isnan(keyed.key) and exact:
                    keyed.key, keyed.key_text = exact[0], numeral(exact[0])
                keyed.region = region if keyed.region is None else keyed.region | region
                keyed.points = self._weighted(share)
        if math.isnan(keyed.key):
            # A rule of full points for the very key often stands beside the band.
            for rule, _ in giving:
                about = rule.asked[response]
                keyed.take_key([*about.every, *about.alike])
        if not giving and not self._tried_number(response, keyed, element):
            keyed.points = self._no_points(response, element)
        self._wrong_values(response, keyed, [rule for rule, _ in giving])
        figures, decimals = self._field("figures", name), self._field("decimals", name)
        precision = f"figures-{figures}" if figures else f"decimals-{decimals}" if decimals else ""
        return number_part(name, prompt, unit, keyed, self._losses, element,
                           shown=self._field("shown", name), precision=precision)  # fmt: skip

    def _wrong_values(self, response: str, keyed: Keyed, giving: list[AsiRule]) -> None:
        best = max((r.points or 0.0 for r in giving), default=0.0)
        for rule in self._rules.rules:
            if response not in rule.asked or (rule in giving and rule.points == best):
                continue
            about = rule.asked[response]
            region = about.region if about.compares else Region(())
            exact = [v for v in map(as_number, (*about.every, *about.alike)) if v is not None]
            if exact:
                region = region | points(exact)
            told = ""
            if rule.points and rule.points > 0:
                told = f"{rule.points:g} of {best:g} points for other answers are lost"
            name = rule.shown[0] if rule.shown else ""
            slip = _slip(rule.title) or _slip(name.removeprefix("FEEDBACK.")) or name
            keyed.wrong.append((region, slip, self._shown(rule), told))

    def _tried_number(self, response: str, keyed: Keyed, element: etree._Element) -> bool:
        if not self._rules.opaque:
            return False
        candidates = [] if math.isnan(keyed.key) else [keyed.key]
        item = next(element.iterancestors("{*}item"), element)
        for test in item.iter("{*}varequal", "{*}vargte", "{*}varlte"):
            value = as_number(test.text or "")
            if value is not None and attribute(test, "respident") == response:
                candidates.append(value)
        prober = self._texts.prober({})
        for key in candidates[:20] if prober is not None else ():
            band = prober.band(response, key) if prober is not None else None
            if band is not None:
                keyed.region, keyed.points = between(band.low, band.high), band.points
                self._losses.add("tried", f"the band of '{response}' was found by trying answers",
                                 element)  # fmt: skip
                return True
        return False

    def _spelled(
        self, element: etree._Element, response: str, prompt: Prompt, unit: str
    ) -> Part | None:
        """A blank whose accepted spellings are all numbers."""
        giving = self._giving(response)
        best = max((share for _, share in giving), default=0.0)
        texts = [
            text
            for rule, share in giving
            if share == best
            for text in (*rule.asked[response].every, *rule.asked[response].alike)
        ]
        compared_rules = [r for r, share in giving if share == best and r.asked[response].compares]
        if compared_rules:
            return self._number(element, response, prompt, unit)
        values = [as_number(text) for text in texts]
        known = [value for value in values if value is not None]
        if not known or len(known) < len(values):
            said = f"the text '{texts[0][:40]}'" if texts else "a free text without a key"
            self._losses.add("text-answer", f"'{response}' takes {said}, not a number", element)
            return None
        region = between(min(known), max(known))
        keyed = Keyed(region=region, points=self._weighted(best), silent=self._texts.silent)
        keyed.take_key(texts)
        if len(set(known)) > 1:
            self._losses.add("spellings", f"{len(texts)} listed spellings became a band from the "
                             "least to the greatest", element)  # fmt: skip
        self._wrong_values(response, keyed, [rule for rule, _ in giving])
        return number_part(
            _name(response, self._fields), prompt, unit, keyed, self._losses, element
        )

    # ------------------------------------------------------------------ choices

    def _choice(self, element: etree._Element, response: str, prompt: Prompt) -> Part | None:
        labels = list(element.iterdescendants(*_LABELS))
        names = [attribute(label, "ident") for label in labels]
        multiple = attribute(element, "rcardinality") in ("Multiple", "Ordered")
        keys, points = self._keyed(response, names, multiple, element)
        about: dict[str, AsiRule] = {}
        for rule in self._rules.rules:
            asked = rule.asked.get(response)
            if asked is None:
                continue
            told = [*asked.every, *asked.alike]
            if len(told) == 1 and (rule.shown or rule.title) and not (multiple and rule.points):
                about.setdefault(told[0], rule)
        options = []
        for label, name in zip(labels, names, strict=True):
            said: tuple[Inline, ...] = ()
            slip = None
            if name in about:
                said = self._shown(about[name])
                shown = about[name].shown[0] if about[name].shown else ""
                slip = _slip(about[name].title) or _slip(shown.removeprefix("FEEDBACK."))
            if self._texts.silent:
                said = ()
            options.append(Option(name, self._texts.inline(label), name in keys, said, slip))
        renders = next(element.iterdescendants(*_CHOICES), None)
        name = _name(response, self._fields)
        if any(attribute(label, "rshuffle") == "No" for label in labels):
            self._losses.add("fixed", "options that keep their place may move", element)
        return Choice(
            identifier=name,
            prompt=prompt,
            options=tuple(options),
            points=points,
            multiple=multiple,
            inline=bool(self._field("inline", name)),
            shuffle=renders is not None and attribute(renders, "shuffle") == "Yes",
        )

    def _keyed(
        self, response: str, names: list[str], multiple: bool, element: etree._Element
    ) -> tuple[set[str], float]:
        giving = self._giving(response)
        if giving and not self._rules.opaque:
            best = max(share for _, share in giving)
            if multiple and all(rule.adds for rule, _ in giving):
                right = {v for rule, _ in giving for v in rule.asked[response].every}
                if len(giving) > 1:
                    self._losses.add("partial-credit", f"'{response}' gives points for parts of an "
                                     "answer", element)  # fmt: skip
                return right, self._weighted(sum(share for _, share in giving))
            top = [rule.asked[response] for rule, share in giving if share == best]
            right = {v for about in top for v in (*about.every, *about.alike)}
            if any(share < best for _, share in giving):
                self._losses.add("partial-credit", f"other answers to '{response}' earn points",
                                 element)  # fmt: skip
            if right.difference(names):
                self._losses.add("key", f"the key of '{response}' names no option", element)
            if not multiple and len(right) > 1:
                self._losses.add("key", f"{len(right)} options of '{response}' earn the most",
                                 element)  # fmt: skip
            return right, self._weighted(best)
        prober = self._texts.prober({})
        if prober is not None and self._rules.opaque and not multiple:
            try:
                gain, found = prober.best(response, names[:_MOST_OPTIONS])
            except Spent:
                gain, found = 0.0, []
            if gain > 0:
                self._losses.add("tried", f"the key of '{response}' was found by trying the "
                                 "options", element)  # fmt: skip
                return {str(name) for name in found}, self._weighted(gain)
        self._losses.add("key", f"'{response}' has no key that is understood", element)
        return set(), self._no_points(response, element)

    def _order(self, element: etree._Element, response: str, prompt: Prompt) -> Part | None:
        item = next(element.iterancestors("{*}item"), element)
        options = {
            attribute(label, "ident"): Option(
                attribute(label, "ident"), self._texts.inline(label), False
            )
            for label in descendants(element, "response_label")
        }
        places: dict[int, str] = {}
        for test in item.iter("{*}varequal"):
            index = attribute(test, "index")
            if attribute(test, "respident") == response and index.isdecimal() and len(index) < 4:
                places.setdefault(int(index), (test.text or "").strip())
        order = [places[n] for n in sorted(places)]
        if sorted(order) != sorted(options):
            self._losses.add("interaction", f"the order '{response}' is left out: its key does not "
                             "place each entry once", element)  # fmt: skip
            return None
        giving = self._giving(response)
        points = sum(share for _, share in giving) if all(r.adds for r, _ in giving) else (
            max((share for _, share in giving), default=0.0))  # fmt: skip
        return Ordering(
            _name(response), prompt, tuple(options[name] for name in order),
            self._weighted(points) or self._no_points(response, element), partial=len(giving) > 1,
        )  # fmt: skip

    def _ours(self, element: etree._Element, matching: str, prompt: Prompt) -> Part | None:
        """An order, or a matching of that name, as our own packages have them."""
        item = next(element.iterancestors("{*}item"), element)
        named = {attribute(f, "ident"): f for f in item.iter("{*}itemfeedback")}
        try:
            rules = [rule for rule in rules_of(item) if rule.title != "HINT"]
            part: Part
            if matching:
                lists = [
                    (source, one)
                    for one in item.iter("{*}response_lid")
                    if matching_of(attribute(one, "ident"), self._fields) == matching
                    and (source := one.getprevious()) is not None
                ]
                how = self._field(PAIRS, matching)
                part = read_pairs(matching, prompt, lists, rules, self._texts, named, how)
            else:
                how = self._field(ORDER, _name(attribute(element, "ident")))
                part = read_order(element, prompt, rules, self._texts, named, how)
        except (KeyError, IndexError, ValueError) as fault:
            self._losses.add("interaction", f"'{attribute(element, 'ident')}' is left out: its "
                             f"rules are no key of an order or a matching ({fault})",
                             element)  # fmt: skip
            return None
        mine = f"FEEDBACK_{part.identifier}."
        self.taken |= {name for rule in rules for name in rule.shown if name.startswith(mine)}
        return part

    # ------------------------------------------------------------------ helpers

    def _no_points(self, response: str, element: etree._Element) -> float:
        self._losses.add("points", f"no rule gives points for '{response}': 1 is assumed", element)
        return 1.0

    def _shown(self, rule: AsiRule) -> tuple[Inline, ...]:
        found: tuple[Inline, ...] = ()
        for name in rule.shown:
            said = self._texts.feedback(name)
            self.taken.add(name)
            found = found or said
        return found

    def _field(self, kind: str, name: str) -> str:
        return "".join(self._fields.get(f"qbank_{kind}_{name}", ())[:1])


def _name(response: str, fields: Mapping[str, list[str]] | None = None) -> str:
    if fields and fields.get("cc_profile") and response == "RESPONSE":
        return "answer"
    return response.removeprefix("RESPONSE_") or "RESPONSE"


def _slip(label: str) -> str | None:
    if not label.startswith(SLIP):
        return None
    return text_of_name_part(label.removeprefix(SLIP).rstrip("."))
