"""What is read back equals what was written: keys, tolerances, points, options, feedback,
provenance, text and formulas; on items of our own and on generated ones."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from qbank.formats.dialects import DIALECTS
from qbank.formats.readback import read_items, read_numbers
from qbank.formats.registry import FORMATS
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from qbank.item import (
    BankInfo,
    Choice,
    Display,
    Item,
    Math,
    Metadata,
    NumberEntry,
    Option,
    Paragraph,
    Pool,
    Provenance,
    Table,
    Tolerance,
    WrongValue,
)
from tests.formats.samples import bank

# A cartridge splits items and lists numbers; what comes back of them: test_cartridge.
EVERY = [name for name in FORMATS if name != "cartridge-1.3"]
MATHML = 'xmlns="http://www.w3.org/1998/Math/MathML"'


# ---------------------------------------------------------------------------- what may differ


def merged(content):
    """Text and formulas with neighbouring texts joined, as XML cannot tell them apart."""
    out = []
    for piece in content:
        if isinstance(piece, str) and out and isinstance(out[-1], str):
            out[-1] += piece
        elif piece != "":
            out.append(piece)
    return tuple(out)


def plain(content):
    return merged(tuple(p.plain if isinstance(p, Math) else p for p in content))


def expected(item: Item, name: str) -> Item:
    """The item as the format is documented to give it back (see its `capabilities.losses`)."""
    if name == "jsonl":
        return item

    def text(value: str) -> str:
        # In CSV a line break in HTML becomes a space.
        return value.replace("\n", " ") if name == "csv" else value

    def blocks(given):
        out = []
        for b in given:
            if isinstance(b, Paragraph):
                out.append(
                    Paragraph(
                        tuple(text(p) if isinstance(p, str) else p for p in merged(b.content))
                    )
                )
            elif isinstance(b, Table):
                out.append(
                    Table(
                        text(b.caption),
                        tuple(map(merged, b.header)),
                        tuple(tuple(map(merged, row)) for row in b.rows),
                        b.row_headers,
                    )
                )
            else:
                out.append(b)
        return tuple(out)

    parts = []
    for part in item.parts:
        if isinstance(part, NumberEntry):
            wrong = tuple(
                replace(
                    w,
                    value=w.value if name == "csv" else (w.low + w.high) / 2,
                    feedback=merged(w.feedback),
                )
                for w in part.wrong_values
            )
            parts.append(replace(part, prompt=merged(part.prompt), wrong_values=wrong))
        else:
            drop_down = part.inline and not part.multiple and name in DIALECTS
            options = tuple(
                replace(
                    o,
                    content=plain(o.content) if drop_down else merged(o.content),
                    feedback=merged(o.feedback),
                )
                for o in part.options
            )
            parts.append(
                replace(
                    part,
                    prompt=merged(part.prompt),
                    options=options,
                    inline=part.inline and not part.multiple,
                )
            )
    return replace(
        item,
        stem=blocks(item.stem),
        solution=blocks(item.solution),
        parts=tuple(parts),
        hints=tuple(map(merged, item.hints)),
    )


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("unpacked", [False, True])
def test_the_sample_bank_comes_back(tmp_path, name, unpacked):
    info, items = bank(4)
    write_bank(info, items, tmp_path / "bank", name, unpacked=unpacked)
    back = list(read_items(tmp_path / "bank"))
    assert back == [expected(item, name) for item in items]


@pytest.mark.parametrize("name", EVERY)
def test_the_numbers_of_a_package_are_those_of_the_items(tmp_path, name):
    info, items = bank(5)
    write_bank(info, items, tmp_path / "bank.zip", name)
    written = [
        (item.identifier, p.identifier, p.key, p.tolerance.low, p.tolerance.high, p.points)
        for item in items
        for p in item.parts
        if isinstance(p, NumberEntry)
    ]
    read = [
        (n.item, n.part, n.key, n.low, n.high, n.points)
        for n in read_numbers(tmp_path / "bank.zip")
    ]
    assert read == written
    assert len(read) == 12


# ---------------------------------------------------------------------------- generated items

NAMES = st.from_regex(r"[A-Za-z_][A-Za-z0-9_.-]{0,9}", fullmatch=True)
# What XML can hold; a carriage return too, which only an escape brings through.
TEXT = st.text(
    st.characters(
        codec="utf-8",
        exclude_categories=["Cs", "Cc"],
        include_characters="\r\n",
        exclude_characters="\ufffe\uffff",
    ),
    min_size=1,
    max_size=12,
).map(lambda s: s if s.strip() else "x")
LINE = st.text(
    st.characters(
        codec="utf-8",
        exclude_categories=["Cs", "Cc", "Zl", "Zp"],
        exclude_characters="\ufffe\uffff|",
    ),
    min_size=1,
    max_size=12,
)
HOSTILE = st.sampled_from(
    ["<b>", "&amp;", "]]>", '"', "'=1+1", "=1+1", "+1", "-x", "@a", "%s", "100 %", "{}", "\\"]
)
FREE = LINE | HOSTILE


@st.composite
def formulas(draw):
    name, digits = draw(st.sampled_from("abxyα")), draw(st.integers(0, 999))
    body = draw(
        st.sampled_from(
            [
                f"<mi>{name}</mi>",
                f"<msup><mi>{name}</mi><mn>{digits}</mn></msup>",
                f"<mfrac><mrow><mi>{name}</mi><mo>&lt;</mo></mrow><mn>{digits}</mn></mfrac>",
                f"<mrow><mo>|</mo><mi>{name}</mi><mo>|</mo></mrow>",
            ]
        )
    )
    return Math(f"<math {MATHML}>{body}</math>", draw(FREE))


INLINE = st.lists(FREE | formulas(), min_size=1, max_size=3).map(tuple)
MAYBE = st.just(()) | INLINE
NUMBERS = st.floats(-1e9, 1e9, allow_nan=False).map(lambda x: float(f"{x:.6g}"))
POINTS = st.sampled_from([0.0, 0.5, 1.0, 2.0, 3.25])


@st.composite
def number_entries(draw, name):
    key = draw(NUMBERS)
    width = abs(key) * draw(st.sampled_from([0.0, 0.01, 0.05])) + draw(st.sampled_from([0.0, 0.5]))
    low, high = key - width, key + width
    wrong = []
    for slip in draw(st.lists(FREE, max_size=3, unique=True)):
        value = draw(NUMBERS)
        if abs(value - key) > width + 1:
            wrong.append(WrongValue(slip, value, value - 0.5, value + 0.5, draw(MAYBE)))
    precision = draw(st.sampled_from([{}, {"figures": 3}, {"decimals": 1}]))
    return NumberEntry(
        name,
        draw(INLINE),
        key,
        repr(key),
        draw(FREE),
        draw(st.sampled_from(["", "N", "m/s²", "%", "°C", "kg·m²"])),
        Tolerance(low, high, draw(st.just("") | FREE)),
        draw(POINTS),
        wrong_values=tuple(wrong),
        **precision,
    )


@st.composite
def choices(draw, name):
    multiple = draw(st.booleans())
    count = draw(st.integers(2, 5))
    right = (
        draw(st.sets(st.integers(0, count - 1))) if multiple else {draw(st.integers(0, count - 1))}
    )
    options = tuple(
        Option(f"C{k + 1}", draw(INLINE), k in right, draw(MAYBE), draw(st.none() | FREE))
        for k in range(count)
    )
    return Choice(
        name,
        draw(INLINE),
        options,
        draw(POINTS),
        multiple=multiple,
        inline=draw(st.booleans()) and not multiple,
        shuffle=draw(st.booleans()),
    )


@st.composite
def tables(draw):
    columns, rows = draw(st.integers(1, 3)), draw(st.integers(1, 3))
    return Table(
        draw(st.just("") | FREE),
        tuple(draw(INLINE) for _ in range(columns)) if draw(st.booleans()) else (),
        tuple(tuple(draw(MAYBE) for _ in range(columns)) for _ in range(rows)),
        draw(st.booleans()),
    )


BLOCKS = st.lists(
    INLINE.map(Paragraph) | formulas().map(Display) | tables(), min_size=1, max_size=3
).map(tuple)


@st.composite
def items(draw):
    names = draw(st.lists(NAMES, min_size=1, max_size=3, unique=True))
    provenance = draw(
        st.none()
        | st.builds(
            Provenance,
            FREE,
            FREE,
            st.just("0f" * 32),
            st.integers(0, 2**63),
            st.integers(0, 10**9),
            st.just("") | FREE,
        )
    )
    return Item(
        identifier=f"i{draw(st.integers(0, 10**9))}",
        title=draw(FREE),
        language=draw(st.sampled_from(["en", "de-CH", "el"])),
        stem=draw(BLOCKS),
        parts=tuple(draw(number_entries(n) | choices(n)) for n in names),
        solution=draw(st.just(()) | BLOCKS),
        caution=draw(st.just("") | FREE),
        hints=tuple(draw(st.lists(INLINE, max_size=2))),
        metadata=draw(
            st.builds(
                Metadata,
                st.sampled_from(["", "a", "a/b/c"]),
                st.just("") | FREE,
                st.just("") | FREE,
                st.lists(FREE, max_size=2).map(tuple),
                st.lists(FREE, max_size=2).map(tuple),
            )
        ),
        provenance=provenance,
    )


@pytest.mark.parametrize("name", EVERY)
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(item=items())
def test_a_generated_item_comes_back(name, item):
    info = BankInfo("g", "G", "en", (Pool("g", "G", 1, len(item.parts)),))
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "bank.zip"
        write_bank(info, [item], target, name)
        assert validate_package(target) == []
        assert list(read_items(target)) == [expected(item, name)]


@pytest.mark.parametrize("name", list(DIALECTS))
@settings(max_examples=40)
@given(text=TEXT)
def test_any_text_comes_back_to_the_letter(name, text):
    item = Item(
        "i1",
        "T",
        "en",
        (Paragraph((text,)),),
        (NumberEntry("a", (text,), 1.0, "1", text, text, Tolerance(0.0, 2.0, text), 1.0),),
        caution=text,
    )
    info = BankInfo("g", "G", "en", (Pool("g", "G", 1, 1),))
    with tempfile.TemporaryDirectory() as folder:
        write_bank(info, [item], Path(folder) / "bank.zip", name)
        assert list(read_items(Path(folder) / "bank.zip")) == [item]
