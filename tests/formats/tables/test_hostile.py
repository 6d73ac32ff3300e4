"""Whatever bytes a table is made of, it is read, with losses, or refused with a fault of ours."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from qbank.audit.reading import questions_of
from qbank.errors import QbankError
from qbank.formats.tables import TableReading

_CELLS = st.sampled_from([
    "question", "answer", "A", "B", "correct", "unit", "5 kg", "1,5", '"', '""', "\\\"", "x" * 70,
    "How far does it go in 3 s?", "", " ", "N", "<p>5</p>", "2%", "-", "1e999999999", "part 1 key",
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
            try:
                row, column = reading.key_cell(read.item.identifier, part.identifier)
            except KeyError:
                continue
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
