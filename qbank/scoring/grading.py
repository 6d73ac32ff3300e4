"""Responses in, score and feedback out."""

from __future__ import annotations

from collections.abc import Mapping

from qbank.scoring.assessment import TestScore
from qbank.scoring.bank import Source, find_item, find_test
from qbank.scoring.responses import Answer
from qbank.scoring.result import Score


def score(
    source: Source,
    responses: Mapping[str, Answer],
    item: str | None = None,
    seed: int | str = 0,
) -> Score:
    """Grade one attempt at an item by the rules it carries.

    `source` is a package (a zip file or the folder it was unpacked to), a file with an item, or
    the bytes of either; `item` names the item by its identifier or file name and may be left out
    where there is only one. QTI 1.2.1, 2.1, 2.2 and 3.0 are understood. `responses` by name: a
    text, or for several values a list of texts. The same `seed` gives the same draws of a
    parametrised item.

    Raises QbankError when the source cannot be read or holds no such item, and ScoringError when
    the item's rules cannot be run, it has no such response, or an answer is not of its kind.
    """
    found = find_item(source, item)
    found.ensure_choices(responses)
    return found.score(responses, seed)


def score_test(
    source: Source, responses: Mapping[str, Mapping[str, Answer]], seed: int | str = 0
) -> TestScore:
    """Grade a whole test of QTI 2.x or 3.0 by its own outcome processing.

    `responses` holds, by the identifier of an item's reference, what was submitted for it. The
    same `seed` selects the same items in the same order; which they are is told by
    `find_test(source).select(seed)`. Pre-conditions and branches pass over some of them, as the
    responses have it; the items of the result are those met.

    Raises QbankError as `score` does, and for responses to an item that is not met.
    """
    return find_test(source).score(responses, seed)
