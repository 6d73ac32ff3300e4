"""The SVG writer: well-formed, the same on every machine, nothing but plain elements."""

import pytest
from lxml import etree

from qbank.figures.canvas import Fill, Pen, Run
from qbank.figures.recording import Circle, Line
from qbank.figures.svg import SvgCanvas, document, elements, number

HOSTILE = '<script>alert("x")</script> & "quotes" ]]>'


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0.0"),
        (1.25, "1.3"),
        (-1.25, "-1.2"),
        (1.35, "1.4"),
        (99.95, "100.0"),
        (1e3, "1000.0"),
    ],
)
def test_ties_are_rounded_the_same_way_whatever_the_last_bit(value: float, text: str) -> None:
    assert number(value) == text
    for wiggle in (1 - 4e-16, 1 + 4e-16):
        assert number(value * wiggle) == text


def test_text_from_a_family_is_escaped() -> None:
    canvas = SvgCanvas()
    canvas.label((Run(HOSTILE), Run(HOSTILE, "low")), [(0, 0, 0, 0)])
    data = document([], canvas.texts, (0, 0, 100, 50), HOSTILE, HOSTILE)
    svg = etree.fromstring(data)
    assert {etree.QName(node).localname for node in svg.iter()} == {
        "svg", "title", "desc", "rect", "g", "text", "tspan"
    }  # fmt: skip
    assert svg[0].text == svg[1].text == HOSTILE
    assert "".join(svg.itertext()).count(HOSTILE) == 4


def test_y_is_turned_and_the_frame_with_it() -> None:
    data = document([], [], (-10, -20, 90, 30), "t", "d").decode()
    assert 'viewBox="-10 -30 100 50"' in data
    assert 'width="100" height="50"' in data
    (path,) = elements([Line(((0, 5), (10, -5)), Pen.THIN, Fill.NONE, False, True)])
    assert path == '<path d="M0.0 -5.0L10.0 5.0" stroke-width="0.9"/>'
    (circle,) = elements([Circle((1, 2), 3, Pen.LINE, Fill.INK)])
    assert circle == '<circle cx="1.0" cy="-2.0" r="3.0" fill="#000"/>'


def test_what_only_keeps_labels_off_is_not_written() -> None:
    assert not elements([Line(((0, 0), (9, 9)), Pen.NONE, Fill.NONE, False, True)])


def test_subscripts_go_down_and_come_up_again() -> None:
    canvas = SvgCanvas()
    runs = (Run("m", "italic"), Run("a", "low"), Run(" = 2 kg, "), Run("g", "italic"))
    canvas.label(runs, [(0, 0, 1, 0)])
    spans = etree.fromstring(canvas.texts[0])
    moved = [float(span.get("dy", "0")) for span in spans]
    assert moved == [0, 4, -4, 0]
