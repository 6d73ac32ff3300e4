"""Items that say which instance of a family they are: that instance is made again and compared.

Nothing is rendered but the options of choices. A stem must still show the numbers of its
instance; where one was changed afterwards, the key is judged by the numbers that stand there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from qbank.audit.judging import judge, note_swaps, states
from qbank.audit.question import Question
from qbank.audit.reading.quantities import plain_numbers
from qbank.audit.reading.shown import arranged, in_line, options_of
from qbank.audit.reading.text import inline_text
from qbank.audit.remaking import AtHand, Source, rounded
from qbank.audit.resolving import Floats
from qbank.audit.verdict import Cause, Judgement, Level, Verdict
from qbank.errors import QbankError
from qbank.family.model import (
    Ask,
    ChooseValue,
    Enter,
    Family,
    Given,
    Match,
    PutInOrder,
    Sampled,
)
from qbank.finding import Severity
from qbank.generation import LAST_INDEX
from qbank.instances import Instances
from qbank.item import Choice, Matching, Option, Ordering, Provenance
from qbank.proof.evidence import GAP, LAST_SEED

LAST_BITS = 1e-9  # relative
WRONG_ORDER = "wrong-order"  # of entries, or of what is paired with what
EDITED = "The stem was edited after the item was made; the numbers that stand in it are used."
CHANGED = "The key was changed after the item was made."

Progress = Callable[[int], None]


def judge_same_family(
    questions: Iterable[Question],
    families: Mapping[str, Family] | None = None,
    progress: Progress | None = None,
) -> tuple[list[Judgement], list[Question]]:
    """The verdicts on questions that name an instance of a family at hand, and the questions left.

    `families` are by their digest, beside those shipped. `progress` is called with how many
    questions were judged since last time. Left are questions without provenance, of a family that
    is not at hand or has another content, and those whose parts or stem are no longer those of
    the instance and cannot be read as its data either. Both lists keep the order of the bank.
    """
    asked = list(questions)
    at_hand = AtHand(families or {})
    wanted: dict[tuple[str, str], dict[int, dict[int, list[int]]]] = {}
    for position, question in enumerate(asked):
        claim = question.provenance
        if claim is not None and 0 <= claim.index < LAST_INDEX and 0 <= claim.seed < LAST_SEED:
            by_seed = wanted.setdefault((claim.digest, question.language), {})
            by_index = by_seed.setdefault(claim.seed, {})
            by_index.setdefault(claim.index, []).append(position)
            at_hand.names.setdefault(claim.digest, claim.family)
    found: dict[int, Judgement] = {}
    for (digest, language), by_seed in wanted.items():
        source = at_hand.source(digest, language)
        if source is None:
            continue
        batch = _Batch(source, asked)
        for seed, by_index in by_seed.items():
            for run in _runs(by_index):
                batch.add(seed, run)
        for position, judgement in batch.judgements(progress):
            found[position] = judgement
    judged = note_swaps([found[position] for position in sorted(found)])
    return judged, [q for position, q in enumerate(asked) if position not in found]


def _runs(by_index: Mapping[int, list[int]]) -> Iterator[dict[int, list[int]]]:
    """Indices in runs of neighbours, which are made again together."""
    run: dict[int, list[int]] = {}
    last = 0
    for index in sorted(by_index):
        if run and index - last > GAP:
            yield run
            run = {}
        run[index] = by_index[index]
        last = index
    if run:
        yield run


@dataclass(slots=True)
class _AsMade:
    """Questions for one unknown whose stems are those of their instances, `rows` of `made`."""

    made: Instances
    rows: list[int] = field(default_factory=list)
    positions: list[int] = field(default_factory=list)

    def taken(self) -> Instances:
        return (
            self.made
            if self.rows == list(range(len(self.made)))
            else self.made.take(np.array(self.rows, dtype=np.int64))
        )


@dataclass(slots=True)
class _Edited:
    """Questions for one unknown with the data their stems state, row by row."""

    positions: list[int] = field(default_factory=list)
    values: list[dict[str, float | Floats]] = field(default_factory=list)


class _Batch:
    """The questions of one family, collected to be judged together."""

    def __init__(self, source: Source, asked: Sequence[Question]) -> None:
        self.source = source
        self.asked = asked
        self.as_made: dict[str, list[_AsMade]] = {}
        self.edited: dict[str, _Edited] = {}
        self.done: list[tuple[int, Judgement]] = []
        self.kinds = [_kind(ask) for ask in source.family.ask]

    def add(self, seed: int, run: Mapping[int, list[int]]) -> None:
        """Take up the questions (positions) of some neighbouring indices of a seed."""
        first, last = min(run), max(run)
        wanted = np.fromiter(run, dtype=np.int64)
        try:
            for made in self.source.generator.generate(last - first + 1, seed, first):
                asked = np.isin(made.index, wanted)
                if asked.any():
                    self._take(made if asked.all() else made.take(asked), run)
        except QbankError:
            return  # there is no such instance: other levels get the questions

    def _take(self, made: Instances, run: Mapping[int, list[int]]) -> None:
        choices = self.source.parts(made)
        data = self.source.data(made)
        prints = self.source.prints(made)
        asks = self.source.family.ask
        as_made: dict[str, _AsMade] = {}
        for row, index in enumerate(made.index.tolist()):
            positions = run[index]
            changed = self._changes(self.asked[positions[0]], prints[row])
            if changed is None:
                continue
            for position in positions:
                number = self._part(position, positions)
                if number is None:
                    continue
                ask = asks[number - 1]
                question = self.asked[position]
                part = choices[row].get(number)
                if isinstance(part, Choice) and not changed:
                    self._choose(position, part, made, row)
                elif isinstance(part, Ordering | Matching):
                    if not changed:
                        self._arrange(position, part, made, row)
                elif isinstance(ask, Enter | ChooseValue) and (
                    not question.options or math.isfinite(question.key)
                ):
                    name = ask.quantity
                    if changed:
                        edited = self.edited.setdefault(name, _Edited())
                        edited.positions.append(position)
                        values = {given: column[row] for given, column in data.items()}
                        edited.values.append({**values, **changed})
                    else:
                        same = as_made.get(name) or as_made.setdefault(name, _AsMade(made))
                        same.rows.append(row)
                        same.positions.append(position)
        for name, same in as_made.items():
            self.as_made.setdefault(name, []).append(same)

    def _part(self, position: int, positions: Sequence[int]) -> int | None:
        """Which part of the family a question is, counted from 1."""
        own = self.asked[position]
        kind = "arranged" if own.arranged else "choice" if own.options else "number"
        number = own.part.removeprefix("R")
        if number.isascii() and number.isdecimal() and len(number) < 4:
            at = int(number)
        elif len(positions) == len(self.kinds):
            at = positions.index(position) + 1
        else:
            return None
        return at if 1 <= at <= len(self.kinds) and kind == self.kinds[at - 1] else None

    # ------------------------------------------------------------------------ stems

    def _changes(
        self,
        question: Question,
        prints: Mapping[str, tuple[str, ...]],
    ) -> dict[str, float | Floats] | None:
        """Data that the stem states otherwise than the instance, as it states them.

        None where a number is gone and nothing stands in its place.
        """
        given = self.source.family.given
        plainly = {f"={rounded(number)}" for number in plain_numbers(question.stem)}
        if all(_stands(texts, plainly, given[name]) for name, texts in prints.items()):
            return {}
        quantities = question.quantities
        there = {f"={rounded(float(quantity.value))}" for quantity in quantities}
        gone = [name for name, texts in prints.items() if not _stands(texts, there, given[name])]
        if gone:  # perhaps in another unit; exact conversions take their time
            there |= {rounded(q.si) for q in quantities if q.unit is not None}
            gone = [name for name in gone if not _stands(prints[name], there, given[name])]
        if not gone:
            return {}
        known = {text for name, texts in prints.items() if name not in gone for text in texts}
        left = [
            quantity
            for quantity in quantities
            if rounded(quantity.si) not in known
            and f"={rounded(float(quantity.value))}" not in known
        ]
        changes: dict[str, float | Floats] = {}
        for name in gone:
            if isinstance(given[name].source, Sampled):
                return None
            unit = given[name].unit
            fitting = [
                q for q in left if q.unit is not None and q.unit.dimension == unit.dimension
            ] or ([q for q in left if q.unit is None] if not unit.text else [])
            named = [q for q in fitting if q.symbol and q.symbol == given[name].symbol]
            best = named or fitting
            if len(best) != 1:
                return None
            left.remove(best[0])
            changes[name] = best[0].si
        return changes

    # ------------------------------------------------------------------------ choices

    def _choose(
        self,
        position: int,
        part: Choice,
        made: Instances,
        row: int,
    ) -> None:
        question = self.asked[position]
        by_name = {option.identifier: option for option in part.options}
        stated = {option.identifier: option for option in question.options}
        if by_name.keys() != stated.keys():
            return
        keyed = [name for name, option in stated.items() if option.keyed]
        texts = {name: inline_text(option.content) for name, option in by_name.items()}
        if any(stated[name].text != texts[name] for name in keyed):
            moved = _moved({name: option.text for name, option in stated.items()}, texts)
            if moved is None:
                return  # the options are not those of the instance
            by_name = {name: by_name[moved[name]] for name in stated}
        right = [name for name, option in by_name.items() if option.correct]
        same = set(keyed) == set(right)
        family = self.source.family
        case = family.cases[int(made.case[row])].name
        cause = None if same else _cause(part, by_name, keyed)
        expected = "; ".join(inline_text(by_name[name].content) for name in right)
        how = ""
        if not same:
            claim = question.provenance
            assert claim is not None  # noqa: S101  # it led here
            how = f"Made again, {self._instance(claim)} has the key: {expected}."
        self.done.append(
            (
                position,
                Judgement(
                    item=question.item,
                    part=question.part,
                    place=question.place,
                    number=question.number,
                    verdict=Verdict.RIGHT if same else Verdict.WRONG,
                    level=Level.SAME_FAMILY,
                    code="right" if same else "wrong-option" if cause is None else cause.code,
                    severity=None if same else Severity.ERROR,
                    states=states(question),
                    expected="" if same else expected,
                    how=how,
                    cause=cause,
                    family=family.name,
                    case=case,
                    correct=() if same else tuple(right),
                ),
            )
        )

    def _arrange(self, position: int, part: Ordering | Matching, made: Instances, row: int) -> None:
        question = self.asked[position]
        texts = [inline_text(option.content) for option in options_of(part)]
        right = arranged(part, texts)
        if not _of_instance(question.arranged, part, texts):
            return  # what is arranged is not what the instance has
        same = question.arranged == right
        expected = "" if same else in_line(right)
        claim = question.provenance
        assert claim is not None  # noqa: S101  # it led here
        family = self.source.family
        what = "order" if isinstance(part, Ordering) else "pairs"
        how = f"Made again, {self._instance(claim)} has the other {what}."
        self.done.append(
            (
                position,
                Judgement(
                    item=question.item,
                    part=question.part,
                    place=question.place,
                    number=question.number,
                    verdict=Verdict.RIGHT if same else Verdict.WRONG,
                    level=Level.SAME_FAMILY,
                    code="right" if same else WRONG_ORDER,
                    severity=None if same else Severity.ERROR,
                    states=question.key_text,
                    expected=expected,
                    how="" if same else how,
                    family=family.name,
                    case=family.cases[int(made.case[row])].name,
                ),
            )
        )

    def _instance(self, claim: Provenance) -> str:
        family = self.source.family
        return f"instance {claim.index} of '{family.title}' ({family.name})"

    # ------------------------------------------------------------------------ judging

    def judgements(self, progress: Progress | None) -> Iterator[tuple[int, Judgement]]:
        """Each question taken up, by its position, with the verdict."""
        tell = progress or (lambda _done: None)
        yield from self.done
        if self.done:
            tell(len(self.done))
        for unknown, chunks in self.as_made.items():
            found = self._untouched(unknown, chunks) or self._judged_as_made(unknown, chunks)
            yield from found
            tell(len(found))
        for unknown, edited in self.edited.items():
            questions = [self.asked[position] for position in edited.positions]
            values = _stacked(edited.values)
            found_edited = judge(
                self.source.resolver, unknown, values, questions, level=Level.BOUND
            )
            for position, judgement in zip(edited.positions, found_edited, strict=True):
                yield position, _told(judgement, "stem-edited", EDITED)
            tell(len(questions))

    def _untouched(self, unknown: str, chunks: Sequence[_AsMade]) -> list[tuple[int, Judgement]]:
        """The verdicts where every key and band is still what the family makes; else none."""
        unit = self.source.family.find[unknown].unit
        names = [case.name for case in self.source.family.cases]
        out = []
        for chunk in chunks:
            questions = [self.asked[position] for position in chunk.positions]
            made = chunk.taken()
            stated = np.array([(q.key, q.low, q.high) for q in questions]).T
            kept = np.array([made.rounded[unknown], *made.tolerance[unknown]])
            off = np.abs(stated - kept) > LAST_BITS * np.abs(kept)
            if not np.isfinite(stated).all() or off.any():
                return []
            if any(q.options or q.unit not in (None, unit) for q in questions):
                return []
            shown = unit.from_si(made.values[unknown]).tolist()
            cases = made.case.tolist()
            for at, (position, question) in enumerate(zip(chunk.positions, questions, strict=True)):
                judgement = Judgement(
                    item=question.item,
                    part=question.part,
                    place=question.place,
                    number=question.number,
                    verdict=Verdict.RIGHT,
                    level=Level.SAME_FAMILY,
                    code="right",
                    states=states(question),
                    value=shown[at],
                    family=self.source.family.name,
                    case=names[cases[at]],
                    unknown=unknown,
                )
                out.append((position, judgement))
        return out

    def _judged_as_made(
        self, unknown: str, chunks: Sequence[_AsMade]
    ) -> list[tuple[int, Judgement]]:
        """The verdicts by solving for the data of the instances."""
        taken = [chunk.taken() for chunk in chunks]
        positions = [position for chunk in chunks for position in chunk.positions]
        questions = [self.asked[position] for position in positions]
        values = {
            name: _joined([self.source.data(made)[name] for made in taken])
            for name in self.source.data(taken[0])
        }
        low, high = (
            np.concatenate([made.tolerance[unknown][end] for made in taken]).tolist()
            for end in (0, 1)
        )
        found = judge(self.source.resolver, unknown, values, questions, level=Level.SAME_FAMILY)
        out = []
        for at, judgement in enumerate(found):
            told = judgement
            if judgement.verdict is not Verdict.UNCHECKED:
                told = self._changed(judgement, questions[at], unknown, (low[at], high[at]))
            out.append((positions[at], told))
        return out

    def _changed(
        self, judgement: Judgement, question: Question, unknown: str, band: tuple[float, float]
    ) -> Judgement:
        """The verdict on a key whose stem is that of the instance."""
        told = judgement
        own = _same_unit(question, unknown, self.source)
        if own:
            told = _fair(judgement, question.key, band)
        if told.verdict in (Verdict.ROUNDED, Verdict.OTHER_CONSTANT):
            return replace(_told(told, told.code, CHANGED), severity=Severity.WARNING)
        if told.verdict is Verdict.WRONG and own:
            low, high = band
            return replace(told, low=low, high=high)
        return told


def _fair(judgement: Judgement, key: float, band: tuple[float, float]) -> Judgement:
    """The verdict by the band of the instance, which holds all honest work: a key outside it is
    wrong, however it came about, and one within it is at most off."""
    low, high = band
    room = LAST_BITS * max(abs(low), abs(high))
    within = low - room <= key <= high + room
    if judgement.verdict is Verdict.WRONG and within:
        return replace(judgement, verdict=Verdict.ROUNDED, code="key-off-in-band",
                       severity=Severity.WARNING, low=math.nan, high=math.nan)  # fmt: skip
    lenient = judgement.code == "key-off-in-band"  # the bank accepts the right answer as well
    if judgement.verdict.right and not within and not lenient:
        code = judgement.cause.code if judgement.cause else "unexplained"
        return replace(judgement, verdict=Verdict.WRONG, code=code, severity=Severity.ERROR)
    return judgement


def _of_instance(
    keyed: Sequence[Sequence[str]], part: Ordering | Matching, texts: Sequence[str]
) -> bool:
    """Whether what is keyed are the entries of the part, or pairs of what it offers; a wrong pair
    may hold a target that belongs to no source, or one twice."""
    if isinstance(part, Ordering):
        return sorted(entry[0] for entry in keyed) == sorted(texts)
    count = len(part.sources)
    offered = set(texts[:count]), set(texts[count:])
    return all(source in offered[0] and target in offered[1] for source, target in keyed)


def _kind(ask: Ask) -> str:
    """What is done in a part that asks so."""
    if isinstance(ask, PutInOrder | Match):
        return "arranged"
    return "number" if isinstance(ask, Enter) else "choice"


def _moved(stated: Mapping[str, str], made: Mapping[str, str]) -> dict[str, str] | None:
    """For each option stated the one of the instance that has its text, where the texts stand
    in another order; None where they are others, or two are the same."""
    by_text = {text: name for name, text in made.items()}
    if len(by_text) < len(made) or sorted(stated.values()) != sorted(by_text):
        return None
    return {name: by_text[text] for name, text in stated.items()}


def _stands(texts: Sequence[str], there: set[str], given: Given) -> bool:
    """Whether a number of a given, or all of a data list, are among the numbers of a stem."""
    if isinstance(given.source, Sampled):
        return all(text in there for text in texts)
    return any(text in there for text in texts)


def _told(judgement: Judgement, code: str, says: str) -> Judgement:
    """The judgement with a sentence added; `code` where it had nothing to tell."""
    how = f"{judgement.how} {says}".strip()
    if judgement.verdict is Verdict.RIGHT:
        return replace(judgement, how=how, code=code, severity=Severity.NOTE)
    return replace(judgement, how=how)


def _same_unit(question: Question, unknown: str, source: Source) -> bool:
    own = source.family.find[unknown].unit
    return question.unit is None or question.unit == own


def _cause(part: Choice, options: Mapping[str, Option], keyed: Sequence[str]) -> Cause | None:
    """The slip that leads to a lone option that is keyed."""
    if len(keyed) != 1 or part.multiple:
        return None
    slip = options[keyed[0]].slip
    if slip is None:
        return None
    said = inline_text(options[keyed[0]].feedback)
    return Cause(f"slip:{slip}", f"the slip '{slip}': {said}".rstrip(": "), float("nan"))


def _stacked(rows: Sequence[Mapping[str, float | Floats]]) -> dict[str, Floats]:
    """Data of rows as arrays: (n,), data lists (n, m) padded with NaN."""
    out: dict[str, Floats] = {}
    for name in rows[0]:
        column = [np.asarray(row[name], dtype=np.float64) for row in rows]
        if column[0].ndim == 0:
            out[name] = np.array([float(value) for value in column])
            continue
        most = max(map(len, column))
        table = np.full((len(rows), most), np.nan)
        for row, value in enumerate(column):
            table[row, : len(value)] = value
        out[name] = table
    return out


def _joined(columns: Sequence[Floats]) -> Floats:
    """Data of several sets of instances in one array; data lists padded with NaN."""
    if columns[0].ndim > 1:
        most = max(column.shape[1] for column in columns)
        columns = [
            np.pad(column, ((0, 0), (0, most - column.shape[1])), constant_values=np.nan)
            for column in columns
        ]
    return np.concatenate(columns)
