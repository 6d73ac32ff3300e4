"""A canvas that keeps what is drawn: for placing labels, for replay, for tests and descriptions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from qbank.figures.canvas import Canvas, Fill, Pen, Point, Runs, Spot


class Line(NamedTuple):
    points: tuple[Point, ...]
    pen: Pen
    fill: Fill
    closed: bool
    clear: bool


class Circle(NamedTuple):
    centre: Point
    radius: float
    pen: Pen
    fill: Fill


class Label(NamedTuple):
    runs: Runs
    spots: Iterable[Spot]  # worked out as far as they are tried
    told: bool = False  # in words too; the numbers of ticks and the signs of poles are not


Stroke = Line | Circle


@dataclass(slots=True)
class Recording:
    """Keeps strokes and labels apart, each in drawing order: labels are drawn over all strokes."""

    strokes: list[Stroke] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)

    def line(
        self,
        points: Sequence[Point],
        pen: Pen = Pen.LINE,
        fill: Fill = Fill.NONE,
        *,
        closed: bool = False,
        clear: bool = True,
    ) -> None:
        """Keeps a line."""
        self.strokes.append(Line(tuple(points), pen, fill, closed, clear))

    def circle(
        self, centre: Point, radius: float, pen: Pen = Pen.LINE, fill: Fill = Fill.NONE
    ) -> None:
        """Keeps a circle."""
        self.strokes.append(Circle(centre, radius, pen, fill))

    def label(self, runs: Runs, spots: Iterable[Spot]) -> None:
        """Keeps a label and where it may stand; an empty one is nothing."""
        if runs:
            self.labels.append(Label(runs, spots))

    def replay(self, canvas: Canvas) -> None:
        """Draws everything again."""
        for stroke in self.strokes:
            if isinstance(stroke, Line):
                canvas.line(
                    stroke.points,
                    stroke.pen,
                    stroke.fill,
                    closed=stroke.closed,
                    clear=stroke.clear,
                )
            else:
                canvas.circle(stroke.centre, stroke.radius, stroke.pen, stroke.fill)
        for label in self.labels:
            canvas.label(label.runs, label.spots)
