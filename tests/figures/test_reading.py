"""The section `figure` of a family file: what is read, and what is refused in which words."""

from pathlib import Path

import pytest

from qbank.errors import FamilyError
from qbank.family.figure_schema import EXAMPLE, HOLDS, SHAPES
from qbank.family.loader import read_family
from qbank.family.reader import read_nodes
from qbank.family.schema import reference_markdown

CART = (Path(__file__).parents[1] / "family" / "cart.yaml").read_text(encoding="utf-8")
BLOCK = '    - block: {on: [w/2, 8], size: [60, 30], label: "{m}"}\n'


def fault(text: str) -> FamilyError:
    with pytest.raises(FamilyError) as caught:
        read_family(text, "cart.yaml")
    return caught.value


def test_what_is_read() -> None:
    figure = read_family(CART, "cart.yaml").figure
    assert figure is not None
    assert [shape.kind for shape in figure.shapes] == [
        "ground", "block", "arrow", "dimension", "axes", "dots"
    ]  # fmt: skip
    assert [shape.only for shape in figure.solved] == [(), ("to the right",), ()]
    assert set(figure.shapes[1].numbers) == {"on", "size"}
    assert len(figure.solved[1].numbers["points"]) == 2 * 49


# old text, new text (what is underlined between « »), the message, the mend
FAULTS = [
    (BLOCK, "    - «blok»: {on: [0, 0]}\n", "figure, shapes 2: there is no shape 'blok'",
     "Did you mean block?"),
    ("on: [w/2, 8]", "on: «[w/2]»",
     "figure, shapes 2 (block), on: expected [x, y], found a list of 1", "write [x, y]"),
    ("on: [w/2, 8]", "on: [«q/2», 8]".replace("«q/2»", "«q»/2"),
     "figure, shapes 2 (block), on: 'q' names nothing in this family", None),
    ("on: [w/2, 8]", "on: [«a», 8]",
     "figure, shapes 2 (block), on: 'a' is an unknown; only givens and intermediate quantities "
     "may stand here", "say it with what is known before the problem is solved"),
    ("on: [w/2, 8]", "on: [«s», 8]",
     "figure, shapes 2 (block), on: 's' is a constant set by the cases; only givens and "
     "intermediate quantities may stand here",
     "constants of the cases belong in laws; here, use quantities or `only:`"),
    ("on: [w/2, 8]", "on: [«m», 8]",
     "figure, shapes 2 (block), on: expected a length or a plain number, found a mass (kg)",
     "divide by a quantity of the same kind, as in `40*F/(100 N)`"),
    ("on: [w/2, 8]", "on: [w/2 + «8», 8]",
     "figure, shapes 2 (block), on: the terms of the sum differ in dimension: w/2 is a length (m), "
     "8 is a pure number", None),
    ("on: [w/2, 8]", "on: [«mu», 8]", "figure, shapes 2 (block), on: 'mu' is hidden from the "
     "student", "draw it from what is shown"),
    ("  scale: {length: w, drawn: 160}\n", "",
     "figure, shapes 1 (ground), to: a length stands here, but the figure has no scale",
     "add for example `scale: {length: 1 m, drawn: 100}`"),
    ("length: w, drawn", "length: «m», drawn",
     "figure, scale, length: expected a length, found a mass (kg)",
     "write for example `length: 1 m`"),
    ("drawn: 160", "drawn: «0»",
     "figure, scale, drawn: expected a number above 0 and up to 600, found '0'",
     "write how many units of the drawing the length takes"),
    ("angle: 180 deg", "angle: «2 N»",
     "figure, shapes 3 (arrow), angle: expected an angle, found a force (kg m s^-2)",
     "correct the expression"),
    ("side: below", "side: «under»",
     "figure, shapes 4 (dimension), side: expected above, below, left or right, found 'under'",
     None),
    ('label: "{m}"', "label: «\"{a}\"»".replace("«\"", "\"«").replace("\"»", "»\""),
     "figure, shapes 2 (block), label, field {a}: it would give the answer away: a is an unknown",
     "write {a.symbol} or {a.name}"),
    ('label: "{m}"', 'label: "«{say goes}»"',
     "figure, shapes 2 (block), label, field {say goes}: it would give the answer away: the word "
     "depends on the case", "say it in the solution, or let a setting say it"),
    ('label: "{m}"', 'label: "«{law motion}»"',
     "figure, shapes 2 (block), label: a formula, table or figure cannot stand in a label",
     "write values and symbols, such as {m_a.equation}"),
    ('label: "{m}"', 'label: "«{mu}»"',
     "figure, shapes 2 (block), label: 'mu' is hidden from the student",
     "label it with what is shown"),
    ('label: "{m}"}', 'label: "{m}", «only»: to the right}',
     "figure, shapes 2 (block): it would give the case away",
     "draw it under `solved:`, which is shown with the solution"),
    ("in: thickness, of: x", "in: «thicknes», of: x",
     "figure, shapes 6 (dots), in: no axes called 'thicknes' stand above",
     "Did you mean thickness?"),
    ("of: x}", "of: «xm»}", "figure, shapes 6 (dots), of: expected a list, found one number",
     "name a data list"),
    ("10 mm .. 60 mm by 10 mm", "«10 mm to 60 mm»",
     "figure, shapes 5 (axes), across: expected low .. high, found '10 mm to 60 mm'",
     "write for example `0 s .. 40 s by 10 s`"),
    ("10 mm .. 60 mm by 10 mm", "10 mm .. «60 s» by 10 mm",
     "figure, shapes 5 (axes), across: low is a length (m), but high is a time (s)",
     "give both the same dimension"),
    ("t = 0 s .. 4 s", "«m» = 0 s .. 4 s",
     "figure, solved 1 (axes), across: 'm' is a given already",
     "call the variable of the axis differently"),
    ("of: t^2*(0.5 m/s^2)", "of: «t^2»",
     "figure, solved 2 (curve), of: expected a length (m) as on the axis, found a quantity in s^2",
     None),
    ("x: 2 s, y: 2 m", "x: «2 m», y: 2 m",
     "figure, solved 3 (mark), x: expected a time (s) as on the axis, found a length (m)", None),
    ("      {figure}\n", "      It ends.\n",
     "figure: the shapes under `solved` are never shown",
     "put {figure} into a paragraph of its own in the solution"),
    ("  figure: A cart on a track, with a rope to the left and one to the right.\n", "",
     "figure: nothing tells what it shows to who cannot see it",
     "add `figure: ...` under `text:`, a sentence or two that give nothing away"),
    ("      {figure}\n", "      See {figure}.\n",
     "solution step 2: a figure stands inside a sentence", "put a blank line before and after it"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message", "hint"), FAULTS, ids=range(len(FAULTS)))
def test_faults(old: str, new: str, message: str | None, hint: str | None) -> None:
    assert CART.count(old) == 1
    text = CART.replace(old, new)
    error = fault(text.replace("«", "").replace("»", ""))
    if message is not None:
        assert error.message == message
    assert error.place is not None
    assert error.hint
    if hint is not None:
        assert error.hint == hint
    if "«" in new:
        before = text.partition("«")[0]
        assert error.place.line == before.count("\n") + 1
        assert error.place.column == len(before.rpartition("\n")[2]) + 1


def test_a_figure_cannot_stand_in_a_prompt() -> None:
    error = fault(CART.replace('prompt: "Which way does the cart go?"', 'prompt: "{figure}"'))
    assert "a figure cannot stand here" in error.message


def test_a_quantity_called_unit_is_refused() -> None:
    text = CART.replace("  g: {name: free", "  unit: {name: free").replace("{g}", "{unit}")
    error = fault(text.replace("m*g", "m*unit"))
    assert error.message == "'unit' means a unit of the drawing in figures"


def test_the_number_of_shapes_and_positions_is_bounded() -> None:
    assert "61 entries, more than 60" in fault(CART.replace(BLOCK, BLOCK * 56)).message
    many = "    - cord: {through: [" + ", ".join(["[0, 0]"] * 31) + "]}\n"
    assert "expected 2 to 30 positions" in fault(CART.replace(BLOCK, many)).message


def test_unit_is_the_length_of_one_unit_of_the_drawing() -> None:
    family = read_family(CART.replace("on: [w/2, 8]", "on: [w/2 + 8*unit, 8]"), "cart.yaml")
    assert family.figure is not None


def test_the_reference_tells_every_shape_and_key() -> None:
    text = reference_markdown()
    part = text.split("#### Shapes\n")[1].split("\n#### ")[0]
    for name, section in SHAPES.items():
        (row,) = [line for line in part.splitlines() if line.startswith(f"| `{name}` |")]
        assert section.doc in row
        assert all(f"`{key.name}`" in row for key in section.keys if key.name != "only")
    assert all(f"`{key}`" in part for key in HOLDS)


def test_the_example_holds_only_shapes_of_the_format() -> None:
    figure = read_nodes(EXAMPLE, "example").entries["figure"].value
    for section in ("shapes", "solved"):
        for node in figure.entries[section].value.items:
            (entry,) = node
            known = {key.name for key in SHAPES[entry.key.text].keys}
            assert {inner.key.text for inner in entry.value} <= known
