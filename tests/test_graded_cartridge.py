"""Every shipped family in a cartridge, graded by the scorer as a platform would.

A cartridge has no numeric, ordering or matching responses, so that parts fall back. What is graded
is told from the profile that each item states and the part as rendered, not from our reader:

| part     | fallback                          | what is graded here                              |
| -------- | --------------------------------- | ------------------------------------------------ |
| choice   | none                              | key, each option with its feedback, nothing      |
| number   | spellings (`cc.fib`)              | key, key as a bare number, each number printed   |
|          |                                   | to the key's last place from the first within    |
|          |                                   | the tolerance to the last, the next beyond each, |
|          |                                   | slips with their feedback, nothing               |
| number   | options (`cc.multiple_choice`)    | one option is right and is the key; the others   |
|          |                                   | lie outside the tolerance and say which slip     |
| number   | essay (`cc.essay`)                | scores nothing; the key stands in what is shown  |
| order    | choice among whole orders         | the one right option is the order asked for      |
| matching | a choice for each source          | the target that belongs to it, and no other      |
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import cache
from pathlib import Path

import pytest
from lxml import etree

import qbank
from qbank.formats.cartridge_numbers import rounded
from qbank.formats.registry import FORMATS
from qbank.item import BankInfo, Choice, Item, Matching, NumberEntry, Ordering, Part, Pool
from qbank.scoring.bank import find_item
from qbank.scoring.item12 import ScoredItem12
from tests.test_graded import FAMILIES, assert_shows, items_of, plain, right_options

NAME = "cartridge-1.3"
FULL = 100.0
MOST = 20  # spellings that are listed
POWERS = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹−", "-0123456789-")
met: Counter[str] = Counter()  # what was graded, for the last test


@dataclass(frozen=True)
class Asked:
    """An item of the cartridge beside the part it came from, and of a matching the source."""

    item: Item
    part: Part
    form: ScoredItem12
    source: str = ""

    @property
    def profile(self) -> str:
        fields = {
            label.text: label.getnext().text for label in self.form.root.iter("{*}fieldlabel")
        }
        return fields["cc_profile"].removesuffix(".v0p1").removeprefix("cc.")

    @property
    def options(self) -> dict[str, str]:
        """The text of each option as the candidate reads it."""
        return {
            label.get("ident"): text_of(label) for label in self.form.root.iter("{*}response_label")
        }

    def put(self, answer):
        score = self.form.score({} if answer is None else {"RESPONSE": answer})
        assert score.warnings == ()
        assert score.maximum == FULL
        return score

    def worth(self, answer) -> float:
        return self.put(answer).score

    def right(self) -> str:
        """The one option that scores."""
        (found,) = [name for name in self.options if self.worth(name) == FULL]
        return found


def text_of(label) -> str:
    html = "".join(label.find(".//{*}mattext").itertext())
    return " ".join("".join(etree.HTML(f"<p>{html}</p>").itertext()).split())


@pytest.fixture(scope="module")
def cartridge(tmp_path_factory: pytest.TempPathFactory):
    folder = tmp_path_factory.mktemp("cartridges")

    @cache
    def write(family: str) -> Path:
        items = items_of(family)
        pool = Pool(family, family, len(items), max(len(item.parts) for item in items))
        target = folder / FORMATS[NAME].file_name(family, False)
        qbank.write_bank(BankInfo(family, family, "en", (pool,)), items, target, NAME)
        return target

    return write


@pytest.fixture(params=FAMILIES)
def asked(request, cartridge) -> list[Asked]:
    path = cartridge(request.param)
    return [one for item in items_of(request.param) for one in split(item, path)]


def split(item: Item, path: Path) -> Iterator[Asked]:
    found = [
        (part, source)
        for part in item.parts
        for source in ([s for s, _ in part.pairs] if isinstance(part, Matching) else [""])
    ]
    for n, (part, source) in enumerate(found, 1):
        name = item.identifier if len(found) == 1 else f"{item.identifier}_{n}"
        form = find_item(path, name)
        assert isinstance(form, ScoredItem12)
        assert form.warnings == ()
        yield Asked(item, part, form, source)


def test_each_part_is_graded_as_its_fallback_allows(asked):
    for one in asked:
        grade(one)


def grade(one: Asked) -> None:
    match one.part:
        case NumberEntry():
            way = {"fib": spelled, "multiple_choice": chosen, "essay": told}[one.profile]
            met[one.profile] += 1
            way(one, one.part)
        case Choice():
            choice(one, one.part)
        case Ordering():
            order(one, one.part)
        case Matching():
            pair(one, one.part)


def choice(one: Asked, part: Choice) -> None:
    right = right_options(part)
    assert one.profile == f"multiple_{'response' if part.multiple else 'choice'}"
    if right:
        assert one.worth(None) == one.worth("") == 0
    if not part.multiple:
        assert [one.right()] == right
    else:
        assert one.worth(right or "") == FULL
    for option in part.options:
        if part.multiple:
            one_off = sorted({*right} ^ {option.identifier})
            assert one.worth(one_off or "") == 0
        if option.feedback:
            assert_shows(one.put([option.identifier] if part.multiple else option.identifier),
                         option.feedback)  # fmt: skip


def last_place(part: NumberEntry) -> Decimal:
    return Decimal(1).scaleb(int(Decimal(part.key_text).as_tuple().exponent))


def typed(value: Decimal) -> str:
    """A number as people type it: in full, or as a power of ten where that would be long."""
    full = f"{value:f}"
    if len(full) <= 12:
        return full
    return f"{value.scaleb(-value.adjusted()):f}e{value.adjusted()}"


def spelled(one: Asked, part: NumberEntry) -> None:
    """The decimals of the key's precision within the band, and no others, are accepted."""
    low, high = Decimal(repr(part.tolerance.low)), Decimal(repr(part.tolerance.high))
    step = last_place(part)
    first = (low / step).to_integral_value(ROUND_CEILING)
    final = (high / step).to_integral_value(ROUND_FLOOR)
    assert 0 <= final - first < MOST
    for n in range(int(first), int(final) + 1):
        assert one.worth(typed(n * step)) == FULL
    for n in (int(first) - 1, int(final) + 1):
        assert one.worth(typed(n * step)) == 0
    assert one.worth(part.key_text) == one.worth(f" {part.key_text} ") == FULL
    plainest = f"{Decimal(part.key_text):f}"
    if len(plainest) <= 12:
        assert one.worth(plainest) == FULL
        if "." in plainest:
            assert one.worth(plainest.rstrip("0").rstrip(".")) == FULL
    assert one.worth(None) == one.worth("") == one.worth("about") == 0
    taken: set[Decimal] = set()
    for wrong in part.wrong_values:
        value = rounded(wrong.value, part)
        if low <= value <= high or value in taken:
            continue
        score = one.put(typed(value))
        assert score.score == 0
        span = (Decimal(wrong.high) - Decimal(wrong.low)) / step
        if span < 1:  # its band holds this spelling alone, so no slip after it is hidden
            taken.add(value)
            met["slips of spellings"] += 1
            if wrong.feedback and not any(within(value, other, part) for other in part.wrong_values
                                          if other is not wrong):  # fmt: skip
                met["slips told"] += 1
                assert_shows(score, wrong.feedback)


def within(value: Decimal, wrong, part: NumberEntry) -> bool:
    """Whether another slip may claim the same spelling."""
    return wrong.low <= value <= wrong.high or rounded(wrong.value, part) == value


def chosen(one: Asked, part: NumberEntry) -> None:
    """One option is the key; the others are wrong values, each with what it says."""
    low, high = part.tolerance.low, part.tolerance.high
    numbers = {name: number_in(text, part.unit) for name, text in one.options.items()}
    assert numbers[one.right()] == Decimal(part.key_text)
    assert list(numbers.values()) == sorted(set(numbers.values()))
    assert len(numbers) >= 3
    assert one.worth(None) == one.worth("") == 0
    for name, number in numbers.items():
        if name == one.right():
            continue
        slips = [w for w in part.wrong_values if rounded(w.value, part) == number]
        assert slips
        assert all(not low <= w.value <= high for w in slips[:1])
        score = one.put(name)
        assert score.score == 0
        met["slips as options"] += 1
        if slips[0].feedback:
            assert_shows(score, slips[0].feedback)


def number_in(text: str, unit: str) -> Decimal:
    found = re.match(r"([−\d.]+)(?: × 10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))?", text)
    assert found, text
    assert text[found.end() :].strip() == unit
    return Decimal(found[1].translate(POWERS)).scaleb(int((found[2] or "0").translate(POWERS)))


def told(one: Asked, part: NumberEntry) -> None:
    """No machine scores an essay; its key is in the solution that shows."""
    score = one.put(part.key_text)
    assert score.score == 0
    assert any(part.key_shown in f.text for f in score.feedback)


def order(one: Asked, part: Ordering) -> None:
    """Entries are lettered in the prompt; the right option gives the letters in their order."""
    met["orders"] += 1
    shown = text_of(one.form.root.find("{*}presentation"))
    at = {shown.index(f"({letter}) "): letter for letter in "ABCDEFGH"[: len(part.entries)]}
    places = sorted(at)
    held = {
        at[start]: shown[start + 4 : end]
        for start, end in zip(places, [*places[1:], None], strict=True)
    }
    letters = one.options[one.right()].split(" – ")
    assert sorted(letters) == sorted(held)
    for letter, entry in zip(letters, part.entries, strict=True):
        assert held[letter].startswith(plain(entry.content)[:20])
    assert one.worth(None) == one.worth("") == 0
    assert len(set(one.options.values())) == len(one.options) >= 2


def pair(one: Asked, part: Matching) -> None:
    met["pairs"] += 1
    assert one.right() == dict(part.pairs)[one.source]
    assert set(one.options) == {target.identifier for target in part.targets}
    assert one.worth(None) == one.worth("") == 0


@pytest.mark.parametrize(
    ("family", "ways"),
    [
        ("melting-ice", ["essay", "fib", "orders"]),
        ("three-branches", ["pairs", "slips told"]),
        ("stepped-drum", ["multiple_choice", "slips as options", "fib"]),
    ],
)
def test_every_fallback_is_met(family, ways, cartridge):
    """What the test above grades is there to be graded."""
    met.clear()
    path = cartridge(family)
    for item in items_of(family):
        for one in split(item, path):
            grade(one)
    assert all(met[way] > 0 for way in ways)
