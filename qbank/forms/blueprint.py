"""A blueprint file: which items a form holds, how many forms there are, how alike they must be.

The file is read by the same safe reader as family files: data alone, every fault with its place.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from qbank.family import numerals
from qbank.family.keys import Keys
from qbank.family.nodes import Scalar
from qbank.family.reader import Holds, decode, read_bytes, read_nodes
from qbank.family.section import Form, Key, Section
from qbank.place import Place

MOST_FORMS = 100
MOST_ITEMS = 100  # on a form
MOST_LINES = 100
MOST_FAMILIES = 100
LONGEST_TITLE = 80  # the name of a file is cut at 100, and the number of the form must stay
WIDEST_BAND = 100.0
HOLDS = Holds("blueprint", "`title:` and `draw:`", "title: TITLE")
_DOTS = re.compile(r"\s*\.\.\s*")

BLUEPRINT = Section(
    "The blueprint",
    "One test a file, of which parallel forms are drawn.",
    (
        Key("title", Form.TEXT, "what the test is called", True),
        Key("forms", Form.TEXT, f"how many forms, 1 to {MOST_FORMS}", default="2"),
        Key(
            "band",
            Form.TEXT,
            "how far the forms' totals of the difficulty index may lie apart",
            default="0.1",
        ),
        Key(
            "shared",
            Form.TEXT,
            "at most so many items that two forms may have in common",
            default="0",
        ),
        Key("families", Form.TEXTS, "family files of your own, in the blueprint's folder"),
        Key("draw", Form.LIST, "the lines: which items each form gets, in this order", True),
    ),
    example="""\
title: Mechanics, mock examination
forms: 3
draw:
  - {family: stepped-drum}
  - {subject: mechanics, level: first-year, points: 8 .. 12, count: 2}""",
)

LINE = Section(
    "draw",
    "So many items. All forms take theirs from the same families.",
    (
        Key("family", Form.TEXT, "the family the items come from; several of it are siblings"),
        Key(
            "subject",
            Form.TEXT,
            "families whose subject contains this, each once a form; those that lines name are "
            "left to them",
        ),
        Key("level", Form.TEXT, "only families whose level contains this"),
        Key("points", Form.TEXT, "only families whose items give so many: `8` or `8 .. 12`"),
        Key("count", Form.TEXT, f"how many items, 1 to {MOST_ITEMS}", default="1"),
    ),
    one_of=("family", "subject"),
)


@dataclass(frozen=True, slots=True)
class Line:
    """So many items: of a named family, or of families of a subject; the rest narrows them."""

    count: int
    place: Place
    family: Scalar | None
    subject: Scalar | None
    level: Scalar | None
    points: tuple[Fraction, Fraction] | None
    points_text: Scalar | None

    @property
    def says(self) -> str:
        """The line in words, for messages."""
        if self.family is not None:
            return f"the family '{self.family.text.strip()}'"
        return f"the subject '{self.subject.text.strip() if self.subject else ''}'"


@dataclass(frozen=True, slots=True)
class Blueprint:
    """A blueprint file, read. `families` are files of the author's own, inside `folder`."""

    title: str
    forms: int
    band: float
    shared: int
    families: tuple[Path, ...]
    lines: tuple[Line, ...]
    place: Place
    band_place: Place

    @property
    def items(self) -> int:
        """How many items a form has."""
        return sum(line.count for line in self.lines)


def load_blueprint(path: Path | str) -> Blueprint:
    """Read a blueprint file.

    Raises FamilyError, with place and mend, for a file that cannot be read, a key that is unknown,
    missing or holds something else than it should, and a family file outside its folder.
    """
    file = Path(path)
    text = decode(read_bytes(file, HOLDS), str(file))
    return read_blueprint(text, str(file), file.parent)


def read_blueprint(text: str, name: str, folder: Path) -> Blueprint:
    """Read the text of a blueprint; `folder` is where its own family files lie."""
    root = read_nodes(text, name, HOLDS)
    keys = Keys(root, BLUEPRINT, "blueprint")
    title = keys.need("title")
    if len(title.text) > LONGEST_TITLE:
        raise title.fault(
            f"blueprint, title: {len(title.text)} characters, more than {LONGEST_TITLE}",
            hint="shorten it; it names the files",
        )
    nodes = keys.items("draw")
    if not 1 <= len(nodes) <= MOST_LINES:
        raise keys.key("draw").fault(
            f"blueprint: 'draw' has {len(nodes)} lines, expected 1 to {MOST_LINES}",
            hint="write one `- {family: NAME}` or `- {subject: TOPIC}` a line",
        )
    lines = tuple(
        _line(Keys(node, LINE, f"line {number} of draw"))
        for number, node in enumerate(nodes, start=1)
    )
    if sum(line.count for line in lines) > MOST_ITEMS:
        raise keys.key("draw").fault(
            f"blueprint: a form has {sum(line.count for line in lines)} items, more than"
            f" {MOST_ITEMS}",
            hint="make several blueprints",
        )
    return Blueprint(
        title=keys.words("title"),
        forms=_whole(keys, "forms", 1, MOST_FORMS, 2),
        band=_band(keys),
        shared=_whole(keys, "shared", 0, MOST_ITEMS, 0),
        families=_families(keys, folder),
        lines=lines,
        place=root.place,
        band_place=keys.key("band").place if "band" in keys else root.place,
    )


def _line(keys: Keys) -> Line:
    at = keys.key(keys.one_of())
    text = keys.text("points")
    return Line(
        count=_whole(keys, "count", 1, MOST_ITEMS, 1),
        place=at.place,
        family=keys.text("family"),
        subject=keys.text("subject"),
        level=keys.text("level"),
        points=None if text is None else _range(text, f"{keys.what}, points"),
        points_text=text,
    )


def _whole(keys: Keys, name: str, least: int, most: int, default: int) -> int:
    scalar = keys.text(name)
    if scalar is None:
        return default
    return numerals.whole_number(scalar, f"{keys.what}, {name}", least, most)


def _band(keys: Keys) -> float:
    scalar = keys.text("band")
    if scalar is None:
        return 0.1
    low, high = _range(scalar, "blueprint, band")
    if low != high or not 0 < high <= WIDEST_BAND:
        raise scalar.fault(
            f"blueprint, band: expected one number above 0 and at most {WIDEST_BAND:g}, found"
            f" '{scalar.text.strip()[:40]}'",
            hint="write how far the totals may lie apart, such as 0.1",
        )
    return float(high)


def _range(scalar: Scalar, what: str) -> tuple[Fraction, Fraction]:
    """`8` or `8 .. 12`, as the lowest and the highest number."""
    start = len(scalar.text) - len(scalar.text.lstrip())
    low, end = numerals.numeral(scalar, start, what)
    high = low
    if dots := _DOTS.match(scalar.text, end):
        high, end = numerals.numeral(scalar, dots.end(), what)
    if rest := scalar.text[end:].strip():
        raise scalar.fault(
            f"{what}: '{rest[:40]}' follows the number",
            (scalar.text.index(rest, end), len(scalar.text)),
            "write a number such as 8, or a range such as 8 .. 12",
        )
    if low.value > high.value:
        raise scalar.fault(f"{what}: the range runs downwards", hint="exchange the two numbers")
    return low.value, high.value


def _families(keys: Keys, folder: Path) -> tuple[Path, ...]:
    scalars = keys.texts("families")
    if len(scalars) > MOST_FAMILIES:
        raise keys.key("families").fault(
            f"blueprint: {len(scalars)} family files, more than {MOST_FAMILIES}",
            hint="name those that the lines use",
        )
    return tuple(_inside(scalar, folder) for scalar in scalars)


def _inside(scalar: Scalar, folder: Path) -> Path:
    """A family file that lies in the blueprint's folder or below, links followed."""
    text = scalar.text.strip()
    home = folder.resolve()
    path = folder / text
    try:
        inside = path.resolve().is_relative_to(home)
    except (
        OSError,
        ValueError,
        RuntimeError,
    ):  # a name too long, a null character, a ring of links
        inside = False
    if not inside or not text.endswith((".yaml", ".yml")):
        raise scalar.fault(
            f"blueprint, families: '{text[:60]}' is no .yaml file in the blueprint's folder",
            hint="put the family file beside the blueprint and write its name, such as kettle.yaml",
        )
    if not path.exists():
        raise scalar.fault(
            f"blueprint, families: there is no file '{text[:60]}' in the blueprint's folder",
            hint="check the name",
        )
    return path
