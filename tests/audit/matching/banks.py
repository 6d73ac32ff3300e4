"""Banks made from the shipped families, with stems in other words than the families use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from qbank.audit.question import Question
from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family
from qbank.family.model import Family, Fixed, Grid, Listed, Sampled
from qbank.generation import Generator
from qbank.instances import Instances
from qbank.solving.cases import decide_cases
from qbank.solving.solver import Solver
from tests.audit.grouping.texts import question


@cache
def family(name: str) -> Family:
    return load_family(find_family(name))


@cache
def shipped() -> tuple[Family, ...]:
    return tuple(load_family(path) for path in shipped_families())


@dataclass(frozen=True)
class Story:
    """A stem in words of our own: "{given}" where a number with its unit stands; the prompts."""

    family: str
    stem: str
    asks: Mapping[str, str]


STORIES = {
    story.family: story
    for story in (
        Story(
            "stepped-drum",
            "Two uniform plates are bolted together on a shaft. The little one weighs in at {M_r} "
            "and measures {r} from its centre to the rim, the big one at {M_R} and {R}. A rope "
            "around the little plate bears a sack of {m_a} to the left, a rope around the big one "
            "a sack of {m_b} to the right. Use 9.81 m/s^2 for gravity.",
            {
                "T_a": "How hard does the rope to the left pull?",
                "alpha": "How fast does the rotation rate of the shaft change?",
            },
        ),
        Story(
            "line-throw",
            "Someone on a quay flings a rope to a ship. It leaves the hand at {v_0} and {theta} to "
            "the horizon, {h} over the sea.",
            {
                "x": "How far out does it hit the sea?",
                "t": "How long is it in the air?",
                "H": "What is the highest it gets over the sea?",
            },
        ),
        Story(
            "thin-lens",
            "A collector looks at a beetle of {h_o} through a glass with f = {f}. The beetle sits "
            "at {d_o} before the glass.",
            {"d_i": "Where does the picture arise?", "h_i": "How tall is the picture?"},
        ),
        Story(
            "capacitor-discharge",
            "A flash unit stores charge in {C} at {V_0}. It drains through {R}. The maker says to "
            "wait for {t_w}; the cover may come off below {V_1}.",
            {"t": "When may the cover come off?", "W": "How much heat is set free till then?"},
        ),
        Story(
            "resistor-bridge",
            "A square of resistors hangs on {V_s}. From plus to corner K there is {R_1}, from K to "
            "minus {R_2}, from plus to corner M {R_3}, from M to minus {R_4}. An instrument with "
            "{R_g} links K and M.",
            {"V_L": "At which voltage is K?", "I": "What flows out of plus?"},
        ),
        Story(
            "pipe-friction",
            "Oil of {rho} and {nu} is sent through {len} of tubing. The tubing is {D} wide inside, "
            "its wall {k} rough, and the oil moves at {v} on average.",
            {"dp": "Which pressure drop results?", "Q": "How much oil arrives?"},
        ),
        Story(
            "melting-ice",
            "Lumps of frozen water, {m_i} at {T_i}, go into a copper pot of {m_v} that holds {m_w} "
            "of liquid at {T_w}.",
            {"m": "Which mass is solid in the end?"},
        ),
        Story(
            "elastic-collision",
            "Two carts meet on an air track. The first has {m_1} and comes with {v_1}, the second "
            "has {m_2} and {v_2}; plus is to the right. Nothing is lost.",
            {"w_1": "How does the first cart move on?", "w_2": "How does the second move on?"},
        ),
        Story(
            "buffer",
            "In a beaker, {V} hold {c_a} of HX and {c_b} of its salt; HX has {K_a}. Then {V_s} of "
            "lye with {c_s} are poured in.",
            {"pH": "What does the pH meter show?"},
        ),
        Story(
            "mean-interval",
            "Somebody weighed or measured some pieces and noted {x}. The catalogue promises {m_0}. "
            "Be sure to {C}.",
            {"low": "Where does the range begin?", "high": "Where does the range end?"},
        ),
        Story(
            "level-launch",
            "Off the edge of a bench {h} over the ground, a ball leaves flat with {v_0}.",
            {"x": "How far from the bench does it come down?", "v": "How fast is it then?"},
        ),
        Story(
            "elliptic-orbit",
            "A probe circles our planet between {h_p} and {h_a} over the ground. It was lowest "
            "{t} ago.",
            {"r": "How far is it from the middle of the planet?", "v": "How fast is it?"},
        ),
    )
}  # fmt: skip


@dataclass
class Bank:
    questions: list[Question]
    wrong: set[tuple[int, str]]  # item number, unknown
    parts: Mapping[str, str]  # part -> unknown


def bank(
    story: Story,
    n: int,
    *,
    seed: int = 5,
    wrong: float = 0.0,
    asks: Sequence[str] | None = None,
    constants: Mapping[str, float] | None = None,
    first: int = 0,
) -> Bank:
    """A bank of a story. `wrong` is the share of keys replaced by others; `constants` (SI) are
    used in place of the family's."""
    own = family(story.family)
    made = next(Generator(own).generate(n, seed))
    answers = _answers(own, made, constants)
    rng = np.random.default_rng(seed)
    questions: list[Question] = []
    altered: set[tuple[int, str]] = set()
    names = list(asks or story.asks)
    for position, name in enumerate(names):
        unknown = own.find[name]
        keys = unknown.unit.from_si(answers[name])
        bad = set(rng.choice(n, size=int(wrong * n), replace=False).tolist())
        for row in range(n):
            key = float(keys[row])
            if row in bad:
                key = key * float(rng.choice([0.5, 0.8, 1.3, 2.0, 10.0, -1.0])) or 1.0
                key += 0.3 * abs(key) if unknown.shown.decimals is not None else 0.0
                altered.add((first + row, name))
            text = shown(key, unknown.shown.figures, unknown.shown.decimals)
            questions.append(
                question(
                    stem(own, story.stem, made, row),
                    story.asks[name],
                    first + row,
                    key=float(text),
                    key_text=text,
                    unit=unknown.unit.ascii if unknown.unit.text else None,
                    part=f"R{position}",
                )
            )
    return Bank(questions, altered, {f"R{at}": name for at, name in enumerate(names)})


def _answers(
    own: Family, made: Instances, constants: Mapping[str, float] | None
) -> Mapping[str, np.ndarray]:
    if not constants:
        return {name: made.values[name] for name in own.find}
    n = len(made)
    values = {name: made.values[name] for name in own.given}
    values.update({name: np.full(n, value) for name, value in constants.items()})
    solver = Solver(own)
    values = solver.lets(values, n)
    case, _ = decide_cases(own)(values, n)
    return solver.solve(values, case, n).values


def shown(value: float, figures: int | None, decimals: int | None) -> str:
    if decimals is not None:
        return f"{value:.{decimals}f}"
    places = (figures or 3) - 1
    mantissa, _, exponent = f"{value:.{places}e}".partition("e")
    if -4 < int(exponent) <= places:
        return f"{float(f'{value:.{places}e}'):.{max(0, places - int(exponent))}f}"
    return f"{mantissa}e{int(exponent)}"


def stem(own: Family, template: str, made: Instances, row: int) -> str:
    """The template with the numbers of an instance as the family shows them."""
    fields = {}
    for name, given in own.given.items():
        values = np.atleast_1d(given.unit.from_si(made.values[name][row]))
        source = given.source
        if isinstance(source, Grid | Fixed | Sampled):
            decimals = max(0, -source.exponent)
        else:
            assert isinstance(source, Listed)
            decimals = max(0, -min(source.exponents))
        texts = [f"{value:.{decimals}f}" for value in values[np.isfinite(values)]]
        unit = given.unit
        gap = "" if unit.glued or not unit.text else " "
        fields[name] = ", ".join(texts) + gap + unit.text
    return template.format(**fields)
