"""Numbers and texts that no honest bank holds: the check ends, and in time."""

from __future__ import annotations

import math
import time

import pytest

from qbank.audit.check import check_bank
from qbank.audit.reading.quantities import read_quantities
from qbank.audit.reading.text import inline_text
from qbank.audit.verdict import Verdict

HUGE = [
    "1e999999", "1e400", "1e120", "9" * 400, "1" * 100_000, "1e-999999", "-1e308", "10^999",
    "1.5e308 x 10^308", "10^-400", "1e9999999999", "1/0", "inf", "nan", "1e+", "٣", "1e308",
]  # fmt: skip


def test_numbers_beyond_all_bounds(tmp_path):
    path = tmp_path / "t.csv"
    rows = [f"A puck leaves at {x} Gm/s from a height of {x} km. How far?,{x},{x}" for x in HUGE]
    path.write_text("question,answer,tolerance\n" + "\n".join(rows) + "\n", encoding="utf-8")
    audit = check_bank(path, families=["level-launch"])
    assert audit.items == len(HUGE)
    assert {j.verdict for j in audit.judgements} <= {
        Verdict.UNCHECKED,
        Verdict.DEFECT,
        Verdict.REMARK,
    }


HOSTILE = {
    "digits": "1", "groups": "1,000", "points": "1.1", "powers": "10^", "times": "5 x 10 ",
    "scales": "1e1", "units": "5 kg m s ", "solidi": "5 m/s/", "brackets": "5 (m",
    "raised": "5 m²", "tex": "\\frac{1", "braces": "{_", "dollars": "$5 ",
    "commands": "\\mu\\mathrm{", "tags": "<p>", "sub": "5<sub>2", "entities": "&nbsp;5",
    "open": "<", "blanks": "5      ", "symbols": "m_1 = ", "signs": "±5-", "fractions": "1/2 ",
    "gaps": "___ ", "in": "in m in ", "months": "5 May ", "dates": "1:11:1",
    "words": "metres per ", "degrees": "5 ° C", "vulgar": "5½", "thin": "1\u2009", "dots": "....",
    "quotes": "1'000'", "labels": "part 5 (", "ands": "5, and 6 or ", "minus": "−−5",
    "math": "<math><mn>5</mn></math>", "comment": "<!-- ", "percent": "5 per cent ",
    "tilde": "~~5 ",
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_texts_made_to_take_long_take_linear_time(name):
    """Twice the text takes about twice as long; a short time says nothing of that."""
    piece = HOSTILE[name]

    def seconds(size: int) -> float:
        text = (piece * (size // len(piece) + 1))[:size]
        start = time.process_time()
        read_quantities(inline_text(text))
        return time.process_time() - start

    seconds(1000)
    once = min(seconds(40_000) for _ in range(2))
    twice = min(seconds(80_000) for _ in range(2))
    assert twice < max(3.2 * once, 0.25), f"{once:.3f} s, then {twice:.3f} s"
    assert math.isfinite(twice)
