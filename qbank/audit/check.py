"""Checking a bank: read it, solve what can be solved, judge every key.

Each keyed part gets one verdict on its key, from the strongest level that has one: the family it
was made of, a binding file, a family found by trying, the surface on which its siblings lie. What
is wrong with an item by itself is told besides. A part that no level could judge is listed with
the reason, so that silence never looks like approval.
"""

from __future__ import annotations

import gc
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from qbank.audit.binding import Binding, bind, binding_text, load_bindings
from qbank.audit.case_words import cases_of, judge_case_words
from qbank.audit.confidence import weighed
from qbank.audit.evident.judge import SAME_TEXT, judge_duplicates, judge_evident
from qbank.audit.evident.scored import score_findings
from qbank.audit.evident.selections import NO_OPTION_KEYED
from qbank.audit.families import shipped
from qbank.audit.grouping import group_questions
from qbank.audit.judging import judge, note_swaps
from qbank.audit.matching import MatchedGroup, match_groups
from qbank.audit.matching.search import FEW
from qbank.audit.options import judge_choices
from qbank.audit.outliers.judge import judge_parts
from qbank.audit.question import Question
from qbank.audit.reading.questions import questions_of
from qbank.audit.reading.shown import Shown
from qbank.audit.resolving import resolver_of
from qbank.audit.same_family import judge_same_family
from qbank.audit.verdict import Audit, Judgement, Level, Verdict
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.finding import Severity
from qbank.formats.opening import open_any_bank
from qbank.formats.source import ReadItem

ON_SURFACE = "on-surface"  # a key without a family that lies where its siblings' keys lie
Progress = Callable[[int, int], None]


def check_bank(
    path: str | Path,
    *,
    families: Sequence[Family | str | Path] = (),
    bindings: str | Path | Sequence[Binding] | None = None,
    columns: Mapping[str, str] | None = None,
    progress: Progress | None = None,
) -> Audit:
    """Everything that can be found wrong with the keys of a bank of anyone's making.

    `path` is a package of any format that is read, a table or a single document. `families` are
    those to solve with, the shipped ones if none is named; items that say which family made them
    are also held against the shipped ones. `bindings` is a binding file or what was read from one.
    `columns` says for a table which column holds what. `progress` is called with how many items
    are done, of how many.

    Raises QbankError where the bank as a whole cannot be read, FamilyError for a family or a
    binding file that is at fault. An item that cannot be read is listed and the others are checked.
    """
    known = _families(families)
    if isinstance(bindings, str | Path):
        bindings = load_bindings(Path(bindings), known or shipped())
    with _uncollected():
        return _checked(Path(path), known, bindings or (), columns, progress)


def _checked(
    path: Path,
    known: Sequence[Family],
    bindings: Sequence[Binding],
    columns: Mapping[str, str] | None,
    progress: Progress | None,
) -> Audit:
    gathered = _Gathered()
    with open_any_bank(path, columns, whole=False) as bank:
        questions = list(questions_of(gathered.watch(bank)))
        audit = Audit(str(path), bank.format, items=gathered.items)
        audit.losses = [str(loss) for loss in (*bank.unreadable, *bank.losses, *gathered.losses)]
        audit.columns = list(bank.columns)
    tell = progress or (lambda _done, _total: None)
    report = _Counter(tell, len(questions))
    judged = _Judged(questions)

    first, left = judge_same_family(questions, {family.digest: family for family in known})
    judged.add(first)
    report(len(first))

    left, arranged = _parted(left)
    judged.explain("no-key-to-solve", arranged)
    read = bind(left, bindings)
    nearly = {
        (question.number, question.part): read.reasons[at]
        for at, question in enumerate(read.left)
        if at in read.reasons
    }
    judged.explain("binding", nearly)
    if read.left and not known:  # a bank that says where all of it comes from needs none
        known = shipped()
    found = match_groups(group_questions(read.left), known)
    again = _matched_again(found.matched, known)
    matched = (*read.matched, *again, *found.matched)
    for match in matched:
        judged.add(judge_matched(match))
        report(len(match.group))
    cases = cases_of(judged.verdicts(), questions) if found.unmatched else {}
    surfaces = judge_parts([unmatched.group for unmatched in found.unmatched])
    for unmatched, (suspects, said) in zip(found.unmatched, surfaces, strict=True):
        odd, beside = judge_case_words(unmatched.group, cases)
        judged.add(odd)
        judged.explain(ON_SURFACE, {at: _sentence(how) for at, how in beside.items()})
        judged.add(suspects)
        why = f"{_sentence(unmatched.reason)} Beside its siblings: {_sentence(said)}"
        reasons = {(q.number, q.part): why for q in unmatched.group.questions}
        judged.explain(
            ON_SURFACE if said.startswith("the keys follow") else unmatched.code, reasons
        )
        report(len(unmatched.group))

    verdicts = judged.all()
    audit.judgements = sorted(
        [
            *verdicts,
            *gathered.unscored,
            *_in_doubt([*gathered.evident, *judge_duplicates(questions)], verdicts),
        ],
        key=lambda judgement: judgement.number,
    )
    accused = {(j.number, j.part) for j in audit.judgements if j.accuses}
    audit.accused = [q for q in questions if (q.number, q.part) in accused]
    audit.assignments = [match.assignment for match in matched]
    audit.binding = binding_text(matched)
    return audit


def _parted(
    questions: Sequence[Question],
) -> tuple[list[Question], dict[tuple[int, str], str]]:
    """The questions that solving can answer, and why not for the others."""
    why = "What is put in order or matched is no number that a family is solved for."
    others = {(q.number, q.part): why for q in questions if q.arranged}
    return [q for q in questions if not q.arranged], others


def _in_doubt(evident: Iterable[Judgement], verdicts: Iterable[Judgement]) -> Iterator[Judgement]:
    """What is evident, in the light of the keys that are right: that none of several options is
    keyed is nothing to tell of them, and another key of the same question is no fault of theirs."""
    right = {(j.number, j.part) for j in verdicts if j.verdict is Verdict.RIGHT}
    for judgement in evident:
        if (judgement.number, judgement.part) not in right:
            yield judgement
        elif judgement.code == SAME_TEXT:
            yield replace(judgement, verdict=Verdict.REMARK, severity=Severity.NOTE)
        elif judgement.code != NO_OPTION_KEYED:
            yield judgement


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without the cyclic garbage collector, which would go through all that is known of a bank
    again and again: it lives until the end of a check, and next to nothing in it is cyclic."""
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


def _matched_again(
    matched: Sequence[MatchedGroup], families: Sequence[Family]
) -> list[MatchedGroup]:
    """Families of questions that were taken for siblings of others and are not like them, where
    they are so many that their keys decide."""
    odd = [
        question
        for match in matched
        for question, usable in zip(match.group.questions, match.usable.tolist(), strict=True)
        if not usable and math.isfinite(question.key)
    ]
    groups = [group for group in group_questions(odd) if len(group) > FEW] if odd else []
    return list(match_groups(groups, families).matched) if groups else []


def _families(families: Sequence[Family | str | Path]) -> list[Family]:
    return [
        family if isinstance(family, Family) else load_family(find_family(family))
        for family in families
    ]


@dataclass(slots=True)
class _Counter:
    """Tells how far the work has come."""

    tell: Progress
    total: int
    done: int = 0

    def __call__(self, more: int) -> None:
        self.done += more
        self.tell(min(self.done, self.total), self.total)


class _Gathered:
    """What is noted of the items as they pass by; the items themselves are dropped."""

    def __init__(self) -> None:
        self.items = 0
        self.losses: list[object] = []
        self.evident: list[Judgement] = []
        self.unscored: list[Judgement] = []

    def watch(self, bank: Iterable[ReadItem]) -> Iterator[Shown]:
        """The items in order."""
        for read in bank:
            shown = Shown(read)
            self.losses += read.losses
            self.evident += judge_evident(shown, self.items)
            if read.document:
                found = score_findings(shown, read.document)
                self.evident += [replace(judgement, number=self.items) for judgement in found]
            self._note_unscored(read)
            self.items += 1
            yield shown

    def _note_unscored(self, read: ReadItem) -> None:
        """An item without parts makes no question; it is not checked, and that is said."""
        if not read.item.parts:
            self.unscored.append(
                Judgement(
                    read.item.identifier,
                    "",
                    read.place,
                    self.items,
                    Verdict.UNCHECKED,
                    code="no-key-to-solve",
                    severity=Severity.NOTE,
                    how="The item has no part that a machine scores.",
                )
            )


class _Judged:
    """One verdict for each question; a question nobody judged is not checked, with the reason."""

    def __init__(self, questions: Sequence[Question]) -> None:
        self._questions = questions
        self._verdicts: dict[tuple[int, str], Judgement] = {}
        self._reasons: dict[tuple[int, str], tuple[str, str]] = {}

    def add(self, judgements: Iterable[Judgement]) -> None:
        """Verdicts of a level; those of a stronger one stay."""
        for judgement in judgements:
            self._verdicts.setdefault((judgement.number, judgement.part), judgement)

    def verdicts(self) -> Iterable[Judgement]:
        """Those given so far."""
        return self._verdicts.values()

    def explain(self, code: str, reasons: Mapping[tuple[int, str], str]) -> None:
        """Why the keys of some parts could not be judged, by number of the item and part."""
        for at, reason in reasons.items():
            self._reasons.setdefault(at, (code, reason))

    def all(self) -> list[Judgement]:
        """The verdicts in the order of the bank, keys of exchanged parts named so."""
        out = []
        for question in self._questions:
            at = question.number, question.part
            out.append(self._verdicts.get(at) or self._unchecked(question))
        return note_swaps(out)

    def _unchecked(self, question: Question) -> Judgement:
        code, reason = self._reasons.get((question.number, question.part), ("no-level", ""))
        return Judgement(
            question.item,
            question.part,
            question.place,
            question.number,
            Verdict.UNCHECKED,
            code=code,
            severity=Severity.NOTE,
            states=question.key_text,
            how=reason,
        )


def judge_matched(match: MatchedGroup) -> list[Judgement]:
    """Verdicts on a group whose numbers are known to be quantities of a family."""
    questions = [
        question if question.unit is not None else replace(question, unit=match.key_unit)
        for question in match.group.questions
    ]
    judged = judge(
        resolver_of(match.family),
        match.unknown,
        match.values,
        questions,
        level=match.level,
        stated=frozenset(match.columns),
        confidence=match.confidence.tolist(),
    )
    judgements = [
        judgement if usable else _unusable(judgement)
        for judgement, usable in zip(judged, match.usable.tolist(), strict=True)
    ]
    alone = match.level is Level.MATCHED and match.chance >= 1.0
    if not questions[0].options:
        return [weighed(judgement, alone=alone) for judgement in judgements]
    by_option = judge_choices(
        questions, match.answers, match.key_unit, judgements, level=match.level
    )
    return [weighed(judgement, alone=alone) for judgement in by_option]


def _unusable(judgement: Judgement) -> Judgement:
    """A row that lacks a number, a key or an answer, or asks for something else: not judged."""
    return replace(
        judgement,
        verdict=Verdict.UNCHECKED,
        level=None,
        code="not-like-siblings",
        severity=Severity.NOTE,
        expected="",
        cause=None,
        others=(),
    )


def _sentence(text: str) -> str:
    """A text with a capital first and a full stop last."""
    said = text.strip()
    return said if not said else said[0].upper() + said[1:].rstrip(".") + "."
