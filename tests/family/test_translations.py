"""Families with prose in several languages: one model, one digest, other words."""

from __future__ import annotations

from pathlib import Path

import pytest

from qbank.errors import FamilyError
from qbank.family.loader import read_family
from qbank.family.model import ChooseStatements
from qbank.vetting.vet import vet_file

OWN = """\
family: sled
title: A sled is pulled
subject: mechanics/dynamics
version: 1.0.0
caution: Keep clear of the rope.
given:
  m: {name: mass of the sled, draw: 20 .. 40 by 1 kg}
  F: {name: pulling force, draw: 50 .. 90 by 5 N}
find:
  a: {name: acceleration, unit: m/s^2, figures: 3}
laws:
  motion: F = m*a
confirm:
  - {that: a > 0, because: it is pulled forwards}
slips:
  doubled: {replace: {motion: F = 2*m*a}, says: Force is mass times acceleration.}
ask:
  - {enter: a}
  - prompt: Mark what holds.
    statements:
      - {text: The sled gains speed., when: a > 0, feedback: A net force acts.}
      - {text: The sled stands still., when: a == 0 m/s^2}
settings:
  - {name: snow, say: {ground: snow}}
figure:
  shapes:
    - block: {at: [0, 0], size: [40, 20], label: "sled"}
    - arrow: {from: [40, 0], to: [80, 0], label: "{F.symbol}"}
text:
  figure: A sled and a force.
  stem: A sled of mass {m} on {say ground} is pulled with {F}.
  solution:
    - "{law motion} gives {a.equation}."
"""

GERMAN = """\
languages:
  de:
    title: Ein Schlitten wird gezogen
    caution: Abstand vom Seil halten.
    names: {m: Masse des Schlittens, F: Zugkraft, a: Beschleunigung}
    called: {motion: Bewegung}
    confirm: [er wird nach vorn gezogen]
    slips: {doubled: Kraft ist Masse mal Beschleunigung.}
    ask:
      - {}
      - prompt: Markieren Sie, was gilt.
        statements:
          - {text: Der Schlitten wird schneller., feedback: Eine Kraft wirkt.}
          - {text: Der Schlitten steht.}
    settings: {snow: {ground: Schnee}}
    figure: {sled: Schlitten}
    text:
      figure: Ein Schlitten und eine Kraft.
      stem: Ein Schlitten der Masse {m} auf {say ground} wird mit {F} gezogen.
      solution: ["{law motion} ergibt {a.equation}."]
"""


def test_a_translation_changes_the_prose_alone() -> None:
    own = read_family(OWN + GERMAN, "sled.yaml")
    other = read_family(OWN + GERMAN, "sled.yaml", "de")
    assert own.languages == other.languages == ("en", "de")
    assert (own.digest, own.draw_key) == (other.digest, other.draw_key)
    assert (own.texts.language, other.texts.language) == ("en", "de")
    assert other.title == "Ein Schlitten wird gezogen"
    assert other.caution == "Abstand vom Seil halten."
    assert other.given["m"].meaning == "Masse des Schlittens"
    assert other.find["a"].meaning == "Beschleunigung"
    assert (own.laws[0].label, other.laws[0].label) == ("motion", "Bewegung")
    assert own.laws[0].equation == other.laws[0].equation
    assert other.confirm[0].because == "er wird nach vorn gezogen"
    assert other.slips["doubled"].says == "Kraft ist Masse mal Beschleunigung."
    assert other.settings[0].words == {"ground": "Schnee"}
    part = other.ask[1]
    assert isinstance(part, ChooseStatements)
    assert part.prompt == ("Markieren Sie, was gilt.",)
    assert part.statements[0].text == ("Der Schlitten wird schneller.",)
    assert part.statements[0].feedback == ("Eine Kraft wirkt.",)
    assert other.figure is not None
    assert other.figure.shapes[0].texts["label"] == ("Schlitten",)
    assert other.texts.stem[0][0] == "Ein Schlitten der Masse "


def test_a_prose_without_translations_has_one_language() -> None:
    assert read_family(OWN, "sled.yaml").languages == ("en",)
    with pytest.raises(FamilyError, match="no text in 'de'") as caught:
        read_family(OWN, "sled.yaml", "de")
    assert "en" in (caught.value.hint or "")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("{m: Masse des Schlittens, ", "{", "a text for 'm' is missing"),
        ("    caution: Abstand vom Seil halten.\n", "", "the family's caution is missing"),
        ("m: Masse", "mm: Masse", "'mm' stands for nothing"),
        ("doubled: Kraft", "double: Kraft", "'double' stands for nothing"),
        ("[er wird nach vorn gezogen]", "[a, b]", "expected 1 texts, one a statement, found 2"),
        ("      - {}\n", "", "expected 2 parts, found 1"),
        ("      - {}\n", "      - {prompt: a}\n", "the family has no 'prompt' here"),
        ("prompt: Markieren Sie, was gilt.\n        ", "", "the key 'prompt' is missing"),
        (", feedback: Eine Kraft wirkt.", "", "the key 'feedback' is missing"),
        ("{sled: Schlitten}", "{slide: Schlitten}", "'slide' stands for nothing"),
        ("    figure: {sled: Schlitten}\n", "", "the figure's label 'sled' is missing"),
        ("{ground: Schnee}", "{floor: Schnee}", "neither a case nor a setting says 'ground'"),
        ("called: {motion:", "called: {moving:", "there is no law or case 'moving'"),
        ("Masse {m} auf", "Masse auf", "the student never sees m"),
        ("  de:", "  Deutsch:", "expected a language code"),
        ("  de:", "  en:", "is the language of the family itself"),
        ("    title: Ein Schlitten wird gezogen\n", "", "the key 'title' is missing"),
    ],
)
def test_a_translation_that_does_not_fit_is_refused(old: str, new: str, message: str) -> None:
    assert old in GERMAN
    with pytest.raises(FamilyError) as caught:
        read_family(OWN + GERMAN.replace(old, new, 1), "sled.yaml", "de")
    assert message in str(caught.value)
    assert caught.value.hint


def test_names_of_laws_and_cases_can_be_told() -> None:
    family = read_family(OWN + "called: {motion: the law of motion}\n", "sled.yaml")
    assert family.laws[0].label == "the law of motion"
    assert family.laws[0].name == "motion"


def test_vetting_reads_every_language(tmp_path: Path) -> None:
    file = tmp_path / "sled.yaml"
    file.write_text(OWN + GERMAN.replace("{ground: Schnee}", "{floor: Schnee}"), encoding="utf-8")
    refused = [f for f in vet_file(file, sample=50).findings if f.code == "refused"]
    assert [f.found for f in refused] == [
        "stem, field {say ground}: neither a case nor a setting says 'ground'"
    ]
