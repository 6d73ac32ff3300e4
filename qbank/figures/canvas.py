"""What a shape draws on. Shapes know the canvas and nothing of SVG, recording or measuring.

Positions are in units of the drawing (one CSS pixel at 100 % zoom) with y upwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar, Literal, NamedTuple, Protocol

Point = tuple[float, float]


class Pen(str):
    """Kinds of strokes; they differ in width and dashes, never in colour.

    A string and not an enumeration, whose members hash too slowly for one lookup a stroke.
    """

    __slots__ = ()
    LINE: ClassVar[Pen]
    THIN: ClassVar[Pen]
    BOLD: ClassVar[Pen]
    DASHED: ClassVar[Pen]
    NONE: ClassVar[Pen]


Pen.LINE, Pen.THIN, Pen.BOLD, Pen.DASHED, Pen.NONE = map(
    Pen, ("line", "thin", "bold", "dashed", "none")
)


class Fill(str):
    """What is inside an outline."""

    __slots__ = ()
    NONE: ClassVar[Fill]
    PAPER: ClassVar[Fill]
    LIGHT: ClassVar[Fill]
    INK: ClassVar[Fill]


Fill.NONE, Fill.PAPER, Fill.LIGHT, Fill.INK = map(Fill, ("none", "paper", "light", "ink"))


class Run(NamedTuple):
    """A piece of a label: quantity symbols are italic, their subscripts low, the rest upright."""

    text: str
    style: Literal["upright", "italic", "low"] = "upright"


Runs = tuple[Run, ...]

Spot = tuple[float, float, int, int]
"""A place for a label: x, y, across, up. `across` -1 ends the text at the point, 0 centres it, 1
begins it there; `up` -1 hangs it below the point, 0 centres it, 1 stands it above."""


class Canvas(Protocol):
    """Takes strokes and labels, in drawing order."""

    def line(
        self,
        points: Sequence[Point],
        pen: Pen = Pen.LINE,
        fill: Fill = Fill.NONE,
        *,
        closed: bool = False,
        clear: bool = True,
    ) -> None:
        """Straight strokes from point to point. Labels keep off it where `clear` is set."""

    def circle(
        self,
        centre: Point,
        radius: float,
        pen: Pen = Pen.LINE,
        fill: Fill = Fill.NONE,
    ) -> None:
        """A circle; labels keep off its rim."""

    def label(self, runs: Runs, spots: Iterable[Spot]) -> None:
        """A label at the first of `spots` where it is clear of everything else."""


def plain(runs: Runs) -> str:
    """A label as plain text, subscripts after an underscore."""
    return "".join(f"_{run.text}" if run.style == "low" else run.text for run in runs)
