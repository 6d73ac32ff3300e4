"""Boxes and overlaps, against points sampled along the strokes."""

from itertools import pairwise
from math import cos, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.figures import metrics
from qbank.figures.canvas import Fill, Pen, Run
from qbank.figures.extent import box_at, crosses, inside, label_size, overlap, stroke_box, union
from qbank.figures.placing import CrowdedError, obstacles, place
from qbank.figures.recording import Circle, Label, Line

coordinates = st.integers(-60, 60).map(float)
points = st.tuples(coordinates, coordinates)
boxes = st.tuples(coordinates, coordinates, st.integers(8, 60), st.integers(8, 60)).map(
    lambda box: (box[0], box[1], box[0] + box[2], box[1] + box[3])
)


def line(*at: tuple[float, float], closed: bool = False) -> Line:
    return Line(at, Pen.LINE, Fill.NONE, closed, True)


def within(point: tuple[float, float], box: tuple[float, ...], margin: float) -> bool:
    return (
        box[0] + margin < point[0] < box[2] - margin
        and box[1] + margin < point[1] < box[3] - margin
    )


@given(st.lists(points, min_size=2, max_size=5), boxes, st.booleans())
def test_a_line_crosses_a_box_where_one_of_its_points_lies_inside(
    at: list[tuple[float, float]], box: tuple[float, float, float, float], closed: bool
) -> None:
    ring = [*at, at[0]] if closed else at
    sampled = [
        (x0 + (x1 - x0) * k / 200, y0 + (y1 - y0) * k / 200)
        for (x0, y0), (x1, y1) in pairwise(ring)
        for k in range(201)
    ]
    if any(within(point, box, 1e-9) for point in sampled):
        assert crosses(line(*at, closed=closed), box)
    if not any(within(point, box, -1.0) for point in sampled):
        assert not crosses(line(*at, closed=closed), box)


@given(points, st.floats(8, 80), boxes)
def test_a_circle_crosses_a_box_where_its_rim_does(
    centre: tuple[float, float], radius: float, box: tuple[float, float, float, float]
) -> None:
    rim = [
        (centre[0] + radius * cos(pi * k / 360), centre[1] + radius * sin(pi * k / 360))
        for k in range(720)
    ]
    found = crosses(Circle(centre, radius, Pen.LINE, Fill.NONE), box)
    if any(within(point, box, 1e-6) for point in rim):
        assert found
    if not any(within(point, box, -1.0) for point in rim):
        assert not found


@given(boxes, boxes)
def test_overlap_is_mutual_and_inside_implies_it(
    first: tuple[float, float, float, float], second: tuple[float, float, float, float]
) -> None:
    assert overlap(first, second) == overlap(second, first)
    both = union([first, second])
    assert inside(first, both)
    assert inside(second, both)
    if inside(first, second):
        assert overlap(first, second)


def test_the_box_of_strokes() -> None:
    assert stroke_box(line((3, 9), (1, 4))) == (1, 4, 3, 9)
    assert stroke_box(line((3, 4), (1, 9), (2, 20))) == (1, 4, 3, 20)
    assert stroke_box(Circle((1, 2), 3, Pen.LINE, Fill.NONE)) == (-2, -1, 4, 5)


def test_a_label_box_grows_from_its_spot() -> None:
    size = label_size((Run("abc"),))
    wide, tall = size
    assert wide == pytest.approx(15 * (0.62 + 0.64 + 0.55))
    assert tall == pytest.approx(15 * (metrics.ASCENT + metrics.DESCENT))
    assert box_at(size, (10, 20, 1, 1)) == (10, 20, 10 + wide, 20 + tall)
    assert box_at(size, (10, 20, -1, -1)) == (10 - wide, 20 - tall, 10, 20)
    assert box_at(size, (0, 0, 0, 0)) == (-wide / 2, -tall / 2, wide / 2, tall / 2)


def test_a_subscript_hangs_lower_and_no_text_is_smaller_than_12() -> None:
    assert metrics.depth((Run("m", "italic"), Run("a", "low"))) > metrics.depth((Run("m"),))
    assert min(metrics.SIZE, metrics.LOW_SIZE) >= 12


def test_labels_take_the_first_spot_that_is_free() -> None:
    stroke = line((0, 0), (100, 0))
    around = obstacles([stroke], [stroke_box(stroke)])
    spots = [(50.0, 0.0, 0, 0), (50.0, 5.0, 0, 1), (50.0, 40.0, 0, 1)]
    first, second = place([Label((Run("one"),), spots), Label((Run("two"),), spots)], around)
    assert (first.spot, second.spot) == (spots[1], spots[2])
    assert not overlap(first.box, second.box)
    with pytest.raises(CrowdedError, match="three"):
        place([Label((Run(text),), spots) for text in ("one", "two", "three")], around)


def test_what_labels_need_not_keep_off_does_not_bother_them() -> None:
    hatch = Line(((0, 0), (100, 0)), Pen.THIN, Fill.NONE, False, False)
    assert not obstacles([hatch], [stroke_box(hatch)])
