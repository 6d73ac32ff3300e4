"""One edit of a good family that makes it bad, and the check of what is said of it.

In the text put in, « » enclose what the error must underline.
"""

from pathlib import Path
from typing import NamedTuple

import pytest

from qbank.errors import FamilyError
from qbank.family.loader import read_family

GOOD = (Path(__file__).parent / "cart.yaml").read_text(encoding="utf-8")


SMALL = """\
family: f
title: t
subject: s
version: 1.0.0
given: {h: {name: n, draw: 1 .. 9 by 1 m}}
find: {v: {name: n, unit: m, figures: 2}}
laws: {one: v = 2*h}
ask: [{enter: v}]
text: {stem: 'It is {h}.'}
"""


class Bad(NamedTuple):
    old: str
    new: str
    message: str
    hint: str
    mark: str = ""  # where the place is not in `new`: text of the family with the marks


def edited(bad: Bad) -> str:
    """The good family with the one edit, marks still in it."""
    assert GOOD.count(bad.old) == 1, bad.old
    text = GOOD.replace(bad.old, bad.new)
    if bad.mark:
        unmarked = bad.mark.replace("«", "").replace("»", "")
        assert text.count(unmarked) == 1, unmarked
        text = text.replace(unmarked, bad.mark)
    return text


def check(bad: Bad) -> None:
    text = edited(bad)
    before = text[: text.index("«")]
    marked = text[text.index("«") + 1 : text.index("»")]
    with pytest.raises(FamilyError) as caught:
        read_family(text.replace("«", "").replace("»", ""), "cart.yaml")
    error = caught.value
    assert error.message == bad.message
    assert error.hint == bad.hint
    assert error.place is not None
    assert error.excerpt is not None
    assert error.span is not None
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    assert str(error.place) == f"cart.yaml:{line}:{column}"
    start, end = error.span
    assert error.excerpt[start:end] == marked.split("\n")[0]
