"""An item of QTI 2.x or 3.0 made ready: compiled once, scored for any number of responses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

from lxml import etree

from qbank.scoring.chance import Chance
from qbank.scoring.declarations import (
    KINDS,
    OUTCOME,
    RESPONSE,
    TEMPLATE,
    Declaration,
    read_declaration,
)
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_RESTARTS, MAX_STEPS, MIN_RESTARTS
from qbank.scoring.names import get, name_of_tag
from qbank.scoring.programs import EMPTY, processing_of, rules_text
from qbank.scoring.responses import (
    Answer,
    Field,
    ensure_choice,
    fields_of,
    read_answer,
    unknown_response,
)
from qbank.scoring.result import Feedback, Score
from qbank.scoring.rules import Unmet
from qbank.scoring.session import Session
from qbank.scoring.shown import Shown, is_shown, tags
from qbank.scoring.templates import template, template_name
from qbank.scoring.values import Value, identifier, integer, plain

_NO_ELEMENT = etree.Element("declaration")


def _built_in(kind: str, name: str, base: str, data: object) -> Declaration:
    return Declaration(kind, name, "single", base, Value("single", base, data), None, _NO_ELEMENT)


# Variables every item has without declaring them (mapping note, a4).
BUILT_IN = {
    declared.name: declared
    for declared in (
        _built_in(OUTCOME, "completionStatus", "identifier", "not_attempted"),
        _built_in(RESPONSE, "numAttempts", "integer", 0),
        _built_in(RESPONSE, "duration", "duration", 0.0),
    )
}
UNKNOWN = identifier("unknown")
COMPLETED = identifier("completed")
_FEEDBACK_MARKS = (b"feedbackB", b"feedbackI", b"feedback-")
_FEEDBACK = tags("feedbackBlock", "feedbackInline")


class ScoredItem:
    """One item, its rules ready to run. Raises ScoringError when they cannot be.

    `warnings` holds what the rules name but the item does not declare, and operators outside the
    standard; such parts are NULL or left out. `stimuli` are the hrefs of shared texts to be shown
    beside it, which move no score. `data` are the bytes it was read from.
    """

    def __init__(self, root: etree._Element, data: bytes | None = None) -> None:
        self.root = root
        self._feedback_in_body = data is None or any(mark in data for mark in _FEEDBACK_MARKS)
        self.identifier = root.get("identifier") or ""
        self.adaptive = get(root, "adaptive") == "true"
        self.declared: dict[str, Declaration] = {}
        self.body: etree._Element | None = None
        self.stimuli: tuple[str, ...] = ()
        self._modal: list[etree._Element] = []
        rules: dict[str, etree._Element] = {}
        for element in root:
            name = name_of_tag(element.tag)
            kind = KINDS.get(name)
            if kind is not None:
                declared = read_declaration(kind, element)
                if declared.name in self.declared:
                    raise ScoringError(f"'{declared.name}' is declared twice{at(element)}")
                self.declared[declared.name] = declared
            elif name == "modalFeedback":
                self._modal.append(element)
            elif name == "assessmentStimulusRef":
                self.stimuli += (get(element, "href") or "",)
            elif name == "itemBody":
                self.body = element
            elif name in ("responseProcessing", "templateProcessing"):
                rules[name] = element
        self.known = self.declared | BUILT_IN
        self.warnings: tuple[str, ...] = ()
        self._template = self._response = EMPTY
        if "templateProcessing" in rules:
            self._template = processing_of(rules["templateProcessing"], self.known)
        response_rules = self._response_rules(rules.get("responseProcessing"))
        if response_rules is not None:
            built_in = response_rules is not rules["responseProcessing"]
            text = None if data is None or built_in else rules_text(data)
            self._response = processing_of(response_rules, self.known, text=text)
        self.warnings += self._template.program.warnings + self._response.program.warnings
        self._initial = {name: declared.initial for name, declared in self.known.items()}
        self._outcomes = [n for n, declared in self.known.items() if declared.kind == OUTCOME]
        self._keeps_text = any(
            d.base == "string" and d.kind == RESPONSE for d in self.declared.values()
        )
        self._maximum: float | None = None

    def _response_rules(self, element: etree._Element | None) -> etree._Element | None:
        if element is None:
            self.warnings += ("the item has no response processing: nothing is scored",)
            return None
        address = element.get("template")
        if not address or len(element):
            return element
        name = template_name(address)
        found = template(name)
        if found is None:
            self.warnings += (f"'{name}' is no template of the standard: nothing is scored",)
        return found

    # ------------------------------------------------------------------ what responses it takes

    @property
    def responses(self) -> dict[str, Declaration]:
        """The declared responses."""
        return {n: d for n, d in self.declared.items() if d.kind == RESPONSE}

    @property
    def title(self) -> str:
        """Its title."""
        return self.root.get("title") or self.identifier

    def ensure_choices(self, responses: Mapping[str, Answer]) -> None:
        """Raise ScoringError for an answer that names no choice of its interaction."""
        for name, answer in responses.items():
            if name in self.fields:
                ensure_choice(name, answer, self.fields[name].choices)

    @cached_property
    def fields(self) -> dict[str, Field]:
        """What the interactions say of their responses: choices, requests, raw text."""
        return {} if self.body is None else fields_of(self.body)

    # ------------------------------------------------------------------ sessions

    def session(
        self, seed: int | str = 0, presets: Mapping[str, Value | None] | None = None
    ) -> ItemSession:
        """A candidate's session: template processing done, nothing answered yet.

        `presets` replace the defaults of template variables, as a test may do.
        """
        values = dict(self._initial)
        if presets:
            values.update((n, v) for n, v in presets.items() if n in values)
        session = Session(self.known, values, Chance(seed))
        restarts = 0 if self._template is EMPTY else self._draw(session)
        return ItemSession(self, session, restarts)

    def _draw(self, session: Session) -> int:
        """Template processing, started again while a constraint is unmet; how often it was."""
        start = dict(session.values)
        count = self._template.program.count
        most = max(MIN_RESTARTS, min(MAX_RESTARTS, MAX_STEPS // (count + 1)))
        for restarts in range(most):
            try:
                self._template.run(session)
            except Unmet:
                session.values.update(start)
                session.correct.clear()
                session.defaults.clear()
                continue
            session.values.update(session.defaults)
            return restarts
        session.warn("the constraints were not met in time; the declared defaults stand")
        return most

    def score(self, responses: Mapping[str, Answer], seed: int | str = 0) -> Score:
        """One attempt in a new session.

        `responses` by name: a text, or for containers a list of texts; numbers are taken too.
        What is not named stays at its default. Raises ScoringError for a response the item does
        not declare and for a value that is not of its kind.
        """
        return self.session(seed).attempt(responses)

    def maximum(self, session: Session) -> float | None:
        """The most the item can give, as far as it says so.

        MAXSCORE, else the normalMaximum of SCORE, else what the declared key scores.
        """
        stated = session.values.get("MAXSCORE")
        if stated is not None and stated.base in ("integer", "float"):
            return float(stated.data)
        if "SCORE" not in self.declared:
            return None
        bound = self.declared["SCORE"].bound("normalMaximum")
        if bound is not None:
            return bound
        if self._maximum is None or self._template is not EMPTY:
            self._maximum = self._score_of_key(session)
        return self._maximum

    def _score_of_key(self, session: Session) -> float | None:
        drawn = {n: v for n, v in session.values.items() if self.known[n].kind == TEMPLATE}
        state = Session(self.known, self._initial | drawn | session.defaults, Chance(0))
        state.correct, state.defaults = dict(session.correct), dict(session.defaults)
        other = ItemSession(self, state)
        for name in self.responses:
            other.state.values[name] = other.state.key(name)
        if not any(other.state.values[name] for name in self.responses):
            return None
        other.process()
        value = other.state.values.get("SCORE")
        return (
            None if value is None or value.base not in ("integer", "float") else float(value.data)
        )

    def run_responses(self, session: Session) -> None:
        """Response processing on the values as they stand."""
        self._response.run(session)

    def shown_feedback(self, session: Session) -> tuple[Feedback, ...]:
        """The feedback that shows, in the order of the document: in the body, then modal."""
        values = session.values
        inline: Sequence[etree._Element] = ()
        if self.body is not None and self._feedback_in_body:
            inline = list(self.body.iter(*_FEEDBACK))
        frozen: dict[str, Value | None] | None = None
        found = []
        for element in (*inline, *self._modal):
            if is_shown(element, "outcomeIdentifier", values):
                frozen = dict(values) if frozen is None else frozen
                found.append(
                    Feedback(
                        get(element, "outcomeIdentifier") or "",
                        element.get("identifier") or "",
                        element,
                        Shown(self.declared, frozen),
                    )
                )
        return tuple(found)


class ItemSession:
    """One candidate's way through an item; an adaptive item keeps its outcomes between attempts.

    `restarts` counts how often template processing started again for an unmet constraint.
    """

    def __init__(self, item: ScoredItem, state: Session, restarts: int = 0) -> None:
        self.item = item
        self.state = state
        self.restarts = restarts

    def value(self, name: str) -> Any:
        """A variable's value as bool, int, float, str, list or dict; None for NULL."""
        return plain(self.state.values.get(name))

    def key(self, name: str) -> Any:
        """The key of a response as this session has it."""
        return plain(self.state.key(name)) if name in self.item.declared else None

    @property
    def templates(self) -> dict[str, Any]:
        """The drawn template variables."""
        names = (n for n, d in self.item.declared.items() if d.kind == TEMPLATE)
        return {name: self.value(name) for name in names}

    def text(self) -> str:
        """What the candidate reads: the body with printed variables and what shows of it."""
        body = self.item.body
        return "" if body is None else Shown(self.item.declared, self.state.values).text(body)

    def attempt(self, responses: Mapping[str, Answer]) -> Score:
        """Submit responses; see `ScoredItem.score`."""
        item, state = self.item, self.state
        self.put(responses)
        if not item.adaptive:
            for name in item._outcomes:
                state.values[name] = state.defaults.get(name, item._initial[name])
        self.process()
        values = state.values
        score = values.get("SCORE")
        return Score(
            score=float(score.data) if score and score.base in ("float", "integer") else None,
            maximum=item.maximum(state),
            outcomes={name: plain(values[name]) for name in item._outcomes},
            feedback=item.shown_feedback(state),
            warnings=(*item.warnings, *state.warnings),
        )

    def put(self, responses: Mapping[str, Answer]) -> None:
        """Set the responses of an attempt; what is not named starts again at its default."""
        item, state = self.item, self.state
        declared = item.declared
        for name, declaration in declared.items():
            if declaration.kind == RESPONSE and name not in responses:
                state.values[name] = state.default(name)
                if declaration.base == "boolean" and item.fields.get(name, Field()).request:
                    state.values[name] = Value("single", "boolean", False)
        for name, answer in responses.items():
            declaration_or_none = declared.get(name)
            if declaration_or_none is None or declaration_or_none.kind != RESPONSE:
                raise unknown_response(name, item.responses)
            state.values[name] = read_answer(declaration_or_none, answer)
            if isinstance(answer, str) and declaration_or_none.base != "identifier":
                raw = item.fields.get(name, Field()).raw_text if item._keeps_text else ""
                if raw in declared and raw not in responses:
                    state.values[raw] = read_answer(declared[raw], answer)

    def process(self) -> None:
        """Count the attempt and run response processing on the responses as they stand."""
        state = self.state
        attempts = state.values["numAttempts"]
        state.values["numAttempts"] = integer((attempts.data if attempts else 0) + 1)
        if state.values["completionStatus"] == BUILT_IN["completionStatus"].default:
            # Only an adaptive item decides itself when it is done.
            state.values["completionStatus"] = UNKNOWN if self.item.adaptive else COMPLETED
        self.item.run_responses(state)
