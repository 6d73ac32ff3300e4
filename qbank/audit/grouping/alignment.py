"""Two wordings laid beside each other, so that numbers in the same place meet."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import SequenceMatcher

from qbank.audit.grouping.wording import RUN, SLOT

_WORD, _NUMBER, _OTHER_KIND, _LIST = 2, 3, 1, 1  # what a match is worth; a gap costs 1
_GAP = -1
_IMPOSSIBLE = -1_000_000
MOST_CELLS = 60_000  # of the table; beyond, longest common runs of words are sought


def aligned(
    one: Sequence[str],
    two: Sequence[str],
    kinds_one: Sequence[object],
    kinds_two: Sequence[object],
) -> list[tuple[int, int]]:
    """Pairs of positions of slots in `one` and `two` that stand in the same place, in order.

    `kinds` say what a slot holds (its dimension), anything for words: slots of one kind go
    together rather than others. Best global alignment (Needleman and Wunsch, 1970).
    """
    start = 0
    end_one, end_two = len(one), len(two)
    while start < min(end_one, end_two) and _same(one, two, kinds_one, kinds_two, start, start):
        start += 1
    while (
        end_one > start
        and end_two > start
        and _same(one, two, kinds_one, kinds_two, end_one - 1, end_two - 1)
    ):
        end_one, end_two = end_one - 1, end_two - 1
    pairs = [(at, at) for at in range(start)]
    if (end_one - start) * (end_two - start) <= MOST_CELLS:
        pairs += _best(one, two, kinds_one, kinds_two, (start, end_one, end_two))
    else:
        # words that stand everywhere are left out of the search, which bounds its time
        matcher = SequenceMatcher(None, one[start:end_one], two[start:end_two], autojunk=True)
        for block in matcher.get_matching_blocks():
            pairs += [(start + block.a + i, start + block.b + i) for i in range(block.size)]
    pairs += [(end_one + i, end_two + i) for i in range(len(one) - end_one)]
    return [(a, b) for a, b in pairs if one[a] in (SLOT, RUN) and two[b] in (SLOT, RUN)]


def _same(
    one: Sequence[str],
    two: Sequence[str],
    kinds_one: Sequence[object],
    kinds_two: Sequence[object],
    i: int,
    j: int,
) -> bool:
    if one[i] != two[j]:
        return False
    return one[i] not in (SLOT, RUN) or kinds_one[i] == kinds_two[j]


def _best(
    one: Sequence[str],
    two: Sequence[str],
    kinds_one: Sequence[object],
    kinds_two: Sequence[object],
    part: tuple[int, int, int],
) -> list[tuple[int, int]]:
    start, end_one, end_two = part
    rows, columns = end_one - start, end_two - start
    if not rows or not columns:
        return []

    def score(i: int, j: int) -> int:
        a, b = one[start + i], two[start + j]
        if a == b and a not in (SLOT, RUN):
            return _WORD
        if (a in (SLOT, RUN)) != (b in (SLOT, RUN)):
            return _IMPOSSIBLE
        if a in (SLOT, RUN):
            if kinds_one[start + i] == kinds_two[start + j]:
                return _NUMBER if a == b else _LIST
            return _OTHER_KIND
        return 0  # a word in another's place

    table = [[_GAP * j for j in range(columns + 1)]]
    for i in range(1, rows + 1):
        above = table[-1]
        row = [_GAP * i]
        for j in range(1, columns + 1):
            row.append(max(above[j - 1] + score(i - 1, j - 1), above[j] + _GAP, row[j - 1] + _GAP))
        table.append(row)
    pairs = []
    i, j = rows, columns
    while i and j:
        here = table[i][j]
        if here == table[i - 1][j - 1] + score(i - 1, j - 1):
            i, j = i - 1, j - 1
            pairs.append((start + i, start + j))
        elif here == table[i - 1][j] + _GAP:
            i -= 1
        else:
            j -= 1
    return pairs[::-1]
