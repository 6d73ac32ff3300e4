"""Export: time beside bare lxml serialisation + zlib of the same bytes, and memory by count."""

from __future__ import annotations

import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from lxml import etree

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.formats.registry import find_format
from qbank.formats.writing import write_bank
from qbank.generation import Generator
from qbank.item import BankInfo, Item, Pool
from qbank.rendering.renderer import Renderer
from tests.bench.measure import Figure, peak_megabytes, seconds

FAMILY = "stepped-drum"
COUNT = 10_000
FORMATS = ("qti-2.1", "qti-3.0")
ZLIB_LEVEL = 6  # zlib's own default


def figures() -> Iterator[Figure]:
    family = load_family(find_family(FAMILY))
    renderer = Renderer(family)
    chunks = list(Generator(family).generate(COUNT, seed=1))

    def rendered() -> Iterator[Item]:
        for chunk in chunks:
            for item in renderer.items(chunk):
                yield replace(item, hints=())  # as the main job does

    info = BankInfo("bench", "bench", "en", (Pool(family.name, family.title, COUNT, 8),))
    items = list(rendered())
    with tempfile.TemporaryDirectory() as folder:
        for name in FORMATS:
            target = Path(folder) / find_format(name).file_name("bench", False)
            written = seconds(lambda t=target, n=name: write_bank(info, items, t, n), repeats=2)
            whole = seconds(lambda t=target, n=name: write_bank(info, rendered(), t, n), repeats=1)
            bare = _bare_seconds(target)
            yield Figure("export", f"{name}: write and validate items / bare lxml + zlib",
                         written / bare, "x", 2.0)  # fmt: skip
            yield Figure("export", f"{name}: the same with rendering / bare lxml + zlib",
                         whole / bare, "x")  # fmt: skip
            yield Figure("export", f"{name}: items a second, rendering included",
                         COUNT / whole, "1/s")  # fmt: skip


def _bare_seconds(package: Path) -> float:
    """Serialise every member's tree with lxml and compress the bytes, nothing else."""
    with zipfile.ZipFile(package) as archive:
        trees = [etree.fromstring(archive.read(name)) for name in archive.namelist()]

    def bare() -> None:
        for tree in trees:
            data = etree.tostring(tree, encoding="UTF-8", xml_declaration=True)
            zlib.compress(data, ZLIB_LEVEL)

    return seconds(bare, repeats=2)


def memory_figures() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory() as folder:
        for name in (*FORMATS, "csv"):
            small, large = (_export_peak(count, name, folder) for count in (1_000, 100_000))
            yield Figure("memory", f"{name}: peak for 100,000 items / peak for 1,000",
                         large / small, "x", 1.5)  # fmt: skip
            yield Figure("memory", f"{name}: peak for 1,000 items", small, "MB")


def _export_peak(count: int, name: str, folder: str) -> float:
    return peak_megabytes(
        f"import qbank; qbank.make([{FAMILY!r}], count={count}, formats=[{name!r}], out={folder!r})"
    )
