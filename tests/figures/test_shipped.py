"""Figures of the shipped families: there, safe, within their frame, and silent on the answer."""

import re

import numpy as np
import pytest
from lxml import etree

import qbank
from qbank.family.model import Family
from qbank.figures.canvas import plain
from qbank.item import Paragraph
from qbank.rendering.figures import MOST_HIGH, MOST_WIDE
from tests.figures.drawings import DRAWN, NAMES, SVG, frame, images, items, root, runs_of, segments

ELEMENTS = {"svg", "title", "desc", "g", "rect", "path", "circle", "text", "tspan"}
ATTRIBUTES = {
    "role", "width", "height", "viewBox", "x", "y", "cx", "cy", "r", "d", "dy", "fill", "stroke",
    "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray", "font-family",
    "font-size", "font-style", "text-anchor",
}  # fmt: skip
MUST = ("mechanics", "electricity", "structures", "optics")


def load(name: str) -> Family:
    return qbank.load_family(qbank.find_family(name))


@pytest.mark.parametrize("name", NAMES)
def test_what_one_would_draw_has_a_figure(name: str) -> None:
    if qbank.find_family(name).parent.name in MUST:
        assert load(name).figure is not None


@pytest.mark.parametrize("name", DRAWN)
def test_files_are_well_formed_safe_small_and_named_apart(name: str) -> None:
    for item in items(name):
        pictures = images(item)
        assert pictures
        assert len({image.name for image in pictures}) == len(pictures)
        for image in pictures:
            assert re.fullmatch(r"figure-i[0-9a-f]{10}-\d+(-solved)?\.svg", image.name)
            assert image.media_type == "image/svg+xml"
            assert len(image.data) < 20_000
            svg = root(image)
            assert {etree.QName(node).localname for node in svg.iter()} <= ELEMENTS
            assert {key for node in svg.iter() for key in node.keys()} <= ATTRIBUTES  # noqa: SIM118 - an lxml element is no dictionary
            assert (svg.get("width"), svg.get("height")) == (str(image.width), str(image.height))
            assert image.width <= MOST_WIDE
            assert image.height <= MOST_HIGH


@pytest.mark.parametrize("name", DRAWN)
def test_colours_are_black_white_and_one_grey(name: str) -> None:
    for image in images(items(name)[0]):
        colours = set(re.findall(rb'"(#\w+)"', image.data))
        assert colours <= {b"#000", b"#fff", b"#e4e4e4"}
        assert b"opacity" not in image.data


@pytest.mark.parametrize("name", DRAWN)
def test_nothing_leaves_the_frame(name: str) -> None:
    for item in items(name):
        for image in images(item):
            svg = root(image)
            left, top, right, bottom = frame(svg)
            for x0, y0, x1, y1 in segments(svg):
                assert left + 2 <= min(x0, x1) <= max(x0, x1) <= right - 2
                assert top + 2 <= min(y0, y1) <= max(y0, y1) <= bottom - 2
            for circle in svg.iter(f"{SVG}circle"):
                x, y, r = (float(circle.get(key)) for key in ("cx", "cy", "r"))
                assert left + 2 <= x - r <= x + r <= right - 2
                assert top + 2 <= y - r <= y + r <= bottom - 2


@pytest.mark.parametrize("name", DRAWN)
def test_it_is_told_in_words_with_the_data_and_without_answers(name: str) -> None:
    family = load(name)
    unknowns = [quantity.symbol.replace("_", "") for quantity in family.find.values()]
    told_without_data = set()
    for item in items(name):
        stem = images(item)[0]
        svg = root(stem)
        title, told = svg.findtext(f"{SVG}title"), svg.findtext(f"{SVG}desc")
        assert title == family.title
        assert told == f"{stem.alt} {stem.description}".strip()
        assert len(stem.alt) > 40
        labels = [plain(runs_of(text)) for text in svg.iter(f"{SVG}text")]
        assert all(label in stem.description for label in labels if " = " in label)
        for label in labels:
            sign = label.partition(" = ")[0].replace("_", "")
            assert " = " not in label or sign not in unknowns
        told_without_data.add(re.sub(r"\u2212?\d[\d.]*", "", stem.alt))
    assert len(told_without_data) == 1  # the same words in every case


@pytest.mark.parametrize("name", DRAWN)
def test_numbers_in_labels_are_those_of_the_stem(name: str) -> None:
    for item in items(name):
        stem = "".join(
            part if isinstance(part, str) else part.plain
            for block in item.stem
            if isinstance(block, Paragraph)
            for part in block.content
        )
        for text in root(images(item)[0]).iter(f"{SVG}text"):
            label = plain(runs_of(text))
            if " = " in label:
                assert label.partition(" = ")[2] in stem


@pytest.mark.parametrize("name", DRAWN)
def test_the_figure_follows_the_first_paragraph(name: str) -> None:
    for item in items(name):
        assert isinstance(item.stem[0], Paragraph)
        assert images(item)[0] is item.stem[1]


@pytest.mark.parametrize("name", DRAWN)
def test_it_does_not_depend_on_the_case_which_shapes_the_stem_shows(name: str) -> None:
    figure = load(name).figure
    assert figure is not None
    assert not any(shape.only for shape in figure.shapes)


@pytest.mark.parametrize("name", ["stepped-drum", "thin-lens", "two-means"])
def test_the_same_instance_has_the_same_bytes_alone_and_among_others(name: str) -> None:
    family = load(name)
    again = qbank.Renderer(family)
    for k in (0, 7):
        one = next(again.items(qbank.instance(family, seed=11, k=k)))
        assert images(one) == images(items(name)[k])


def test_the_drum_is_drawn_to_scale() -> None:
    family = load("stepped-drum")
    instances = next(iter(qbank.generate(family, seed=11, count=8)))
    for k, item in enumerate(qbank.Renderer(family).items(instances)):
        circles = root(images(item)[0]).iter(f"{SVG}circle")
        radii = sorted((float(circle.get("r")) for circle in circles), reverse=True)
        ratio = instances.values["R"][k] / instances.values["r"][k]
        assert radii[0] / radii[1] == pytest.approx(ratio, rel=0.005)


def test_the_beam_and_its_load_are_drawn_to_scale() -> None:
    family = load("floor-beam")
    instances = next(iter(qbank.generate(family, seed=11, count=8)))
    for k, item in enumerate(qbank.Renderer(family).items(instances)):
        ends = segments(root(images(item)[0]))
        share = instances.values["a"][k] / instances.values["L"][k]
        upright = [x0 for x0, y0, x1, y1 in ends if x0 == x1 and abs(y1 - y0) > 60]
        assert np.isclose(upright, share * 420, atol=0.06).any()


def test_the_turning_arrow_of_the_solution_shows_the_case() -> None:
    for item in items("stepped-drum"):
        stem, solved = images(item)
        added = len(segments(root(solved))) - len(segments(root(stem)))
        assert added > 0
        assert item.provenance is not None
        tip = [s for s in segments(root(solved)) if s not in segments(root(stem))][-1]
        assert (tip[0] > 0) == (item.provenance.case == "clockwise")
