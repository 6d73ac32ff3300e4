"""What scoring comes to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Protocol

from lxml import etree


class Teller(Protocol):
    """Makes the text of an element."""

    def text(self, element: etree._Element, /) -> str: ...


@dataclass(frozen=True, slots=True)
class Feedback:
    """A feedback that shows, and the outcome it shows for; its text is made when asked for."""

    outcome: str
    identifier: str
    _element: etree._Element = field(repr=False, compare=False)
    _teller: Teller = field(repr=False, compare=False)

    @property
    def text(self) -> str:
        """What the candidate reads."""
        return self._teller.text(self._element)


@dataclass(frozen=True, slots=True)
class Score:
    """The result of responses: points, the most there are, all outcomes, what is shown.

    `score` is None where the item has no numeric SCORE, `maximum` where the item does not say
    it. `warnings` tell what could not be done as the standard says.
    """

    score: float | None
    maximum: float | None
    outcomes: dict[str, Any]
    feedback: tuple[Feedback, ...] = ()
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The same as plain data."""
        return {
            "score": self.score,
            "maximum": self.maximum,
            "outcomes": self.outcomes,
            "feedback": [
                {"outcome": f.outcome, "identifier": f.identifier, "text": f.text}
                for f in self.feedback
            ],
            "warnings": list(self.warnings),
        }
