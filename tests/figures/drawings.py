"""Figures of shipped families for the tests: drawn once, and read back from their SVG alone."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

from lxml import etree

import qbank
from qbank.figures.canvas import Run, Runs
from qbank.item import Image, Item

SVG = "{http://www.w3.org/2000/svg}"
NAMES = sorted(path.stem for path in qbank.shipped_families())
DRAWN = [name for name in NAMES if qbank.load_family(qbank.find_family(name)).figure]
COUNT = 24
Segment = tuple[float, float, float, float]


@cache
def items(name: str) -> list[Item]:
    """Items of a family, of all its cases."""
    family = qbank.load_family(qbank.find_family(name))
    instances = next(iter(qbank.generate(family, seed=11, count=COUNT)))
    return list(qbank.Renderer(family).items(instances))


def images(item: Item) -> list[Image]:
    """The pictures of the stem and the solution."""
    return [block for block in (*item.stem, *item.solution) if isinstance(block, Image)]


def root(image: Image) -> etree._Element:
    """The parsed file."""
    return etree.fromstring(image.data)


def frame(svg: etree._Element) -> tuple[float, float, float, float]:
    """Left, top, right, bottom; y downwards as in the file."""
    x, y, wide, high = map(float, svg.get("viewBox").split())
    return x, y, x + wide, y + high


def segments(svg: etree._Element) -> list[Segment]:
    """Every straight stroke, from the path data."""
    found: list[Segment] = []
    for path in svg.iter(f"{SVG}path"):
        if path.get("stroke") == "none":
            continue
        numbers = [float(text) for text in re.findall(r"-?\d+\.\d", path.get("d"))]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        if path.get("d").endswith("Z"):
            points.append(points[0])
        found += [(*start, *end) for start, end in pairwise(points)]
    return found


def runs_of(text: etree._Element) -> Runs:
    """What a text element says, with its styles."""
    runs = [Run(text.text)] if text.text else []
    for span in text:
        low = span.get("font-size") == "12"
        italic = span.get("font-style") == "italic"
        runs.append(Run(span.text or "", "low" if low else "italic" if italic else "upright"))
        if span.tail:
            runs.append(Run(span.tail))
    return tuple(runs)
