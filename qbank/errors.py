"""The faults a user can meet, each with its place, the mend and an exit code.

Every message says what was found and what was expected; `hint` says what to do about it.
Anything that is not a `QbankError` is a defect of the tool.
"""

from __future__ import annotations

from qbank.place import Place


class QbankError(Exception):
    """A fault with a place, an excerpt of the text it is about, and a mend.

    `excerpt` is the line of text in question and `span` the part of it to underline, as a
    half-open range of character positions.
    """

    exit_code = 2

    def __init__(
        self,
        message: str,
        *,
        place: Place | None = None,
        excerpt: str | None = None,
        span: tuple[int, int] | None = None,
        hint: str | None = None,
    ) -> None:
        super().__init__(message)
        self.message = message
        self.place = place
        self.excerpt = excerpt
        self.span = span
        self.hint = hint

    def __str__(self) -> str:
        lines = [f"{self.place}: {self.message}" if self.place else self.message]
        if self.excerpt:
            lines.extend(_underlined(self.excerpt, self.span))
        if self.hint:
            lines.append(f"    {self.hint}")
        return "\n".join(lines)


class ExpressionError(QbankError):
    """An expression or a unit that cannot be read, or whose dimensions disagree."""


class FamilyError(QbankError):
    """A family file that cannot be used."""


class DrawError(QbankError):
    """Rules that no draw meets, or more instances asked for than exist."""


class OutputError(QbankError):
    """A result that cannot be written where the user wants it."""


class CheckFailed(QbankError):  # noqa: N818 - says what happened
    """A check of the tool on its own work that did not hold."""

    exit_code = 3


def _underlined(text: str, span: tuple[int, int] | None, width: int = 100) -> list[str]:
    """The line and a row of carets below it, cut to a window around the span."""
    if span is None:
        return [f"    {text[:width]}"]
    start, end = span
    end = max(end, start + 1)
    left = max(0, min(start - width // 3, len(text) - width))
    shown = text[left : left + width].replace("\t", " ").replace("\n", " ")
    carets = " " * (start - left) + "^" * min(end - start, width - (start - left))
    return [f"    {shown}", f"    {carets}"]
