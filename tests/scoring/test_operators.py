"""Every operator of the standard: its values, its NULL rules and its edges.

Each row names where the rule comes from: `note` with the section of the project's mapping note
(g2 is its table of operators), or `memory` for what is remembered of the standard and marked
there as in doubt. Numbers are our own unless a source stands beside them.
"""

from __future__ import annotations

import math

import pytest

from qbank.scoring.expressions import OPERATORS
from tests.scoring.items import (
    DIALECTS,
    FALSE,
    NULL,
    TRUE,
    base,
    d,
    declare,
    evaluate,
    f,
    i,
    multiple,
    ordered,
    s,
)  # fmt: skip

B, INT, F, S, D = "boolean", "integer", "float", "string", "identifier"
ONE, MANY, SEQ = "single", "multiple", "ordered"


def op(name: str, /, *operands: str, **attributes: object) -> str:
    given = "".join(f' {k}="{v}"' for k, v in attributes.items())
    return f"<{name}{given}>{''.join(operands)}</{name}>"


def equal(mode: str, first: object, second: object, tolerance: str = "", **more: str) -> str:
    extra = {"tolerance": tolerance} if tolerance else {}
    return op("equal", f(first), f(second), toleranceMode=mode, **extra, **more)


def rounded(mode: str, figures: int, first: object, second: object) -> str:
    return op("equalRounded", f(first), f(second), roundingMode=mode, figures=figures)


def round_to(mode: str, figures: int, number: object) -> str:
    return op("roundTo", f(number), roundingMode=mode, figures=figures)


def math_op(name: str, *numbers: object) -> str:
    return op("mathOperator", f(*numbers), name=name)


def stats(name: str, *numbers: float) -> str:
    return op("statsOperator", multiple(f(*numbers)), name=name)


A3 = multiple(d("A", "B", "B"))
O3 = ordered(d("A", "B", "C"))
POINT = base("point", "3 4")
PLACES, FIGURES = "decimalPlaces", "significantFigures"

G2 = "note g2"
ROWS = [
    # ---- and, or, not: three-valued
    ("and", op("and", TRUE, TRUE), ONE, B, True, G2),
    ("and", op("and", TRUE, FALSE), ONE, B, False, G2),
    ("and", op("and", NULL, FALSE), ONE, B, False, G2),
    ("and", op("and", FALSE, NULL), ONE, B, False, G2),
    ("and", op("and", TRUE, NULL), ONE, B, None, G2),
    ("and", op("and", NULL, NULL), ONE, B, None, G2),
    ("or", op("or", FALSE, TRUE), ONE, B, True, G2),
    ("or", op("or", NULL, TRUE), ONE, B, True, G2),
    ("or", op("or", FALSE, FALSE), ONE, B, False, G2),
    ("or", op("or", FALSE, NULL), ONE, B, None, G2),
    ("not", op("not", TRUE), ONE, B, False, G2),
    ("not", op("not", FALSE), ONE, B, True, G2),
    ("not", op("not", NULL), ONE, B, None, G2),
    # ---- anyN: NULL while undecided
    ("anyN", op("anyN", TRUE, FALSE, TRUE, min=2, max=2), ONE, B, True, G2),
    ("anyN", op("anyN", TRUE, FALSE, FALSE, min=2, max=3), ONE, B, False, G2),
    ("anyN", op("anyN", TRUE, TRUE, TRUE, min=1, max=2), ONE, B, False, G2),
    ("anyN", op("anyN", TRUE, FALSE, NULL, min=1, max=2), ONE, B, True, G2),
    ("anyN", op("anyN", TRUE, FALSE, NULL, min=2, max=3), ONE, B, None, G2),
    ("anyN", op("anyN", TRUE, FALSE, NULL, min=1, max=1), ONE, B, None, G2),
    ("anyN", op("anyN", FALSE, FALSE, NULL, min=2, max=3), ONE, B, False, G2),
    ("anyN", op("anyN", TRUE, TRUE, NULL, min=0, max=1), ONE, B, False, G2),
    # ---- isNull, null
    ("isNull", op("isNull", NULL), ONE, B, True, G2),
    ("isNull", op("isNull", s("")), ONE, B, True, "note g1"),
    ("isNull", op("isNull", "<multiple/>"), ONE, B, True, "note g1"),
    ("isNull", op("isNull", f(0)), ONE, B, False, G2),
    ("null", NULL, ONE, F, None, G2),
    # ---- match
    ("match", op("match", d("A"), d("A")), ONE, B, True, G2),
    ("match", op("match", d("A"), d("a")), ONE, B, False, G2),
    ("match", op("match", s("Pump"), s("pump")), ONE, B, False, G2),
    ("match", op("match", s(" x"), s("x")), ONE, B, False, "note b7: strings are not trimmed"),
    ("match", op("match", base(D, " A "), d("A")), ONE, B, True, "note b7: identifiers are"),
    ("match", op("match", i(3), i(3)), ONE, B, True, G2),
    ("match", op("match", d("A"), NULL), ONE, B, None, G2),
    ("match", op("match", A3, multiple(d("B", "A", "B"))), ONE, B, True, G2),
    ("match", op("match", A3, multiple(d("A", "B"))), ONE, B, False, G2 + ": a multiset"),
    ("match", op("match", O3, ordered(d("A", "B", "C"))), ONE, B, True, G2),
    ("match", op("match", O3, ordered(d("A", "C", "B"))), ONE, B, False, G2),
    ("match", op("match", base("pair", "A B"), base("pair", "B A")), ONE, B, True, "note b6"),
    ("match", op("match", base("directedPair", "A B"), base("directedPair", "B A")), ONE, B, False,
     "note b6"),
    ("match", op("match", POINT, base("point", "3 4.0")), ONE, B, True, G2),
    # ---- equal: the window is built around the first operand
    ("equal", equal("exact", 0.3, 0.3), ONE, B, True, "note b3"),
    ("equal", equal("exact", 0.3, "0.30000000000000004"), ONE, B, False, "note b3"),
    ("equal", equal("exact", 1, 2, "5"), ONE, B, False, "note b3: exact ignores tolerance"),
    ("equal", equal("absolute", 10, 10.5, "0.5"), ONE, B, True, "note b3"),
    ("equal", equal("absolute", 10, 10.5, "0.5", includeUpperBound="false"), ONE, B, False, "b3"),
    ("equal", equal("absolute", 10, 9.5, "0.5"), ONE, B, True, "note b3"),
    ("equal", equal("absolute", 10, 9.5, "0.5", includeLowerBound="false"), ONE, B, False, "b3"),
    ("equal", equal("absolute", 10, 9.5, "0.25 0.75"), ONE, B, False, "note b3: two sides"),
    ("equal", equal("absolute", 10, 10.75, "0.25 0.75"), ONE, B, True, "note b3"),
    ("equal", equal("relative", 4.136, 3.9292001, "5"), ONE, B, True, "note b3, worked example"),
    ("equal", equal("relative", 3.9292001, 4.136, "5"), ONE, B, False, "note b3: operand order"),
    ("equal", equal("relative", 4.136, 4.3427999, "5"), ONE, B, True, "note b3"),
    ("equal", equal("relative", 4.136, 4.3428001, "5"), ONE, B, False, "note b3"),
    ("equal", equal("relative", 4.3536, 4.136, "5"), ONE, B, True, "note b3, response first"),
    ("equal", equal("relative", 4.3538, 4.136, "5"), ONE, B, False, "note b3, response first"),
    ("equal", equal("relative", -200, -202, "1"), ONE, B, True, "note b3: ends are sorted"),
    ("equal", equal("relative", -200, -202, "1 1", includeUpperBound="false"), ONE, B, False,
     "note b3: a bound keeps its flag"),
    ("equal", equal("relative", -200, -202, "1 1", includeLowerBound="false"), ONE, B, True, "b3"),
    ("equal", equal("relative", 0, 0, "5"), ONE, B, True, "note b3: an empty window"),
    ("equal", equal("relative", 0, 0.001, "5"), ONE, B, False, "note b3"),
    ("equal", op("equal", i(3), f(3)), ONE, B, True, "note b3: mode absent is exact"),
    ("equal", op("equal", NULL, f(3), toleranceMode="exact"), ONE, B, None, G2),
    ("equal", op("equal", f(3), NULL, toleranceMode="absolute", tolerance=1), ONE, B, None, G2),
    # ---- equalRounded: both rounded, then compared
    ("equalRounded", rounded(PLACES, 2, 12.344, 12.336), ONE, B, True, "note b3, worked example"),
    ("equalRounded", rounded(PLACES, 2, 12.345, 12.344), ONE, B, False, "note b3: half goes up"),
    ("equalRounded", rounded(FIGURES, 3, 1.234, 1.2299), ONE, B, True, "note b3"),
    ("equalRounded", rounded(FIGURES, 3, 1.235, 1.234), ONE, B, False, "note b3"),
    ("equalRounded", op("equalRounded", f(120.4), f(120.3), figures=3), ONE, B, True,
     "note b3: figures are significant unless said"),
    ("equalRounded", rounded(FIGURES, 0, 1, 1), ONE, B, None, G2 + ": figures >= 1"),
    ("equalRounded", rounded(PLACES, 0, 1.4, 0.6), ONE, B, True, G2 + ": places >= 0"),
    ("equalRounded", op("equalRounded", NULL, f(1), roundingMode=PLACES, figures=1), ONE, B, None,
     G2),
    # ---- comparisons
    ("gt", op("gt", f(2), i(1)), ONE, B, True, G2),
    ("gt", op("gt", f(2), f(2)), ONE, B, False, G2),
    ("gte", op("gte", f(2), f(2)), ONE, B, True, G2),
    ("lt", op("lt", f(2), f(2)), ONE, B, False, G2),
    ("lt", op("lt", f(-1), f(2)), ONE, B, True, G2),
    ("lte", op("lte", f(2), f(2)), ONE, B, True, G2),
    ("lte", op("lte", f(2), NULL), ONE, B, None, G2),
    ("gt", op("gt", NULL, f(2)), ONE, B, None, G2),
    ("gte", op("gte", NULL, f(2)), ONE, B, None, G2),
    ("lt", op("lt", s("a"), f(2)), ONE, B, None, "our rule: a wrong kind is NULL with a warning"),
    ("durationLT", op("durationLT", base("duration", "3"), base("duration", "4")),
     ONE, B, True, G2),
    ("durationLT", op("durationLT", base("duration", "4"), base("duration", "4")),
     ONE, B, False, G2),
    ("durationGTE", op("durationGTE", base("duration", "4"), base("duration", "4")), ONE, B, True,
     G2),
    ("durationGTE", op("durationGTE", NULL, base("duration", "4")), ONE, B, None, G2),
    # ---- strings
    ("stringMatch", op("stringMatch", s("Pump"), s("pump"), caseSensitive="false"), ONE, B, True,
     G2),
    ("stringMatch", op("stringMatch", s("Pump"), s("pump"), caseSensitive="true"), ONE, B, False,
     G2),

        ("stringMatch", op("stringMatch", s("a pump"), s("pump"), caseSensitive="true",
                       substring="true"),
     ONE, B, True, "memory: deprecated substring, second in first"),
    ("stringMatch", op("stringMatch", s("a"), NULL, caseSensitive="true"), ONE, B, None, G2),
    ("substring", op("substring", s("ump"), s("pump"), caseSensitive="true"), ONE, B, True,
     "note b7: first in second"),
    ("substring", op("substring", s("pump"), s("ump"), caseSensitive="true"), ONE, B, False, "b7"),
    ("substring", op("substring", s("UMP"), s("pump"), caseSensitive="false"), ONE, B, True, "b7"),
    ("substring", op("substring", NULL, s("pump"), caseSensitive="false"), ONE, B, None, G2),
    ("patternMatch", op("patternMatch", s("12.5"), pattern="[0-9]+(\\.[0-9]+)?"),
     ONE, B, True, "b7"),
    ("patternMatch", op("patternMatch", s("x12"), pattern="[0-9]+"), ONE, B, False,
     "note b7: anchored at both ends"),
    ("patternMatch", op("patternMatch", s("^a$"), pattern="^a$"), ONE, B, True,
     "note b7: no anchors in the language"),
    ("patternMatch", op("patternMatch", NULL, pattern="a"), ONE, B, None, G2),
    # ---- arithmetic
    ("sum", op("sum", i(1, 2)), ONE, INT, 3, G2),
    ("sum", op("sum", i(1), f(2.5)), ONE, F, 3.5, G2 + ": float unless all are integer"),
    ("sum", op("sum", multiple(f(0.1, 0.2)), f(0.3)), ONE, F, 0.6, G2 + ": containers too"),
    ("sum", op("sum", f(1), NULL), ONE, F, None, "note b4: one NULL makes it NULL"),
    ("product", op("product", i(3, 4)), ONE, INT, 12, G2),
    ("product", op("product", i(3), f(0.5)), ONE, F, 1.5, G2),
    ("product", op("product", f(3), NULL), ONE, F, None, G2),
    ("min", op("min", i(3, -4)), ONE, INT, -4, G2),
    ("min", op("min", multiple(f(3, 5)), i(4)), ONE, F, 3.0, G2),
    ("min", op("min", f(3), NULL), ONE, F, None, G2),
    ("max", op("max", i(3, -4)), ONE, INT, 3, G2),
    ("max", op("max", NULL), ONE, F, None, G2),
    ("subtract", op("subtract", i(3, 5)), ONE, INT, -2, G2),
    ("subtract", op("subtract", f(3.5), i(5)), ONE, F, -1.5, G2),
    ("subtract", op("subtract", NULL, i(5)), ONE, F, None, G2),
    ("divide", op("divide", i(3, 2)), ONE, F, 1.5, G2 + ": always a float"),
    ("divide", op("divide", f(3), f(0)), ONE, F, None, G2),
    ("divide", op("divide", f(3), NULL), ONE, F, None, G2),
    ("power", op("power", i(2, 3)), ONE, F, 8.0, G2 + ": always a float"),
    ("power", op("power", f(-8), f(0.5)), ONE, F, None, G2 + ": not real"),
    ("power", op("power", f(0), f(-1)), ONE, F, None, G2),
    ("power", op("power", f(4), f(0.5)), ONE, F, 2.0, G2),
    ("power", op("power", NULL, f(0.5)), ONE, F, None, G2),
    ("integerDivide", op("integerDivide", i(7, 2)), ONE, INT, 3, G2),
    ("integerDivide", op("integerDivide", i(-7, 2)), ONE, INT, -4, G2 + ": rounds down"),
    ("integerDivide", op("integerDivide", i(7, 0)), ONE, INT, None, G2),
    ("integerDivide", op("integerDivide", i(7), NULL), ONE, INT, None, G2),
    ("integerModulus", op("integerModulus", i(7, 3)), ONE, INT, 1, G2),
    ("integerModulus", op("integerModulus", i(-7, 3)), ONE, INT, 2, G2 + ": x - y floor(x/y)"),
    ("integerModulus", op("integerModulus", i(7, -3)), ONE, INT, -2, G2),
    ("integerModulus", op("integerModulus", i(7, 0)), ONE, INT, None, G2),
    ("integerModulus", op("integerModulus", NULL, i(7)), ONE, INT, None, G2),
    ("round", op("round", f(6.5)), ONE, INT, 7, G2 + ": half toward plus infinity"),
    ("round", op("round", f(-6.5)), ONE, INT, -6, G2),
    ("round", op("round", f(5.5)), ONE, INT, 6, G2 + ": not banker's"),
    ("round", op("round", f(-6.51)), ONE, INT, -7, G2),
    ("round", op("round", f("0.49999999999999994")), ONE, INT, 0, G2),
    ("round", op("round", f("INF")), ONE, INT, None, "our rule: no integer"),
    ("round", op("round", NULL), ONE, INT, None, G2),
    ("truncate", op("truncate", f(6.9)), ONE, INT, 6, G2),
    ("truncate", op("truncate", f(-6.9)), ONE, INT, -6, G2 + ": toward zero"),
    ("truncate", op("truncate", NULL), ONE, INT, None, G2),
    ("roundTo", round_to(PLACES, 2, 12.345), ONE, F, 12.35, G2 + ": 5 goes up"),
    ("roundTo", round_to(PLACES, 2, 2.675), ONE, F, 2.68, "our rule: on the printed digits"),
    ("roundTo", round_to(PLACES, 2, -2.675), ONE, F, -2.68, "our rule: the sign stands aside"),
    ("roundTo", round_to(PLACES, 0, 2.5), ONE, F, 3.0, G2),
    ("roundTo", round_to(FIGURES, 3, 123456), ONE, F, 123000.0, G2),
    ("roundTo", round_to(FIGURES, 2, 0.00994999), ONE, F, 0.0099, G2),
    ("roundTo", round_to(FIGURES, 1, 0.96), ONE, F, 1.0, G2),
    ("roundTo", round_to(FIGURES, 0, 12), ONE, F, None, G2),
    ("roundTo", round_to(PLACES, -1, 12), ONE, F, None, G2),
    ("roundTo", op("roundTo", NULL, roundingMode=PLACES, figures=1), ONE, F, None, G2),
    ("integerToFloat", op("integerToFloat", i(3)), ONE, F, 3.0, "note e"),
    ("integerToFloat", op("integerToFloat", NULL), ONE, F, None, G2),
    ("gcd", op("gcd", i(12, 18)), ONE, INT, 6, G2),
    ("gcd", op("gcd", i(0, 0)), ONE, INT, 0, G2),
    ("gcd", op("gcd", i(-4), multiple(i(6))), ONE, INT, 2, G2),
    ("gcd", op("gcd", i(4), NULL), ONE, INT, None, G2),
    ("lcm", op("lcm", i(4, 6)), ONE, INT, 12, G2),
    ("lcm", op("lcm", i(4, 0)), ONE, INT, 0, G2),
    ("lcm", op("lcm", NULL), ONE, INT, None, G2),
    ("product", op("product", i(65536, 65536)), ONE, INT, None, "note b3: integers have 32 bits"),
    # ---- statistics: 2, 4, 4, 4, 5, 5, 7, 9 has mean 5 and population standard deviation 2
    ("statsOperator", stats("mean", 2, 4, 4, 4, 5, 5, 7, 9), ONE, F, 5.0, G2),
    ("statsOperator", stats("popSD", 2, 4, 4, 4, 5, 5, 7, 9), ONE, F, 2.0, G2),
    ("statsOperator", stats("popVariance", 2, 4, 4, 4, 5, 5, 7, 9), ONE, F, 4.0, G2),
    ("statsOperator", stats("sampleVariance", 2, 4, 4, 4, 5, 5, 7, 9), ONE, F, 32 / 7, G2),
    ("statsOperator", stats("sampleSD", 2, 4, 4, 4, 5, 5, 7, 9), ONE, F, math.sqrt(32 / 7), G2),
    ("statsOperator", stats("sampleSD", 3), ONE, F, None, G2 + ": a sample of one"),
    ("statsOperator", stats("sampleVariance", 3), ONE, F, None, G2),
    ("statsOperator", stats("popSD", 3), ONE, F, 0.0, G2),
    ("statsOperator", op("statsOperator", NULL, name="mean"), ONE, F, None, G2),
    # ---- functions, angles in radians
    ("mathOperator", math_op("sin", 0.5), ONE, F, math.sin(0.5), "note e"),
    ("mathOperator", math_op("atan2", 1, -1), ONE, F, math.atan2(1, -1), "note e: atan2(y, x)"),
    ("mathOperator", math_op("sec", 1), ONE, F, 1 / math.cos(1), "note e"),
    ("mathOperator", math_op("csc", 0), ONE, F, None, G2 + ": x/0"),
    ("mathOperator", math_op("cot", 1), ONE, F, 1 / math.tan(1), "note e"),
    ("mathOperator", math_op("asin", 2), ONE, F, None, G2 + ": not real"),
    ("mathOperator", math_op("asec", 2), ONE, F, math.pi / 3, "note e"),
    ("mathOperator", math_op("acsc", 2), ONE, F, math.pi / 6, "note e"),
    ("mathOperator", math_op("acot", 1), ONE, F, math.pi / 4, "note e"),
    ("mathOperator", math_op("sech", 1), ONE, F, 1 / math.cosh(1), "note e"),
    ("mathOperator", math_op("csch", 1), ONE, F, 1 / math.sinh(1), "note e"),
    ("mathOperator", math_op("coth", 1), ONE, F, 1 / math.tanh(1), "note e"),
    ("mathOperator", math_op("log", 1000), ONE, F, 3.0, "note e: base 10"),
    ("mathOperator", math_op("ln", math.e), ONE, F, 1.0, "note e"),
    ("mathOperator", math_op("ln", -1), ONE, F, None, G2 + ": not real"),
    ("mathOperator", math_op("ln", 0), ONE, F, -math.inf, "memory, in doubt"),
    ("mathOperator", math_op("exp", 1000), ONE, F, math.inf, "memory, in doubt"),
    ("mathOperator", math_op("abs", -2), ONE, F, 2.0, "note e"),
    ("mathOperator", math_op("signum", -2), ONE, F, -1.0, "note e"),
    ("mathOperator", math_op("floor", -2.5), ONE, INT, -3, "note e: an integer"),
    ("mathOperator", math_op("ceil", -2.5), ONE, INT, -2, "note e: an integer"),
    ("mathOperator", math_op("toDegrees", math.pi), ONE, F, 180.0, "note e"),
    ("mathOperator", math_op("toRadians", 180), ONE, F, math.pi, "note e"),
    ("mathOperator", op("mathOperator", NULL, name="sin"), ONE, F, None, G2),
    ("mathConstant", '<mathConstant name="pi"/>', ONE, F, math.pi, "note e"),
    ("mathConstant", '<mathConstant name="e"/>', ONE, F, math.e, "note e"),
    # ---- containers
    ("multiple", multiple(d("A") + NULL + multiple(d("B", "A"))), MANY, D, ["A", "B", "A"],
     G2 + ": NULLs dropped, containers flattened"),
    ("multiple", multiple(NULL), MANY, D, None, G2 + ": none left"),
    ("ordered", ordered(i(3, 1) + ordered(i(2))), SEQ, INT, [3, 1, 2], G2),
    ("ordered", "<ordered/>", SEQ, INT, None, G2),
    ("containerSize", op("containerSize", A3), ONE, INT, 3, G2),
    ("containerSize", op("containerSize", NULL), ONE, INT, 0, G2),
    ("index", op("index", O3, n=1), ONE, D, "A", G2 + ": from 1"),
    ("index", op("index", O3, n=3), ONE, D, "C", G2),
    ("index", op("index", O3, n=4), ONE, D, None, G2),
    ("index", op("index", O3, n=0), ONE, D, None, G2),
    ("index", op("index", NULL, n=1), ONE, D, None, G2),
    ("index", op("index", A3, n=1), ONE, D, None, G2 + ": ordered only"),
    ("member", op("member", d("B"), A3), ONE, B, True, G2),
    ("member", op("member", d("Z"), A3), ONE, B, False, G2),
    ("member", op("member", NULL, A3), ONE, B, None, G2),
    ("member", op("member", d("A"), NULL), ONE, B, None, G2),
    ("delete", op("delete", d("B"), A3), MANY, D, ["A"], G2 + ": all instances"),
    ("delete", op("delete", d("A"), ordered(d("A", "B", "A"))), SEQ, D, ["B"], G2),
    ("delete", op("delete", d("A"), multiple(d("A"))), MANY, D, None, "note g1: empty is NULL"),
    ("delete", op("delete", NULL, A3), MANY, D, None, G2),
    ("contains", op("contains", A3, multiple(d("B", "B"))), ONE, B, True, G2 + ": a multiset"),
    ("contains", op("contains", A3, multiple(d("A", "A"))), ONE, B, False, G2),
    ("contains", op("contains", O3, ordered(d("B", "C"))), ONE, B, True, G2 + ": a run"),
    ("contains", op("contains", O3, ordered(d("A", "C"))), ONE, B, False, G2),
    ("contains", op("contains", O3, NULL), ONE, B, None, G2),
    ("random", op("random", multiple(d("A", "A"))), ONE, D, "A", G2),
    ("random", op("random", NULL), ONE, D, None, G2),
    ("repeat", op("repeat", i(1, 2), numberRepeats=2), SEQ, INT, [1, 2, 1, 2], "note e"),

        ("repeat", op("repeat", i(1), NULL, numberRepeats=2), SEQ, INT, [1, 1],
     "memory: NULLs ignored"),
    ("repeat", op("repeat", i(1), numberRepeats=0), SEQ, INT, None, "memory: less than 1"),
    # ---- leaves
    ("baseValue", base(B, "true"), ONE, B, True, "XML Schema"),
    ("baseValue", base(B, "0"), ONE, B, False, "XML Schema"),
    ("baseValue", f("1.5E-3"), ONE, F, 0.0015, "note b3: doubles of XML Schema"),
    ("baseValue", f("-INF"), ONE, F, -math.inf, "note b3"),
    ("baseValue", base(S, " x "), ONE, S, " x ", "note b7"),
    ("baseValue", POINT, ONE, "point", "3 4", "note g1"),
    ("randomInteger", '<randomInteger min="4" max="4"/>', ONE, INT, 4, "note e"),
    ("randomInteger", '<randomInteger min="5" max="4"/>', ONE, INT, None, "our rule"),
    ("randomFloat", '<randomFloat min="2.5" max="2.5"/>', ONE, F, 2.5, "note e"),
    ("customOperator", op("customOperator", i(1), **{"class": "vendor.x"}),
     ONE, INT, None, "note e"),
    # ---- inside
    ("inside", op("inside", POINT, shape="circle", coords="0,0,5"), ONE, B, True, G2),
    ("inside", op("inside", POINT, shape="circle", coords="0,0,4.9"), ONE, B, False, G2),
    ("inside", op("inside", POINT, shape="rect", coords="0,0,3,4"), ONE, B, True, G2),
    ("inside", op("inside", POINT, shape="rect", coords="0,0,2,4"), ONE, B, False, G2),
    ("inside", op("inside", POINT, shape="poly", coords="0,0,9,0,0,9"), ONE, B, True, G2),
    ("inside", op("inside", POINT, shape="poly", coords="0,0,4,0,0,4"), ONE, B, False, G2),
    ("inside", op("inside", POINT, shape="ellipse", coords="3,0,1,4"), ONE, B, True, G2),
    ("inside", op("inside", POINT, shape="ellipse", coords="3,0,1,3"), ONE, B, False, G2),
    ("inside", op("inside", POINT, shape="default", coords=""), ONE, B, True, G2),
    ("inside", op("inside", NULL, shape="default", coords=""), ONE, B, None, G2),
    ("inside", op("inside", multiple(base("point", "99 99") + POINT), shape="circle",
                  coords="3,4,1"), ONE, B, True, "memory: any point of a container"),
]  # fmt: skip


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
@pytest.mark.parametrize(
    ("name", "expression", "cardinality", "kind", "expected", "source"),
    ROWS,
    ids=[f"{row[0]}-{n}" for n, row in enumerate(ROWS)],
)
def test_operator(dialect, name, expression, cardinality, kind, expected, source):
    found, _ = evaluate(expression, cardinality, kind, dialect=dialect)
    if isinstance(expected, float):
        assert found == pytest.approx(expected, rel=1e-12, abs=1e-15), source
    else:
        assert found == expected, source
    assert type(found) is type(expected)


ELSEWHERE = {  # in test_responses.py and test_assessment.py
    "variable", "correct", "default", "mapResponse", "mapResponsePoint", "fieldValue",
    "testVariables", "outcomeMaximum", "outcomeMinimum", "numberCorrect", "numberIncorrect",
    "numberPresented", "numberResponded", "numberSelected",
}  # fmt: skip


def test_no_operator_is_without_a_row():
    assert {row[0] for row in ROWS} | ELSEWHERE == set(OPERATORS)


@pytest.mark.parametrize(
    ("expression", "said"),
    [
        (op("lt", s("a"), f(2)), "'lt' (line 1) is NULL: expected a number, found single string"),
        (op("match", A3, d("A")), "cannot match multiple identifier with single identifier"),
        (op("index", A3, n=1), "expected an ordered container"),
        (op("product", i(65536, 65536)), "range of 32 bits"),
        (op("customOperator", **{"class": "vendor.x"}), "class 'vendor.x' is not in the standard"),
        (op("gcd", f(1.5)), "expected integers"),
        ('<variable identifier="NOWHERE"/>', "'NOWHERE' is not declared"),
    ],
)
def test_what_cannot_be_done_is_null_and_said(expression, said):
    found, score = evaluate(expression, kind=B)
    assert found is None
    assert any(said in warning for warning in score.warnings), score.warnings


def test_attributes_may_name_variables():
    """Note b3 and e: `tolerance`, `n` and `numberRepeats` take bare names."""
    declarations = declare("template", "N", INT, "2") + declare("template", "TOL", F, "0.5")
    for expression, cardinality, kind, expected in [
        (op("index", O3, n="N"), ONE, D, "B"),
        (op("repeat", i(7), numberRepeats="N"), SEQ, INT, [7, 7]),
        (op("equal", f(1), f(1.5), toleranceMode="absolute", tolerance="TOL"), ONE, B, True),
        (op("roundTo", f(1.236), roundingMode=PLACES, figures="N"), ONE, F, 1.24),
        (op("anyN", TRUE, TRUE, min="N", max="N"), ONE, B, True),
        ('<randomInteger min="N" max="N"/>', ONE, INT, 2),
        ('<randomFloat min="TOL" max="TOL"/>', ONE, F, 0.5),
    ]:
        found, score = evaluate(expression, cardinality, kind, declarations=declarations)
        assert found == expected
        assert score.warnings == ()
