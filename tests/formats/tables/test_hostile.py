"""Whatever bytes a table is made of, it is read, with losses, or refused with a fault of ours."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from qbank.audit.reading import questions_of
from qbank.errors import QbankError
from qbank.formats.tables import TableReading
from qbank.item import Choice

_CELLS = st.sampled_from([
    "question", "answer", "A", "B", "correct", "unit", "5 kg", "1,5", '"', '""', "\\\"", "x" * 70,
    "How far does it go in 3 s?", "", " ", "N", "<p>5</p>", "2%", "-", "1e999999999", "part 1 key",
    "part", "id", "option", "option 1", "option 2", "grade 1", "grade 2", "wrong answer", "answers",
    "Answer (a)", "Answer (b)", "accepted range", "TRUE", "FALSE", "x", "100%", "3.4|3.5", "b)",
    "What? A) 1 m B) 2 m", "(a) How far? (b) How fast?", "v = g t = 9.81 m/s", "5.0 ± 2 %", "#REF!",
    "4.9 - 5.1", "1..2", "5-Mar", "type", "essay", "Explain why.", "2", "1e-400", "m s^{-2}",
])  # fmt: skip


def _read(data):
    try:
        reading = TableReading(Path("t.csv"), None, data)
        items = list(reading.items)
    except QbankError:
        return
    for question in questions_of(items):
        assert isinstance(question.key, float)
    for read in items:
        for part in read.item.parts:
            name = read.item.identifier, part.identifier
            try:
                row, column = reading.key_cell(*name)
            except KeyError:
                continue
            if isinstance(part, Choice) and reading.option_keyed(*name):
                for option in part.options:
                    said = reading.option_said(*name, part.options[0].identifier, option.identifier)
                    assert said is None or isinstance(said, str)
            assert row >= 0
            assert 0 <= column < len(reading.roles)


@given(st.binary(max_size=300))
def test_any_bytes(data):
    _read(data)


@given(
    st.lists(st.lists(_CELLS, min_size=1, max_size=6), min_size=1, max_size=8),
    st.sampled_from(",;\t|"),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["utf-8", "utf-16", "cp1252"]),
)
def test_any_cells(rows, delimiter, end, encoding):
    _read(end.join(delimiter.join(row) for row in rows).encode(encoding))
