"""Figures as a browser draws them: boxes of texts measured there, pixels counted there."""

from __future__ import annotations

import html
import json
import shutil
import subprocess
from itertools import combinations
from typing import Any

import pytest

from qbank.figures import metrics
from qbank.figures.canvas import Fill, Pen
from qbank.figures.extent import crosses, overlap
from qbank.figures.recording import Circle, Line
from tests.figures.drawings import DRAWN, SVG, frame, images, items, root, runs_of, segments

CHROMIUM = shutil.which("chromium")
EACH = 5  # instances of a family
INK = 2.5  # boxes of text hold that much empty room above and below the letters

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Debian's chromium is not installed")

SCRIPT = """
const out = [];
(async () => {
  for (const svg of document.querySelectorAll('svg')) {
    const boxes = [...svg.querySelectorAll('text')].map(text => {
      const box = text.getBBox();
      return [box.x, box.y, box.x + box.width, box.y + box.height];
    });
    const sizes = [...svg.querySelectorAll('text, tspan')].map(
      text => parseFloat(getComputedStyle(text).fontSize));
    const image = new Image();
    image.src = 'data:image/svg+xml;charset=utf-8,' + encodeURIComponent(svg.outerHTML);
    await image.decode();
    const canvas = document.createElement('canvas');
    canvas.width = 2 * image.width; canvas.height = 2 * image.height;
    const ground = canvas.getContext('2d');
    ground.drawImage(image, 0, 0, canvas.width, canvas.height);
    const data = ground.getImageData(0, 0, canvas.width, canvas.height).data;
    let ink = 0, border = 0;
    for (let y = 0; y < canvas.height; y++) for (let x = 0; x < canvas.width; x++) {
      if (data[4 * (y * canvas.width + x)] < 128) {
        ink++;
        if (x < 4 || y < 4 || x >= canvas.width - 4 || y >= canvas.height - 4) border++;
      }
    }
    out.push({boxes, sizes, ink, border, width: canvas.width, height: canvas.height});
  }
  document.getElementById('out').textContent = JSON.stringify(out);
})();
"""


def pictures(name: str) -> list[Any]:
    return [image for item in items(name)[:EACH] for image in images(item)]


def _split(found: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    by_name = {}
    for name in DRAWN:
        count = len(pictures(name))
        by_name[name], found = found[:count], found[count:]
    assert not found
    return by_name


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[dict[str, Any]]]:
    """What the browser finds, picture by picture, in one run for all families."""
    drawn = [image.data.decode() for name in DRAWN for image in pictures(name)]
    page = tmp_path_factory.mktemp("figures") / "page.html"
    page.write_text(
        f"<meta charset=utf-8><pre id=out></pre>{''.join(drawn)}<script>{SCRIPT}</script>",
        encoding="utf-8",
    )
    command = [
        str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=60000",
        f"--user-data-dir={page.parent / 'profile'}", "--dump-dom", page.as_uri(),
    ]  # fmt: skip
    run = subprocess.run(command, capture_output=True, text=True, timeout=240, check=True)
    told = run.stdout.partition('<pre id="out">')[2].partition("</pre>")[0]
    return _split(json.loads(html.unescape(told)))


def shrunk(box: list[float]) -> tuple[float, float, float, float]:
    """The part of a box that letters can fill."""
    return box[0] + 0.5, box[1] + INK, box[2] - 0.5, box[3] - INK


@pytest.mark.parametrize("name", DRAWN)
def test_texts_do_not_overlap(name: str, found: dict[str, list[dict[str, Any]]]) -> None:
    for picture in found[name]:
        for first, second in combinations(picture["boxes"], 2):
            assert not overlap(tuple(first), tuple(second))


@pytest.mark.parametrize("name", DRAWN)
def test_no_line_runs_through_a_text(name: str, found: dict[str, list[dict[str, Any]]]) -> None:
    for image, picture in zip(pictures(name), found[name], strict=True):
        svg = root(image)
        strokes: list[Line | Circle] = [
            Line(((x0, y0), (x1, y1)), Pen.LINE, Fill.NONE, False, True)
            for x0, y0, x1, y1 in segments(svg)
        ]
        strokes += [
            Circle((float(c.get("cx")), float(c.get("cy"))), float(c.get("r")), Pen.LINE, Fill.NONE)
            for c in svg.iter(f"{SVG}circle")
        ]
        for box in picture["boxes"]:
            assert not any(crosses(stroke, shrunk(box)) for stroke in strokes)


@pytest.mark.parametrize("name", DRAWN)
def test_texts_stay_in_the_frame_and_are_large_enough(
    name: str, found: dict[str, list[dict[str, Any]]]
) -> None:
    for image, picture in zip(pictures(name), found[name], strict=True):
        left, top, right, bottom = frame(root(image))
        assert min(picture["sizes"]) >= 12
        for box in picture["boxes"]:
            assert left <= box[0] < box[2] <= right
            assert top <= box[1] < box[3] <= bottom


@pytest.mark.parametrize("name", DRAWN)
def test_no_text_is_wider_or_higher_than_reckoned(
    name: str, found: dict[str, list[dict[str, Any]]]
) -> None:
    for image, picture in zip(pictures(name), found[name], strict=True):
        for text, box in zip(root(image).iter(f"{SVG}text"), picture["boxes"], strict=True):
            runs = runs_of(text)
            assert box[2] - box[0] <= metrics.width(runs) + 1  # letters stand at whole pixels
            assert box[3] - box[1] <= metrics.ASCENT * metrics.SIZE + metrics.depth(runs) + 1.5


@pytest.mark.parametrize("name", DRAWN)
def test_there_is_ink_and_none_at_the_border(
    name: str, found: dict[str, list[dict[str, Any]]]
) -> None:
    for image, picture in zip(pictures(name), found[name], strict=True):
        assert (picture["width"], picture["height"]) == (2 * image.width, 2 * image.height)
        assert picture["ink"] > 2000
        assert picture["border"] == 0
