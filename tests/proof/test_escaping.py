"""Text, formulas and pictures of a stranger's bank: shown as text, or not at all.

The hostile pieces follow what is commonly tried against HTML filters (common practice, no
source): elements and attributes that run scripts, foreign content that turns back into HTML,
links, styles, and characters that turn the direction of text.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from qbank.checking.report import CheckReport
from qbank.expressions.units import parse_unit
from qbank.item import (
    Choice,
    Display,
    Image,
    Item,
    Matching,
    Math,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Provenance,
    Table,
    Tolerance,
    WrongValue,
)
from qbank.proof.evidence import Evidence
from qbank.proof.gather import Proof, Shown
from qbank.proof.markup import block, inline
from qbank.proof.mathml import ATTRIBUTES, ELEMENTS, formula
from qbank.proof.page import write_page
from qbank.proof.text import attribute, escape
from tests.proof.reading import nesting_faults, tree

NS = 'xmlns="http://www.w3.org/1998/Math/MathML"'
XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
SVG = 'xmlns="http://www.w3.org/2000/svg"'
HTML = 'xmlns="http://www.w3.org/1999/xhtml"'

TEXTS = [
    "<script>window.taken=1</script>",
    "<img src=x onerror=window.taken=1>",
    "</title></style></script><script>window.taken=1</script>",
    "\"'><svg onload=window.taken=1>",
    "' onmouseover='window.taken=1",
    "javascript:window.taken=1",
    "]]><!--<script>window.taken=1</script>-->",
    "&lt;b&gt; &amp; &#60;script&#62;",
    "5 < 6 & 7 > 6",
    "https://example.org/<a href=//example.org>",
    "\x00\x08\x1b[31m\x7f",
    "\u202egnirts\u2066",
    "\ud800",
]


@pytest.mark.parametrize("text", TEXTS)
def test_text_stays_text(text):
    shown = tree(f'<p id="p" title="{attribute(text)}">{escape(text)}</p>').xpath('//*[@id="p"]')[0]
    assert len(shown) == 0
    assert set(shown.attrib) == {"id", "title"}
    cleaned = "".join(
        "\ufffd" if c in "\x00\x08\x1b\x7f\ud800" else c for c in text if c not in "\u202e\u2066"
    )
    assert shown.text_content() == cleaned
    assert shown.get("title") == cleaned


def test_good_formulas_pass_unharmed():
    made = f"<math {NS}><msub><mi>M</mi><mi mathvariant='normal'>r</mi></msub><mo>=</mo>"
    made += "<mfrac linethickness='1px'><mn>2.4</mn><msqrt><mi>π</mi></msqrt></mfrac></math>"
    shown = formula(made, "x")
    assert shown == (
        '<math><msub><mi>M</mi><mi mathvariant="normal">r</mi></msub><mo>=</mo>'
        '<mfrac linethickness="1px"><mn>2.4</mn><msqrt><mi>π</mi></msqrt></mfrac></math>'
    )
    assert formula(made, "x", display=True).startswith('<math display="block">')


def test_a_prefix_is_no_hindrance():
    made = '<m:math xmlns:m="http://www.w3.org/1998/Math/MathML"><m:mi>x</m:mi></m:math>'
    assert formula(made, "x") == "<math><mi>x</mi></math>"


def test_semantics_keeps_its_presentation_alone():
    made = (
        f"<math {NS}><semantics><mi>x</mi><annotation encoding='text/plain'>x</annotation>"
        f"<annotation-xml encoding='text/html'><script {HTML}>window.taken=1</script>"
        "</annotation-xml></semantics></math>"
    )
    assert formula(made, "x") == "<math><mi>x</mi></math>"


def test_fences_that_browsers_no_longer_draw_are_drawn():
    made = f"<math {NS}><mfenced open='[' separators=';'><mi>a</mi><mi>b</mi></mfenced></math>"
    assert formula(made, "[a; b)") == (
        "<math><mrow><mo>[</mo><mi>a</mi><mo>;</mo><mi>b</mi><mo>)</mo></mrow></math>"
    )


@pytest.mark.parametrize(
    "made",
    [
        f"<math {NS}><script>window.taken=1</script></math>",
        f"<math {NS}><mtext><script {HTML}>window.taken=1</script></mtext></math>",
        f"<math {NS}><mtext><img {HTML} src='x' onerror='window.taken=1'/></mtext></math>",
        f"<math {NS}><mi><svg {SVG} onload='window.taken=1'/></mi></math>",
        f"<math {NS}><mglyph src='https://example.org/x.png'/></math>",
        f"<math {NS}><maction actiontype='statusline'><mi>x</mi></maction></math>",
        f"<math {NS}><mtext><malignmark/><style {HTML}>*</style></mtext></math>",
        f"<math {NS}><annotation-xml encoding='text/html'><p {HTML}/></annotation-xml></math>",
        f"<math {NS}><apply><plus/><ci>x</ci></apply></math>",
        f"<p {HTML}>x</p>",
        f"<math {NS}><mi>x</mi>",
        '<!DOCTYPE m [<!ENTITY x SYSTEM "file:///etc/passwd">]><math><mi>&x;</mi></math>',
        f"<math {NS}>{'<mrow>' * 400}{'</mrow>' * 400}</math>",
        f"<math {NS}><mn>{'1' * 200_000}</mn></math>",
        "",
    ],
)
def test_what_is_no_presentation_is_shown_as_plain_text(made):
    assert formula(made, "x < 1") == '<span class="plain-formula">x &lt; 1</span>'


@pytest.mark.parametrize(
    "given",
    [
        "href='javascript:window.taken=1'",
        "xlink:href='javascript:window.taken=1'",
        "onclick='window.taken=1'",
        "style='position:fixed'",
        "class='skip'",
        "id='main'",
        "mathcolor='red'",
        "background='https://example.org'",
        "mathsize='99999px'",
        "linethickness='99999em'",
        "width='calc(1px)'",
        "mathvariant='&quot;&gt;&lt;script&gt;'",
    ],
)
def test_attributes_that_do_more_than_shape_symbols_are_dropped(given):
    made = f"<math {NS} {XLINK}><mi {given}>x</mi></math>"
    assert formula(made, "x") == "<math><mi>x</mi></math>"


def test_no_name_that_passes_can_run_or_load_anything():
    assert not {name for name in ATTRIBUTES if name.startswith("on") or "href" in name}
    assert not ELEMENTS & {"script", "style", "annotation-xml", "maction", "mglyph", "a", "img"}


def test_only_pictures_that_an_image_element_may_show():
    picture = Image("a.svg", "image/svg+xml", b"<svg/>", 'a "figure" <b>', "", 100, 50)
    shown = tree(block(picture)).xpath("//img")[0]
    assert shown.get("src").startswith("data:image/svg+xml;base64,")
    assert shown.get("alt") == 'a "figure" <b>'
    assert (shown.get("width"), shown.get("height")) == ("100", "50")
    other = replace(picture, media_type='text/html"><script>', width=10**9)
    assert "<img" not in block(other)
    assert "<script" not in block(other)
    assert "width" not in block(replace(picture, width=10**9, height=0))


def test_punctuation_is_held_to_its_formula():
    x = Math(f"<math {NS}><mi>x</mi></math>", "x")
    held = '<span class="held"><math><mi>x</mi></math>,</span>'
    assert inline(("If ", x, ", then ", x, " holds")) == (
        f"If {held} then <math><mi>x</mi></math> holds"
    )


def hostile_item(text: str, number: int) -> Item:
    """An item with the text wherever an item has text."""
    inline_ = (text, Math(f"<math {NS}><mtext>{etree_text(text)}</mtext></math>", text), text)
    options = tuple(Option(f"{text}{k}", inline_, k == 0, inline_, text) for k in range(3))
    band = Tolerance(0.9, 1.1, text, 0.05, 0.3)
    wrong = (WrongValue(text, 2.0, 1.9, 2.1, inline_),)
    entry = NumberEntry(text, inline_, 1.0, text, text, text, band, 1.0, 3, None, wrong)
    return Item(
        identifier=text,
        title=text,
        language=text,
        stem=(
            Paragraph(inline_),
            Display(Math(f"<math {NS} href='{number}'><mi>x</mi></math>", text)),
            Table(text, (inline_, inline_), ((inline_, inline_),), row_headers=True),
            Image(text, "image/svg+xml", HOSTILE_PICTURE, text, text),
        ),
        parts=(
            entry,
            replace(entry, figures=None),
            Choice(text, inline_, options, 1.0, inline=True),
            Choice(text, inline_, options, 1.0, multiple=True),
            Ordering(text, inline_, options, 1.0, partial=True),
            Matching(text, inline_, options, options, ((options[0].identifier,) * 2,), 1.0),
        ),
        solution=(Paragraph(inline_),),
        caution=text,
        hints=(inline_,),
        provenance=Provenance(text, text, text, 0, number, text),
    )


def etree_text(text: str) -> str:
    """Text as XML, without what XML cannot hold."""
    element = etree.Element("x")
    element.text = "".join(c for c in text if c.isprintable())
    return etree.tostring(element, encoding="unicode")[3:-4] if element.text else ""


HOSTILE_PICTURE = (
    f"<svg {SVG} width='20' height='20' onload='window.taken=1'><script>window.taken=1</script>"
    "<image href='https://example.org/x.png' width='9' height='9'/>"
    f"<foreignObject><p {HTML}>x</p></foreignObject></svg>"
).encode()


@pytest.fixture(scope="module")
def hostile_page(tmp_path_factory) -> Path:
    """A page on which every text is hostile."""
    shown = tuple(
        Shown(k, hostile_item(text, k), Evidence(text, CheckReport(), (text,)))
        for k, text in enumerate(TEXTS, 1)
    )
    path = tmp_path_factory.mktemp("hostile") / "page.html"
    everything = " ".join(TEXTS)
    write_page(Proof(everything, ((everything, everything),), len(shown), shown, ()), path, 3)
    return path


def test_a_page_of_hostile_text_is_still_a_page(hostile_page):
    html = hostile_page.read_text(encoding="utf-8")
    assert nesting_faults(html) == []
    page = tree(html)
    assert len(page.xpath("//script")) == 1
    assert len(page.xpath("//style")) == 1
    names = page.xpath("//@id")
    assert len(names) == len(set(names))
    assert not [a for e in page.iter() for a in e.attrib if a.startswith("on") or a == "style"]
    assert {i.get("src")[:26] for i in page.xpath("//img")} == {"data:image/svg+xml;base64,"}
    assert all(address.startswith("#") for address in page.xpath("//@href"))


@pytest.mark.parametrize("view", ["proof", "questions", "answers", "marking"])
def test_a_browser_runs_and_loads_nothing_of_it(browser, hostile_page, view):
    browser.resize(1280, 900)
    browser.open(hostile_page, f"?view={view}")
    browser.run("document.querySelectorAll('details').forEach(d => d.open = true)")
    browser.run("new Promise(done => setTimeout(() => done(1), 300))")
    assert browser.run("typeof window.taken") == "undefined"
    assert [r for r in browser.requests()[1:] if not r.startswith("data:image/")] == []
    assert browser.run("document.documentElement.dataset.view") == view


def test_units_are_harmless_by_themselves():
    assert escape(parse_unit("m/s^2").text) == "m/s²"
