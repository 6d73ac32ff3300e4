"""Places of single characters of a scalar, in every style YAML has."""

import hypothesis.strategies as st
import pytest
import yaml
from hypothesis import given, settings

from qbank.family.nodes import Scalar, Source, digest
from qbank.family.reader import read_nodes
from qbank.place import Place


def scalar_of(text: str, key: str = "k") -> Scalar:
    node = read_nodes(text, "f").entries[key].value
    assert isinstance(node, Scalar)
    return node


@pytest.mark.parametrize(
    "text",
    [
        "k: plain text q here\n",
        "k: plain text\n   that goes on q here\n",
        "a: 1\nk:   'it''s quoted q here'\n",
        'k: "a \\"word\\", \\u00e9, \\x41 and q here"\n',
        'k: "joined \\\n    lines q here"\n',
        "k: |\n  first line\n    indented\n\n  then q here\n",
        "k: >-\n  folded line\n  goes on\n\n  then q here\n",
        "k: |2\n    two kept q here\n",
        "{a: 1, k: max(u, v) > q here}\n",
        "{k: max(u,v,   w) > q here, a: 1}\n",
    ],
)
def test_a_character_of_the_text_is_found_in_the_file(text: str) -> None:
    scalar = scalar_of(text)
    place = scalar.source.place(scalar.index_of(scalar.text.index("q here")))
    line = text.split("\n")[place.line - 1]
    assert line[place.column - 1 :].startswith("q here")


words = st.text(alphabet="abcxyz'\"\\:#-é°{}[],&*% \n\t", min_size=1, max_size=60).filter(
    lambda text: text.strip()
)


@settings(max_examples=300, deadline=None)
@given(text=words, style=st.sampled_from(["'", '"', "|", ">"]), width=st.integers(10, 40))
def test_every_visible_character_is_found_whatever_the_style(
    text: str, style: str, width: int
) -> None:
    dumped = yaml.safe_dump({"k": text}, default_style=style, width=width, allow_unicode=True)
    scalar = scalar_of(dumped)
    assert scalar.text == text
    for offset, letter in enumerate(text):
        if letter.isspace():
            continue
        found = dumped[scalar.index_of(offset)]
        assert found == letter or (scalar.style == '"' and found == "\\")


def test_a_fault_shows_the_line_and_underlines_the_part() -> None:
    scalar = scalar_of("a: 1\n  \n\nk:   some wrong text\n")
    error = scalar.fault("what is wrong", (5, 10), "the mend")
    assert str(error) == (
        "f:4:11: what is wrong\n    k:   some wrong text\n              ^^^^^\n    the mend"
    )


def test_a_fault_that_spans_lines_is_cut_at_the_end_of_the_first() -> None:
    scalar = scalar_of("k: |\n  one two\n  three\n")
    error = scalar.fault("m", (4, 13))
    assert error.place == Place("f", 2, 7)
    assert error.excerpt == "one two"
    assert error.span == (4, 7)


def test_places_count_from_one() -> None:
    source = Source.of("f", "ab\ncd")
    assert source.place(0) == Place("f", 1, 1)
    assert source.place(2) == Place("f", 1, 3)
    assert source.place(3) == Place("f", 2, 1)
    assert source.place(5) == Place("f", 2, 3)


def test_the_digest_ignores_comments_layout_and_quotes_only() -> None:
    base = read_nodes("a: {b: 1, c: two words}\n", "f")
    same = read_nodes("# a note\na:\n  b: '1'\n  c: >-\n    two\n    words\n", "other")
    assert digest(base) == digest(same)
    for other in ("a: {b: 1, c: two word}\n", "a: {c: two words, b: 1}\n", "a: [b, 1]\n"):
        assert digest(base) != digest(read_nodes(other, "f"))
