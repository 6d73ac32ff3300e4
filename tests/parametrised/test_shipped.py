"""Every shipped family as one item: drawn and graded by the scorer, held against its own model.

A sample of draws; `python -m tests.bench parametrised` makes 2,000 of each family.
"""

from __future__ import annotations

import re
from functools import cache

import pytest
from lxml import etree

from qbank.expressions.numbers import exact_number, format_number
from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family
from qbank.family.model import Fixed, Grid, Listed
from qbank.formats.dialects import DIALECTS
from qbank.formats.grammar import grammar, parse
from qbank.formats.item_judge import item_findings
from qbank.parametrised.expressions import InexpressibleError
from qbank.parametrised.item import LEAST_ACCEPTANCE, parametrise
from qbank.scoring.item import ItemSession, ScoredItem
from tests.parametrised.conftest import EXPRESSIBLE, FEW_DRAWS, REASONS, generator, written
from tests.parametrised.drawing import Fresh, compare, draws

DRAWS, GRADED = 40, 8


@cache
def sessions(name: str) -> tuple[ItemSession, ...]:
    """Some draws of a family's item, made once."""
    return tuple(draws(written(name).data, DRAWS))


def test_every_shipped_family_is_one_item_or_told_why_not():
    shipped = {path.stem for path in shipped_families()}
    assert shipped == {*EXPRESSIBLE, *REASONS, *FEW_DRAWS}


@pytest.mark.parametrize("name", REASONS)
def test_the_reason_is_told(name):
    with pytest.raises(InexpressibleError) as caught:
        parametrise(load_family(find_family(name)), "qti-3.0")
    assert caught.value.message == REASONS[name]


@pytest.mark.parametrize("name", FEW_DRAWS)
def test_rules_that_few_draws_meet_are_told(name):
    with pytest.raises(InexpressibleError, match=r"only \d+\.\d % of its draws meet its rules"):
        parametrise(load_family(find_family(name)), "qti-3.0")


def test_draws_agree_with_the_model_and_are_graded_rightly(expressible):
    family = load_family(find_family(expressible))
    tally = compare(family, generator(expressible), sessions(expressible), scored=GRADED)
    assert tally.faults == []
    assert tally.answers >= DRAWS
    assert tally.recognised > 0.8 * tally.slips > 0


def test_it_is_valid_in_every_version(expressible):
    for version, dialect in DIALECTS.items():
        made = written(expressible, version)
        assert item_findings(dialect, "item.xml", made.data) == []
        assert not grammar(version).accepts(parse(made.data, "item.xml"))  # that is of fixed items


def test_versions_draw_the_same(expressible):
    old = sessions(expressible)[0]
    new = next(draws(written(expressible, "qti-3.0").data, 1))
    assert old.templates == new.templates
    assert old.text() == new.text()


def test_enough_draws_meet_the_rules(expressible):
    assert written(expressible).acceptance >= LEAST_ACCEPTANCE


def test_the_declared_defaults_are_a_draw_that_scores(expressible):
    """What a delivery system falls back on: declared values, keys and bands fit together."""
    root = parse(written(expressible).data, "item")
    processing = root.find("{*}templateProcessing")
    assert processing is not None
    root.remove(processing)
    item = ScoredItem(root)
    session = item.session()
    keys = {name: session.key(name) for name in item.responses if name != "HINTREQUEST"}
    assert None not in keys.values()
    typed = {n: repr(k) if isinstance(k, float) else k for n, k in keys.items()}
    best = session.attempt(typed)
    assert best.score == best.maximum > 0


def test_names_of_variables_are_no_symbols(expressible):
    root = parse(written(expressible).data, "item")
    declared = {e.get("identifier") for e in root.iterfind("{*}templateDeclaration")}
    symbols = {
        (mi.text or "").strip() for mi in root.iter("{http://www.w3.org/1998/Math/MathML}mi")
    }
    assert symbols
    assert not symbols & declared
    assert all(len(name) <= 32 for name in declared)


def test_printed_numbers_are_those_of_fixed_items(expressible):
    """Data digit by digit as drawn, answers with the figures asked for."""
    family = load_family(find_family(expressible))
    for session in sessions(expressible)[:6]:
        text = plain(session.text())
        values = session.templates
        for name, given in family.given.items():
            source = given.source
            if isinstance(source, Fixed):
                shown = exact_number(source.mantissa, source.exponent, given.scientific)
            elif isinstance(source, Grid):
                mantissa = round(values[f"DATA_{name}"] * 10.0**-source.exponent)
                shown = exact_number(mantissa, source.exponent, given.scientific)
            else:
                assert isinstance(source, Listed)
                at = values[f"PLACE_{name}"] - 1
                shown = exact_number(source.mantissas[at], source.exponents[at], given.scientific)
            assert plain(shown) in text, (name, shown)
        solution = next(
            plain(f.text) for f in Fresh(session).attempt({}).feedback if f.outcome == "SOLUTION"
        )
        for name, unknown in family.find.items():
            shown = format_number(values[f"KEY_{name}"], unknown.shown)
            assert plain(shown) in solution, (name, shown)


def plain(text: str) -> str:
    """Minus signs and raised digits as a printed variable writes them."""
    raised = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻−", "0123456789--")
    return re.sub(r"\s+", " ", text.translate(raised))


def test_every_case_and_every_setting_is_drawn(expressible):
    family = load_family(find_family(expressible))
    if len(family.cases) > 1:
        found = {session.templates["CASE"] for session in sessions(expressible)}
        assert found == {f"K{n}" for n in range(1, len(family.cases) + 1)}
    if len(family.settings) > 1:
        found = {session.templates["SETTING"] for session in sessions(expressible)}
        assert found == {f"W{n}" for n in range(1, len(family.settings) + 1)}


def test_no_mark_is_left(expressible):
    data = written(expressible).data.decode()
    assert not re.search("[\ue000-\uf8ff]", data)
    assert etree.fromstring(data.encode()) is not None
