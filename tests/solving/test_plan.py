"""Which laws are solved when and how, and what is said where they cannot be."""

from __future__ import annotations

import time

import numpy as np
import pytest

from qbank.errors import FamilyError
from qbank.solving.solver import NO_ROOT, SOLVED, Solver
from qbank.solving.steps import BracketedRoots, Candidates, Formulas, Linear, PolynomialRoots
from qbank.solving.structure import structure
from tests.solving.models import make_family


def mentions(**laws):
    return {law: frozenset(names) for law, names in laws.items()}


def blocks(found):
    return [(block.laws, block.unknowns) for block in found.blocks]


def test_blocks_come_in_solving_order():
    found = structure(mentions(one="xyz", two="y", three="yz", four="z"), "xyzw")
    # z and y from two and four, three is then one too many
    assert found.loose == ("w",)
    assert set(found.excess) == {"two", "three", "four"}
    found = structure(mentions(one="xyz", two="y", three="yzw", four="zw"), "xyzw")
    assert blocks(found) == [(("two",), ("y",)), (("three", "four"), ("z", "w")),
                             (("one",), ("x",))]  # fmt: skip
    assert (found.loose, found.excess) == ((), ())


def test_laws_in_a_ring_are_one_block():
    found = structure(mentions(a="xy", b="yz", c="zx"), "xyz")
    assert blocks(found) == [(("a", "b", "c"), ("x", "y", "z"))]


def test_loose_unknowns_leave_the_determined_ones():
    found = structure(mentions(a="x", b="xyz"), "xyz")
    assert blocks(found) == [(("a",), ("x",))]
    assert found.loose == ("y", "z")
    assert found.loose_laws == ("b",)


def test_what_hangs_on_contested_unknowns_gets_no_value():
    found = structure(mentions(a="x", b="x", c="xy", d="z"), "xyz")
    assert blocks(found) == [(("d",), ("z",))]
    assert found.contested == ("x", "y")


def test_matching_finds_the_only_perfect_pairing():
    rng = np.random.default_rng(0)
    for _ in range(50):
        k = int(rng.integers(2, 9))
        names = [f"u{i}" for i in range(k)]
        order = rng.permutation(k)
        laws = {
            f"l{i}": frozenset(
                [names[order[i]], *(names[j] for j in order[:i] if rng.random() < 0.6)]
            )
            for i in rng.permutation(k)
        }
        found = structure(laws, names)
        assert [block.unknowns[0] for block in found.blocks if len(block.unknowns) == 1]
        assert not found.loose
        assert not found.excess
        solved = set()
        for block in found.blocks:
            assert len(block.laws) == len(block.unknowns)
            for law in block.laws:
                assert laws[law] <= solved | set(block.unknowns)
            solved |= set(block.unknowns)
        assert solved == set(names)


def plan_of(**family):
    ((_, plan),) = Solver(make_family(**family)).plans
    return plan


@pytest.mark.parametrize(
    ("law", "keys", "kinds"),
    [
        ("a*x + b = x", {}, [Linear]),
        ("1/x + 1/a = 1/b", {}, [Candidates]),
        ("a*x = b/(x + a)", {}, [PolynomialRoots]),
        ("a*x/(x + b) = c", {}, [Formulas]),
        ("x^4 + a*x = b", {}, [PolynomialRoots]),
        ("sin(x) = a", {"choose": "x < 1"}, [Candidates]),
        ("sin(x) = a", {"between": "0 .. 1"}, [BracketedRoots]),
        ("x = cos(x)*a", {"between": "0 .. 1"}, [BracketedRoots]),
        ("a*sin(x)^2 = b*sin(x)", {"choose": "x > 0"}, [PolynomialRoots, Candidates]),
        ("x^13 = x + a", {"between": "0 .. 1"}, [BracketedRoots]),
    ],
)
def test_the_way_each_kind_of_law_is_solved(law, keys, kinds):
    plan = plan_of(given="a b c", find={"x": keys}, laws={"law": law})
    assert [type(step) for step in plan.steps] == kinds


def test_a_block_is_left_by_its_easiest_unknown():
    plan = plan_of(
        given="a b c",
        find="x y",
        laws={"one": "exp(x/a) = y*b", "two": "y = c"},
    )
    assert [type(step) for step in plan.steps] == [Linear, Candidates]
    plan = plan_of(
        given="a b",
        find={"x": {"between": "0 .. 9"}, "y": {}},
        laws={"one": "exp(x/a) + x = y*b", "two": "y = x^2 + a"},
    )
    assert [type(step) for step in plan.steps] == [BracketedRoots, Formulas]


def refused(**family):
    with pytest.raises(FamilyError) as caught:
        Solver(make_family(**family))
    return str(caught.value)


def test_sentences_about_laws_that_do_not_fit():
    cases = [
        (
            {"given": "a", "find": "x y", "laws": {"one": "x + y = a", "two": "2*x + 2*y = a"}},
            "test.yaml:2:1: laws 'one' and 'two' contradict each other whatever the data\n"
            "    compare their signs and factors.",
        ),
        (
            {"given": "a b", "find": "x y",
             "laws": {"one": "a*x + a*y = b", "two": "(x + y)/b = 1/a"}},
            "test.yaml:2:1: laws 'one' and 'two' do not determine 'x' and 'y': one of the laws "
            "follows from the others\n    replace it by a law that says something new.",
        ),
        (
            {"given": "a", "find": "x y", "laws": {"one": "x = a", "two": "x = 2*a"}},
            "test.yaml:2:1: laws 'one' and 'two' are more than their unknowns, 'x'\n"
            "    drop a law, or add the unknown that is missing.",
        ),
        (
            {"given": "a", "find": "x y", "laws": {"one": "x + y = a"}},
            "test.yaml:1:1: the laws do not determine 'x' and 'y': only 'one' hold them\n"
            "    add a law.",
        ),
        (
            {"given": "a", "find": "x y", "laws": {"one": "x = a"}},
            "test.yaml:50:1: no law holds 'y'\n    add a law for it.",
        ),
        (
            {"given": "a", "find": "x", "laws": {"one": "x = a", "two": "a = 2"}},
            "test.yaml:2:1: law 'two' holds no unknown\n"
            "    mention an unknown in it, or make it a rule or a confirmation.",
        ),
        (
            {"given": "a", "find": "x", "laws": {"one": "x + exp(x) = a"}},
            "test.yaml:1:1: law 'one' cannot be solved for 'x' in closed form\n"
            "    give 'x' ends to search between, as in between: LOW .. HIGH.",
        ),
        (
            {"given": "a", "find": "x", "laws": {"one": "tan(x) = a"}},
            "test.yaml:1:1: law 'one' has endlessly many roots for 'x', a turn apart\n"
            "    say which one is meant, as in choose: 0 <= x <= 90 deg.",
        ),
        (
            {"given": "a b", "find": "x y",
             "laws": {"one": "x*exp(x) + sin(y)*y = a", "two": "y*exp(y) + cos(x)*x = b"}},
            "test.yaml:1:1: laws 'one' and 'two' cannot be reduced to one equation in one of "
            "'x' and 'y'\n    write one of them solved for an unknown, or add an unknown and a law "
            "that splits it.",
        ),
    ]  # fmt: skip
    for family, sentence in cases:
        assert refused(**family) == sentence


def test_a_sentence_names_the_case():
    message = refused(
        given="a", find="x y",
        cases={"up": {"when": "a > 0"}, "down": {}},
        laws={"up": {"one": "x = a", "two": "y = a"}, "down": {"one": "x = a", "two": "x = -a"}},
    )  # fmt: skip
    assert message.startswith("test.yaml:2:2: case 'down', laws 'one' and 'two' are more than")


def test_constants_that_are_zero_take_terms_out_of_a_law():
    family = {
        "given": "a b", "find": "x y",
        "cases": {"on": {"when": "a > 0", "set": {"k": 2.0}}, "off": {"set": {"k": 0.0}}},
    }  # fmt: skip
    message = refused(**family, laws={"one": "x + k*y = a", "two": "x - k*y = b"})
    assert "case 'off', laws 'one' and 'two' are more than their unknowns, 'x'" in message


def test_hidden_dependence_is_seen_through_equal_products():
    # the determinant a*(b + c) - (a*b + a*c) is zero, though no two terms look alike
    message = refused(
        given="a b c p q", find="x y",
        laws={"one": "(b + c)*x + y = p", "two": "(a*b + a*c)*x + a*y = q"},
    )  # fmt: skip
    assert "contradict each other" in message


def test_symbolic_work_is_bounded():
    # a long nonlinear law and a dense linear block: refused or solved, but never for long
    start = time.perf_counter()
    long = " + ".join(f"(x + a)^{k}/(x^{k} + b)" for k in range(2, 12))
    refused(given="a b", find="x", laws={"long": f"{long} = a"})
    dense = {
        f"l{i}": " + ".join(f"a^{i * j + 1}*x{j}" for j in range(8)) + " = b" for i in range(8)
    }
    Solver(make_family(given="a b", find=" ".join(f"x{j}" for j in range(8)), laws=dense))
    assert time.perf_counter() - start < 5.0


def test_two_quadratic_branches_and_a_later_choice():
    family = make_family(
        given="a b",
        find={"x": {}, "y": {"choose": "y > b"}},
        laws={"one": "x^2 = a", "two": "y = b + 2*x"},
    )
    solver = Solver(family)
    result = solver.solve({"a": np.array([9.0, -1.0]), "b": np.ones(2)}, np.zeros(2, int), 2)
    assert result.status.tolist() == [SOLVED, NO_ROOT]
    assert (result.values["x"][0], result.values["y"][0]) == (3.0, 7.0)
