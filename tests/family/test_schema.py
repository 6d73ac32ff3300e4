"""The format as data: what it documents is what the loader reads."""

import re
from pathlib import Path

import pytest

from qbank.errors import FamilyError
from qbank.expressions.functions import FUNCTIONS
from qbank.family.keys import Keys
from qbank.family.loader import read_family
from qbank.family.reader import read_nodes
from qbank.family.schema import (
    ASK,
    FIELDS,
    SECTIONS,
    Form,
    Section,
    reference_markdown,
)

GOOD = (Path(__file__).parent / "cart.yaml").read_text(encoding="utf-8")
REFERENCE = reference_markdown()


@pytest.mark.parametrize("section", SECTIONS, ids=lambda section: section.title)
def test_the_reference_documents_every_key(section: Section) -> None:
    part = REFERENCE.split(f"#### {section.title}\n")[1].split("\n#### ")[0]
    rows = re.findall(r"^\| `(\w+)` \|", part, re.MULTILINE)
    assert rows == [key.name for key in section.keys]
    assert section.doc in part


@pytest.mark.parametrize("section", SECTIONS, ids=lambda section: section.title)
def test_examples_hold_only_keys_of_the_format(section: Section) -> None:
    if not section.example or section.title == "statements":
        return
    node = read_nodes(section.example, "example").entries[section.title].value
    entries = [entry.value for entry in node] if hasattr(node, "entries") else list(node.items)
    if section.title in ("text", "working"):  # a single mapping
        entries = [node]
    for entry in entries:
        Keys(entry, section, "example")


def test_the_reference_names_every_function() -> None:
    part = REFERENCE.split("#### Expressions\n")[1].split("\n#### ")[0]
    rows = [line for line in part.splitlines() if line.startswith("| `")]
    named = re.findall(r"`(\w+)`", "".join(row.split("|")[1] for row in rows))
    assert sorted(named) == sorted(FUNCTIONS)


def test_keys_refer_to_keys_of_their_section() -> None:
    for section in SECTIONS:
        names = {key.name for key in section.keys}
        assert len(names) == len(section.keys)
        assert names.issuperset(section.one_of)
        assert names.issuperset(key.needs for key in section.keys if key.needs)
        assert not any(key.required and key.name in section.one_of for key in section.keys)


def test_every_field_of_the_reference_is_read() -> None:
    # the names of the reference's fields, put for those of the family
    names = {"m_a": "m", "left": "motion", "I": "D", "m_b*g*R in N m": "m*g*w in N m"}
    names |= {"turns": "goes", "x y": "x y"}
    for field, _ in FIELDS:
        text = field
        for old, new in names.items():
            text = text.replace(old, new)
        text = f"\n      {text}\n\n" if field in ("{table x y}", "{figure}") else text
        step = f"  solution:\n    - |\n      {text}\n"
        family = read_family(GOOD.replace("  solution:\n", step), "cart.yaml")
        assert family.texts.solution[0].text


# Each key of each section refuses a value of the wrong form.
@pytest.mark.parametrize(
    ("section", "name"),
    [(section, key.name) for section in SECTIONS for key in section.keys],
    ids=lambda value: value if isinstance(value, str) else value.title,
)
def test_a_value_of_the_wrong_form_is_refused(section: Section, name: str) -> None:
    key = section.key(name)
    assert key is not None
    wrong = {
        Form.TEXT: "[a]",
        Form.LIST: "a",
        Form.TEXTS: "{a: b}",
        Form.MAPPING: "a",
    }[key.form]
    found = {"[a]": "a list of 1", "a": "'a'", "{a: b}": "a mapping"}[wrong]
    others = {other.name for other in section.keys if other.required}
    others |= {key.needs} - {""}
    if section.one_of and name not in section.one_of and key.needs not in section.one_of:
        others.add(section.one_of[0])
    forms = {Form.TEXT: "a", Form.TEXTS: "a", Form.LIST: "[a]", Form.MAPPING: "{a: b}"}
    good = {other.name: forms[other.form] for other in section.keys if other.name in others}
    text = "\n".join(f"{key}: {value}" for key, value in {**good, name: wrong}.items())
    with pytest.raises(FamilyError) as caught:
        Keys(read_nodes(text, "f"), section, "it")
    assert caught.value.message == f"it: '{name}' holds {key.form.value}, found {found}"
    assert caught.value.hint


def test_ask_has_one_form_of_answer() -> None:
    with pytest.raises(FamilyError) as caught:
        Keys(read_nodes("points: 1", "f"), ASK, "part 1")
    assert caught.value.message == (
        "part 1: exactly one of enter, choose, which, law, statements, order, match is needed, "
        "found none"
    )
