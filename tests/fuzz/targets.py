"""What is fuzzed: each target reads bytes and lets through nothing but faults told as such.

A reader may refuse with a QbankError. Any other exception is a crash, and so is a hang.
"""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Callable
from contextlib import nullcontext, suppress
from functools import cache
from pathlib import Path

from lxml import etree

from qbank.audit.binding import read_bindings
from qbank.audit.reading.numerals import judge_decimal
from qbank.audit.reading.quantities import read_number, read_quantities
from qbank.audit.reading.questions import asked_unit, questions_of
from qbank.audit.reading.tex import untexed
from qbank.audit.reading.text import html_text, mathml_text
from qbank.audit.reading.unit_text import read_unit
from qbank.errors import QbankError
from qbank.expressions.parser import parse_condition, parse_equation, parse_measure, parse_value
from qbank.expressions.units import parse_unit
from qbank.family.library import find_family
from qbank.family.loader import load_family, read_family
from qbank.family.model import Family
from qbank.family.reader import decode
from qbank.formats import jsonl_readback
from qbank.formats.foreign.asi_item import read_asi_item
from qbank.formats.foreign.documents import parse_document
from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.qti_item import read_qti_item
from qbank.formats.package import LooseFile
from qbank.formats.skimming import skimmed
from qbank.formats.source import ReadItem
from qbank.formats.tables import TableReading
from qbank.scoring.assessment import ScoredTest
from qbank.scoring.compiled import compile_item, item_of
from qbank.scoring.documents import read_document
from qbank.scoring.item import ScoredItem
from qbank.scoring.item12 import ScoredItem12
from qbank.scoring.names import name_of_tag
from tests.scoring.test_assessment import ITEM

FEW = 3  # of the items of a document, so that one input stays quick
BOUND_TO = ("stepped-drum", "mean-interval", "thin-lens")


def family(data: bytes) -> None:
    """A family file."""
    with suppress(QbankError):
        read_family(decode(data, "f.yaml"), "f.txt")


def qti(data: bytes) -> None:
    """A document of QTI of any version: read by the tolerant reader, run by the scorer."""
    try:
        root = parse_document(data, "item.xml", Losses("item.xml"))
        _read_tolerantly(root)
    except QbankError:
        pass
    with suppress(QbankError):
        _score(read_document(data), data)


def _read_tolerantly(root: etree._Element) -> None:
    read: list[ReadItem] = []
    if name_of_tag(str(root.tag)) == "assessmentItem":
        read.append(read_qti_item(root, "item.xml", _no_file, Losses("item.xml")))
    for item in list(root.iter("{*}item"))[:FEW]:
        read.append(read_asi_item(item, "item.xml", _no_file, Losses("item.xml")))
    list(questions_of(read))


def _no_file(href: str) -> bytes:
    raise QbankError(f"there is no '{href}'")


class _OneItem:
    """A test's library in which every reference means the same item."""

    def opened(self) -> nullcontext[None]:
        return nullcontext()

    def item(self, href: str) -> ScoredItem:
        return compile_item(ITEM)

    def section(self, href: str) -> etree._Element:
        return etree.fromstring(b"<assessmentSection identifier='far'/>")


def _score(root: etree._Element, data: bytes) -> None:
    kind = name_of_tag(str(root.tag))
    if kind == "assessmentItem":
        item = item_of(root, data=data)
        session = item.session(1)
        session.text()
        keys = {name: _answer(session.key(name)) for name in item.responses}
        for given in ({}, {name: key for name, key in keys.items() if key is not None}):
            for shown in session.attempt(given).feedback:
                shown.text  # noqa: B018 - the text is made when it is asked for
    elif kind == "assessmentTest":
        test = ScoredTest(root, _OneItem())
        met = [selected.identifier for selected in test.select(1)]
        test.score({})
        test.score({name: {"RESPONSE": "A"} for name in met[:1]})
    elif kind == "questestinterop":
        for element in list(root.iter("{*}item"))[:FEW]:
            old = ScoredItem12(element)
            old.score({})
            old.score(dict.fromkeys(old.responses, "1"))


def _answer(key: object) -> str | list[str] | None:
    if isinstance(key, list):
        return [str(one) for one in key]
    return None if key is None or isinstance(key, dict) else str(key)


def table(data: bytes) -> None:
    """A table of a bank."""
    try:
        reading = TableReading(Path("bank.csv"), None, data)
        read = list(reading.items)
        list(questions_of(read))
    except QbankError:
        pass


def quantities(data: bytes) -> None:
    """Running text with numbers and units; expressions, conditions and units of a family."""
    text = data.decode("utf-8", "replace")
    for reader in (html_text, mathml_text, untexed, read_unit):
        reader(text)
    judge_decimal([text])
    asked_unit([text])
    read_quantities(text)
    read_quantities(untexed(text), ",")
    read_number(text)
    for parse in (parse_value, parse_condition, parse_equation, parse_measure, parse_unit):
        with suppress(QbankError):
            parse(text)


@cache
def _folder() -> Path:
    folder = tempfile.mkdtemp(prefix="fuzz")
    atexit.register(shutil.rmtree, folder)
    return Path(folder)


def jsonl(data: bytes) -> None:
    """A bank of JSON Lines."""
    path = _folder() / "bank.jsonl"
    path.write_bytes(data)
    package = LooseFile(path)
    jsonl_readback.recognises(package)
    with suppress(QbankError):
        list(jsonl_readback.iter_findings(package))
    try:
        whole = [repr(skimmed(item)) for item in jsonl_readback.iter_items(package)]
    except QbankError:
        with suppress(QbankError):
            list(jsonl_readback.iter_items(package, whole=False))
        return
    assert [repr(item) for item in jsonl_readback.iter_items(package, whole=False)] == whole


@cache
def _families() -> tuple[Family, ...]:
    return tuple(load_family(find_family(name)) for name in BOUND_TO)


def binding(data: bytes) -> None:
    """A binding file."""
    with suppress(QbankError):
        read_bindings(decode(data, "b.yaml"), "b.yaml", _families())


TARGETS: dict[str, Callable[[bytes], None]] = {
    run.__name__: run for run in (family, qti, table, quantities, jsonl, binding)
}
