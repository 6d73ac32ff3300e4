"""The page as a document: complete without script, and nothing of a stranger's text is markup."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace

import lxml.html
import pytest

from qbank.audit.report import as_page
from qbank.audit.verdict import Audit
from tests.audit.report.made import HOSTILE, ROUNDED, SLIPPED, full, hostile, question, unchecked


@pytest.fixture(scope="module")
def page() -> lxml.html.HtmlElement:
    return lxml.html.document_fromstring(as_page(full(), [question()]))


def texts(elements) -> list[str]:
    return [" ".join(element.text_content().split()) for element in elements]


def test_every_finding_has_a_row_and_an_article(page):
    rows = page.xpath("//table[@id='table']/tbody/tr")
    articles = page.xpath("//article[starts-with(@id, 'finding-')]")
    assert len(rows) == len(articles) == 6
    assert texts(rows[3]) == [
        "4", "item-7", "A", "error", "wrong", "3 matched to a family", "48.2 N", "24.1 N",
        "slip:diameters", "97 %",
    ]  # fmt: skip
    assert page.xpath("//table[@id='table']//a/@href") == [f"#finding-{n}" for n in range(1, 7)]


def test_a_suspect_stands_beside_its_recomputation(page):
    article = page.get_element_by_id("finding-4")
    assert texts(article.iter("mark")) == ["24 cm", "60 cm", "4.0 kg"]
    told = dict(zip(texts(article.iter("dt")), texts(article.iter("dd")), strict=True))
    assert told["States"] == "48.2 N"
    assert told["Should be"] == "24.1 N"
    assert told["Accepted"] == "23.86 to 24.34"
    assert "taken as radii" in told["How"]
    assert told["Cause"].startswith("The diameters")
    assert "A drum of diameters 24 cm and 60 cm carries 4.0 kg." in texts(article.iter("p"))
    assert not list(page.get_element_by_id("finding-1").iter("mark"))


def test_remarks_and_what_is_unchecked_stand_apart(page):
    remarks = texts(page.xpath("//section[@id='remarks']//tbody/tr"))
    assert len(remarks) == 2
    assert "rounded to 1.7 s" in remarks[0]
    reasons = texts(page.xpath("//section[@id='unchecked']//summary"))
    assert reasons == ["27 keys: its stem holds no numbers", "2 keys: no family fits its wording"]
    assert "11 of 12 keys agree" in page.get_element_by_id("assignments").text_content()
    assert "'Answer' holds the key" in texts(page.xpath("//section[@id='reading']//li"))


def test_silence_never_looks_like_approval():
    page = lxml.html.document_fromstring(as_page(Audit("b", "f", 1, [unchecked(0)])))
    (alarm,) = page.xpath("//p[@class='alarm']")
    assert "NOTHING WAS CHECKED" in alarm.text_content()
    assert "NOTHING WAS CHECKED" in as_page(Audit("b", ""))


def test_a_page_says_what_it_does_not_show():
    many = [replace(SLIPPED, number=k, item=f"i{k}") for k in range(5003)]
    many += [replace(ROUNDED, number=k, item=f"r{k}") for k in range(2002)]
    page = lxml.html.document_fromstring(as_page(Audit("b", "f", 9000, many)))
    assert len(page.xpath("//table[@id='table']/tbody/tr")) == 5000
    assert "the worst 5,000 of 5,003 findings" in page.get_element_by_id("findings").text_content()
    assert "And 2 more" in page.get_element_by_id("remarks").text_content()


def test_text_of_a_stranger_is_text():
    html = as_page(hostile(), [])
    page = lxml.html.document_fromstring(html)
    assert not list(page.iter("img", "iframe", "object", "link", "base"))
    assert len(list(page.iter("script"))) == 1
    assert not [name for e in page.iter() for name in e.attrib if name.startswith("on")]
    assert "\x1b" not in html
    assert "\u202e" not in html
    shown = HOSTILE.replace("\x1b", "\ufffd").replace("\u202e", "")
    assert page.find(".//h1").text_content() == shown


def test_nothing_is_loaded_and_the_policy_names_what_may_run():
    html = as_page(full())
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', html)
    assert policy.startswith("default-src 'none'")
    for tag in ("style", "script"):
        (body,) = re.findall(rf"<{tag}>(.*?)</{tag}>", html, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert not re.findall(r"""(?:src|href)=["'](?!#)""", html)
    assert "url(" not in html


def test_ids_are_unique_and_labels_have_their_fields(page):
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    assert set(page.xpath("//label/@for")) <= set(ids)
    assert {link[1:] for link in page.xpath("//a/@href")} <= set(ids)
