"""How fast the families of a bank are found: `python -m tests.audit.matching.speed`.

Fifty siblings of each of the stories in `banks.py`, a fifth of the keys wrong; processor time of
grouping and matching, the families loaded and compiled beforehand.
"""

from __future__ import annotations

import time

from qbank.audit.grouping import group_questions
from qbank.audit.matching import match_groups
from tests.audit.matching.banks import STORIES, bank, shipped


def main() -> None:
    questions = [
        question
        for at, story in enumerate(STORIES.values())
        for question in bank(story, 50, wrong=0.2, first=1000 * at).questions
    ]
    items = len({question.number for question in questions})
    match_groups(group_questions(questions[:100]), shipped())
    start = time.process_time()
    groups = group_questions(questions)
    grouped = time.process_time()
    found = match_groups(groups, shipped())
    end = time.process_time()
    print(f"{len(shipped())} families, {items} items, {len(questions)} keys, {len(groups)} groups")
    print(f"grouping {grouped - start:.2f} s, matching {end - grouped:.2f} s")
    print(f"{items / (end - start):.0f} items a second; {len(found.matched)} groups matched")


if __name__ == "__main__":
    main()
