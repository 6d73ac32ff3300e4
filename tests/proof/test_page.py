"""The page of a family: its structure, and that every number on it is the instance's."""

from __future__ import annotations

import itertools
import math
import re
from base64 import b64decode, b64encode
from hashlib import sha256

import numpy as np
import pytest

import qbank
from qbank.checking.checker import CHECKS as MADE
from qbank.checking.checker import FINITE
from qbank.expressions.numbers import NumberFormat, format_number
from qbank.expressions.symbols import with_unit
from qbank.generation import Generator, Report
from qbank.item import Choice, NumberEntry
from qbank.proof.instances import CHECKS
from qbank.proof.proving import write_proof
from tests.proof.conftest import COUNT, SHOWN
from tests.proof.reading import (
    expected_blocks,
    expected_inline,
    nesting_faults,
    text_of,
    tree,
)


@pytest.fixture(scope="session")
def drawn(made):
    """The same instances drawn again, their items, and the report."""
    report = Report(made.family)
    (instances,) = Generator(made.family).generate(COUNT, seed=5, report=report)
    items = list(qbank.Renderer(made.family).items(instances.take(slice(0, SHOWN))))
    return instances, items, report


def numerals(text: str) -> list[float]:
    """The numbers in a text, powers of ten and true minus signs among them."""
    found = re.findall(r"(−?\d+(?:\.\d+)?)(?: × 10([⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+))?", text.replace(",", ""))
    raised = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
    return [
        float(f"{digits.replace('−', '-')}e{power.translate(raised) or 0}")
        for digits, power in found
    ]


def wrong_format(part: NumberEntry) -> NumberFormat:
    """Wrong values are written as the key is."""
    notation = "scientific" if "×" in part.key_shown else "auto"
    return NumberFormat(part.figures, part.decimals, notation)


def articles(made):
    return made.tree.xpath('//article[@class="instance"]')


# ---------------------------------------------------------------------------- structure


def test_the_markup_nests_and_identifiers_are_unique(made):
    assert nesting_faults(made.html) == []
    names = made.tree.xpath("//@id")
    assert len(names) == len(set(names))


def test_everything_referred_to_exists(made):
    names = set(made.tree.xpath("//@id"))
    for attribute in ("aria-labelledby", "aria-describedby", "for"):
        for value in made.tree.xpath(f"//@{attribute}"):
            assert set(value.split()) <= names, (attribute, value)
    for address in made.tree.xpath("//a/@href"):
        assert address.startswith("#"), address
        assert address[1:] in names, address


def test_headings_and_landmarks(made):
    levels = [int(h.tag[1]) for h in made.tree.xpath("//h1|//h2|//h3|//h4|//h5|//h6")]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    assert len(made.tree.xpath("//main")) == 1
    assert made.tree.xpath("//body/*[1]/@href") == ["#main"]  # the skip link comes first
    navigations = made.tree.xpath("//nav")
    labels = [nav.get("aria-label") for nav in navigations]
    assert all(labels)
    assert len(set(labels)) == len(labels)


def test_fields_and_pictures_have_names(made):
    for field in made.tree.xpath("//input|//select"):
        named = field.get("aria-labelledby") or field.xpath("ancestor::label")
        named = named or made.tree.xpath(f'//label[@for="{field.get("id")}"]')
        assert named, field.attrib
    for picture in made.tree.xpath("//img"):
        assert picture.get("alt")
    for drawing in made.tree.xpath("//*[local-name()='svg']"):
        hidden = drawing.get("aria-hidden") == "true"
        assert hidden or (drawing.get("role") == "img" and drawing.get("aria-label"))


def test_nothing_is_loaded_and_the_policy_names_what_may_run(made):
    for attribute in ("src", "href", "action", "data", "srcset", "poster"):
        for value in made.tree.xpath(f"//@{attribute}"):
            assert value.startswith(("#", "data:image/")), value
    assert not made.tree.xpath("//link|//iframe|//object|//embed|//base|//form/@action")
    assert "url(" not in made.tree.xpath("//style")[0].text
    assert "@import" not in made.tree.xpath("//style")[0].text
    policy = made.tree.xpath('//meta[@http-equiv="Content-Security-Policy"]/@content')[0]
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    for tag in ("style", "script"):
        (element,) = made.tree.xpath(f"//{tag}")
        digest = b64encode(sha256(element.text.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert not made.tree.xpath("//@style")
    assert not [name for e in made.tree.iter() for name in e.attrib if name.startswith("on")]


def test_the_page_says_how_much_of_the_whole_it_shows(made):
    assert made.report.instances == COUNT
    assert made.report.shown == len(articles(made)) == SHOWN
    assert f"the first {SHOWN} of {COUNT} instances" in made.html
    rows = made.tree.xpath('//table[@id="instances"]/tbody/tr')
    assert len(rows) == SHOWN


def test_every_check_has_words():
    assert set(CHECKS) == {FINITE, *MADE}


# ---------------------------------------------------------------------------- numbers


def test_each_instance_reads_as_its_item(made, drawn):
    _, items, _ = drawn
    for article, item in zip(articles(made), items, strict=True):
        rows = article.xpath('./div[starts-with(@class, "row")]')
        asked = [row.xpath('./div[@class="asked"]')[0] for row in rows]
        assert text_of(asked[0]) == expected_blocks(item.stem)
        for part, cell in zip(item.parts, asked[1:], strict=True):
            prompt = cell.xpath('.//p[@class="prompt"]')[0]
            assert text_of(prompt) == expected_inline(part.prompt)
            if isinstance(part, Choice) and not part.inline:
                shown = [text_of(o)[1:] for o in cell.xpath(".//li")]
                assert shown == [expected_inline(o.content) for o in part.options]
        (solution,) = article.xpath('.//div[@class="solution"]')
        assert text_of(solution) == expected_blocks(item.solution)
        for hint in item.hints:
            assert expected_inline(hint) in text_of(article)


def test_keys_and_bands_are_those_of_the_arrays(made, drawn):
    instances, items, _ = drawn
    numbers = 0
    for row, (article, item) in enumerate(zip(articles(made), items, strict=True)):
        notes = article.xpath('.//div[@class="noted"]')[1:]
        for ask, part, note in zip(made.family.ask, item.parts, notes, strict=True):
            if not isinstance(part, NumberEntry):
                continue
            numbers += 1
            unknown = made.family.find[ask.quantity]
            value = float(instances.rounded[ask.quantity][row])
            key = with_unit(format_number(value, unknown.shown), unknown.unit.text)
            assert note.xpath(".//strong")[0].text_content() == key
            low, high = (float(side[row]) for side in instances.tolerance[ask.quantity])
            told = note.xpath('.//dt[.="Accepted"]/following-sibling::dd[1]')[0].text_content()
            assert numerals(told)[:2] == pytest.approx([low, high], rel=1e-11)
            (field,) = article.xpath(f".//input[@data-low='{low!r}'][@data-high='{high!r}']")
            assert field.get("inputmode") == "decimal"
            wrong = note.xpath('.//table[@class="slips"]/tbody/tr/td[1]')
            shown = [c.text_content() for c in wrong]
            assert shown == [
                with_unit(format_number(w.value, wrong_format(part)), part.unit)
                for w in part.wrong_values
            ]
            assert [numerals(text)[0] for text in shown] == pytest.approx(
                [w.value for w in part.wrong_values], rel=0.06
            )
            for label, value in (
                ("Rounding slack", part.tolerance.slack),
                ("Nearest slip", part.tolerance.slip_distance),
            ):
                found = note.xpath(f'.//dt[.="{label}"]/following-sibling::dd[1]')
                assert bool(found) == (value is not None)
                if value is not None:
                    assert numerals(found[0].text_content())[0] == pytest.approx(value, rel=1e-3)
    assert numbers >= 2 * SHOWN


def test_the_table_of_instances_sorts_by_the_keys(made, drawn):
    instances, items, _ = drawn
    rows = made.tree.xpath('//table[@id="instances"]/tbody/tr')
    for row, (line, item) in enumerate(zip(rows, items, strict=True)):
        assert line.get("data-case") == made.family.cases[int(instances.case[row])].name
        sorted_by = [float(c.get("data-sort")) for c in line.xpath("./td[@data-sort]")]
        assert sorted_by == [p.key for p in item.parts if isinstance(p, NumberEntry)]
        shown = [c.text_content() for c in line.xpath("./td[@data-sort]")]
        assert shown == [p.key_shown for p in item.parts if isinstance(p, NumberEntry)]


def test_histograms_count_every_answer(made, drawn):
    instances, _, _ = drawn
    figures = made.tree.xpath('//figure[@class="spread"]')
    assert len(figures) == len(made.family.find)
    cases = [case.name for case in made.family.cases]
    for figure, values in zip(figures, instances.rounded.values(), strict=True):
        rows = figure.xpath(".//tbody/tr")
        edges = [
            [numerals(e)[0] for e in row.xpath("./th")[0].text_content().split(" to ")]
            for row in rows
        ]
        assert edges[0][0] <= values.min() <= values.max() <= edges[-1][1]
        heads = [h.text_content() for h in figure.xpath(".//thead//th")][1:]
        for column, head in enumerate(heads):
            own = values[instances.case == cases.index(head)] if head in cases else values
            # a value on an edge belongs to the bin above it; counted here one by one
            counts = [0] * len(edges)
            for value in own.tolist():
                inside = [
                    k
                    for k, (low, high) in enumerate(edges)
                    if low <= value * (1 + math.copysign(1e-12, value)) < high
                ]
                counts[inside[0] if inside else -1] += 1
            shown = [int(row.xpath("./td")[column].text_content()) for row in rows]
            assert shown == counts
            assert sum(shown) == len(own)
        described = figure.xpath(".//@aria-label")
        assert len(described) == len(heads)
        for label, head in zip(described, heads, strict=True):
            own = values[instances.case == cases.index(head)] if head in cases else values
            assert f"{len(own)} answers" in label


def test_bars_are_as_tall_as_the_counts(made):
    for figure in made.tree.xpath('//figure[@class="spread"]'):
        table = [
            [int(c.text_content()) for c in row.xpath("./td")]
            for row in figure.xpath(".//tbody/tr")
        ]
        columns = np.array(table).T
        for panel, column in zip(figure.xpath('.//div[@class="panel"]'), columns, strict=True):
            heights = [float(h) for h in panel.xpath('.//*[@class="fill"]/@height')]
            shown = [n for n in column.tolist() if n]
            assert len(heights) == len(shown)
            scale = 116 / columns.max()  # CSS pixels an answer
            assert heights == pytest.approx([n * scale for n in shown], abs=0.06)


def test_rules_and_checks_are_those_of_the_report(made, drawn):
    _, _, report = drawn
    tables = {
        table.xpath("string(./caption)"): table
        for table in made.tree.xpath('//*[@id="spread"]//table')
    }
    told = {
        row.xpath("string(./th/text())"): [int(c.text_content().replace(",", "")) for c in row[1:3]]
        for row in tables["How often each rule binds"].xpath("./tbody/tr")
    }
    tally = report.rules
    for ruling, reached, rejected in zip(tally.rulings, tally.reached, tally.rejected, strict=True):
        if ruling.author or rejected:
            assert told[ruling.need] == [reached, rejected], ruling.need
    assert any(rejected for _, rejected in told.values())
    spread = made.tree.xpath('//*[@id="spread"]')[0].text_content()
    assert f"{tally.candidates:,} draws were tried and {tally.accepted:,} accepted" in spread
    assert f"{report.checks.made:,} checks were made. All passed." in spread
    for code, counts in report.checks.tallies.items():
        (row,) = [r for r in made.tree.xpath('//*[@id="spread"]//tbody/tr') if
                  r[0].text_content() == CHECKS[code]]  # fmt: skip
        assert [int(c.text_content().replace(",", "")) for c in row[1:]] == [
            counts.made,
            counts.passed,
        ]
    assert (made.report.checks_made, made.report.checks_passed) == (
        report.checks.made,
        report.checks.passed,
    )


def test_each_instance_counts_its_own_checks(made):
    shown = 0
    for article in articles(made):
        summary = article.xpath('.//summary[starts-with(., "Checks behind it")]')[0].text_content()
        passed, all_made = map(int, re.findall(r"\d+", summary))
        rows = article.xpath(".//details[last()]//tbody/tr")
        counts = np.array([[int(c.text_content()) for c in row[1:]] for row in rows])
        assert counts.sum(axis=0).tolist() == [all_made, passed]
        shown += all_made
    assert 0 < shown < made.report.checks_made


def test_pictures_are_the_items_own(made, drawn):
    _, items, _ = drawn
    from qbank.item import Image

    for article, item in zip(articles(made), items, strict=True):
        expected = [b for b in (*item.stem, *item.solution) if isinstance(b, Image)]
        found = article.xpath(".//img")
        assert len(found) == len(expected)
        for element, image in zip(found, expected, strict=True):
            head, _, data = element.get("src").partition(",")
            assert head == f"data:{image.media_type};base64"
            assert b64decode(data) == image.data
            assert element.get("alt") == image.alt


def test_the_same_page_again(made, tmp_path):
    path = tmp_path / "again.html"
    from qbank.proof.proving import write_proof

    write_proof(made.family, count=COUNT, seed=5, out=path, forms=3, most=SHOWN)
    assert path.read_text(encoding="utf-8") == made.html


def test_one_instance_is_a_page(tmp_path):
    from qbank.proof.proving import write_proof

    report = write_proof("thin-lens", count=1, out=tmp_path / "one.html", forms=1)
    html = (tmp_path / "one.html").read_text(encoding="utf-8")
    assert report.shown == 1
    assert nesting_faults(html) == []
    assert "This page shows all 1 instances." not in html
    assert len(tree(html).xpath('//article[@class="instance"]')) == 1


def test_a_german_marking_guide_writes_numbers_as_german_does(tmp_path):
    family = qbank.load_family(qbank.find_family("thin-lens"), "de")
    write_proof(family, count=2, forms=2, out=tmp_path / "page.html")
    page = tree((tmp_path / "page.html").read_text(encoding="utf-8"))
    cells = page.xpath('//section[@id="marking"]//td[@class="band" or @colspan]')
    told = [cell.text_content() for cell in cells if re.search(r"\d", cell.text_content())]
    assert any(re.search(r"\d+,\d+ bis \d+,\d+ cm", text) for text in told)
    assert not any(re.search(r"\d\.\d", text) for text in told)
