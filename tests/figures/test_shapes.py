"""Each shape: what it draws, where its box lies, and where its label may stand."""

from math import atan2, cos, hypot, pi, radians, sin

import pytest

from qbank.family.figure_schema import SHAPES
from qbank.figures.canvas import Fill, Pen, Run
from qbank.figures.drawings import DRAWINGS
from qbank.figures.extent import stroke_box, union
from qbank.figures.parameters import Parameters
from qbank.figures.placing import obstacles, place
from qbank.figures.recording import Circle, Line, Recording

LABEL = {"label": (Run("m", "italic"), Run(" = 2.0 kg"))}


def drawn(kind: str, words: dict[str, str] | None = None, **numbers: object) -> Recording:
    """A recording of a shape with a label."""
    recording = Recording()
    flat = {
        name: value if isinstance(value, tuple) else (value,) for name, value in numbers.items()
    }
    labels = dict(LABEL) | {"text": LABEL["label"], "letter": (Run("G"),)}
    DRAWINGS[kind](recording, Parameters(flat, words or {}, labels))  # type: ignore[arg-type]
    return recording


def box(recording: Recording) -> tuple[float, ...]:
    """The box of all strokes."""
    return tuple(round(edge, 6) for edge in union(map(stroke_box, recording.strokes)))


# What each shape is drawn from, and the box its strokes must fill (left, bottom, right, top).
SHAPE_BOXES = [
    ("disc", {"at": (10, 20), "radius": 30}, (-20, -10, 40, 50)),
    ("block", {"on": (0, 0), "size": (40, 30)}, (-20, 0, 20, 30)),
    ("block", {"under": (0, 0), "size": (40, 30)}, (-20, -30, 20, 0)),
    ("block", {"at": (5, 5), "size": (40, 30)}, (-15, -10, 25, 20)),
    ("block", {"on": (0, 0), "size": (40, 30), "angle": pi / 2}, (-30, -20, 0, 20)),
    ("cord", {"through": (0, 0, 0, 50, 30, 50)}, (0, 0, 30, 50)),
    ("wire", {"through": (0, 0, 80, 0)}, (0, 0, 80, 0)),
    ("line", {"through": (0, 0, 80, 40)}, (0, 0, 80, 40)),
    ("node", {"at": (7, 7)}, (4.2, 4.2, 9.8, 9.8)),
    ("beam", {"from": (0, 0), "to": (200, 0), "depth": 12}, (0, -6, 200, 6)),
    ("load", {"at": (50, 0), "height": 60}, (46.76, 0, 53.24, 60)),
    ("load", {"from": (0, 0), "to": (96, 0), "height": 30}, (-2.16, 0, 98.16, 30)),
    ("resistor", {"from": (0, 0), "to": (0, 100)}, (-8, 0, 8, 100)),
    ("capacitor", {"from": (0, 0), "to": (100, 0)}, (0, -17, 100, 17)),
    ("source", {"from": (0, 0), "to": (100, 0)}, (0, -18, 100, 18)),
    ("switch", {"from": (0, 0), "to": (100, 0)}, (0, -2.8, 100, 14)),
    ("meter", {"from": (0, 0), "to": (100, 0)}, (0, -15, 100, 15)),
    ("lens", {"at": (0, 0), "focal": 1, "height": 100}, (-10, -50, 10, 50)),
    ("lens", {"at": (0, 0), "focal": -1, "height": 100}, (-9, -50, 9, 50)),
    ("oval", {"at": (0, 0), "size": (90, 40)}, (-90, -40, 90, 40)),
    ("container", {"on": (0, 0), "size": (80, 90), "level": 40}, (-45, 0, 45, 94)),
    ("axes", {"at": (0, 0), "size": (200, 100), "across": (0, 4, 1), "up": (0, 1)},
     (-3.24, -5, 216, 116)),
    ("mark", {"point": (50, 30), "corner": (0, 0), "size": (200, 100)}, (0, 0, 52.8, 32.8)),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "numbers", "expected"), SHAPE_BOXES)
def test_boxes(kind: str, numbers: dict[str, object], expected: tuple[float, ...]) -> None:
    assert box(drawn(kind, **numbers)) == pytest.approx(expected, abs=0.01)


def test_every_shape_of_the_format_is_drawn() -> None:
    assert set(DRAWINGS) == set(SHAPES)


def test_a_disc_has_an_axle_and_a_radius_where_asked_for() -> None:
    plain = drawn("disc", {"plain": "yes"}, at=(0, 0), radius=40).strokes
    assert plain == [Circle((0, 0), 40, Pen.LINE, Fill.PAPER)]
    strokes = drawn("disc", {"shade": "yes"}, at=(0, 0), radius=40, towards=pi / 2).strokes
    assert strokes[0] == Circle((0, 0), 40, Pen.LINE, Fill.LIGHT)
    radius = strokes[2]
    assert isinstance(radius, Line)
    assert radius.points[1] == pytest.approx((0, 40))


@pytest.mark.parametrize("degrees", [15, 30, 50])
def test_a_slope_rises_by_its_angle_over_its_length(degrees: float) -> None:
    wedge = drawn("slope", at=(0, 0), angle=radians(degrees), length=200).strokes[0]
    assert isinstance(wedge, Line)
    foot, corner, top = wedge.points
    assert hypot(top[0] - foot[0], top[1] - foot[1]) == pytest.approx(200)
    assert atan2(top[1], top[0]) == pytest.approx(radians(degrees))
    assert corner == pytest.approx((top[0], foot[1]))


def test_hatching_lies_below_ground_drawn_from_left_to_right() -> None:
    strokes = drawn("ground", **{"from": (0, 0), "to": (90, 0)}).strokes
    assert strokes[0].points == ((0, 0), (90, 0))  # type: ignore[union-attr]
    assert all(stroke_box(stroke)[3] <= 0 for stroke in strokes)
    assert min(stroke_box(stroke)[1] for stroke in strokes) == pytest.approx(-8)


def test_a_spring_runs_from_end_to_end_with_its_coils() -> None:
    (line,) = drawn("spring", **{"from": (0, 0), "to": (100, 0), "coils": 5}).strokes
    assert isinstance(line, Line)
    assert (line.points[0], line.points[-1]) == ((0, 0), (100, 0))
    peaks = [y for _, y in line.points if y > 1]
    assert len(peaks) == 5
    assert len({round(y, 6) for y in peaks}) == 1


@pytest.mark.parametrize("angle", [0.0, 0.7, pi / 2, pi, -2.0])
def test_an_arrow_ends_where_its_length_and_angle_say(angle: float) -> None:
    strokes = drawn("arrow", **{"from": (3, 4), "length": 80, "angle": angle}).strokes
    tip = strokes[-1].points[1]  # type: ignore[union-attr]
    assert tip == pytest.approx((3 + 80 * cos(angle), 4 + 80 * sin(angle)))
    to = drawn("arrow", **{"from": (3, 4), "to": tip}).strokes
    assert to[-1].points[1] == pytest.approx(tip)  # type: ignore[union-attr]


def test_a_dimension_line_keeps_its_offset_and_points_at_both_ends() -> None:
    strokes = drawn("dimension", **{"from": (0, 0), "to": (100, 0), "offset": -30}).strokes
    tips = [stroke.points[1] for stroke in strokes if len(stroke.points) == 3]  # type: ignore[union-attr]
    assert tips == [pytest.approx((0, -30)), pytest.approx((100, -30))]
    assert box(drawn("dimension", **{"from": (0, 0), "to": (100, 0), "offset": -30}))[1] == -34


def test_the_arrows_of_a_short_dimension_line_stand_outside() -> None:
    left, _, right, _ = box(drawn("dimension", **{"from": (0, 0), "to": (10, 0)}))
    assert (left, right) == (-16, 26)


def test_a_turn_has_its_head_where_it_ends() -> None:
    strokes = drawn("angle", {"arrow": "yes"}, at=(0, 0), radius=50, start=2.0, end=1.0).strokes
    tip = strokes[-1].points[1]  # type: ignore[union-attr]
    assert tip == pytest.approx((50 * cos(1.0), 50 * sin(1.0)))


def test_the_longer_plate_of_a_cell_is_on_the_side_of_its_positive_pole() -> None:
    recording = drawn("source", **{"from": (0, 0), "to": (0, 100)})
    plates = [s for s in recording.strokes if isinstance(s, Line) and s.points[0][0] != 0]
    short, long = sorted(plates, key=lambda plate: plate.points[0][1])
    assert abs(long.points[0][0]) > abs(short.points[0][0])
    plus = next(label for label in recording.labels if label.runs == (Run("+"),))
    assert all(spot[1] > long.points[0][1] for spot in plus.spots)


@pytest.mark.parametrize(("kind", "level"), [("open", 14.0), ("closed", 0.0)])
def test_a_switch_is_open_or_closed(kind: str, level: float) -> None:
    strokes = drawn("switch", {"kind": kind}, **{"from": (0, 0), "to": (100, 0)}).strokes
    lever = strokes[2]
    assert isinstance(lever, Line)
    assert lever.points[1][1] == level


@pytest.mark.parametrize("kind", ["pinned", "roller", "fixed"])
def test_a_support_touches_its_point_and_stays_below_it(kind: str) -> None:
    left, bottom, right, top = box(drawn("support", {"kind": kind}, at=(0, 0)))
    if kind == "fixed":
        assert right == pytest.approx(0)
        assert (bottom, top) == pytest.approx((-26, 26), abs=7)
    else:
        assert top == 0
        assert left == pytest.approx(-right, abs=7)
        assert bottom < -20


def test_a_ray_has_an_arrow_on_each_leg_and_none_where_it_is_prolonged() -> None:
    through = (0, 0, 100, 0, 200, -50)
    assert len(drawn("ray", through=through).strokes) == 3
    (line,) = drawn("ray", {"dashed": "yes"}, through=through).strokes
    assert line.pen is Pen.DASHED


def test_a_container_is_filled_up_to_its_level_and_never_above_its_rim() -> None:
    body = drawn("container", on=(0, 0), size=(80, 90), level=40).strokes[0]
    assert stroke_box(body)[3] == 40
    assert body.fill is Fill.LIGHT
    assert stroke_box(drawn("container", on=(0, 0), size=(80, 90), level=200).strokes[0])[3] == 90


def test_a_curve_keeps_within_its_axes() -> None:
    points = (0, 0, 50, 50, 100, 400)
    (line,) = drawn("curve", points=points, corner=(0, 0), size=(200, 100)).strokes
    assert line.points == ((0, 0), (50, 50))  # type: ignore[union-attr]


def test_equal_values_are_stacked() -> None:
    strokes = drawn("dots", values=(20.0, 60.0, 20.0), corner=(0, 0), size=(200, 40)).strokes
    centres = sorted(stroke.centre for stroke in strokes if isinstance(stroke, Circle))
    assert [x for x, _ in centres] == [20, 20, 60]
    assert centres[1][1] - centres[0][1] > 2 * 3.4


@pytest.mark.parametrize(
    ("across", "expected"),
    [
        ((0.0, 4.0, 1.0), ["0", "1", "2", "3", "4"]),
        ((38.3, 40.2, 0.5), ["38.5", "39", "39.5", "40"]),
        ((-1.0, 1.0, 1.0), ["\u22121", "0", "1"]),
        ((0.0, 100.0, 1.0), ["0", "50", "100"]),
        ((0.0, 1.0), []),
        ((5.0, 5.0, 1.0), []),
    ],
)
def test_ticks_stand_at_multiples_of_the_step(
    across: tuple[float, ...], expected: list[str]
) -> None:
    recording = drawn("axes", at=(0, 0), size=(200, 100), across=across)
    assert [label.runs[0].text for label in recording.labels] == expected


@pytest.mark.parametrize(("kind", "numbers", "_box"), SHAPE_BOXES)
def test_the_label_finds_room_beside_its_own_shape(
    kind: str, numbers: dict[str, object], _box: object
) -> None:
    recording = drawn(kind, **numbers)
    boxes = [stroke_box(stroke) for stroke in recording.strokes]
    placed = place(recording.labels, obstacles(recording.strokes, boxes))
    assert len(placed) == len(recording.labels)


@pytest.mark.parametrize("side", ["above", "below", "left", "right"])
@pytest.mark.parametrize("kind", ["disc", "block", "node", "oval", "container"])
def test_the_label_stands_on_the_side_the_author_names(kind: str, side: str) -> None:
    numbers: dict[str, object] = {
        "disc": {"at": (0, 0), "radius": 30},
        "oval": {"at": (0, -40), "size": (60, 40)},
        "container": {"on": (0, -45), "size": (80, 90)},
    }.get(kind, {"at": (0, 0)})
    x, y, across, up = next(iter(drawn(kind, {"side": side}, **numbers).labels[0].spots))
    assert (across, up) == {"above": (0, 1), "below": (0, -1), "left": (-1, 0), "right": (1, 0)}[
        side
    ]
    assert across * x >= 0
    if kind != "oval":
        assert up * y >= 0


def test_a_recording_replays_what_it_recorded() -> None:
    first, second = drawn("resistor", **{"from": (0, 0), "to": (0, 100)}), Recording()
    first.replay(second)
    assert second.strokes == first.strokes
    assert [label.runs for label in second.labels] == [label.runs for label in first.labels]
