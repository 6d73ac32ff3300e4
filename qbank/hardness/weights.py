"""The difficulty index: which features count, how much, and why.

The index is a weighted sum, in equations: an item of index 12 is judged as laborious as writing
and using twelve plain equations. **The weights are a judgement. They are not calibrated on
students**, and the index is not the share of right responses that test statistics calls
difficulty. It is meant for one use: keeping forms and siblings alike. There an error in a weight
does little, because matched items are chosen alike in each feature, not in the total alone; the
benchmark `forms` measures it with every weight off by up to a factor of two.

That features of the path to the solution predict how hard generated items are is reported for
mathematics (M. K. Enright, M. Morley, K. M. Sheehan, Applied Measurement in Education 15 (2002)
49-74, from memory). The weights are not taken from there.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Weight:
    """What one unit of a feature adds to the index, and the reasoning."""

    feature: str
    per_unit: float
    unit: str
    reason: str


WEIGHTS = (
    Weight(
        "steps", 1.0, "step",
        "An equation to write down and use is the unit of the index.",
    ),
    Weight(
        "figures", 0.05, "figure",
        "Each figure of the data is copied and keyed in; twenty of them give about as many "
        "occasions to go wrong as one equation.",
    ),
    Weight(
        "conversions", 0.5, "quantity",
        "A unit to convert is one multiplication, less than an equation, but easily forgotten.",
    ),
    Weight(
        "negatives", 0.5, "value",
        "A negative value on the way is a sign to carry along, and lost signs are common; no new "
        "idea is needed for it.",
    ),
    Weight(
        "decades", 0.5, "power of ten",
        "Numbers near 1 can be judged by eye. Each power of ten away from it, on average over "
        "data and answers, is one more place for a zero to get lost.",
    ),
    Weight(
        "closeness", 2.0, "from clear to balanced",
        "Which way it goes is seen at a glance while one side is far greater. Near balance both "
        "sides must be worked out and compared: two more steps.",
    ),
    Weight(
        "round_answers", -0.5, "all answers",
        "A round answer tells the solver that it is probably right, which saves checking; a "
        "small help, so half an equation at most.",
    ),
)  # fmt: skip
