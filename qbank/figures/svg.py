"""Scalable vector graphics (SVG 1.1): one drawing as text that is the same on every machine.

Only `svg`, `title`, `desc`, `g`, `rect`, `path`, `circle`, `text` and `tspan` are written: no
script, no style sheet, no reference to anything outside. Strokes are black on a white ground.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from qbank.figures import metrics
from qbank.figures.canvas import Fill, Pen, Point, Runs, Spot
from qbank.figures.extent import Box
from qbank.figures.recording import Line, Stroke

NUDGE = 1e-7  # of coordinates, off the ties of rounding

_OPEN = (
    '<g fill="none" stroke="#000" stroke-width="1.5" stroke-linecap="round" '
    'stroke-linejoin="round">'
)
_TEXT = (
    "<g font-family=\"Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif\" "
    f'font-size="{metrics.SIZE:g}" fill="#000">'
)
_PENS = {
    Pen.LINE: "",
    Pen.THIN: ' stroke-width="0.9"',
    Pen.BOLD: ' stroke-width="3"',
    Pen.DASHED: ' stroke-width="1.1" stroke-dasharray="6 4"',
    Pen.NONE: ' stroke="none"',
}
_FILLS = {
    Fill.NONE: "",
    Fill.PAPER: ' fill="#fff"',
    Fill.LIGHT: ' fill="#e4e4e4"',
    Fill.INK: ' fill="#000"',
}
_ANCHORS = {-1: ' text-anchor="end"', 0: ' text-anchor="middle"', 1: ""}
_UP, _DOWN = f'<tspan dy="{-metrics.LOW_DROP:g}">', f'<tspan dy="{metrics.LOW_DROP:g}"'


def number(value: float) -> str:
    """A coordinate to a tenth. Ties are nudged, so that no last bit of a machine decides."""
    return f"{value + NUDGE:.1f}"


def line_element(points: Sequence[Point], pen: Pen, fill: Fill, closed: bool) -> str:
    """A path of straight strokes; y is turned downwards as SVG counts it."""
    path = "L".join([f"{x + NUDGE:.1f} {NUDGE - y:.1f}" for x, y in points])
    return f'<path d="M{path}{"Z" if closed else ""}"{_PENS[pen]}{_FILLS[fill]}/>'


def circle_element(centre: Point, radius: float, pen: Pen, fill: Fill) -> str:
    """A circle."""
    return (
        f'<circle cx="{centre[0] + NUDGE:.1f}" cy="{NUDGE - centre[1]:.1f}" '
        f'r="{radius + NUDGE:.1f}"{_PENS[pen]}{_FILLS[fill]}/>'
    )


class SvgCanvas:
    """Collects the elements of a drawing."""

    def __init__(self) -> None:
        self.strokes: list[str] = []
        self.texts: list[str] = []

    def line(
        self,
        points: Sequence[Point],
        pen: Pen = Pen.LINE,
        fill: Fill = Fill.NONE,
        *,
        closed: bool = False,
        clear: bool = True,
    ) -> None:
        """A path; what is only there for labels to keep off is not written."""
        del clear  # matters to labels alone
        if pen is not Pen.NONE or fill is not Fill.NONE:
            self.strokes.append(line_element(points, pen, fill, closed))

    def circle(
        self, centre: Point, radius: float, pen: Pen = Pen.LINE, fill: Fill = Fill.NONE
    ) -> None:
        """A circle."""
        self.strokes.append(circle_element(centre, radius, pen, fill))

    def label(self, runs: Runs, spots: Iterable[Spot]) -> None:
        """A text at the first spot."""
        x, y, across, up = next(iter(spots))
        deep = metrics.depth(runs)
        tall = metrics.ASCENT * metrics.SIZE + deep
        baseline = y + (up - 1) / 2 * tall + deep
        self.texts.append(
            f'<text x="{number(x)}" y="{number(-baseline)}"{_ANCHORS[across]}>{_spans(runs)}</text>'
        )


def _spans(runs: Runs) -> str:
    parts = []
    low = False
    for run in runs:
        text = escape(run.text)
        if run.style == "low":
            parts.append(f'{_DOWN} font-size="{metrics.LOW_SIZE:g}">{text}</tspan>')
            low = True
            continue
        if run.style == "italic":
            rise = f' dy="{-metrics.LOW_DROP:g}"' if low else ""
            parts.append(f'<tspan font-style="italic"{rise}>{text}</tspan>')
        else:
            parts.append(f"{_UP}{text}</tspan>" if low else text)
        low = False
    return "".join(parts)


def elements(strokes: Sequence[Stroke]) -> list[str]:
    """The strokes as SVG elements."""
    return [
        line_element(stroke.points, stroke.pen, stroke.fill, stroke.closed)
        if isinstance(stroke, Line)
        else circle_element(*stroke)
        for stroke in strokes
        if stroke.pen is not Pen.NONE or stroke.fill is not Fill.NONE
    ]


def document(
    strokes: Sequence[str], texts: Sequence[str], frame: Box, title: str, description: str
) -> bytes:
    """The file: a frame of whole units, a white ground, strokes, and texts over them."""
    left, bottom, right, top = frame
    wide, high = right - left, top - bottom
    box = f"{left:.0f} {-top:.0f} {wide:.0f} {high:.0f}"
    return "".join(
        [
            '<svg xmlns="http://www.w3.org/2000/svg" role="img" ',
            f'width="{wide:.0f}" height="{high:.0f}" viewBox="{box}">',
            f"<title>{escape(title)}</title><desc>{escape(description)}</desc>",
            f'<rect x="{left:.0f}" y="{-top:.0f}" width="{wide:.0f}" height="{high:.0f}" ',
            'fill="#fff"/>',
            _OPEN,
            *strokes,
            "</g>",
            _TEXT,
            *texts,
            "</g></svg>\n",
        ]
    ).encode()
