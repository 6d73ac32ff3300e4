"""Which shape is drawn by what; a new shape is a module, a line here and its keys in the schema."""

from __future__ import annotations

from collections.abc import Callable

from qbank.figures.canvas import Canvas
from qbank.figures.parameters import Parameters
from qbank.figures.shapes import (
    angle,
    arrow,
    axes,
    beam,
    block,
    capacitor,
    container,
    dimension,
    disc,
    ground,
    label,
    lens,
    lines,
    load,
    meter,
    oval,
    ray,
    resistor,
    slope,
    source,
    spring,
    support,
    switch,
)

Drawing = Callable[[Canvas, Parameters], None]

DRAWINGS: dict[str, Drawing] = {
    "disc": disc.draw,
    "block": block.draw,
    "cord": lines.cord,
    "line": lines.line,
    "node": lines.node,
    "slope": slope.draw,
    "ground": ground.draw,
    "spring": spring.draw,
    "beam": beam.draw,
    "support": support.draw,
    "load": load.draw,
    "arrow": arrow.draw,
    "dimension": dimension.draw,
    "angle": angle.draw,
    "wire": lines.cord,
    "resistor": resistor.draw,
    "capacitor": capacitor.draw,
    "source": source.draw,
    "switch": switch.draw,
    "meter": meter.draw,
    "lens": lens.draw,
    "ray": ray.draw,
    "container": container.draw,
    "oval": oval.draw,
    "axes": axes.axes,
    "curve": axes.curve,
    "mark": axes.mark,
    "dots": axes.dots,
    "label": label.draw,
}
