"""Inputs to start from, made by our own writers: `python -m tests.fuzz.seeds TARGET FOLDER`.

None is kept in the repository: whatever the writers write today is what is broken today.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from qbank.audit.binding.file import FILE
from qbank.family.library import find_family
from qbank.formats.registry import FORMATS
from qbank.formats.writing import write_bank
from tests.fuzz.targets import BOUND_TO
from tests.scoring.items import DIALECTS, QTI_21, declare, document
from tests.scoring.test_assessment import ITEM, ref, section
from tests.scoring.test_routes import TOTAL, branch, part, pre, scored, section_ref

FAMILIES = ("mean-interval", "stepped-drum", "weak-acid", "thin-lens")
DOCUMENTS = ("qti-1.2", "qti-2.1", "qti-3.0", "cartridge-1.3")
MOST_BYTES = 60_000
TEXTS = (
    "A crate of 12.5 kg hangs on a rope of 2.0 m; g = 9.81 m/s^2.",
    r"Light of \(6.33 \times 10^{-7}\,\mathrm{m}\) falls on slits 0,25 mm apart.",
    "<p>At 20 &deg;C the density is 1.2·10³ kg m⁻³ ± 5 %, from 65, 70 and 67 mm.</p>",
    "<math><mn>3.5</mn><mo>×</mo><msup><mn>10</mn><mn>4</mn></msup><mi>J</mi></math>",
    "2*sin(alpha)^2 + sqrt(h/(2*g))", "m > 3 kg and 20 cm <= s < 1 m", "F = m*a", "9.81 m/s^2",
    "kg m^2 s^-2", "in N to 3 significant figures, 1/2 in., 1 1/2 h, 2nd, U-235, 1.000,5",
)  # fmt: skip


def seeds(target: str) -> list[bytes]:
    """The inputs of a target, the smallest first."""
    found = [data for data in _MADE[target]() if len(data) <= MOST_BYTES]
    return sorted(found, key=len)


def _families() -> Iterator[bytes]:
    for name in FAMILIES:
        yield find_family(name).read_bytes()
    yield (Path(__file__).parent.parent / "family" / "cart.yaml").read_bytes()


def _banks(names: tuple[str, ...], suffix: str) -> Iterator[bytes]:
    from tests.formats.arranged import arranged_bank
    from tests.formats.samples import bank

    unpacked = suffix != ".jsonl"
    for info, items in (bank(2), arranged_bank()):
        for name in names:
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / FORMATS[name].file_name("bank", unpacked)
                write_bank(info, items, path, name, unpacked=unpacked)
                files = sorted(Path(folder).rglob(f"*{suffix}"))
                yield from (file.read_bytes() for file in files if file.is_file())


def _documents() -> Iterator[bytes]:
    yield ITEM
    yield document()
    for dialect in DIALECTS:
        yield dialect.markup(_route()).encode()
    yield from _banks(DOCUMENTS, ".xml")


def _route() -> str:
    """A test with conditions and branches."""
    inner = ref("A", inner=branch("C", scored("SCORE", 1))) + ref("B", inner=pre("<null/>"))
    inner += section("IN", branch("EXIT_TEST") + ref("C") + section_ref("FAR", "far.xml"))
    text = section("S", '<ordering shuffle="true"/>' + inner)
    return (
        f'<assessmentTest xmlns="{QTI_21.namespace}" identifier="T" title="T">'
        + declare("outcome", "SCORE", "float", "0")
        + part(text)
        + f"<outcomeProcessing>{TOTAL}</outcomeProcessing></assessmentTest>"
    )


def _tables() -> Iterator[bytes]:
    yield b"question;answer;unit\nA crate of 2,5 kg falls for 3 s. How far?;44,1;m\n"
    yield (
        b"stem,option A,option B,option C,correct\n"
        b'"Which force acts on 2.0 kg, at rest?",19.6 N,9.8 N,2.0 N,B\n'
    )
    yield from _banks(("csv",), ".csv")


def _lines() -> Iterator[bytes]:
    yield from _banks(("jsonl",), ".jsonl")


def _texts() -> Iterator[bytes]:
    yield from (text.encode() for text in TEXTS)


def _bindings() -> Iterator[bytes]:
    yield FILE.example.encode()
    for name in BOUND_TO[1:]:
        yield FILE.example.replace("stepped-drum", name).encode()


_MADE = {
    "family": _families,
    "qti": _documents,
    "table": _tables,
    "quantities": _texts,
    "jsonl": _lines,
    "binding": _bindings,
}


def main() -> None:
    """Write the seeds of a target into a folder."""
    target, folder = sys.argv[1], Path(sys.argv[2])
    folder.mkdir(parents=True, exist_ok=True)
    for n, data in enumerate(seeds(target)):
        (folder / f"{n}").write_bytes(data)


if __name__ == "__main__":
    main()
