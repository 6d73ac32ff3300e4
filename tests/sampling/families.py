"""Small families, made for tests of drawing."""

from qbank.family.loader import read_family
from qbank.family.model import Family

HEADING = """\
family: walk
title: A walk along two streets
subject: test/drawing
level: first-year university
version: 1.0.0
licence: CC0-1.0
"""

REST = """\
find:
  c: {name: whole way, unit: m, figures: 3}
laws:
  sum: c = a + b
ask:
  - {enter: c, points: 1}
text:
  stem: A person walks {a} and then {b}. How long is the whole way?
"""


def walk(a: str = "1 .. 6 by 1 m", b: str = "1 .. 6 by 1 m", more: str = "") -> Family:
    """c = a + b, with ranges for a and b and any further sections."""
    given = f"given:\n  a: {{name: first way, draw: {a}}}\n  b: {{name: second way, draw: {b}}}\n"
    return read_family(HEADING + given + REST + more, "walk.yaml")


def rules(*needs: str) -> str:
    """A section of rules, each because of nothing much."""
    return "rules:\n" + "".join(
        f'  - {{need: "{need}", because: reason {i}}}\n' for i, need in enumerate(needs)
    )


CASES = """\
cases:
  longer: {when: a > 2*b, say: {which: longer}}
  shorter: {when: a < 2*b, say: {which: shorter}}
"""

SAMPLE = """\
family: lengths
title: Lengths of rods
subject: test/drawing
level: first-year university
version: 1.0.0
licence: CC0-1.0
given:
  mu: {name: true mean, draw: 20.0 .. 40.0 by 0.1 mm, hidden: yes}
  d: {name: true spread, draw: 0.4 .. 0.8 by 0.1 mm, hidden: yes}
  x: {name: measured lengths, sample: "normal(mu, d)", size: 6 .. 9, decimals: DECIMALS, unit: mm}
  y: {name: other lengths, sample: "uniform(mu, mu + 20*d)", size: like x, decimals: 2, unit: mm}
let:
  xm: {name: sample mean, equals: mean(x), unit: mm}
  ym: {name: other mean, equals: mean(y), unit: mm}
find:
  m: {name: difference of the means, unit: mm, decimals: 2}
laws:
  mean: m = ym - xm
rules:
  - {need: sd(x) > 0.2 mm, because: the values should scatter}
ask:
  - {enter: m, points: 1}
text:
  stem: |
    Someone measured rods.

    {table x y}

    Find the difference of the means.
settings:
  - {name: one, say: {place: here}}
  - {name: two, say: {place: there}}
  - {name: three, say: {place: yonder}}
"""


def lengths(decimals: int = 2) -> Family:
    """The mean of a data list, with hidden parameters."""
    return read_family(SAMPLE.replace("DECIMALS", str(decimals)), "lengths.yaml")


def many_givens() -> Family:
    """The sum of nine givens with a million values each."""
    names = [f"a_{i}" for i in range(9)]
    given = "".join(f"  {name}: {{name: way, draw: 0 .. 1000000 by 1 m}}\n" for name in names)
    stem = " ".join(f"{{{name}}}" for name in names)
    rest = REST.replace("a + b", " + ".join(names)).replace("{a} and then {b}", stem)
    return read_family(f"{HEADING}given:\n{given}{rest}", "walk.yaml")


def coarse_list() -> Family:
    """A list of two values that take few different decimals."""
    given = """\
given:
  x: {name: lengths, sample: "normal(20 m, 1 m)", size: 2, decimals: 0, unit: m}
let:
  s: {name: their sum, equals: sum(x), unit: m}
"""
    rest = REST.replace("a + b", "s").replace(
        "A person walks {a} and then {b}. ", "\n    Ways:\n\n    {table x}\n\n    "
    )
    return read_family(HEADING + given + rest.replace("stem: ", "stem: |"), "walk.yaml")
