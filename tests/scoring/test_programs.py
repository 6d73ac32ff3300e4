"""Programs that siblings share.

Rules are from the project's mapping note, sections e and g, unless a test says otherwise.
"""

from __future__ import annotations

import gc
import types

from lxml import etree

from qbank.formats.dialects import QTI_30
from qbank.scoring.compiled import compile_item
from qbank.scoring.programs import rules_text
from tests.scoring.items import (
    RIGHT,
    SCORE,
    base,
    declare,
    document,
    entry,
    f,
    mapped,
    put,
    when,
)

# ---------------------------------------------------------------------------- shared programs


def test_siblings_share_a_program_and_keep_their_own_numbers_and_keys():
    def sibling(low: str, worth: str, key: str, lure: float) -> bytes:
        declarations = declare("response", "RESPONSE", "float", key) + SCORE
        declarations += mapped(entry("A", lure)).replace("RESPONSE", "PICK")
        test = f'<gte><variable identifier="RESPONSE"/>{f(low)}</gte>'
        rules = when(test, put("SCORE", f(worth)))
        rules += put(
            "SCORE", '<sum><variable identifier="SCORE"/><mapResponse identifier="PICK"/></sum>'
        )
        rules += put(
            "SCORE", '<sum><variable identifier="SCORE"/><correct identifier="RESPONSE"/></sum>'
        )
        return document(declarations, rules)

    first = compile_item(sibling("2", "10", "100", 1000))
    second = compile_item(sibling("3.5", "20", "200", 3000))
    assert first._response.program is second._response.program
    for _ in range(2):
        assert first.score({"RESPONSE": "3", "PICK": "A"}).score == 1110
        assert second.score({"RESPONSE": "3", "PICK": "A"}).score == 3200
        assert second.score({"RESPONSE": "3.5"}).score == 220


def test_rules_that_differ_in_more_than_numbers_share_nothing():
    one = document(SCORE, put("SCORE", f"<sum>{f(1, 2)}</sum>"))
    other = document(SCORE, put("SCORE", f"<product>{f(1, 2)}</product>"))
    loose = document(SCORE, put("SCORE", f"<sum>{f(1, 2)}</sum>").replace("<sum>", "<sum>7"))
    found = [compile_item(data) for data in (one, other, loose)]
    assert [item.score({}).score for item in found] == [3, 2, 3]
    assert len({id(item._response.program) for item in found}) == 3


def test_rules_are_found_in_the_bytes_only_where_that_is_certain():
    """A comment, an entity or another spelling must not make two items share a program."""
    plain = document(SCORE, put("SCORE", f(1)))
    text = put("SCORE", f(1)).encode()
    assert rules_text(plain) == text
    assert (
        rules_text(QTI_30.markup(plain.decode()).encode()) == QTI_30.markup(text.decode()).encode()
    )
    rules = b"<responseProcessing>" + text + b"</responseProcessing>"
    comment = b"<!-- <responseProcessing>" + text.replace(b"1", b"9") + b"</responseProcessing> -->"
    for other in [
        plain.replace(b"<itemBody>", comment + b"<itemBody>"),
        plain.replace(
            rules, comment + rules.replace(b"responseProcessing", b"response-PROCESSING")
        ),
        plain.replace(b">1<", b">&#49;<"),
        plain.replace(b">1<", b"><!-- >2</ -->1<"),
        plain.replace(b">1<", b"><![CDATA[1]]><"),
        b'<?xml version="1.0" encoding="ISO-8859-1"?>' + plain,
    ]:
        assert rules_text(other) is None
        assert compile_item(other).score({}).score == 1


def test_a_kept_program_keeps_no_document():
    """What it is built from is freed: a bank's programs must not hold its trees in memory."""
    rules = "".join(put("SCORE", expression) for expression in [
        f'<equal toleranceMode="absolute" tolerance="1">{f(1, 1)}</equal>',
        f'<gt><correct identifier="RESPONSE"/>{f(1)}</gt>',
        '<anyN min="1" max="1"><isNull><variable identifier="RESPONSE"/></isNull></anyN>',
        f'<index n="1"><repeat numberRepeats="2">{f(1)}</repeat></index>',
        '<mapResponse identifier="PICK"/>', f'<sum>{f(1, 2)}</sum>', '<customOperator class="x"/>',
        f'<round>{f(1.5)}</round>',
        f'<inside shape="circle" coords="0,0,1">{base("point", "0 0")}</inside>',
    ])  # fmt: skip
    declarations = declare("response", "RESPONSE", "float", "1") + SCORE
    declarations += mapped(entry("A", 1)).replace("RESPONSE", "PICK")
    program = compile_item(document(declarations, when(RIGHT, rules)))._response.program
    seen, left = set(), [program.rules]
    while left:
        held = left.pop()
        assert not isinstance(held, etree._Element)
        if id(held) not in seen and not isinstance(held, type | types.ModuleType):
            seen.add(id(held))
            # Functions refer to their module's globals, which is not what they keep.
            referents = gc.get_referents(held)
            left += [r for r in referents if not (callable(held) and isinstance(r, dict))]
    assert len(seen) > 100
