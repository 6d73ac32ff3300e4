"""Rules of template, response and outcome processing as functions of a session.

The three kinds of processing share one form: conditions with an if, further ifs and an else,
assignments, and an exit. A NULL condition counts as false (mapping note, g1).
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import islice

from lxml import etree

from qbank.scoring.calls import Call, Scope, int_or_none
from qbank.scoring.declarations import OUTCOME, RESPONSE, TEMPLATE, Declaration
from qbank.scoring.expressions import build_expression
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_DEPTH, MAX_RULES
from qbank.scoring.names import get, name_of_tag
from qbank.scoring.session import Expression, Rule, Session
from qbank.scoring.values import NUMERIC, Value, comparable, text_of_scalar


class Exit(Exception):  # noqa: N818 - not a fault: exitTemplate, exitResponse and exitTest
    """Ends the processing at hand."""


class Unmet(Exception):  # noqa: N818 - not a fault: template processing starts again
    """A constraint that the draw does not meet."""


_CONDITIONS = {"responseCondition", "templateCondition", "outcomeCondition"}
_FRAGMENTS = {"responseProcessingFragment", "outcomeProcessingFragment"}
_EXITS = {"exitResponse", "exitTemplate", "exitTest"}


class RuleBuilder:
    """Builds the rules of one document and counts them."""

    def __init__(self, scope: Scope) -> None:
        self._scope = scope
        self.count = 0

    def build(self, holder: etree._Element, skip: int = 0, depth: int = 0) -> tuple[Rule, ...]:
        """The rules in an element, after its first `skip` children.

        Raises ScoringError for what is no rule, and for rules too many or too deep.
        """
        if depth > MAX_DEPTH:
            raise ScoringError(f"rules stand more than {MAX_DEPTH} deep{at(holder)}")
        rules: list[Rule] = []
        for element in islice(holder, skip, None):
            self.count += 1
            if self.count > MAX_RULES:
                raise ScoringError(f"an item has more than {MAX_RULES} rules")
            name = name_of_tag(element.tag)
            if name in _CONDITIONS:
                rules.append(self._condition(element, depth))
            elif name in _FRAGMENTS:
                rules.extend(self.build(element, depth=depth + 1))
            else:
                rules.append(self._simple(name, element))
        return tuple(rules)

    def _condition(self, element: etree._Element, depth: int) -> Rule:
        branches: list[tuple[Expression | None, tuple[Rule, ...]]] = []
        for branch in element:
            name = name_of_tag(branch.tag)
            if name.endswith("Else"):
                branches.append((None, self.build(branch, depth=depth + 1)))
                continue
            if not len(branch) or not name.endswith("If"):
                raise ScoringError(f"a condition has no test or an unknown part{at(branch)}")
            test = build_expression(branch[0], self._scope)
            branches.append((test, self.build(branch, skip=1, depth=depth + 1)))

        def run(session: Session) -> None:
            for test, rules in branches:
                if test is not None:
                    value = test(session)
                    if value is None or value.data is not True:
                        continue
                for rule in rules:
                    rule(session)
                return

        return run

    def _simple(self, name: str, element: etree._Element) -> Rule:
        if name in _EXITS:
            return _exit
        if name == "templateConstraint":
            test = self._only_expression(element)

            def constrain(session: Session) -> None:
                value = test(session)
                if value is None or value.data is not True:
                    raise Unmet

            return constrain
        if name in _SETTERS:
            return self._setter(name, element)
        raise ScoringError(f"there is no rule '{name}'{at(element)}")

    def _only_expression(self, element: etree._Element) -> Expression:
        if len(element) != 1:
            raise ScoringError(
                f"'{name_of_tag(element.tag)}'{at(element)} holds {len(element)} expressions, "
                "not one"
            )
        return build_expression(element[0], self._scope)

    def _setter(self, name: str, element: etree._Element) -> Rule:
        kinds, make = _SETTERS[name]
        target = get(element, "identifier") or ""
        expression = self._only_expression(element)
        declared = self._scope.declared.get(target)
        if declared is None or declared.kind not in kinds:
            expected = " or ".join(kinds)
            self._scope.warn(
                f"'{name}' names '{target}', which is no declared {expected}: left out"
            )
            return _nothing
        return make(Call(name, element, (expression,), self._scope), declared)


def _exit(_session: Session) -> None:
    raise Exit


def _nothing(_session: Session) -> None:
    return None


def _set_value(call: Call, declared: Declaration) -> Rule:
    """setOutcomeValue and setTemplateValue."""
    expression, name = call.operands[0], declared.name
    cardinality, base = declared.cardinality, declared.base

    def run(session: Session) -> None:
        value = expression(session)
        if value is not None and (value.cardinality != cardinality or value.base != base):
            value = fit(value, session.declared[name], session)
        session.values[name] = value

    return run


def _set_correct(call: Call, declared: Declaration) -> Rule:
    expression, name = call.operands[0], declared.name

    def run(session: Session) -> None:
        session.correct[name] = fit(expression(session), session.declared[name], session)

    return run


def _set_default(call: Call, declared: Declaration) -> Rule:
    expression, name = call.operands[0], declared.name

    def run(session: Session) -> None:
        session.defaults[name] = fit(expression(session), session.declared[name], session)

    return run


def _look_up(call: Call, declared: Declaration) -> Rule:
    """lookupOutcomeValue: the outcome by its own table from a number.

    NULL is in no entry, so it gives the table's default.
    """
    expression, name = call.operands[0], declared.name

    def run(session: Session) -> None:
        value, table = expression(session), session.declared[name].lookup
        if table is None:
            session.warn(f"'{name}' declares no lookup table: NULL")
            session.values[name] = None
        elif value is None:
            session.values[name] = table.default
        elif value.cardinality == "single" and value.base in (*NUMERIC, "duration"):
            session.values[name] = table.find(value.data)
        else:
            session.warn(f"'{name}' is looked up from what is no number: NULL")
            session.values[name] = None

    return run


_SETTERS: dict[str, tuple[tuple[str, ...], Callable[[Call, Declaration], Rule]]] = {
    "setOutcomeValue": ((OUTCOME,), _set_value),
    "setTemplateValue": ((TEMPLATE,), _set_value),
    "setCorrectResponse": ((RESPONSE,), _set_correct),
    "setDefaultValue": ((RESPONSE, OUTCOME), _set_default),
    "lookupOutcomeValue": ((OUTCOME,), _look_up),
}


def fit(value: Value | None, declared: Declaration, session: Session) -> Value | None:
    """A value as the kind a variable declares; NULL, with a warning, when it cannot be that.

    The standard wants the kinds to agree. An integer for a float is taken silently, as the
    official template items assign one; other changes that keep the meaning are warned of.
    """
    if value is None or (value.cardinality, value.base) == (declared.cardinality, declared.base):
        return value
    single = value.cardinality == declared.cardinality == "single"
    if single and value.base == "integer" and declared.base == "float":
        return Value("single", "float", float(value.data))
    changed = _changed(value, declared)
    session.warn(
        f"'{declared.name}' is {declared.cardinality} {declared.base}, but is set to "
        f"{value.cardinality} {value.base}" + (": NULL" if changed is None else "")
    )
    return changed


def _changed(value: Value, declared: Declaration) -> Value | None:
    if "record" in (value.cardinality, declared.cardinality):
        return None
    members = value.members
    if declared.cardinality == "single" and len(members) != 1:
        return None
    if value.base != declared.base:
        if declared.base == "string":
            members = tuple(map(text_of_scalar, members))
        elif not comparable(value.base, declared.base):
            return None
        elif declared.base == "float":
            members = tuple(map(float, members))
        elif declared.base == "integer":
            if any(int_or_none(m) is None for m in members):
                return None
            members = tuple(map(int, members))
    data = members[0] if declared.cardinality == "single" else members
    return Value(declared.cardinality, declared.base, data)
