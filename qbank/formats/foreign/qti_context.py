"""What reading one item of QTI 2.x or 3.0 works with: variables, keys, rules, and its scorer."""

from __future__ import annotations

from functools import cached_property

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.probing import Prober
from qbank.formats.foreign.rules import Rules
from qbank.formats.qti_tree import attribute, child, descendants, local, text_of
from qbank.scoring.compiled import item_of
from qbank.scoring.declarations import KINDS, Declaration, read_declaration
from qbank.scoring.item import ItemSession, ScoredItem
from qbank.scoring.names import children, named_children
from qbank.scoring.printing import print_value
from qbank.scoring.responses import Answer
from qbank.scoring.shown import is_shown
from qbank.scoring.templates import template, template_name
from qbank.scoring.values import Value, plain, text_of_scalar

SEED = 0  # of the one draw that is read of an item that draws its own data
_PRINTED = ("format", "powerForm", "base", "index", "delimiter", "field", "mappingIndicator")


class QtiContext:
    """One item's document, its declarations read as far as they can be."""

    def __init__(self, root: etree._Element, losses: Losses) -> None:
        self.root = root
        self.losses = losses
        self.declared: dict[str, Declaration] = {}
        self.keys: dict[str, tuple[str, ...]] = {}
        self.interpretations: dict[str, str] = {}
        self.modal: list[etree._Element] = []
        self.parts: dict[str, etree._Element] = {}  # the children that stand once
        self.session: ItemSession | None = None
        for element in root:
            if not isinstance(element.tag, str):
                continue
            name = local(element.tag)
            if name in KINDS:
                self._declare(KINDS[name], element)
            elif name == "modalFeedback":
                self.modal.append(element)
            elif name in ("itemBody", "responseProcessing", "templateProcessing"):
                self.parts[name] = element
            elif name == "stylesheet":
                losses.add("stylesheet", "stylesheets are left out", element)
            elif name == "catalogInfo":
                losses.add("catalog", "the catalogue of alternatives is left out", element)
            elif name == "assessmentStimulusRef":
                losses.add("stimulus", "a shared stimulus is not read with the item", element)
            else:
                losses.add("element", f"<{name}> is left out", element)
        if "templateProcessing" in self.parts or any(
            d.kind == "template" for d in self.declared.values()
        ):
            self._draw()
        self.rules = self._rules()

    def _declare(self, kind: str, element: etree._Element) -> None:
        name = element.get("identifier") or ""
        if not name or name in self.declared:
            self.losses.add("declaration", f"'{name}' is declared twice or unnamed", element)
            return
        try:
            self.declared[name] = read_declaration(kind, element)
        except QbankError as fault:
            self.losses.add("declaration", fault.message, element)
            base = attribute(element, "baseType")
            cardinality = attribute(element, "cardinality") or "single"
            self.declared[name] = Declaration(kind, name, cardinality, base, None, None, element)
        if kind != "response":
            return
        correct = child(element, "correctResponse")
        if correct is not None:
            found = tuple((v.text or "").strip() for v in children(correct, "value"))
            self.keys[name] = tuple(text for text in found if text)
            self.interpretations[name] = attribute(correct, "interpretation")

    # ------------------------------------------------------------------ templates

    def _draw(self) -> None:
        """Take one draw of an item that draws its own data, and print it into the body."""
        element = self.parts.get("templateProcessing", self.root)
        if self.scorer is None:
            self.losses.add("draws", "the item draws its own data and cannot be run", element)
            return
        try:
            self.session = self.scorer.session(SEED)
        except QbankError as fault:
            self.losses.add("draws", f"the item draws its own data: {fault.message}", element)
            return
        self.losses.add(
            "draws", f"the item draws its own data; one draw was read (seed {SEED})", element
        )
        values = self.session.state.values
        for name in self.scorer.responses:
            key = self.session.state.key(name)
            if key is not None and key.cardinality != "record":
                self.keys[name] = tuple(text_of_scalar(member) for member in key.members)
        body = self.parts.get("itemBody")
        for part in (*([] if body is None else [body]), *self.modal):
            self._print(part, values)

    def _print(self, part: etree._Element, values: dict[str, Value | None]) -> None:
        symbols = {n for n, d in self.declared.items() if d.kind == "template" and d.math_variable}
        for element in descendants(part, "printedVariable"):
            given = {n: text for n in _PRINTED if (text := attribute(element, n))}
            value = values.get(element.get("identifier") or "")
            try:
                element.text = print_value(value, given)
            except ValueError:
                element.text = print_value(value, {})
        for element in part.iter("{*}mi", "{*}ci") if symbols else ():
            name = (element.text or "").strip()
            if name in symbols:
                space, brace, _ = str(element.tag).rpartition("}")
                element.tag = f"{space}{brace}mn"
                element.text = print_value(values.get(name), {})

    def printed(self, element: etree._Element) -> str | None:
        """The text of a printed variable, once a draw was taken."""
        return None if self.session is None else text_of(element)

    def shows(self, element: etree._Element) -> bool | None:
        """Whether an element of a template shows in the draw; None without a draw."""
        if self.session is None:
            return None
        return is_shown(element, "templateIdentifier", self.session.state.values)

    # ------------------------------------------------------------------ rules

    def _rules(self) -> Rules:
        processing = self.parts.get("responseProcessing")
        if processing is None:
            self.losses.add("scoring", "the item has no response processing")
        elif not len(processing):
            address = attribute(processing, "template")
            found = template(template_name(address)) if address else None
            if found is None:
                said = f"the template '{address}' is not of the standard" if address else "no rules"
                self.losses.add("scoring", f"nothing is scored: {said}", processing)
            processing = found
        return Rules(processing, self.declared, self.keys, self._constants(processing))

    def _constants(self, processing: etree._Element | None) -> dict[str, float]:
        """The numbers of outcomes that no rule sets, and of drawn variables."""
        if processing is None:
            return {}
        is_set = {
            element.get("identifier")
            for element in descendants(processing, "setOutcomeValue", "lookupOutcomeValue")
        }
        found: dict[str, float] = {}
        for name, declared in self.declared.items():
            value = declared.default
            if declared.kind == "template" and self.session is not None:
                value = self.session.state.values.get(name)
            if declared.kind == "response" or name in is_set or value is None:
                continue
            if value.cardinality == "single" and value.base in ("float", "integer"):
                found[name] = float(value.data)
        return found

    # ------------------------------------------------------------------ trying

    @cached_property
    def scorer(self) -> ScoredItem | None:
        """The item ready to be scored; None, with a loss, where it cannot be."""
        try:
            return item_of(self.root)
        except (QbankError, ValueError, RecursionError) as fault:
            self.losses.add("scoring", f"the rules cannot be run: {fault}")
            return None

    @cached_property
    def prober(self) -> Prober | None:
        """Scores responses of the item; the draw is the one that is read."""
        scorer = self.scorer
        if scorer is None:
            return None

        def score(given: dict[str, Answer]) -> float | None:
            return scorer.session(SEED).attempt(given).score

        keys: dict[str, Answer] = {}
        for name, texts in self.keys.items():
            if not texts:
                continue
            single = self.declared[name].cardinality == "single"
            keys[name] = texts[0] if single else list(texts)
        return Prober(score, keys)  # type: ignore[arg-type] # a Mapping is given as a dict

    def default_points(self) -> float:
        """The most the item says it gives: MAXSCORE, normalMaximum of SCORE, or one."""
        for name in ("MAXSCORE", "SCORE"):
            declared = self.declared.get(name)
            if declared is None:
                continue
            if name == "MAXSCORE":
                value = plain(declared.default)
            else:
                try:
                    value = declared.bound("normalMaximum")
                except QbankError:
                    value = None
            if isinstance(value, int | float) and 0 < value < 1e9:
                return float(value)
        return 1.0


def elements(parent: etree._Element, *names: str) -> list[etree._Element]:
    """The child elements of these 2.1 names."""
    return [element for name, element in named_children(parent) if name in names]
