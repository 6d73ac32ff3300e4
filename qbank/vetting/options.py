"""Could a test-wise student pick the right option without solving anything?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qbank.expressions.number_columns import number_texts
from qbank.family.model import ChooseLaw, ChooseStatements, ChooseValue, ChooseWord, Unknown
from qbank.finding import Finding, Severity
from qbank.instances import Floats
from qbank.place import Place
from qbank.sampling.balance import FAR_OFF, balanced
from qbank.sampling.options import distractors, shown_answers
from qbank.vetting import guidelines
from qbank.vetting.evidence import Evidence, Mask, percent
from qbank.vetting.prose import words_of

ODD_ONE_OUT = 0.2  # of the instances; a clue that seldom helps is no clue
SAME_RANK = 0.6  # of the instances; with four options a balanced key stands in each place in 0.25
MIXED_FIGURES = 2  # significant figures between the options of one question
MIXED_FORM = 0.2  # of the instances
PRINTED = 4000  # instances whose options are written out
LONGER = 3.0  # times: an option that sticks out by its length


@dataclass(frozen=True, slots=True)
class _Values:
    """The options of one value question: shown values (n, options), the key in column 0, NaN where
    a slip is not offered."""

    unknown: Unknown
    place: Place
    shown: Floats

    @property
    def offered(self) -> Mask:
        return np.isfinite(self.shown)


def _questions(evidence: Evidence) -> Iterator[_Values]:
    family, instances = evidence.family, evidence.instances
    for part in family.ask:
        if isinstance(part, ChooseValue):
            unknown = family.find[part.quantity]
            key, band = instances.rounded[unknown.name], instances.tolerance[unknown.name]
            wrong = [instances.wrong[slip][unknown.name] for slip in family.slips]
            usable = distractors(unknown, key, band, wrong, len(wrong))
            shown = np.column_stack([shown_answers(unknown, values) for values in wrong])
            # in the order of instances any whole numbers will do: each place in its turn
            offered = balanced(key, shown, usable, part.options - 1, np.arange(len(key)))
            distractor = np.where(offered, shown, np.nan)
            yield _Values(unknown, part.place, np.column_stack([key, distractor]))


def odd_sign(evidence: Evidence) -> Iterator[Finding]:
    """option-odd-sign: one option is the only one of its sign."""
    for question in _questions(evidence):
        negative = (question.shown < 0) & question.offered
        positive = (question.shown > 0) & question.offered
        count = question.offered.sum(axis=1)
        alone = (count > 2) & ((negative.sum(axis=1) == 1) | (positive.sum(axis=1) == 1))
        part = float(np.count_nonzero(alone)) / len(alone)
        if part > ODD_ONE_OUT:
            yield Finding(
                "option-odd-sign",
                Severity.WARNING,
                question.place,
                f"one option for {question.unknown.name} is the only one of its sign in"
                f" {percent(part)} of {len(alone):,} instances",
                f"in at most {percent(ODD_ONE_OUT)}",
                "use slips that keep the sign, or several that turn it",
                {"share": part, "instances": float(len(alone))},
                guidelines.PLAUSIBLE,
            )


def odd_size(evidence: Evidence) -> Iterator[Finding]:
    """option-odd-size: a distractor is off by more than a factor 1000."""
    for question in _questions(evidence):
        with np.errstate(all="ignore"):
            ratio = np.abs(question.shown[:, 1:] / question.shown[:, :1])
            far = ((ratio > FAR_OFF) | (ratio < 1 / FAR_OFF)) & question.offered[:, 1:]
        shares = far.mean(axis=0)
        for slip, part in zip(evidence.family.slips.values(), shares.tolist(), strict=True):
            if part > ODD_ONE_OUT:
                yield Finding(
                    "option-odd-size",
                    Severity.WARNING,
                    slip.place,
                    f"the slip '{slip.name}' makes a distractor for {question.unknown.name} that is"
                    f" off by more than a factor {FAR_OFF:,.0f} in {percent(part)} of"
                    f" {len(far):,} instances",
                    f"in at most {percent(ODD_ONE_OUT)}; its size gives it away",
                    "keep it for typed answers and put slips of a likelier size before it",
                    {"share": part, "instances": float(len(far))},
                    guidelines.PLAUSIBLE,
                )


def same_rank(evidence: Evidence) -> Iterator[Finding]:
    """key-same-rank: in ascending order the key stands in the same place too often."""
    for question in _questions(evidence):
        shown, offered = question.shown, question.offered
        with np.errstate(invalid="ignore"):
            below = ((shown < shown[:, :1]) & offered).sum(axis=1)
        count = int(offered.sum(axis=1).max())
        ranks = np.bincount(below, minlength=count) / len(below)
        place, part = int(np.argmax(ranks)), float(ranks.max())
        if count > 1 and part > SAME_RANK:
            words = {0: "the smallest", count - 1: "the largest"}
            which = words.get(place, f"number {place + 1} in ascending order")
            yield Finding(
                "key-same-rank",
                Severity.WARNING,
                question.place,
                f"the key for {question.unknown.name} is {which} of {count} options in"
                f" {percent(part)} of {len(below):,} instances",
                f"no place holds the key in more than {percent(SAME_RANK)}",
                "add slips that lead to larger and to smaller values, so that the place varies",
                {f"share at place {i + 1}": float(s) for i, s in enumerate(ranks)},
                guidelines.VARY_THE_KEY,
            )


def mixed_figures(evidence: Evidence) -> Iterator[Finding]:
    """option-mixed-figures: options differ in figures, or only some have a power of ten."""
    for question in _questions(evidence):
        unknown, shown = question.unknown, question.shown[:PRINTED]
        offered = np.isfinite(shown)
        flat = np.where(offered, shown, 0.0).ravel()
        texts = number_texts(flat, unknown.shown)
        figures = np.array([_figures(text) for text in texts]).reshape(shown.shape)
        powers = np.array(["×" in text for text in texts]).reshape(shown.shape)
        most = np.where(offered, figures, 0).max(axis=1)
        least = np.where(offered, figures, 99).min(axis=1)
        some = (powers & offered).any(axis=1) & (~powers & offered).any(axis=1)
        odd = (most - least > MIXED_FIGURES) | some
        part = float(np.count_nonzero(odd)) / len(odd)
        if part > MIXED_FORM:
            yield Finding(
                "option-mixed-figures",
                Severity.WARNING,
                question.place,
                f"the options for {unknown.name} differ in their significant figures, or some have"
                f" a power of ten and some not, in {percent(part)} of {len(odd):,} instances",
                f"in at most {percent(MIXED_FORM)}",
                f"show {unknown.name} with `figures:` and one `notation:`, or in a handier unit",
                {"share": part, "instances": float(len(odd))},
                guidelines.HOMOGENEOUS,
            )


def _figures(text: str) -> int:
    """Significant figures of a printed number; 0 for zero.

    >>> _figures("0.0120"), _figures("1.5 × 10⁻³")
    (3, 2)
    """
    return len(text.split(" ", maxsplit=1)[0].lstrip("−").replace(".", "").lstrip("0"))


def unequal_length(evidence: Evidence) -> Iterator[Finding]:
    """option-odd-length: an option sticks out by its length."""
    for part in evidence.family.ask:
        match part:
            case ChooseWord():
                texts = list(dict.fromkeys(c.words[part.word] for c in evidence.family.cases))
            case ChooseStatements():
                texts = [" ".join(words_of(s.text)) for s in part.statements]
            case ChooseValue() | ChooseLaw():
                continue
            case _:
                continue
        lengths = sorted(map(len, texts))
        if lengths[-1] > LONGER * lengths[-2] or lengths[-1] > LONGER * max(lengths[0], 12):
            longest = max(texts, key=len)
            yield Finding(
                "option-odd-length",
                Severity.NOTE,
                part.place,
                f"the option '{longest[:60]}' has {lengths[-1]} characters, the shortest"
                f" {lengths[0]}",
                f"no option is more than {LONGER:g} times as long as another",
                "shorten it, or say the others in full",
                {"longest": float(lengths[-1]), "shortest": float(lengths[0])},
                guidelines.EQUAL_LENGTH,
            )
