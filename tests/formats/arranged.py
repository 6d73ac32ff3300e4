"""Items whose parts are put in order or matched, for the tests of the formats."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from qbank.item import BankInfo, Item, Matching, Option, Ordering, Pool
from tests.formats.samples import FRACTION, POWER, simple

ORDER = Ordering(
    "o",
    ("Put the steps of the lift in order.",),
    (
        Option("E3", ("Check the sling < before use.",), False, ("First of all.",)),
        Option("E1", ("Take up the slack: ", POWER), False),
        Option("E4", ("Lift 100 % of the load.",), False, (), "lifted too soon"),
        Option("E2", ("Set it down.",), False, ("That ends it.",), "set down first"),
    ),
    2.0,
)
MATCH = Matching(
    "m",
    ("Match each quantity with its equation.",),
    (
        Option("S1", ("the power P",), False, ("P is not that.",)),
        Option("S2", ("the speed ", FRACTION), False),
        Option("S3", ("the speed again",), False, (), "mixed up"),
    ),
    (
        Option("T1", (FRACTION,), False, ("That gives the speed.",)),
        Option("T2", (POWER,), False),
        Option("T3", ("P = m·v",), False, ("The weight is missing.",), "weight as mass"),
        Option("T4", ("v = P·m",), False, (), "solved wrongly"),
    ),
    (("S1", "T2"), ("S2", "T1"), ("S3", "T1")),
    1.0,
)


def arranged(order_partial: bool, match_partial: bool) -> Item:
    """One item with an order, a matching and a number."""
    parts = (
        replace(ORDER, partial=order_partial),
        replace(MATCH, partial=match_partial),
        *simple().parts,
    )
    name = f"a{order_partial:d}{match_partial:d}"
    return replace(simple(identifier=name), language="en", parts=parts)


def alone(part: Ordering | Matching, identifier: str = "alone") -> Item:
    """An item of one part."""
    return replace(simple(identifier=identifier), language="en", parts=(part,))


def arranged_bank() -> tuple[BankInfo, list[Item]]:
    """All or nothing and partial credit, together and alone."""
    items = [arranged(o, m) for o, m in product((False, True), repeat=2)]
    two = (replace(MATCH, prompt=()), replace(MATCH, identifier="m.n", prompt=()))
    items += [alone(ORDER, "order"), alone(MATCH, "match")]
    items.append(replace(simple(identifier="two"), language="en", parts=two))
    count = len(items)
    return BankInfo("quay", "Quay", "en", (Pool("lift", "Lift", count, 3),)), items
