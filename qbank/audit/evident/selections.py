"""Defects of parts in which options are picked, put in order or matched."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import lru_cache

from qbank.audit.evident.telling import alike, quoted, tell
from qbank.audit.question import Quantity
from qbank.audit.reading.quantities import read_quantities
from qbank.audit.reading.shown import Shown, options_of
from qbank.audit.verdict import Judgement
from qbank.finding import Severity
from qbank.item import Choice, Matching, Option, Ordering, Part

NO_OPTION_KEYED = "choice-no-key"


def choices(shown: Shown) -> Iterator[Choice]:
    """The parts in which options are picked."""
    for part in shown.item.parts:
        if isinstance(part, Choice):
            yield part


def no_key(shown: Shown) -> Iterator[Judgement]:
    """choice-no-key: no option is keyed."""
    for part in choices(shown):
        if part.options and not any(option.correct for option in part.options):
            # with several to pick, none may be right by design
            severity = Severity.NOTE if part.multiple else Severity.ERROR
            how = f"None of the {len(part.options)} options is keyed."
            yield tell(shown, part, NO_OPTION_KEYED, severity, how)


def several_keys(shown: Shown) -> Iterator[Judgement]:
    """choice-several-keys: one option may be picked, and several are keyed."""
    for part in choices(shown):
        keyed = [option.identifier for option in part.options if option.correct]
        if len(keyed) > 1 and not part.multiple:
            how = f"One option may be picked, and {len(keyed)} are keyed: {', '.join(keyed)}."
            yield tell(shown, part, "choice-several-keys", Severity.ERROR, how, "one key")


def few_options(shown: Shown) -> Iterator[Judgement]:
    """choice-few-options: there is nothing to choose between."""
    for part in choices(shown):
        if len(part.options) < 2:
            how = f"There {'is 1 option' if part.options else 'are no options'} to pick from."
            yield tell(shown, part, "choice-few-options", Severity.ERROR, how, "at least two")


def equal_options(shown: Shown) -> Iterator[Judgement]:
    """options-equal: two options say the same, in words or as a number with its unit."""
    for part, texts in zip(shown.item.parts, shown.options, strict=True):
        pair = _first_equal(texts) if isinstance(part, Choice) else None
        if pair is None or not isinstance(part, Choice):
            continue
        one, other = part.options[pair[0]], part.options[pair[1]]
        told = one.correct != other.correct
        both = f"{quoted(texts[pair[0]])} and {quoted(texts[pair[1]])}"
        how = f"The options {both} are the same"
        how += ", and one is keyed, the other not." if told else "."
        severity = Severity.ERROR if told or one.correct else Severity.WARNING
        yield tell(shown, part, "options-equal", severity, how)


def _first_equal(texts: Sequence[str]) -> tuple[int, int] | None:
    """Which two options are the same."""
    words: dict[str, int] = {}
    numbers: dict[object, int] = {}
    for at, text in enumerate(texts):
        if not text:
            continue
        if (before := words.setdefault(alike(text), at)) != at:
            return before, at
        value = _lone_value(text)
        if value is not None and (before := numbers.setdefault(value, at)) != at:
            return before, at
    return None


@lru_cache(maxsize=4096)
def _lone_value(text: str) -> object:
    """What tells numbers apart that options state; None where a text is no number alone."""
    quantity = lone_quantity(text)
    if quantity is None:
        return None
    unit = quantity.unit
    return (None if unit is None else unit.dimension), f"{quantity.si:.9e}"


def lone_quantity(text: str) -> Quantity | None:
    """The number an option states, where it states one and nothing else."""
    found = read_quantities(text)
    if len(found) != 1:
        return None
    only = found[0]
    rest = (text[: only.start] + text[only.end :]).strip(" .;,:()+$~≈")
    return only if not rest else None


def twice_named(shown: Shown) -> Iterator[Judgement]:
    """option-identifier-twice: two options of a part, or two parts, share an identifier."""
    twice = _twice([part.identifier for part in shown.item.parts])
    if twice is not None:
        how = f"Two parts are named {quoted(twice)}."
        yield tell(shown, None, "option-identifier-twice", Severity.ERROR, how)
    for part in shown.item.parts:
        for options in _lists(part):
            twice = _twice([option.identifier for option in options])
            if twice is not None:
                how = f"Two options are named {quoted(twice)}."
                yield tell(shown, part, "option-identifier-twice", Severity.ERROR, how)


def _twice(names: Sequence[str]) -> str | None:
    """The first name that stands twice."""
    if len(set(names)) == len(names):
        return None
    return next(name for name, count in Counter(names).items() if count > 1)


def _lists(part: Part) -> Iterator[tuple[Option, ...]]:
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


def empty_option(shown: Shown) -> Iterator[Judgement]:
    """option-empty: an option has no text."""
    for part, texts in zip(shown.item.parts, shown.options, strict=True):
        if "" in texts:
            bare = options_of(part)[texts.index("")].identifier
            how = f"The option {quoted(bare)} has no text."
            yield tell(shown, part, "option-empty", Severity.WARNING, how)


def order_broken(shown: Shown) -> Iterator[Judgement]:
    """order-broken: fewer than two entries to put in order, or two that are the same."""
    for part, entries in zip(shown.item.parts, shown.options, strict=True):
        if not isinstance(part, Ordering):
            continue
        counted = Counter(map(alike, entries))
        twice = [text for text, n in counted.items() if n > 1 and text]
        if len(part.entries) < 2:
            how = "There are fewer than two entries to put in order."
            yield tell(shown, part, "order-broken", Severity.ERROR, how)
        elif twice:
            how = f"The entry {quoted(twice[0])} stands twice: their order cannot be told."
            yield tell(shown, part, "order-broken", Severity.ERROR, how)


def pairs_broken(shown: Shown) -> Iterator[Judgement]:
    """pairs-broken: a source without its target, with two, or paired with what is not there."""
    for part in shown.item.parts:
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
        yield tell(shown, part, "pairs-broken", Severity.ERROR, how, "one target for each source")


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
