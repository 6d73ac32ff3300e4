"""The neutral item: what is put to a candidate, how it is keyed, and where it came from.

Plain frozen values, without SymPy or NumPy. Writers turn items into packages and know nothing
of families; readers make the same items. The words are those of the trade and of the QTI
standard: item, stem, option, key, distractor, response, tolerance, feedback, rubric.
"""

from __future__ import annotations

from dataclasses import dataclass

# ---------------------------------------------------------------------------- content


@dataclass(frozen=True, slots=True)
class Math:
    """A formula: presentation MathML (one `math` element) and the same as plain text."""

    mathml: str
    plain: str


Inline = str | Math


@dataclass(frozen=True, slots=True)
class Paragraph:
    content: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class Display:
    """A formula on a line of its own."""

    math: Math


@dataclass(frozen=True, slots=True)
class Table:
    """A data table; the first cell of each row is its header when `row_headers` is set."""

    caption: str
    header: tuple[tuple[Inline, ...], ...]
    rows: tuple[tuple[tuple[Inline, ...], ...], ...]
    row_headers: bool = False


@dataclass(frozen=True, slots=True)
class Image:
    """A picture shipped with the item as a file of its own.

    `name` is the file's name, unique within an item; `alt` says in a sentence what is seen and
    never gives the answer away; `description` is the longer text for who cannot see it.
    """

    name: str
    media_type: str  # "image/svg+xml" or "image/png"
    data: bytes
    alt: str
    description: str = ""
    width: int = 0  # in CSS pixels; 0 where unknown
    height: int = 0


Block = Paragraph | Display | Table | Image

# ---------------------------------------------------------------------------- parts


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The accepted band around a numeric key, in the unit of the answer.

    A response r is right when `low <= r <= high`. `stated` is how people say it ("1 %").
    `slack` is how far from the key honest rounding can land, `slip_distance` how far from it the
    nearest wrong answer of a slip lies; None where nobody has measured, or there is no slip.
    """

    low: float
    high: float
    stated: str
    slack: float | None = None
    slip_distance: float | None = None


@dataclass(frozen=True, slots=True)
class WrongValue:
    """A wrong answer that a named slip leads to, with the feedback for it.

    A response r is taken for this slip when `low <= r <= high`; the band never meets the key's.
    """

    slip: str
    value: float
    low: float
    high: float
    feedback: tuple[Inline, ...]


@dataclass(frozen=True, slots=True)
class NumberEntry:
    """The candidate types a number, in `unit`.

    `key_text` is the key as a machine reads it ("15.0", "1.8e-5"), rounded as displayed and
    with its trailing zeros; `key_shown` is the key with its unit as people read it.
    """

    identifier: str
    prompt: tuple[Inline, ...]
    key: float
    key_text: str
    key_shown: str
    unit: str
    tolerance: Tolerance
    points: float
    figures: int | None = None
    decimals: int | None = None
    wrong_values: tuple[WrongValue, ...] = ()


@dataclass(frozen=True, slots=True)
class Option:
    """Something to select, to put in order or to match; `correct` counts in choices only."""

    identifier: str
    content: tuple[Inline, ...]
    correct: bool
    feedback: tuple[Inline, ...] = ()
    slip: str | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """The candidate picks from options: one of them, or with `multiple` all that are right.

    With `inline` the options stand in a drop-down within the sentence of the prompt.
    """

    identifier: str
    prompt: tuple[Inline, ...]
    options: tuple[Option, ...]
    points: float
    multiple: bool = False
    inline: bool = False
    shuffle: bool = True


@dataclass(frozen=True, slots=True)
class Ordering:
    """The candidate puts entries in order; `entries` stands in the right order.

    With `partial`, each entry in its right place earns its share of the points; else all or none.
    """

    identifier: str
    prompt: tuple[Inline, ...]
    entries: tuple[Option, ...]
    points: float
    partial: bool = False


@dataclass(frozen=True, slots=True)
class Matching:
    """The candidate pairs each source with one target; `pairs` are the right ones.

    With `partial`, each right pair earns its share of the points; else all or none.
    """

    identifier: str
    prompt: tuple[Inline, ...]
    sources: tuple[Option, ...]
    targets: tuple[Option, ...]
    pairs: tuple[tuple[str, str], ...]
    points: float
    partial: bool = False


Part = NumberEntry | Choice | Ordering | Matching

# ---------------------------------------------------------------------------- the item


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where an item came from; the same four facts give the same item again."""

    family: str
    version: str
    digest: str  # SHA-256 of the family's content, hexadecimal
    seed: int
    index: int
    case: str = ""


@dataclass(frozen=True, slots=True)
class Metadata:
    subject: str = ""
    level: str = ""
    licence: str = ""
    authors: tuple[str, ...] = ()
    objectives: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """One question as delivered. `identifier` is an NCName of at most 32 characters."""

    identifier: str
    title: str
    language: str
    stem: tuple[Block, ...]
    parts: tuple[Part, ...]
    solution: tuple[Block, ...] = ()
    caution: str = ""
    hints: tuple[tuple[Inline, ...], ...] = ()
    metadata: Metadata = Metadata()
    provenance: Provenance | None = None

    @property
    def points(self) -> float:
        """The most a candidate can score."""
        return sum(part.points for part in self.parts)


@dataclass(frozen=True, slots=True)
class Pool:
    """Siblings from which a test shows each candidate one."""

    identifier: str
    title: str
    count: int  # how many items of the pool follow
    parts: int  # the largest number of parts an item of the pool has


@dataclass(frozen=True, slots=True)
class BankInfo:
    """What a writer knows of a bank before its items arrive, pool after pool."""

    identifier: str
    title: str
    language: str
    pools: tuple[Pool, ...]
