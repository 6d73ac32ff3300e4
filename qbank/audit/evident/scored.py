"""An item scored by the rules it carries: does its own key earn the most?"""

from __future__ import annotations

from collections.abc import Iterator

from qbank.audit.evident.telling import tell
from qbank.audit.reading.shown import Shown
from qbank.audit.verdict import Judgement
from qbank.errors import QbankError
from qbank.finding import Severity
from qbank.scoring.compiled import compile_item
from qbank.scoring.item import ScoredItem

_ROOM = 1e-9


def score_findings(shown: Shown, document: bytes) -> list[Judgement]:
    """Defects of the scoring of a QTI 2.x or 3.0 item, whose document is given.

    Rules that cannot be run here are no finding; the item is left alone.
    """
    try:
        item = compile_item(document, shown.item.identifier)
        return [judgement for check in CHECKS for judgement in check(shown, item)]
    except QbankError:
        return []


def _unknown_key(shown: Shown, item: ScoredItem) -> Iterator[Judgement]:
    """key-not-an-option: the keyed identifier names no option."""
    for name, declared in item.responses.items():
        field = item.fields.get(name)
        if field is None or not field.choices or declared.correct is None:
            continue
        if declared.base != "identifier":
            continue
        data = declared.correct.data
        members = data if isinstance(data, list | tuple) else [data]
        for member in members:
            key = str(getattr(member, "data", member))
            if key not in field.choices:
                how = f"The key of {name} is '{key}', and no option has this identifier."
                yield tell(shown, None, "key-not-an-option", Severity.ERROR, how)


def _never_full(shown: Shown, item: ScoredItem) -> Iterator[Judgement]:
    """score-unreachable: the key earns less than the most the item says it gives."""
    if any(d.kind == "template" for d in item.declared.values()):
        return
    if "SCORE" not in item.declared or not any(d.correct for d in item.responses.values()):
        return
    session = item.session()
    most = item.maximum(session.state)
    for name in item.responses:
        session.state.values[name] = session.state.key(name)
    session.process()
    value = session.state.values.get("SCORE")
    reached = 0.0 if value is None else float(value.data)
    if most is None or most <= 0:
        most = shown.item.points
    if reached < most - _ROOM * max(1.0, abs(most)):
        how = f"Scored by the item's own rules, its key earns {reached:g} of {most:g} points."
        yield tell(shown, None, "score-unreachable", Severity.ERROR, how)


CHECKS = (_unknown_key, _never_full)
