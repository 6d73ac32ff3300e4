"""An item of QTI 1.2.1 made ready: conditions, variables, feedback (mapping note, g5)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lxml import etree

from qbank.scoring.conditions12 import Condition, Reading, condition_of
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_RULES
from qbank.scoring.responses import Answer, ensure_choice, texts_of, unknown_response
from qbank.scoring.result import Feedback, Score
from qbank.scoring.shown import Shown
from qbank.scoring.values import number_of

_NUMBERS = frozenset(["Integer", "Decimal", "Scientific"])
_RESPONSES = ("{*}response_lid", "{*}response_str", "{*}response_num", "{*}response_xy",
              "{*}response_grp")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Variable:
    """A decvar: a score is held to its bounds at every assignment."""

    name: str
    kind: str
    default: float | str
    low: float
    high: float

    def held(self, value: float | str) -> float | str:
        if isinstance(value, str):
            return value
        if self.kind == "Integer":
            value = float(math.trunc(value))
        return min(max(value, self.low), self.high)


@dataclass(frozen=True, slots=True)
class Setting:
    """A setvar."""

    variable: str
    action: str
    text: str
    number: float | None


@dataclass(frozen=True, slots=True)
class RespCondition:
    """A respcondition: what to do when it is true, and whether to go on then."""

    test: Condition
    settings: tuple[Setting, ...]
    feedback: tuple[tuple[str, str], ...]  # kind, identifier
    go_on: bool


@dataclass(frozen=True, slots=True)
class Taken:
    """A response an item takes: whether of numbers or of several, and what it offers."""

    numeric: bool
    several: bool
    choices: tuple[str, ...]


class ScoredItem12:
    """One item of QTI 1.2.1, its conditions ready to run.

    Raises ScoringError when they cannot be run as they stand.
    """

    def __init__(self, root: etree._Element) -> None:
        self.root = root
        self.identifier = root.get("ident") or ""
        self.taken = {e.get("ident") or "": _taken(e) for e in root.iter(*_RESPONSES)}
        numeric = frozenset(name for name, taken in self.taken.items() if taken.numeric)
        self._reading = Reading(frozenset(self.taken), numeric)
        self._feedback = {
            e.get("ident") or "": e for e in root.iter("{*}itemfeedback")
        }  # fmt: skip
        blocks = list(root.iter("{*}resprocessing"))
        if not blocks:
            self._reading.warn("the item has no response processing: nothing is scored")
        if len(blocks) > 1:
            self._reading.warn("only the first of several resprocessing blocks is run")
        self.variables: dict[str, Variable] = {}
        self._conditions: list[RespCondition] = []
        for element in blocks[0] if blocks else ():
            kind = etree.QName(element).localname
            if kind == "outcomes":
                for declared in element.iter("{*}decvar"):
                    variable = self._variable(declared)
                    self.variables[variable.name] = variable
            elif kind == "respcondition":
                self._conditions.append(self._condition(element))
            elif kind != "qticomment":
                self._reading.warn(f"'{kind}'{at(element)} is not judged here")
        if len(self._conditions) > MAX_RULES:
            raise ScoringError(f"an item has more than {MAX_RULES} rules")
        self._score_name = "SCORE"
        if "SCORE" not in self.variables and len(self.variables) == 1:
            self._score_name = next(iter(self.variables))

    @property
    def warnings(self) -> tuple[str, ...]:
        """What was met that cannot be judged as the standard says."""
        return tuple(self._reading.warnings)

    @property
    def title(self) -> str:
        """Its title."""
        return self.root.get("title") or self.identifier

    @property
    def responses(self) -> dict[str, Taken]:
        """What it takes, by identifier."""
        return self.taken

    def ensure_choices(self, responses: Mapping[str, Answer]) -> None:
        """Raise ScoringError for an answer that names no choice."""
        for name, answer in responses.items():
            if name in self.taken:
                ensure_choice(name, answer, self.taken[name].choices)

    def score(self, responses: Mapping[str, Answer], seed: int | str = 0) -> Score:  # noqa: ARG002 - nothing is drawn in 1.2.1
        """The result of responses, by their identifiers.

        Raises ScoringError for a response the item does not take and for one that is no number.
        """
        given = {name: self._answer(name, answer) for name, answer in responses.items()}
        values = {name: variable.default for name, variable in self.variables.items()}
        warnings = list(self.warnings)
        shown: dict[str, str] = {}
        for condition in self._conditions:
            if not condition.test(given):
                continue
            for setting in condition.settings:
                self._apply(setting, values, warnings)
            for kind, name in condition.feedback:
                shown.setdefault(name, kind)
            if not condition.go_on:
                break
        score = values.get(self._score_name)
        teller = Shown({}, {})
        feedback = []
        for name, kind in shown.items():
            if name in self._feedback:
                feedback.append(Feedback(kind, name, self._feedback[name], teller))
            else:
                warnings.append(f"feedback '{name}' is shown, but the item has none of that name")
        variable = self.variables.get(self._score_name)
        bounded = variable is not None and math.isfinite(variable.high)
        return Score(
            score=score if isinstance(score, float) else None,
            maximum=variable.high if variable and bounded else None,
            outcomes=dict(values),
            feedback=tuple(feedback),
            warnings=tuple(dict.fromkeys(warnings)),
        )

    def _answer(self, name: str, answer: Answer) -> list[str]:
        if name not in self.taken:
            raise unknown_response(name, self.taken)
        taken = self.taken[name]
        texts = [text for text in texts_of(answer) if text.strip()]
        if len(texts) > 1 and not taken.several:
            raise ScoringError(f"'{name}' takes one answer, not {len(texts)}", hint="name it once")
        if taken.numeric:
            for text in texts:
                try:
                    number_of(text.strip())
                except ValueError as fault:
                    raise ScoringError(
                        f"'{text[:60]}' is no answer to '{name}', which takes a number",
                        hint=str(fault),
                    ) from fault
        return texts

    def _apply(self, setting: Setting, values: dict[str, float | str], warnings: list[str]) -> None:
        name = setting.variable
        variable = self.variables.get(name)
        if variable is None:
            variable = Variable(name, "Decimal", 0.0, -math.inf, math.inf)
            warnings.append(f"a condition sets '{name}', which is not declared")
        current, number = values.get(name, variable.default), setting.number
        if variable.kind not in _NUMBERS:
            values[name] = setting.text
            return
        if number is None or not isinstance(current, float):
            warnings.append(f"'{setting.text[:60]}' is no number for '{name}': left out")
            return
        if variable.kind == "Integer" and not number.is_integer():
            warnings.append(f"'{name}' is an integer and cannot hold {setting.text}")
        if setting.action == "Divide" and number == 0:
            warnings.append(f"'{name}' is not divided by zero")
            return
        values[name] = variable.held(_ACTIONS[setting.action](current, number))

    # ------------------------------------------------------------------ reading

    def _variable(self, element: etree._Element) -> Variable:
        kind = element.get("vartype") or "Integer"
        default = element.get("defaultval") or ""
        is_number = kind in _NUMBERS
        low = _bound(element, "minvalue", -math.inf)
        high = _bound(element, "maxvalue", math.inf)
        value: float | str = (_bound(element, "defaultval", 0.0)) if is_number else default
        return Variable(element.get("varname") or "SCORE", kind, value, low, high)

    def _condition(self, element: etree._Element) -> RespCondition:
        tests = list(element.iter("{*}conditionvar"))
        if len(tests) != 1:
            raise ScoringError(f"a respcondition has {len(tests)} conditionvar{at(element)}")
        return RespCondition(
            condition_of(tests[0], self._reading),
            tuple(map(_setting, element.iter("{*}setvar"))),
            tuple(
                (e.get("feedbacktype") or "Response", e.get("linkrefid") or "")
                for e in element.iter("{*}displayfeedback")
            ),
            element.get("continue") == "Yes",
        )


_ACTIONS: dict[str, Callable[[float, float], float]] = {
    "Set": lambda _current, number: number,
    "Add": lambda current, number: current + number,
    "Subtract": lambda current, number: current - number,
    "Multiply": lambda current, number: current * number,
    "Divide": lambda current, number: current / number,
}


def _setting(element: etree._Element) -> Setting:
    action = element.get("action") or "Set"
    if action not in _ACTIONS:
        raise ScoringError(
            f"there is no action '{action}'{at(element)}", hint=f"there are {', '.join(_ACTIONS)}"
        )
    text = (element.text or "").strip()
    try:
        number: float | None = number_of(text)
    except ValueError:
        number = None
    return Setting(element.get("varname") or "SCORE", action, text, number)


def _bound(element: etree._Element, name: str, default: float) -> float:
    text = (element.get(name) or "").strip()
    if not text:
        return default
    try:
        return number_of(text)
    except ValueError as fault:
        raise ScoringError(f'{name}="{text[:60]}"{at(element)}: {fault}') from fault


def _taken(element: etree._Element) -> Taken:
    kind = etree.QName(element).localname
    choices: tuple[str, ...] = ()
    if kind == "response_lid":
        labels = element.iter("{*}response_label")
        choices = tuple(label.get("ident") or "" for label in labels)
    blanks = sum(1 for _ in element.iter("{*}response_label")) if kind == "response_str" else 0
    several = (element.get("rcardinality") or "Single") != "Single" or blanks > 1
    return Taken(kind == "response_num", several, choices)
