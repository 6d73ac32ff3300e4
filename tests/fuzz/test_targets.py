"""The fuzz targets with random edits of their seeds, in seconds; `tests.fuzz.run` looks longer.

To roam here: `QBANK_HYPOTHESIS=roam HYPOTHESIS_MAX_EXAMPLES=5000 pytest tests/fuzz`.
"""

from __future__ import annotations

import os
import time
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz.seeds import seeds
from tests.fuzz.targets import TARGETS

MOST = int(os.environ.get("HYPOTHESIS_MAX_EXAMPLES", "60"))
SECONDS = 10.0  # of the processor, for one input
BYTES = 16_000  # of a seed, so that a test takes seconds
# What readers look for, and what they should not stumble over.
PIECES = [
    b"", b"\0", b"\xff", b"\xef\xbb\xbf", "é−½⁻³Ω".encode(), b"\n", b"  ", b",", b";", b'"', b"'",
    b"{", b"}", b"[", b"]", b":", b"- ", b"&amp;", b"&#1;", b"<![CDATA[", b"<!--", b"</p>", b"<a ",
    b"<math>", b"NaN", b"-INF", b"1e999", b"-0", b"9" * 40, b"1/0", b"1e-400", b"null", b"true",
    b"\\frac", b"$", b"^^", b"**", b"((((", b"kg m^2", b"!!python/object", b"&a *a", b"<<: ",
]  # fmt: skip

edits = st.lists(
    st.tuples(
        st.sampled_from(["insert", "delete", "repeat", "move", "byte"]),
        st.floats(0, 1),
        st.integers(0, 60),
        st.floats(0, 1),
        st.sampled_from(PIECES),
    ),
    min_size=1,
    max_size=6,
)


@cache
def start(target: str) -> list[bytes]:
    return [data for data in seeds(target) if len(data) <= BYTES]


def edited(data: bytes, changes: list[tuple[str, float, int, float, bytes]]) -> bytes:
    for kind, place, length, other, piece in changes:
        at, to = int(place * len(data)), int(other * len(data))
        taken = data[at : at + length]
        if kind == "insert":
            data = data[:at] + piece + data[at:]
        elif kind == "delete":
            data = data[:at] + data[at + length :]
        elif kind == "repeat":
            data = data[:at] + taken * 3 + data[at:]
        elif kind == "move":
            data = data[:to] + taken + data[to:]
        else:
            data = data[:at] + bytes([length]) + data[at + 1 :]
    return data


def timed(target: str, data: bytes) -> None:
    started = time.process_time()
    TARGETS[target](data)
    assert time.process_time() - started < SECONDS


@pytest.mark.parametrize("target", TARGETS)
def test_seeds_are_read(target):
    assert seeds(target)
    for data in start(target):
        timed(target, data)


@pytest.mark.parametrize("target", TARGETS)
def test_edits_of_seeds_are_read_or_refused(target):
    found = start(target)

    @settings(max_examples=MOST, suppress_health_check=[HealthCheck.too_slow])
    @given(st.sampled_from(range(len(found))), edits)
    def read(which, changes):
        timed(target, edited(found[which], changes))

    read()


@pytest.mark.parametrize("target", TARGETS)
def test_any_bytes_are_read_or_refused(target):
    @settings(max_examples=MOST, suppress_health_check=[HealthCheck.too_slow])
    @given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(str.encode)))
    def read(data):
        timed(target, data)

    read()


def asi_html(html: str) -> bytes:
    """An item of QTI 1.2.1 with that HTML for a text."""
    return (
        '<questestinterop><item ident="a"><presentation><material>'
        f'<mattext texttype="text/html"><![CDATA[{html}]]></mattext></material>'
        '<response_lid ident="R"><render_choice><response_label ident="A"/></render_choice>'
        "</response_lid></presentation></item></questestinterop>"
    ).encode()


# What the fuzzer found once, made short.
FOUND = [
    ("qti", asi_html("<math><mi&gt;g</mi></math>")),
    ("qti", asi_html("<math><mi\u00c3gt;g<</mi></math>")),
]


@pytest.mark.parametrize(("target", "data"), FOUND)
def test_what_was_found_stays_mended(target, data):
    timed(target, data)
