"""Defects of parts in which options are picked, put in order or matched."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from qbank.audit.evident.telling import alike, flat, quoted, tell
from qbank.audit.question import Quantity
from qbank.audit.reading.quantities import read_quantities
from qbank.audit.verdict import Judgement
from qbank.expressions.units import DIMENSIONLESS
from qbank.finding import Severity
from qbank.formats.source import ReadItem
from qbank.item import Choice, Matching, Option, Ordering

_EQUAL = 1e-9


def choices(read: ReadItem) -> Iterator[Choice]:
    """The parts in which options are picked."""
    for part in read.item.parts:
        if isinstance(part, Choice):
            yield part


def no_key(read: ReadItem) -> Iterator[Judgement]:
    """choice-no-key: no option is keyed."""
    for part in choices(read):
        if part.options and not any(option.correct for option in part.options):
            # with several to pick, none may be right by design
            severity = Severity.NOTE if part.multiple else Severity.ERROR
            how = f"None of the {len(part.options)} options is keyed."
            yield tell(read, part, "choice-no-key", severity, how)


def several_keys(read: ReadItem) -> Iterator[Judgement]:
    """choice-several-keys: one option may be picked, and several are keyed."""
    for part in choices(read):
        keyed = [option.identifier for option in part.options if option.correct]
        if len(keyed) > 1 and not part.multiple:
            how = f"One option may be picked, and {len(keyed)} are keyed: {', '.join(keyed)}."
            yield tell(read, part, "choice-several-keys", Severity.ERROR, how, "one key")


def few_options(read: ReadItem) -> Iterator[Judgement]:
    """choice-few-options: there is nothing to choose between."""
    for part in choices(read):
        if len(part.options) < 2:
            how = f"There {'is 1 option' if part.options else 'are no options'} to pick from."
            yield tell(read, part, "choice-few-options", Severity.ERROR, how, "at least two")


def equal_options(read: ReadItem) -> Iterator[Judgement]:
    """options-equal: two options say the same, in words or as a number with its unit."""
    for part in choices(read):
        pair = _first_equal(part.options)
        if pair is None:
            continue
        one, other = pair
        told = one.correct != other.correct
        texts = f"{quoted(flat(one.content))} and {quoted(flat(other.content))}"
        how = f"The options {texts} are the same"
        how += ", and one is keyed, the other not." if told else "."
        severity = Severity.ERROR if told or one.correct else Severity.WARNING
        yield tell(read, part, "options-equal", severity, how)


def _first_equal(options: Sequence[Option]) -> tuple[Option, Option] | None:
    texts: dict[str, Option] = {}
    numbers: dict[tuple[object, str], Option] = {}
    for option in options:
        text = flat(option.content)
        if not text:
            continue
        if (before := texts.setdefault(alike(text), option)) is not option:
            return before, option
        quantity = lone_quantity(text)
        if quantity is None:
            continue
        dimension = DIMENSIONLESS if quantity.unit is None else quantity.unit.dimension
        bare = quantity.unit is None
        key = ((dimension, bare), f"{quantity.si:.9e}")
        if (before := numbers.setdefault(key, option)) is not option:
            return before, option
    return None


def lone_quantity(text: str) -> Quantity | None:
    """The number an option states, where it states one and nothing else."""
    found = read_quantities(text)
    if len(found) != 1:
        return None
    only = found[0]
    rest = (text[: only.start] + text[only.end :]).strip(" .;,:()+$~≈")
    return only if not rest else None


def twice_named(read: ReadItem) -> Iterator[Judgement]:
    """option-identifier-twice: two options of a part, or two parts, share an identifier."""
    twice = [name for name, n in Counter(p.identifier for p in read.item.parts).items() if n > 1]
    if twice:
        how = f"Two parts are named {quoted(twice[0])}."
        yield tell(read, None, "option-identifier-twice", Severity.ERROR, how)
    for part in read.item.parts:
        for options in _lists(part):
            counted = Counter(option.identifier for option in options)
            twice = [name for name, n in counted.items() if n > 1]
            if twice:
                how = f"Two options are named {quoted(twice[0])}."
                yield tell(read, part, "option-identifier-twice", Severity.ERROR, how)


def _lists(part: object) -> Iterator[tuple[Option, ...]]:
    match part:
        case Choice():
            yield part.options
        case Ordering():
            yield part.entries
        case Matching():
            yield part.sources
            yield part.targets
        case _:
            return


def empty_option(read: ReadItem) -> Iterator[Judgement]:
    """option-empty: an option has no text."""
    for part in read.item.parts:
        for options in _lists(part):
            bare = [option.identifier for option in options if not flat(option.content)]
            if bare:
                how = f"The option {quoted(bare[0])} has no text."
                yield tell(read, part, "option-empty", Severity.WARNING, how)
                break


def order_broken(read: ReadItem) -> Iterator[Judgement]:
    """order-broken: fewer than two entries to put in order, or two that are the same."""
    for part in read.item.parts:
        if not isinstance(part, Ordering):
            continue
        texts = Counter(alike(flat(entry.content)) for entry in part.entries)
        twice = [text for text, n in texts.items() if n > 1 and text]
        if len(part.entries) < 2:
            how = "There are fewer than two entries to put in order."
            yield tell(read, part, "order-broken", Severity.ERROR, how)
        elif twice:
            how = f"The entry {quoted(twice[0])} stands twice: their order cannot be told."
            yield tell(read, part, "order-broken", Severity.ERROR, how)


def pairs_broken(read: ReadItem) -> Iterator[Judgement]:
    """pairs-broken: a source without its target, with two, or paired with what is not there."""
    for part in read.item.parts:
        if not isinstance(part, Matching):
            continue
        sources = {option.identifier for option in part.sources}
        targets = {option.identifier for option in part.targets}
        unknown = [name for pair in part.pairs for name, known in zip(pair, (sources, targets), strict=True) if name not in known]  # fmt: skip  # noqa: E501
        counted = Counter(source for source, _ in part.pairs)
        missing = [s.identifier for s in part.sources if not counted[s.identifier]]
        twice = [name for name, n in counted.items() if n > 1]
        if unknown:
            how = f"A pair names {quoted(unknown[0])}, which is not there to be matched."
        elif twice:
            how = f"The source {quoted(twice[0])} is paired {counted[twice[0]]} times."
        elif missing:
            how = f"The source {quoted(missing[0])} is in no pair."
        else:
            continue
        yield tell(read, part, "pairs-broken", Severity.ERROR, how, "one target for each source")


CHECKS = (
    no_key,
    several_keys,
    few_options,
    equal_options,
    twice_named,
    empty_option,
    order_broken,
    pairs_broken,
)
