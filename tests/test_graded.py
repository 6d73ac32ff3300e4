"""Every shipped family in every graded format, graded by the scorer as a platform would.

The item as rendered says what is right; the package says how it is graded; the two must agree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import qbank
from qbank.formats.registry import FORMATS
from qbank.item import BankInfo, Choice, Item, Matching, NumberEntry, Ordering, Part, Pool
from qbank.rendering.renderer import Renderer
from qbank.scoring.bank import Scorable, find_item
from qbank.scoring.result import Score

COUNT = 3
# One response and one outcome a part is what these share; a table carries no rules to run.
GRADED = [name for name in FORMATS if name.startswith("qti-")]
FAMILIES = [path.stem for path in qbank.shipped_families()]
REQUEST = "HINTREQUEST"


@cache
def items_of(family: str) -> tuple[Item, ...]:
    loaded = qbank.load_family(qbank.find_family(family))
    renderer = Renderer(loaded)
    chunks = qbank.generate(loaded, count=COUNT, seed=5)
    return tuple(item for chunk in chunks for item in renderer.items(chunk))


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder = tmp_path_factory.mktemp("graded")

    @cache
    def write(family: str, name: str) -> Path:
        items = items_of(family)
        pool = Pool(family, family, len(items), max(len(item.parts) for item in items))
        target = folder / FORMATS[name].file_name(family, False)
        qbank.write_bank(BankInfo(family, family, "en", (pool,)), items, target, name)
        return target

    return write


@dataclass(frozen=True)
class Graded:
    """An item beside its graded form; responses go by the part's place."""

    item: Item
    form: Scorable

    def responses(self, part: str, answer: Any) -> dict[str, Any]:
        """An answer to a part by the form's responses; of a matching 1.2.1 has one a source."""
        if f"RESPONSE_{part}" in self.form.responses:
            return {f"RESPONSE_{part}": answer}
        pairs = [pair.split() for pair in answer] if answer else []
        return {f"RESPONSE_{part}.{source}": target for source, target in pairs}

    def put(self, **answers: Any) -> Score:
        taken = [name for name in self.form.responses if name != REQUEST]
        assert len({name.partition(".")[0] for name in taken}) == len(self.item.parts)
        given: dict[str, Any] = {}
        for part, answer in answers.items():
            given |= self.responses(part, answer)
        self.form.ensure_choices(given)
        score = self.form.score(given)
        assert score.warnings == ()
        return score

    def worth(self, part: Part, answer: Any) -> float:
        score = self.put(**{part.identifier: answer})
        # What is right with nothing marked counts though the part was not touched.
        return score.score - sum(unmarked(p) for p in self.item.parts if p is not part)


@pytest.fixture(params=GRADED)
def graded(request: pytest.FixtureRequest, package: Any, family: str) -> list[Graded]:
    path = package(family, request.param)
    return [Graded(item, find_item(path, item.identifier)) for item in items_of(family)]


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "family" in metafunc.fixturenames:
        metafunc.parametrize("family", FAMILIES)


def right_options(part: Choice) -> list[str]:
    return [option.identifier for option in part.options if option.correct]


def key(part: Part) -> Any:
    if isinstance(part, NumberEntry):
        return part.key_text
    if isinstance(part, Ordering):
        return [entry.identifier for entry in part.entries]
    if isinstance(part, Matching):
        return [f"{source} {target}" for source, target in part.pairs]
    right = right_options(part)
    return right if part.multiple else right[0]


def unmarked(part: Part) -> float:
    """What a part is worth when nothing is marked: all, where no option is right."""
    is_all = isinstance(part, Choice) and part.multiple and not right_options(part)
    return part.points if is_all else 0.0


def plain(content: Any) -> str:
    text = "".join(piece if isinstance(piece, str) else piece.plain for piece in content)
    return " ".join(text.split())


def assert_shows(score: Score, content: Any) -> None:
    said = [" ".join(feedback.text.split()) for feedback in score.feedback]
    assert plain(content) in said, f"{plain(content)!r} is not among {said}"


def test_the_full_key_scores_full_marks(graded):
    for one in graded:
        score = one.put(**{part.identifier: key(part) for part in one.item.parts})
        assert score.score == pytest.approx(one.item.points, abs=1e-12)
        assert score.maximum == pytest.approx(one.item.points, abs=1e-12)


def test_nothing_scores_nothing(graded):
    for one in graded:
        for score in (one.put(), one.put(**{p.identifier: "" for p in one.item.parts})):
            assert score.score == sum(map(unmarked, one.item.parts))


def test_each_part_earns_its_own_points(graded):
    for one in graded:
        for part in one.item.parts:
            assert one.worth(part, key(part)) == pytest.approx(part.points, abs=1e-12)


def numbers(one: Graded) -> list[NumberEntry]:
    return [part for part in one.item.parts if isinstance(part, NumberEntry)]


def as_typed(value: float) -> list[str]:
    """Ways to type the same number."""
    exact = repr(value)
    return [exact, f"{value:.17e}", f"+{exact}" if value >= 0 else exact, f" {exact} "]


def test_a_key_counts_however_it_is_typed(graded):
    for one in graded:
        for part in numbers(one):
            for text in as_typed(part.key):
                assert one.worth(part, text) == part.points, text


def test_the_tolerance_ends_where_it_says(graded):
    for one in graded:
        for part in numbers(one):
            low, high = part.tolerance.low, part.tolerance.high
            assert low <= part.key <= high
            for inside in (low, high, math.nextafter(low, math.inf), math.nextafter(high, low)):
                assert one.worth(part, repr(inside)) == part.points
            for outside in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
                assert one.worth(part, repr(outside)) == 0


def test_each_slip_in_a_number_scores_nothing_and_says_why(graded):
    met = 0
    for one in graded:
        for part in numbers(one):
            for wrong in part.wrong_values:
                met += 1
                for value in (wrong.value, wrong.low, wrong.high):
                    score = one.put(**{part.identifier: repr(value)})
                    assert score.score == sum(map(unmarked, one.item.parts)), wrong.slip
                    if wrong.feedback:
                        assert_shows(score, wrong.feedback)
    assert met > 0 or not any(p.wrong_values for one in graded for p in numbers(one))


def test_each_option_earns_what_it_should(graded):
    for one in graded:
        for part in one.item.parts:
            if not isinstance(part, Choice) or part.multiple:
                continue
            for option in part.options:
                expected = part.points if option.correct else 0.0
                assert one.worth(part, option.identifier) == expected
                if option.feedback:
                    assert_shows(one.put(**{part.identifier: option.identifier}), option.feedback)


def test_several_choices_count_only_when_all_are_right(graded):
    for one in graded:
        for part in one.item.parts:
            if not isinstance(part, Choice) or not part.multiple:
                continue
            right = set(right_options(part))
            for option in part.options:
                one_off = sorted(right ^ {option.identifier})
                assert one.worth(part, one_off or "") == (0.0 if one_off else unmarked(part))
                if option.feedback:
                    assert_shows(one.put(**{part.identifier: [option.identifier]}), option.feedback)
            everything = [option.identifier for option in part.options]
            assert one.worth(part, everything) == (
                part.points if len(right) == len(everything) else 0
            )


def test_orders_and_pairs_lose_marks_when_turned_round(graded):
    for one in graded:
        for part in one.item.parts:
            if isinstance(part, Ordering):
                turned = key(part)[::-1]
            elif isinstance(part, Matching):
                first, second = part.pairs[:2]
                turned = [f"{first[0]} {second[1]}", f"{second[0]} {first[1]}"]
            else:
                continue
            assert turned != key(part)
            assert one.worth(part, turned) < part.points
            assert one.worth(part, turned) == 0 or part.partial


def test_each_place_and_pair_earns_its_share(graded):
    for one in graded:
        for part in one.item.parts:
            if not isinstance(part, Ordering | Matching):
                continue
            whole = key(part)
            for n in range(len(whole)):
                if isinstance(part, Ordering):  # the first n in their places, the rest left out
                    hits, answer = n, whole[:n] or ""
                else:
                    hits, answer = 1, [whole[n]]
                share = part.points * hits / len(whole) if part.partial else 0.0
                assert one.worth(part, answer) == pytest.approx(share, abs=1e-12)


def test_a_spare_target_earns_nothing_and_says_why(graded):
    for one in graded:
        for part in one.item.parts:
            if not isinstance(part, Matching):
                continue
            for target in part.targets:
                if target.slip and target.feedback:
                    answer = [f"{part.sources[0].identifier} {target.identifier}"]
                    assert one.worth(part, answer) == 0
                    assert_shows(one.put(**{part.identifier: answer}), target.feedback)


def test_the_worked_solution_shows_once_answered(graded):
    for one in graded:
        if one.item.solution:
            score = one.put(**{part.identifier: key(part) for part in one.item.parts})
            longest = max((f.text for f in score.feedback), key=len)
            assert len(longest) > 200
