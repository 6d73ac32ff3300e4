"""The verdict on stated keys, from the answers recomputed: right, right in another way, or wrong.

A key is never accused for what honest work explains. It is right when the recomputed answer,
rounded, is the key. Else it is right with another value of a constant, or when intermediate values
were rounded, where one of these leads to the key to every digit written. Where the bank accepts
the recomputed answer, nobody who works well is marked wrong, so that is at most a warning.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from qbank.audit.causes.bands import accepted_slips
from qbank.audit.causes.rounding import paths_of, rounded_on_the_way, truth_of
from qbank.audit.causes.table import find_causes
from qbank.audit.causes.work import Floats, Keys, Mask, Work, written_places
from qbank.audit.constants import CELSIUS_SHIFTS, PI_VALUES, family_constants, own_value
from qbank.audit.question import Question
from qbank.audit.resolving import Datum, Resolver
from qbank.audit.verdict import Cause, Judgement, Level, Verdict
from qbank.expressions.numbers import NumberFormat, format_number
from qbank.expressions.spelling import spell
from qbank.expressions.tree import names_in
from qbank.expressions.units import parse_unit
from qbank.family.model import Family
from qbank.finding import Severity
from qbank.solving.solver import STATUS_WORDS

ONE_OFF = 0.005  # of the answer: a last digit one off is no more than this, or it is a mistake
HONEST = 0.01  # of the answer: as much as rounded working is believed to do unexplained
SOME_OFF = 2.5  # last digits that unexplained rounding may make, or of the answer:
A_THOUSANDTH = 0.001
LAST_DIGITS = 1e-6  # relative: bands are written with so many digits
AS_STATED = 0.002  # of a constant: 9.8 m/s² for 9.81 m/s² is no mistake, whatever the stem states
PLACES_OFF = 1.0 + 1e-6  # last digits that a key may be off where the bank accepts the answer
_KELVIN = parse_unit("K")
_MOST_LISTED = 6  # values of a data list that are told
_MOST_LAWS = 3
_LONG = 12  # figures beyond which a key is a number a computer wrote
_TOLD = 6  # figures told of an answer whose key is such a number


@dataclass(slots=True)
class _Row:
    """What is decided on one key."""

    verdict: Verdict = Verdict.WRONG
    code: str = ""
    severity: Severity | None = Severity.ERROR
    cause: Cause | None = None
    others: tuple[Cause, ...] = ()
    adds: list[str] = field(default_factory=list)


def judge(
    resolver: Resolver,
    unknown: str,
    values: Mapping[str, Floats],
    questions: Sequence[Question],
    *,
    level: Level,
    stated: frozenset[str] | None = None,
    confidence: float | Sequence[float] = 1.0,
    causes: bool = True,
) -> list[Judgement]:
    """The verdicts on the keys of questions that ask for one unknown of one family.

    `values` are the data as read, given -> SI (n,) or one number; data lists (n, m). `stated` are
    the givens whose value the stems state, by default all in `values`: a constant that stands in
    the stem has that value. `confidence` is that of the reading. Without `causes` none are looked
    for. Returns one judgement a question, in order; none raises for bad data.
    """
    work = Work.of(resolver, unknown, values, questions, stated)
    rows = decide(work, causes=causes)
    sure = [confidence] * len(work) if isinstance(confidence, float | int) else confidence
    return [
        _judgement(work, row, decided, level, float(sure[row])) for row, decided in enumerate(rows)
    ]


def decide(work: Work, *, causes: bool = True) -> list[_Row]:
    """What is decided on each key."""
    out = [_Row() for _ in range(len(work))]
    keys, answer = work.keys, work.answer
    unsolved = ~np.isfinite(answer)
    keyless = ~np.isfinite(keys.value)
    for row in np.flatnonzero(unsolved | keyless).tolist():
        out[row] = _unchecked(work, row, bool(keyless[row]))
    right = ~(unsolved | keyless) & keys.matches(answer)
    accepted = _accepted(work)
    with np.errstate(invalid="ignore"):
        off = np.abs(keys.value - answer)
        close = accepted & (off <= keys.unit * PLACES_OFF)
    right |= close & ~(unsolved | keyless)
    within = np.flatnonzero(accepted & ~(right | unsolved | keyless))
    if len(within):  # slack is dear, and hardly any key needs it
        few = work.take(within)
        right[within] = off[within] <= work_slack(few) * PLACES_OFF
    for row in np.flatnonzero(right).tolist():
        out[row] = _Row(Verdict.RIGHT, "right", None)
    _bands(work, np.flatnonzero(right), out)
    open_rows = np.flatnonzero(~(right | unsolved | keyless))
    if len(open_rows):
        _explain(work.take(open_rows), accepted[open_rows], out, open_rows, causes)
    _rejections(work, out)
    return out


def _bands(work: Work, at: np.ndarray, out: list[_Row]) -> None:
    """Tells where the band about a right key accepts a typical mistake."""
    if not len(at):
        return
    slips = work.resolver.family.slips
    for row, name in zip(at.tolist(), accepted_slips(work.take(at)), strict=True):
        if name:
            said = f"The accepted band also holds what the slip '{name}' leads to: "
            out[row] = _Row(
                Verdict.RIGHT, "band-accepts-slip", Severity.WARNING, adds=[said + slips[name].says]
            )


def _rejections(work: Work, out: list[_Row]) -> None:
    """Tells where a key is right as it is written, but its band rejects the answer itself."""
    low = np.array([q.low for q in work.questions], dtype=np.float64)
    high = np.array([q.high for q in work.questions], dtype=np.float64)
    x = work.answer
    with np.errstate(invalid="ignore"):
        room = LAST_DIGITS * np.abs(x)
        rejected = (low < high) & ((x < low - room) | (x > high + room))
        rejected &= (low <= work.keys.value) & (work.keys.value <= high)
    for row in np.flatnonzero(rejected).tolist():
        found = out[row]
        if found.verdict not in (Verdict.RIGHT, Verdict.ROUNDED):
            continue
        found.severity = Severity.WARNING
        found.code = "band-rejects-answer"
        found.adds.append("The accepted band rejects this answer.")


def work_slack(work: Work) -> Floats:
    """How far rounded working can land, believed up to a share of the answer."""
    capped = np.minimum(work.slack, HONEST * np.abs(work.answer))
    return np.where(np.isfinite(capped), capped, 0.0)


def _accepted(work: Work) -> Mask:
    """Where the bank's own band holds its key and the recomputed answer, (n,)."""
    low = np.array([q.low for q in work.questions], dtype=np.float64)
    high = np.array([q.high for q in work.questions], dtype=np.float64)
    key, x = work.keys.value, work.answer
    room = 1e-9 * np.abs(x)
    with np.errstate(invalid="ignore"):
        held = (low - room <= x) & (x <= high + room) & (low < high)
        return np.asarray(held & (low - room <= key) & (key <= high + room))


def _unchecked(work: Work, row: int, keyless: bool) -> _Row:
    if keyless:
        return _Row(Verdict.UNCHECKED, "no-key", Severity.WARNING, adds=["No key is stated."])
    status = int(work.resolved.status[row])
    word = STATUS_WORDS[status] if status else "no finite value"
    said = f"The laws have no answer for these data: {word}."
    return _Row(Verdict.UNCHECKED, "no-answer", Severity.NOTE, adds=[said])


# ---------------------------------------------------------------------------- explanations


def _explain(work: Work, accepted: Mask, out: list[_Row], at: np.ndarray, causes: bool) -> None:
    """Decides on keys that are not the answer, rounded."""
    decided = [_constants(work), _rounding(work), _honest(work)]
    left = []
    for row in range(len(work)):
        found = next((said[row] for said in decided if said[row] is not None), None)
        if found is None:
            left.append(row)
        else:
            out[int(at[row])] = found
    if not left:
        return
    rows = np.array(left)
    named: list[tuple[Cause | None, tuple[Cause, ...]]] = [(None, ())] * len(left)
    if causes:
        named = find_causes(work.take(rows))
    for row, (cause, others) in zip(left, named, strict=True):
        code = "unexplained" if cause is None else cause.code
        found = _Row(Verdict.WRONG, code, Severity.ERROR, cause, others)
        if accepted[row]:
            said = "The key is off, but the accepted band holds the recomputed answer."
            found = _Row(
                Verdict.ROUNDED, "key-off-in-band", Severity.WARNING, cause, others, [said]
            )
        out[int(at[row])] = found


def _constants(work: Work) -> list[_Row | None]:
    """Keys reached with another value of a constant that the stem does not state."""
    out: list[_Row | None] = [None] * len(work)

    def note(values: Floats, says: str, severity: Severity = Severity.NOTE) -> None:
        met = work.keys.matches(values) & (work.keys.figures >= 2)
        for row in np.flatnonzero(met).tolist():
            if out[row] is None:
                cause = Cause("constant", says, float(values[row]))
                out[row] = _Row(Verdict.OTHER_CONSTANT, "constant", severity, cause)

    family = work.resolver.family
    for name, others in family_constants(family).items():
        datum = work.resolver.scalars.get(name)
        own = (
            []
            if datum is None or datum.fixed is None
            else [own_value(datum.name, datum.unit, datum.fixed)]
        )
        accepted = {a.si for a in others if a.source == "accepted by the family"}
        for other in (*others, *own):
            if name not in work.stated or other.si in accepted:
                note(work.again({name: other.si}), f"with {name} = {other.text}")
            elif name in work.values:
                stated = work.values[name]
                near = np.abs(other.si - stated) <= AS_STATED * np.abs(stated)
                values = np.where(near, work.again({name: other.si}), np.nan)
                said = f"with {name} = {other.text}, not the value the stem states"
                note(values, said, Severity.WARNING)
    celsius = _in_celsius(work)
    for text, shift in CELSIUS_SHIFTS if celsius else ():
        base = {**{n: work.resolved.values[n] for n in celsius}, **work.values}
        moved = {name: base[name] + shift * rows for name, rows in celsius.items()}
        note(work.again(moved), f"with 0 °C taken as {text} K")
    for member, path in paths_of(work.resolver, work.unknown):
        if not _uses_pi(family):
            break
        rows = np.flatnonzero(member[np.maximum(work.resolved.case, 0)])
        for text, pi in PI_VALUES if len(rows) else ():
            values = np.full(len(work), np.nan)
            part = work.take(rows)
            values[rows] = part.shown(path.run(truth_of(part), len(rows), pi=pi))
            note(values, f"with π = {text}")
    return out


def _in_celsius(work: Work) -> dict[str, Floats]:
    """Temperatures that are taken from °C to K: given -> (n,), 1 where they are, else 0."""
    found = {}
    for name, datum in work.resolver.scalars.items():
        if datum.unit.dimension != _KELVIN.dimension or datum.listed:
            continue
        if datum.unit.offset:
            found[name] = np.ones(len(work))
        elif name in work.values:  # a family in kelvin, a stem in degrees
            values = work.values[name].tolist()
            rows = [_says_celsius(q, si) for q, si in zip(work.questions, values, strict=True)]
            if any(rows):
                found[name] = np.array(rows, dtype=np.float64)
    return found


def _says_celsius(question: Question, si: float) -> bool:
    return any(
        quantity.unit is not None and quantity.unit.offset and math.isclose(quantity.si, si)
        for quantity in question.quantities
    )


def _uses_pi(family: Family) -> bool:
    nodes = [law.equation for law in family.laws], [let.expression for let in family.let.values()]
    return any("pi" in names_in(node) for group in nodes for node in group)


def _rounding(work: Work) -> list[_Row | None]:
    """Keys reached by rounding on the way, or by cutting the last digits off."""
    out: list[_Row | None] = [None] * len(work)
    cut = work.keys.cut(work.answer) & (work.keys.figures >= 2)
    with np.errstate(invalid="ignore"):
        cut &= np.abs(work.keys.value - work.answer) <= HONEST * np.abs(work.answer)
    for row, says in enumerate(rounded_on_the_way(work)):
        if says or cut[row]:
            told = f"when {says}" if says else "when further digits are cut off, not rounded"
            cause = Cause("rounded-early" if says else "cut", told, float(work.keys.value[row]))
            out[row] = _Row(Verdict.ROUNDED, cause.code, Severity.NOTE, cause)
    return out


def _honest(work: Work) -> list[_Row | None]:
    """Keys as near as rounding can make them, though no way that was tried leads to them."""
    out: list[_Row | None] = [None] * len(work)
    with np.errstate(invalid="ignore"):
        off = np.abs(work.keys.value - work.answer)
        size = np.abs(work.answer)
        one_off = (off <= work.keys.unit * PLACES_OFF) & (off <= ONE_OFF * size)
        slack = off <= np.minimum(work.slack, ONE_OFF * size) + 0.5 * work.keys.unit
        slack &= off <= np.maximum(SOME_OFF * work.keys.unit, A_THOUSANDTH * size)
        slack &= off <= ONE_OFF * size
    for row in np.flatnonzero(one_off | slack).tolist():
        said = (
            "The last digit is one off."
            if one_off[row]
            else "Rounding on the way can make the difference."
        )
        out[row] = _Row(Verdict.ROUNDED, "last-digit", Severity.NOTE, adds=[said])
    return out


# ---------------------------------------------------------------------------- sentences


def _judgement(work: Work, row: int, decided: _Row, level: Level, confidence: float) -> Judgement:
    question = work.questions[row]
    value = float(work.answer[row])
    unit = work.units[row].text
    family = work.resolver.family
    case = int(work.resolved.case[row])
    expected = ""
    how = ""
    if decided.code != "right":
        if math.isfinite(value):
            expected = with_unit(_as_written(value, int(work.keys.written[row])), unit)
        how = " ".join([_proof(work, row, expected), *decided.adds])
    low = high = math.nan
    if decided.verdict is Verdict.WRONG:
        low, high = _band(work, row)
    correct: tuple[str, ...] = ()
    if question.options and math.isfinite(value) and decided.verdict is Verdict.WRONG:
        correct = nearest_options(question, work, row)
    return Judgement(
        item=question.item,
        part=question.part,
        place=question.place,
        number=question.number,
        verdict=decided.verdict,
        level=None if decided.verdict is Verdict.UNCHECKED else level,
        code=decided.code,
        severity=decided.severity,
        states=states(question),
        expected=expected,
        value=value,
        how=how,
        cause=decided.cause,
        others=decided.others,
        confidence=confidence,
        family=family.name,
        case=family.cases[case].name if case >= 0 else "",
        unknown=work.unknown,
        correct=correct,
        low=low,
        high=high,
    )


def states(question: Question) -> str:
    """The key as the bank states it, with its unit."""
    unit = "" if question.unit is None else question.unit.text
    text = question.key_text
    if not text and math.isfinite(question.key):
        text = repr(question.key)
    return text if not unit or text.endswith(unit) else with_unit(text, unit)


def with_unit(number: str, unit: str) -> str:
    """A number and its unit as people write them."""
    return number if not unit or not number else f"{number}{'' if unit == '°' else ' '}{unit}"


def _as_written(value: float, figures: int) -> str:
    few = max(min(figures, 15), 2) if figures < _LONG else _TOLD
    return format_number(value, NumberFormat(figures=few))


def nearest_options(question: Question, work: Work, row: int) -> tuple[str, ...]:
    """The option that states the recomputed answer; none where none or several do."""
    fitting = []
    for option in question.options:
        if option.quantity is None:
            continue
        value = float(option.quantity.value)
        if option.quantity.unit is not None:
            value = float(work.units[row].from_si(option.quantity.si))
        place, loose = written_places(option.quantity.text, float(option.quantity.value))
        if option.quantity.unit is not None and option.quantity.unit != work.units[row]:
            shift = round(math.log10(option.quantity.unit.factor / work.units[row].factor))
            place, loose = place + shift, loose + shift
        key = Keys(np.array([value]), np.array([place]), np.array([loose]))
        if key.matches(np.array([float(work.answer[row])]))[0]:
            fitting.append(option.identifier)
    return tuple(fitting) if len(fitting) == 1 else ()


def _band(work: Work, row: int) -> tuple[float, float]:
    """The band to accept around the recomputed answer: the bank's own width about it, or 1 %."""
    question, value = work.questions[row], float(work.answer[row])
    width = 0.01 * abs(value)
    if question.low < question.high and math.isfinite(question.key) and question.key != 0:
        above, below = question.high - question.key, question.key - question.low
        if above >= 0 and below >= 0:
            share = max(above, below) / abs(question.key)
            width = share * abs(value)
    slack = float(np.nan_to_num(work_slack(work.take(np.array([row])))[0]))
    width = max(width, slack)
    return float(f"{value - width:.6g}"), float(f"{value + width:.6g}")


def _proof(work: Work, row: int, expected: str) -> str:
    """A sentence on how the answer was obtained."""
    family = work.resolver.family
    case = int(work.resolved.case[row])
    parts = [f"'{family.title}' ({family.name})"]
    data, own = [], []
    for name, datum in {**work.resolver.scalars, **work.resolver.lists}.items():
        column = work.values.get(name)
        if column is None:
            if datum.fixed is not None:
                own.append(f"{name} = {_told(datum, np.array([datum.fixed]))}")
        else:
            data.append(f"{name} = {_told(datum, np.atleast_1d(column[row]))}")
    if data:
        parts.append("with " + ", ".join(data))
    if own:
        parts.append("and, as the family has it, " + ", ".join(own))
    named = f" (case {family.cases[case].name})" if case >= 0 and family.cases[case].name else ""
    told = "; ".join(laws_for(work.resolver, work.unknown, case))
    ends = f"; so {work.unknown} = {expected}" if expected else f", for {work.unknown}"
    return f"{' '.join(parts)}{named}: {told}{ends}."


def _told(datum: Datum, si: Floats) -> str:
    """Values of a given in the unit the family shows it in."""
    shown = datum.unit.from_si(si[np.isfinite(si)])
    numbers = [f"{x:.6g}" for x in shown.tolist()]
    more = ", …" if len(numbers) > _MOST_LISTED else ""
    return with_unit(", ".join(numbers[:_MOST_LISTED]) + more, datum.unit.text)


def laws_for(resolver: Resolver, unknown: str, case: int) -> list[str]:
    """Laws of a case that hold an unknown, and what stands in them for intermediate quantities,
    as the family writes them; a few of each."""
    family = resolver.family
    name = family.cases[case].name if case >= 0 else ""
    laws = [law.equation for law in family.laws if law.case is None or law.case == name]
    chosen = [law for law in laws if unknown in names_in(law)][:_MOST_LAWS]
    used = frozenset().union(*map(names_in, chosen))
    lets = [let for let in family.let.values() if let.name in used][:_MOST_LAWS]
    return [*map(spell, chosen), *(f"{let.name} = {spell(let.expression)}" for let in lets)]


# ---------------------------------------------------------------------------- parts together


def note_swaps(judgements: Sequence[Judgement]) -> list[Judgement]:
    """The same, with keys of two parts of an item that stand in each other's place named so."""
    out = list(judgements)
    by_item: dict[tuple[int, str], list[int]] = {}
    for position, judgement in enumerate(out):
        if judgement.verdict is Verdict.WRONG:
            by_item.setdefault((judgement.number, judgement.item), []).append(position)
    for positions in by_item.values():
        for i in positions:
            for j in positions:
                if i < j and _names(out[i], out[j]) and _names(out[j], out[i]):
                    for one, other in ((i, j), (j, i)):
                        cause = out[one].cause
                        assert cause is not None  # noqa: S101  # `_names` has seen it
                        pair = f"{out[one].part} and {out[other].part}"
                        said = f"the keys of the parts {pair} are exchanged"
                        swapped = replace(cause, code="parts-swapped", says=said)
                        out[one] = replace(out[one], code=swapped.code, cause=swapped)
    return out


def _names(one: Judgement, other: Judgement) -> bool:
    """Whether the key of one part is explained as the answer of another."""
    code = f"other-part:{other.unknown}"
    known = [one.cause, *one.others]
    found = next((cause for cause in known if cause is not None and cause.code == code), None)
    return found is not None
