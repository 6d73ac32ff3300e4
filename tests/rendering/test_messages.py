"""Every message has only fields the code fills, and languages are complete by their type."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

from qbank.rendering.columns import Fixed, MathPart, TextPart, apply, content, fill, text, together
from qbank.rendering.messages import ENGLISH, MESSAGES, Messages, messages_for

SOURCES = Path(__file__).parents[2] / "qbank" / "rendering"


def test_every_message_is_said_somewhere() -> None:
    code = "\n".join(
        path.read_text("utf-8") for path in SOURCES.glob("*.py") if path.name != "messages.py"
    )
    for field in fields(Messages):
        assert re.search(rf"\.{field.name}\b", code), field.name


def test_every_language_has_the_fields_of_the_english_pattern() -> None:
    for messages in MESSAGES.values():
        for field in fields(Messages):
            ours, english = getattr(messages, field.name), getattr(ENGLISH, field.name)
            if isinstance(english, str):
                assert set(re.findall(r"\{\w+\}", ours)) == set(re.findall(r"\{\w+\}", english))


def test_an_unknown_language_speaks_english() -> None:
    assert messages_for("en-GB") is ENGLISH
    assert messages_for("tlh") is ENGLISH


def test_fields_are_filled_with_text_and_formulas_in_place() -> None:
    parts = fill("{a} and {b}.", a="one", b=["two", TextPart(Fixed(" three"))])
    assert content(parts) == Fixed(("one and two three.",))


def test_what_is_fixed_is_made_once() -> None:
    assert text(["a", Fixed("b"), "", "c"]) == Fixed("abc")
    assert text([]) == Fixed("")
    assert together([Fixed(1), Fixed(2)]) == Fixed((1, 2))
    assert apply(max, Fixed(1), Fixed(2)) == Fixed(2)
    assert isinstance(content([MathPart(Fixed(None))]), Fixed)  # type: ignore[arg-type]
