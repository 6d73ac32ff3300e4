"""Content as one line of text: MathML, HTML cells, TeX; and what a hostile cell cannot do."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.audit.reading import inline_text, plain_text, read_quantities
from qbank.audit.reading.text import MOST_TEXT
from qbank.item import Display, Image, Math, Paragraph, Table

M = '<math xmlns="http://www.w3.org/1998/Math/MathML">{}</math>'


@pytest.mark.parametrize(
    ("mathml", "text"),
    [
        ("<mn>3</mn><mo>&#xB7;</mo><msup><mn>10</mn><mn>8</mn></msup>", "3·10⁸"),
        ("<mfrac><mi>a</mi><mi>b</mi></mfrac>", "(a/b)"),
        ("<mfrac><mrow><mi>a</mi><mo>+</mo><mn>1</mn></mrow><mi>b</mi></mfrac>", "((a+1)/b)"),
        ("<msub><mi>m</mi><mn>1</mn></msub><mo>=</mo><mn>2.0</mn><mtext>\u00a0kg</mtext>",
         "m_1=2.0 \u00a0kg"),
        ("<msup><mi>s</mi><mrow><mo>−</mo><mn>2</mn></mrow></msup>", "s⁻²"),
        ("<msup><mi>x</mi><mrow><mi>n</mi><mo>+</mo><mn>1</mn></mrow></msup>", "x^(n+1)"),
        ("<msqrt><mi>x</mi></msqrt>", "√(x)"),
        ("<mn>5</mn><mi>kg</mi>", "5 kg"),
        ("<mn>30</mn><mi>°</mi>", "30°"),
        ("<msup><mn>30</mn><mo>∘</mo></msup>", "30°"),
        ("<semantics><mn>5</mn><annotation>five</annotation></semantics>", "5"),
        ("<mi>a</mi><mphantom><mn>7</mn></mphantom>", "a"),
        ("<msubsup><mi>v</mi><mn>0</mn><mn>2</mn></msubsup>", "v_0²"),
    ],
)  # fmt: skip
def test_mathml_without_plain_text(mathml, text):
    assert inline_text(Math(M.format(mathml), "")) == text


def test_mathml_numbers_are_quantities():
    formula = Math(M.format("<mi>c</mi><mo>=</mo><mn>3.00</mn><mo>×</mo><msup><mn>10</mn><mn>8</mn>"
                            "</msup><mfrac><mi>m</mi><mi>s</mi></mfrac>"), "")  # fmt: skip
    (one,) = read_quantities(inline_text(("With ", formula, ".")))
    assert (one.value, one.unit.text, one.symbol) == (300_000_000, "m/s", "c")


@pytest.mark.parametrize(
    ("html", "text"),
    [
        ("<p>A <b>block</b> of m<sub>1</sub>&nbsp;= 2 kg</p>", "A block of m_1\u00a0= 2 kg"),
        ("3 x 10<sup>-4</sup> m/s<sup>2</sup>", "3 x 10⁻⁴ m/s²"),
        ("x<sup>n</sup> and e<sup>-kt</sup>", "x^n and e^(-kt)"),
        ("one<br>two<p>three</p>", "one two three"),
        ("5 &micro;F &lt; 6 &#181;F", "5 µF < 6 µF"),
        ("a<script>alert(1)</script>b<style>p{}</style>", "ab"),
        ("x < 5 and y > 3", "x < 5 and y > 3"),
        ("R&D at AT&T", "R&D at AT&T"),
        ("<img src='http://example.org/a.png' alt='x'>5 kg", "5 kg"),
        ("a<!-- 7 kg -->b <b>c", "ab c"),
        ("\\( m_{1} = 2.0\\,\\mathrm{kg} \\)", "m_1 = 2.0 kg"),
        ("costs $5 only", "costs $5 only"),
        ("5 k\u2126 and 3 m\u2215s", "5 kΩ and 3 m/s"),
        ("500 \u212b and 1\u20442", "500 Å and 1/2"),
        ("<input type=text> N", "___ N"),
    ],
)
def test_strings(html, text):
    assert inline_text(html) == text


def test_blocks():
    table = Table("t", (("a",), ("b",)), ((("1 kg",), ("2 m",)),))
    picture = Image("p.svg", "image/svg+xml", b"", "9 kg")
    stem = (
        Paragraph(("A  car\n of ", Math("", "5 kg"))),
        Display(Math("", "F = ma")),
        table,
        picture,
    )
    assert plain_text(stem) == "A car of 5 kg F = ma t || a | b || 1 kg | 2 m"


def test_numbers_of_a_table_take_the_unit_of_their_header():
    rows = ((("1",), ("39.0",)), (("2",), ("38.5 cm",)))
    text = plain_text((Table("", (("no.",), ("x / mm",)), rows),))
    assert [q.text for q in read_quantities(text)] == ["1", "39.0 mm", "2", "38.5 cm"]
    rows = ((("t (s)",), ("1.0",), ("2.0",)), (("v in m/s",), ("3.0",), ("−4.0",)))
    text = plain_text((Table("", (), rows, row_headers=True),))
    assert [q.text for q in read_quantities(text)] == ["1.0 s", "2.0 s", "3.0 m/s", "−4.0 m/s"]


@pytest.mark.parametrize(
    "text",
    [
        "<" * 100_000, "<p>" * 100_000, "&#" * 100_000, "<!--" * 50_000, "\\frac{" * 50_000,
        "$" * 100_001, "_{" * 100_000, "1," * 100_000, "1 000 " * 50_000, "5 kg " * 50_000,
        "5 " + "m·" * 100_000, "5 " + "m " * 100_000, "1.5e" * 50_000, "±" * 100_000, "5" * 300_000,
        "5 " + "kg/(" * 50_000, "= " * 100_000 + "5", "m = 5 " * 30_000, "\x00" * 1000 + "<b>5</b>",
        "5 per " * 50_000, "<sup>" * 50_000 + "5", "1/" * 100_000, "10^(" * 50_000,
    ],
    ids=lambda text: f"{text[:6]}{len(text)}",
)  # fmt: skip
def test_hostile_text_takes_bounded_work(text):
    # no clock: a quadratic step would take minutes at these sizes
    plain = inline_text(text)
    assert len(plain) <= 2 * MOST_TEXT
    assert len(read_quantities(plain)) <= 400
    assert len(read_quantities(text)) <= 400


def test_entities_are_not_expanded():
    bomb = '<!DOCTYPE m [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]><math><mi>&b;</mi></math>'
    assert "aaaa" not in inline_text(Math(bomb, ""))


@given(st.text(alphabet="<>/&;psubmn#x0159 \\${}_^", max_size=120))
def test_any_string_becomes_one_line(text):
    assert "\n" not in inline_text(text)
