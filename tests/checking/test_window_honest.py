"""Monte Carlo: solvers who round at random where the worked solution writes numbers down."""

import numpy as np
import pytest

from qbank.checking.tolerance import TOO_OFTEN
from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator
from tests.checking.families import family
from tests.checking.honest import Solvers, slips_inside

FAMILIES = {path.stem: path for path in shipped_families()}
INSTANCES = 2000
SOLVERS = 50


def outside_slack(instances, responses):
    """How many responses lie farther from their key than the slack, by answer."""
    counts = {}
    for name, values in responses.items():
        slack, _ = instances.windows[name]
        key = instances.rounded[name]
        # a typed decimal and the key differ by their decimals, not by the last bits
        off = np.abs(values - key) > slack * (1 + 1e-9) + 1e-12 * np.abs(key)
        counts[name] = int(np.count_nonzero(off | ~np.isfinite(values)))
    return counts


@pytest.mark.parametrize("name", FAMILIES)
def test_no_honest_solver_lands_outside_the_slack(name):
    generator = Generator(load_family(FAMILIES[name]))
    solvers, rng = Solvers.of(generator), np.random.default_rng(5)
    windows = generator.sampler.windows
    reached = dict.fromkeys(windows.asked, 0.0)
    for instances in generator.generate(INSTANCES, seed=11):
        for _ in range(SOLVERS):
            responses = solvers.responses(instances, rng)
            assert not any(outside_slack(instances, responses).values())
            for answer in windows.asked:
                values, key = responses[answer], instances.rounded[answer]
                low, high = instances.tolerance[answer]
                if windows.policies[answer].narrow <= TOO_OFTEN:
                    assert ((low <= values) & (values <= high)).all()
                slack, _ = instances.windows[answer]
                some = slack > 0
                share = np.abs(values - key)[some] / slack[some]
                reached[answer] = max(reached[answer], share.max(initial=0.0))
    # nor is the slack a bound far beyond what anyone reaches
    assert all(share > 0.8 for share in reached.values()), reached


@pytest.mark.parametrize("name", FAMILIES)
def test_no_slip_lies_inside_a_tolerance(name):
    generator = Generator(load_family(FAMILIES[name]))
    for instances in generator.generate(INSTANCES, seed=12):
        assert not [found for found in slips_inside(generator, instances) if found[2]]


LADDER = """
given:
  m: {name: mass, draw: 1.00 .. 9.99 by 0.01 kg}
  h: {name: height, draw: 1.0 .. 20.0 by 0.1 m}
  g: {name: free-fall acceleration, fixed: 9.81 m/s^2ACCEPT}
find:
  v: {name: speed, unit: m/s, figures: 3, choose: v > 0}
  E: {name: energy, unit: J, figures: 3}
laws:
  fall: v^2 = 2*g*h
  energy: E = m*v^2/2
ask:
  - {enter: [v, E], points: 1}
text:
  stem: A stone of {m} falls {h}; the free-fall acceleration is {g}.
"""


def fall(accept: str = "", top: str = ""):
    text = top + LADDER.replace("ACCEPT", f", accept: '{accept}'" if accept else "")
    return Generator(family(text, "fall"))


@pytest.mark.parametrize(
    "generator",
    [fall(), fall(accept="9.8, 9.80665"), fall(top="working: {figures: 5}")],
    ids=["default", "other constants", "five figures"],
)
def test_conventions_are_covered(generator):
    (instances,) = generator.generate(INSTANCES, seed=2)
    solvers, rng = Solvers.of(generator), np.random.default_rng(8)
    for _ in range(SOLVERS):
        assert not any(outside_slack(instances, solvers.responses(instances, rng)).values())


def test_what_is_kept_and_what_is_accepted_moves_the_slack():
    def median(generator):
        (instances,) = generator.generate(500, seed=2)
        slack, _ = instances.windows["E"]
        return float(np.median(slack / instances.rounded["E"]))

    plain, finer = median(fall()), median(fall(top="working: {figures: 5}"))
    other = median(fall(accept="9.8 m/s^2"))
    wrong = median(fall(accept="10"))
    assert finer < 0.6 * plain  # a speed of three figures is off by up to 0.5 %, squared 1 %
    assert plain < other < plain + 0.002  # 9.8 is 0.1 % less than 9.81
    assert 0.019 < wrong < 0.030  # 10 is 1.94 % more, beside the rounding
