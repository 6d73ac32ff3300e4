"""Items made by hand, in scenarios of their own, for the tests of the formats."""

from __future__ import annotations

from qbank.item import (
    BankInfo,
    Choice,
    Display,
    Item,
    Math,
    Metadata,
    NumberEntry,
    Option,
    Paragraph,
    Pool,
    Provenance,
    Table,
    Tolerance,
    WrongValue,
)

MATHML = 'xmlns="http://www.w3.org/1998/Math/MathML"'
POWER = Math(
    f"<math {MATHML}><mi>P</mi><mo>=</mo><mi>m</mi><mo>⁢</mo><mi>g</mi><mo>⁢</mo><mi>v</mi></math>",
    "P = m·g·v",
)
FRACTION = Math(
    f"<math {MATHML}><mi>v</mi><mo>=</mo><mfrac><mi>P</mi><mrow><mi>m</mi><mo>⁢</mo>"
    "<mi>g</mi></mrow></mfrac></math>",
    "v = P/(m·g)",
)
METADATA = Metadata(
    subject="mechanics/power",
    level="first-year university",
    licence="CC-BY-4.0",
    authors=("A. Quay, Harbour College",),
    objectives=("compute the power of a steady lift",),
)


def winch(index: int = 0, *, hints: bool = False, case: str = "up") -> Item:
    """A quay winch that lifts a crate: two numbers, a drop-down, one choice, several choices."""
    mass = 40 + index % 60
    power = round(mass * 9.81 * 0.5, 1)
    return Item(
        identifier=f"i0123456789-{index}",
        title="A winch on the quay",
        language="en",
        stem=(
            Paragraph((f"A winch lifts a crate of {mass} kg at 0.50 m/s, so that ", POWER, ".")),
            Paragraph(("Losses < 1 % are left out & g = 9.81 m/s².",)),
            Display(POWER),
            Table(
                "Measured times",
                (("run",), ("time in s",)),
                ((("1",), (str(mass / 10),)), (("2",), ("4.2",))),
                row_headers=True,
            ),
        ),
        parts=(
            NumberEntry(
                "P",
                ("Enter the power ", Math(f"<math {MATHML}><mi>P</mi></math>", "P"), " ="),
                power,
                f"{power:.1f}",
                f"{power:.1f} W",
                "W",
                Tolerance(power * 0.99, power * 1.01, "1 %"),
                2.0,
                figures=4,
                wrong_values=(
                    WrongValue(
                        "weight-as-mass",
                        mass * 0.5,
                        mass * 0.5 - 0.2,
                        mass * 0.5 + 0.2,
                        ("That is ", Math(f"<math {MATHML}><mi>m</mi></math>", "m"), " times v."),
                    ),
                    WrongValue("no feedback", mass * 9.81, mass * 9.8, mass * 9.82, ()),
                ),
            ),
            NumberEntry(
                "t",
                ("How long for 3 m?",),
                6.0,
                "6.0",
                "6.0 s",
                "s",
                Tolerance(5.95, 6.05, "0.05 s"),
                1.5,
                decimals=1,
            ),
            Choice(
                "turns",
                ("Seen from the quay the drum turns",),
                (
                    Option("C1", ("clockwise",), case == "up"),
                    Option("C2", ("anticlockwise",), case != "up"),
                ),
                1.0,
                inline=True,
                shuffle=False,
            ),
            Choice(
                "law",
                ("Which equation gives the speed?",),
                (
                    Option("C1", (FRACTION,), True, ("Yes.",)),
                    Option("C2", (POWER,), False, ("That gives the power.",), "solved for P"),
                    Option("C3", ("v = P·m",), False, (), "multiplied"),
                    Option("C4", ("none",), False),
                ),
                1.0,
            ),
            Choice(
                "holds",
                ("Mark all that hold.",),
                (
                    Option("C1", ("The rope pulls up.",), True, ("It does.",)),
                    Option("C2", ("The crate speeds up.",), False, ("It is steady.",)),
                    Option("C3", ("P grows with m.",), True),
                ),
                2.0,
                multiple=True,
                shuffle=False,
            ),
        ),
        solution=(
            Paragraph(("A steady lift: the rope's force is the weight.",)),
            Display(POWER),
            Paragraph((f"P = {mass} kg × 9.81 m/s² × 0.50 m/s = {power} W",)),
        ),
        caution="Lifting gear is for licensed operators; local rules come first.",
        hints=((("Compare the force with the weight.",), ("Then use ", POWER))) if hints else (),
        metadata=METADATA,
        provenance=Provenance("quay-winch", "1.2.0", "ab" * 32, 7, index, case),
    )


def simple(index: int = 0, identifier: str | None = None) -> Item:
    """One number, nothing else: the least an item can be."""
    return Item(
        identifier=identifier or f"j{index}",
        title="Half of a length",
        language="de",
        stem=(Paragraph((f"Half of {2 * index + 2} m?",)),),
        parts=(
            NumberEntry(
                "h",
                ("h =",),
                index + 1.0,
                f"{index + 1}",
                f"{index + 1} m",
                "m",
                Tolerance(index + 0.75, index + 1.25, "0.25 m"),
                1.0,
            ),
        ),
    )


def bank(count: int = 3, *, title: str = "Quay & winch") -> tuple[BankInfo, list[Item]]:
    """Two pools: winches, one of them with hints, and the least items."""
    winches = [winch(k, hints=k == 1, case="up" if k % 2 else "down") for k in range(count)]
    least = [simple(k) for k in range(2)]
    info = BankInfo(
        "quay",
        title,
        "en",
        (Pool("quay-winch", "A winch on the quay", count, 5), Pool("half", "Halves", 2, 1)),
    )
    return info, [*winches, *least]
