"""The path of the worked solution: which numbers are found from which, in what order."""

import numpy as np
import pytest

from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator
from qbank.solving.execution import Execution
from qbank.solving.solver import Solver
from qbank.solving.worked_path import worked_path
from tests.checking.families import family


def paths(of):
    return [worked_path(of, group) for group, _ in Solver(of).plans]


def finds(path):
    return [stage.finds for stage in path.stages]


def inputs(path):
    return {stage.finds: stage.inputs for stage in path.stages}


def shipped(name):
    return paths(load_family(find_family(name)))


def test_unknowns_that_hang_together_follow_the_order_of_print():
    (path,) = shipped("stepped-drum")
    order = [name for stage in finds(path) for name in stage if name[0] != "="]
    assert order == ["I", "alpha", "T_a", "T_b"]
    needed = inputs(path)
    assert "alpha" in needed["T_a",]
    assert "T_b" not in needed["T_a",] | needed["alpha",]  # each from its own law


def test_printed_together_is_found_together():
    (path,) = shipped("resistor-bridge")
    assert finds(path)[0] == ("V_L", "V_R", "I_g")
    assert {"V_L", "V_R"} <= inputs(path)["I",]


def test_a_let_counts_as_used_where_a_law_writes_it_out():
    some_melts = shipped("melting-ice")[1]
    assert {"Q_w", "Q_i"} <= inputs(some_melts)["m",]


def test_a_number_printed_in_passing_counts_where_a_solved_law_has_it():
    (path,) = shipped("thin-lens")
    (step,) = [stage for stage in path.stages if stage.finds[0][0] == "="]
    assert step.inputs == {"f", "d_o"}
    assert step.finds[0] in inputs(path)["d_i",]


@pytest.mark.parametrize("file", shipped_families(), ids=lambda file: file.stem)
def test_without_rounding_the_path_leads_to_the_answers(file):
    generator = Generator(load_family(file))
    instances = next(generator.generate(200, seed=3))
    n = len(instances)
    for group, _ in generator.solver.plans:
        path = worked_path(generator.family, group)
        cases = [variant.case for variant in group.variants]
        part = instances.take(np.isin(instances.case, cases))
        n = len(part)
        env = {name: part.values[name] for name in generator.family.given}
        for name in {c for variant in group.variants for c in variant.constants}:
            table = {variant.case: variant.constants[name] for variant in group.variants}
            env[name] = np.array([table[case] for case in part.case.tolist()])
        for stage in path.stages:
            answers, status = Execution(stage.plan).run(
                {name: env[name] for name in stage.inputs}, n
            )
            assert not status.any()
            env |= {name: answers[name] for name in stage.finds}
        for name in generator.family.find:
            exact = part.values[name]
            assert env[name] == pytest.approx(exact, rel=1e-8, abs=1e-9 * np.abs(exact).max())


PLAIN = """
given:
  a: {name: side, draw: 1.0 .. 9.0 by 0.1 m}
  k: {name: factor, draw: 3 .. 9 by 1}
let:
  two: {name: two, equals: 2}
  same: {name: the side again, equals: a, unit: m}
  side: {name: long side, equals: two*a + same, unit: m}
find:
  A: {name: area, unit: m^2, figures: 3}
  d: {name: diagonal, unit: m, figures: 3, choose: d > 0}
laws:
  area: A = k*side*a
  diagonal: d^2 = side^2 + a^2
ask:
  - {enter: [A, d], points: 1}
text:
  stem: A rectangle has a side of {a} and {k}.
"""


def test_a_let_that_is_a_plain_number_or_name_replaces_nothing():
    of = family(PLAIN, "rectangle")
    (path,) = paths(of)
    assert inputs(path)["d",] == {"side", "a"}
    (chunk,) = Generator(of).generate(50, seed=1)
    side = 3 * chunk.values["a"]
    assert chunk.values["d"] == pytest.approx(np.hypot(side, chunk.values["a"]))


COUPLED = """
given:
  p: {name: first sum, draw: 5.0 .. 9.0 by 0.1 N}
  q: {name: second sum, draw: 1.0 .. 4.0 by 0.1 N}
find:
  x: {name: one, unit: N, figures: 3}
  y: {name: other, unit: N, figures: 3}
laws:
  sum: x + y = p
  difference: x - 2*y = q
ask:
  - {enter: [x, y], points: 1}
text:
  stem: Two forces are {p} together; one less twice the other is {q}.
  solution: SOLUTION
"""


@pytest.mark.parametrize(
    ("solution", "expected"),
    [
        ('["So {y.equation}.", "Then {x.equation}."]', [("y",), ("x",)]),
        ('["So {x.equation} and {y.equation}."]', [("x", "y")]),
        ('["Add up."]', [("x", "y")]),
        ('["So {x.equation}."]', [("x", "y")]),  # nothing tells where the other one comes from
    ],
)
def test_the_order_is_that_of_the_paragraphs(solution, expected):
    (path,) = paths(family(COUPLED.replace("SOLUTION", solution), "forces"))
    assert finds(path) == expected
    if len(expected) == 2:
        assert inputs(path)["x",] in ({"p", "y"}, {"q", "y"})
