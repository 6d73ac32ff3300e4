"""What a shape is drawn from: numbers in units of the drawing, words and labels by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from qbank.figures.canvas import Point, Runs


@dataclass(frozen=True, slots=True)
class Parameters:
    """Lengths and positions are in units of the drawing, angles in radians.

    `numbers` holds a point as two numbers and points as a row of them.
    """

    numbers: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    labels: Mapping[str, Runs] = field(default_factory=dict)

    def has(self, name: str) -> bool:
        """Whether the author wrote it."""
        return name in self.numbers

    def number(self, name: str, default: float = 0.0) -> float:
        """One number."""
        found = self.numbers.get(name)
        return found[0] if found else default

    def point(self, name: str) -> Point:
        """A position. Raises KeyError where there is none."""
        x, y = self.numbers[name]
        return x, y

    def points(self, name: str) -> list[Point]:
        """Positions in a row."""
        flat = self.numbers[name]
        return list(zip(flat[::2], flat[1::2], strict=False))

    def yes(self, name: str) -> bool:
        """Whether a switch is on."""
        return self.words.get(name) == "yes"

    @property
    def label(self) -> Runs:
        """The label; empty where there is none."""
        return self.labels.get("label", ())

    @property
    def side(self) -> str:
        """The side of the label the author asks for; empty where none."""
        return self.words.get("side", "")
