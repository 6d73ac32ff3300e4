"""Finds each label a spot where it overlaps neither another label nor a line that matters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qbank.figures.canvas import Runs, Spot, plain
from qbank.figures.extent import CLEARANCE, Box, box_at, crosses, grown, label_size
from qbank.figures.recording import Label, Line, Stroke


class CrowdedError(Exception):
    """No spot is free for a label."""

    def __init__(self, runs: Runs) -> None:
        super().__init__(plain(runs))
        self.runs = runs


@dataclass(frozen=True, slots=True)
class Placed:
    """A label at its spot, and the box it may fill."""

    runs: Runs
    spot: Spot
    box: Box
    told: bool


Obstacle = tuple[float, float, float, float, Stroke]


def obstacles(strokes: Sequence[Stroke], boxes: Sequence[Box]) -> list[Obstacle]:
    """The strokes labels keep off, each with its box grown by the clearance."""
    return [
        (left - CLEARANCE, bottom - CLEARANCE, right + CLEARANCE, top + CLEARANCE, stroke)
        for stroke, (left, bottom, right, top) in zip(strokes, boxes, strict=True)
        if not isinstance(stroke, Line) or stroke.clear
    ]


def place(labels: Sequence[Label], around: Sequence[Obstacle]) -> list[Placed]:
    """The labels, each at the first of its spots that is free, in drawing order.

    Raises CrowdedError for a label none of whose spots is.
    """
    placed: list[Placed] = []
    for label in labels:
        size = label_size(label.runs)
        for spot in label.spots:
            box = box_at(size, spot)
            if _free(box, placed, around):
                placed.append(Placed(label.runs, spot, box, label.told))
                break
        else:
            raise CrowdedError(label.runs)
    return placed


def _free(box: Box, placed: Sequence[Placed], around: Sequence[Obstacle]) -> bool:
    left, bottom, right, top = box
    for other in placed:
        a, b, c, d = other.box
        if a - CLEARANCE < right and left < c + CLEARANCE and b < top and bottom < d:
            return False
    roomy = grown(box, CLEARANCE)
    for a, b, c, d, stroke in around:
        if a < right and left < c and b < top and bottom < d and crosses(stroke, roomy):
            return False
    return True
