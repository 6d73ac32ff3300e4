"""The section `figure` as data: every shape, its keys, and what each key holds."""

from __future__ import annotations

from enum import Enum

from qbank.family.section import Form, Key, Section

TEXT, LIST, TEXTS, MAPPING = Form.TEXT, Form.LIST, Form.TEXTS, Form.MAPPING

FIGURE = Section(
    "figure",
    "A drawing made of shapes, in the order in which they are drawn. Positions are `[x, y]` with y "
    "upwards. A plain number is in units of the drawing (a pixel at 100 %); a length is drawn to "
    "the scale; `unit` is the length one unit of the drawing stands for, so that "
    "`[a, R + 20*unit]` can be written. The drawing is made from givens and lets, and the frame "
    "fits itself to it. `{figure}` alone in a paragraph says where it stands; else it follows the "
    "first paragraph of the stem. `text` has a `figure:` that says what is seen.",
    (
        Key("scale", MAPPING, "which length is drawn how long; needed where lengths are used"),
        Key("shapes", LIST, "what the student sees; it must not depend on the case", True, most=60),
        Key(
            "solved",
            LIST,
            "shapes added where `{figure}` stands in the solution; these may have `only:`",
            most=40,
        ),
    ),
)

SCALE = Section(
    "scale",
    "Within `figure`.",
    (
        Key("length", TEXT, "a length of the problem, such as `R` or `50 cm`", True),
        Key("drawn", TEXT, "how many units of the drawing it takes", True),
    ),
)

EXAMPLE = """\
figure:
  scale: {length: R, drawn: 110}
  shapes:
    - disc: {at: [0, 0], radius: R, towards: 40 deg, label: "{R.equation}"}
    - cord: {through: [[-R, 0], [-R, -150]]}
    - block: {under: [-R, -150], label: "{m_a}"}
  solved:
    - angle: {at: [0, 0], radius: 130, start: 120 deg, end: 60 deg, arrow: yes, only: clockwise}
"""


class Holds(Enum):
    """What the value of a shape's key is; the value is how the reference describes it."""

    POINT = "a position `[x, y]`"
    POINTS = "positions, `[[x, y], [x, y], ...]`, 2 to 30"
    PAIR = "two lengths `[across, up]`"
    EXTENT = "a length, or a number in units of the drawing"
    ANGLE = "an angle, anticlockwise from rightwards"
    NUMBER = "a number"
    SIGNED = "any quantity; its sign counts"
    SENTENCE = "text, with fields"
    SIDE = (
        "where the label stands: `above`, `below`, `left` or `right`; else wherever there is room"
    )
    KIND = "which kind"
    SWITCH = "`yes` or `no`"
    RANGE = "`low .. high`, with ticks `low .. high by step`; a curve needs `x = low .. high`"
    NAMES = "two texts: at the axis across, and at the one up; the first may be empty"
    GRAPH = "the name of axes above"
    NAME = "a name for `in`"
    ACROSS = "a quantity along the axis across"
    UPWARDS = "a quantity along the axis up"
    PLOTTED = "the expression of a curve over the variable of the axes; for dots, a data list"


HOLDS = {
    **dict.fromkeys(("at", "on", "under", "from", "to"), Holds.POINT),
    **dict.fromkeys(
        ("radius", "length", "height", "depth", "offset", "level", "above"), Holds.EXTENT
    ),
    **dict.fromkeys(("angle", "start", "end", "towards"), Holds.ANGLE),
    **dict.fromkeys(("label", "text", "letter"), Holds.SENTENCE),
    **dict.fromkeys(("dashed", "shade", "plain", "arrow", "open"), Holds.SWITCH),
    **dict.fromkeys(("across", "up"), Holds.RANGE),
    "through": Holds.POINTS,
    "size": Holds.PAIR,
    "coils": Holds.NUMBER,
    "focal": Holds.SIGNED,
    "side": Holds.SIDE,
    "kind": Holds.KIND,
    "names": Holds.NAMES,
    "in": Holds.GRAPH,
    "name": Holds.NAME,
    "x": Holds.ACROSS,
    "y": Holds.UPWARDS,
    "of": Holds.PLOTTED,
}

KINDS = {
    "support": ("pinned", "roller", "fixed"),
    "source": ("cell", "ideal"),
    "switch": ("open", "closed"),
}

_FORMS = {
    Holds.POINT: LIST,
    Holds.POINTS: LIST,
    Holds.PAIR: LIST,
    Holds.NAMES: LIST,
}


def _shape(
    name: str, doc: str, required: str = "", others: str = "", one_of: tuple[str, ...] = ()
) -> Section:
    """A shape with its keys by name; label, side and only belong to all but a few."""
    keys = [(key, True) for key in required.split()]
    keys += [(key, False) for key in [*one_of, *others.split(), "only"]]
    return Section(
        name,
        doc,
        tuple(
            Key(key, TEXTS if key == "only" else _FORMS.get(HOLDS[key], TEXT), _doc(key), needed)
            for key, needed in keys
        ),
        one_of,
    )


def _doc(key: str) -> str:
    return "the case it is drawn in, or a list of cases" if key == "only" else HOLDS[key].value


_LABEL = "label side"

SHAPES: dict[str, Section] = {
    shape.title: shape
    for shape in (
        _shape(
            "disc",
            "a disc or wheel with its axle; `towards` draws a radius and labels it; `plain` leaves "
            "the axle out",
            "at radius",
            f"towards shade plain {_LABEL}",
        ),
        _shape(
            "block",
            "a rectangle that stands `on` a point, hangs `under` it or is centred `at` it; `angle` "
            "turns it about the point",
            "",
            f"size angle shade {_LABEL}",
            ("on", "under", "at"),
        ),
        _shape("cord", "a taut cord", "through", _LABEL),
        _shape("wire", "a conductor of a circuit", "through", _LABEL),
        _shape("line", "a thin line", "through", f"dashed {_LABEL}"),
        _shape("node", "a dot", "at", _LABEL),
        _shape(
            "slope",
            "an inclined plane that rises to the right from `at`; `length` is along it; the label "
            "stands in the angle",
            "at angle length",
            _LABEL,
        ),
        _shape(
            "ground", "solid ground to the right of the way from start to end", "from to", _LABEL
        ),
        _shape("spring", "a helical spring", "from to", f"coils {_LABEL}"),
        _shape("beam", "a bar, beam or pipe, `depth` across", "from to", f"depth {_LABEL}"),
        _shape(
            "support",
            "a support under a point, turned by `angle`: " + ", ".join(KINDS["support"]),
            "at",
            f"kind angle {_LABEL}",
        ),
        _shape(
            "load",
            "a force that presses `at` a point, or evenly `from` a point `to` another",
            "",
            f"to height {_LABEL}",
            ("at", "from"),
        ),
        _shape(
            "arrow",
            "an arrow `to` a point, or of a `length` towards an `angle`",
            "from",
            f"angle {_LABEL}",
            ("to", "length"),
        ),
        _shape(
            "dimension",
            "a dimension line, `offset` to the left of the way from start to end",
            "from to",
            f"offset {_LABEL}",
        ),
        _shape(
            "angle",
            "an arc about a point; with `arrow` a turn from start to end",
            "at start end",
            f"radius arrow {_LABEL}",
        ),
        _shape("resistor", "a resistor between two terminals", "from to", _LABEL),
        _shape("capacitor", "a capacitor between two terminals", "from to", _LABEL),
        _shape(
            "source",
            "a source of voltage whose positive terminal is `to`: " + ", ".join(KINDS["source"]),
            "from to",
            f"kind {_LABEL}",
        ),
        _shape("switch", "a switch: " + ", ".join(KINDS["switch"]), "from to", f"kind {_LABEL}"),
        _shape("meter", "an instrument with a letter in it", "from to letter", _LABEL),
        _shape(
            "lens",
            "a thin lens; the sign of `focal` tells whether it converges or diverges",
            "at focal",
            f"height {_LABEL}",
        ),
        _shape(
            "ray",
            "a ray of light; dashed where it is only prolonged",
            "through",
            f"dashed {_LABEL}",
        ),
        _shape("container", "an open vessel filled up to `level`", "on", f"size level {_LABEL}"),
        _shape("oval", "an ellipse with the semi-axes `size`", "at size", _LABEL),
        _shape(
            "axes",
            "axes from their lower left corner; without `up` there is only one",
            "at across",
            "size up names name",
        ),
        _shape("curve", "a curve in axes", "in of", f"dashed {_LABEL}"),
        _shape("mark", "a point in axes, with lines to both", "in x y", f"names {_LABEL}"),
        _shape("dots", "a dot for each value of a data list", "in of", "above open label"),
        _shape("label", "a text", "at text", "side"),
    )
}


def figure_markdown() -> list[str]:
    """The reference of shapes in Markdown: a table of shapes and one of what their keys hold."""
    lines = ["#### Shapes\n", "```yaml", EXAMPLE.rstrip(), "```\n"]
    lines += ["| Shape | Draws | Keys, those in bold required |", "| --- | --- | --- |"]
    for name, section in SHAPES.items():
        keys = ", ".join(
            f"**`{key.name}`**" if key.required else f"`{key.name}`"
            for key in section.keys
            if key.name != "only"
        )
        one_of = f"; exactly one of {', '.join(section.one_of)}" if section.one_of else ""
        lines.append(f"| `{name}` | {section.doc} | {keys}{one_of} |")
    lines += ["", "| Key | Holds |", "| --- | --- |"]
    for held in Holds:
        names = ", ".join(f"`{key}`" for key, kind in HOLDS.items() if kind is held)
        lines.append(f"| {names} | {held.value} |")
    lines += [f"| `only` | {_doc('only')}; under `solved` alone |", ""]
    return lines
