"""Orders and matchings in one parametrised item: the key is the author's, every draw is graded."""

from __future__ import annotations

import re

import pytest
from lxml import etree

from qbank.family.library import find_family
from qbank.family.loader import load_family, read_family
from qbank.formats.dialects import DIALECTS
from qbank.parametrised.expressions import InexpressibleError
from qbank.parametrised.item import parametrise
from qbank.scoring.item import ScoredItem
from tests.family.test_arranged import OWN
from tests.parametrised.conftest import written
from tests.parametrised.drawing import draws

VERSIONS = sorted(DIALECTS)


def texts(root: etree._Element, *names: str) -> dict[str, str]:
    """What is offered, by its identifier: words as they stand, formulas by their alttext."""
    found = {}
    for element in root.iter("{*}*"):
        if etree.QName(element).localname in names:
            said = [element.text or "", *(e.get("alttext") or "" for e in element)]
            found[element.get("identifier") or ""] = "".join(said)
    return found


@pytest.mark.parametrize("version", VERSIONS)
def test_the_key_of_an_order_is_that_of_the_family(version):
    family = load_family(find_family("melting-ice"))
    data = written("melting-ice", version).data
    offered = texts(etree.fromstring(data), "simpleChoice", "qti-simple-choice")
    for session in draws(data, 3):
        key = session.key("RESPONSE_R4")
        assert [(offered[name],) for name in key] == list(family.ask[3].entries)
        shown = [name for name in offered if name.startswith("E")]
        assert sorted(key) == sorted(shown)
        assert key != shown


@pytest.mark.parametrize("version", VERSIONS)
def test_the_key_of_a_matching_is_that_of_the_family(version):
    data = written("three-branches", version).data
    names = ("simpleAssociableChoice", "qti-simple-associable-choice")
    offered = texts(etree.fromstring(data), *names)
    for session in draws(data, 3):
        pairs = [pair.split() for pair in session.key("RESPONSE_R6")]
        assert {offered[source]: offered[target] for source, target in pairs} == {
            "the node A": "I₁ + I₂ = I₃",
            "the first branch": "V = E₁ − R₁·I₁",
            "the second branch": "V = E₂ − R₂·I₂",
            "the third branch": "V = R₃·I₃ − E₃",
        }
        assert len(offered) == 4 + 8  # four of the targets are what slips write


@pytest.mark.parametrize("version", VERSIONS)
def test_partial_credit_and_feedback_are_those_of_an_instance(version):
    item = ScoredItem(etree.fromstring(written("three-branches", version).data))
    session = item.session(1)
    pairs = session.key("RESPONSE_R6")
    for n in range(len(pairs) + 1):
        score = item.session(1).attempt({"RESPONSE_R6": pairs[:n]})
        assert score.outcomes["SCORE_R6"] == pytest.approx(2 * n / 4)
    wrong = item.session(1).attempt({"RESPONSE_R6": [f"S1 T{n}" for n in range(1, 9)]})
    assert wrong.outcomes["SCORE_R6"] == 0
    assert len([f for f in wrong.feedback if f.outcome == "FEEDBACK_R6"]) == 4


def test_numbers_in_them_change_with_the_draw():
    data = parametrise(read_family(OWN, "sled.yaml"), "qti-2.1")
    forces = set()
    for session in draws(data, 6):
        drawn, given = re.findall(r"(?:pulled with|the force) (\d+ N)", session.text())
        assert drawn == given
        forces.add(drawn)
    assert len(forces) > 1


def test_targets_that_hang_on_the_case_are_refused_with_the_reason():
    text = OWN.replace("laws:", "cases:\n  light: {when: m <= 9 kg, set: {k: 1}}\n"
                       "  heavy: {when: otherwise, set: {k: 2}}\nlaws:", 1)  # fmt: skip
    text = text.replace("m*a = F\n", "m*a = k*F\n", 1).replace(
        "says: Count the force once.", "only: light, says: Count the force once."
    )
    with pytest.raises(InexpressibleError, match="its part 3 offers other targets in other cases"):
        parametrise(read_family(text, "sled.yaml"), "qti-2.1")
