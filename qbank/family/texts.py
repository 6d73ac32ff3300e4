"""The sections `text` and `settings`: all prose of a family."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain

from qbank.family import schema
from qbank.family.cases import read_only, read_words
from qbank.family.fields import Audience, SentenceReader
from qbank.family.keys import MAX_TEXT, Keys, describe, nearest
from qbank.family.model import (
    Case,
    Given,
    Sentence,
    Setting,
    SolutionStep,
    TableField,
    Texts,
    ValueField,
)
from qbank.family.nodes import Mapping, Node, Scalar


def read_settings(top: Keys, case_words: frozenset[str]) -> tuple[Setting, ...]:
    """The settings; one nameless setting where the file has none."""
    settings: list[Setting] = []
    for number, node in enumerate(top.items("settings"), 1):
        keys = Keys(node, schema.SETTING, f"setting {number}")
        name = keys.words("name")
        if any(name == other.name for other in settings):
            raise keys.need("name").fault(
                f"{keys.what}: a setting '{name[:60]}' stands above", hint="rename one of the two"
            )
        words = read_words(keys, "say")
        for entry in keys.mapping("say"):
            word = entry.key.text
            if word in case_words:
                raise entry.key.fault(
                    f"{keys.what}: the word '{word}' is said by the cases already",
                    hint="rename one of the two",
                )
            if settings and word not in settings[0].words:
                raise entry.key.fault(
                    f"{keys.what}: the word '{word}' is missing in setting '{settings[0].name}'",
                    hint=nearest(word, settings[0].words),
                )
        for word in settings[0].words if settings else ():
            if word not in words:
                raise keys.key("say").fault(
                    f"{keys.what}: the word '{word}' is missing; '{settings[0].name}' has it",
                    hint=f"add `{word}: ...` under `say:`",
                )
        settings.append(Setting(name, words))
    return tuple(settings) or (Setting("", {}),)


def read_texts(top: Keys, language: str, reader: SentenceReader, cases: Sequence[Case]) -> Texts:
    """The section `text`."""
    keys = Keys(top.node.entries["text"].value, schema.PROSE, "text", top.key("text"))
    length = sum(len(scalar.text) for scalar in _scalars(keys.node))
    if length > MAX_TEXT:
        raise keys.node.source.fault(
            f"text: {length:,} characters in all, more than {MAX_TEXT:,}",
            top.key("text").start,
            top.key("text").end,
            "shorten it, or split the family",
        )
    stem = keys.need("stem")
    return Texts(
        language=language,
        stem=reader.paragraphs(
            stem,
            Audience(
                "stem", answers=False, case_words=False, tables=True, figure=False, counts=False
            ),
        ),
        solution=tuple(
            _step(node, number, reader, cases)
            for number, node in enumerate(keys.items("solution"), 1)
        ),
        hints=tuple(
            reader.sentence(scalar, Audience(f"hint {number}", answers=False))
            for number, scalar in enumerate(keys.texts("hints"), 1)
        ),
        figure=_figure_text(keys, reader),
        place=keys.key("stem").place,
    )


def _figure_text(keys: Keys, reader: SentenceReader) -> Sentence:
    scalar = keys.text("figure")
    if scalar is None:
        return ()
    if not reader.figure:
        raise keys.key("figure").fault(
            "text, figure: there is no figure to describe",
            hint="delete it, or draw the figure in a section `figure:`",
        )
    audience = Audience("text, figure", answers=False, case_words=False, counts=False)
    return reader.sentence(scalar, audience)


def _step(node: Node, number: int, reader: SentenceReader, cases: Sequence[Case]) -> SolutionStep:
    what = f"solution step {number}"
    only: tuple[str, ...] = ()
    if isinstance(node, Mapping):
        keys = Keys(node, schema.STEP, what)
        only = read_only(keys, cases)
        node = keys.need("say")
    if not isinstance(node, Scalar) or not node.text.strip():
        raise node.fault(
            f"{what}: expected text, found {describe(node)}",
            hint="put text that starts with { or [ in quotes",
        )
    audience = Audience(what, tables=True, figure=True, only=only)
    return SolutionStep(reader.paragraphs(node, audience), only)


def _scalars(node: Node) -> Iterator[Scalar]:
    if isinstance(node, Scalar):
        yield node
    elif isinstance(node, Mapping):
        yield from chain.from_iterable(_scalars(entry.value) for entry in node)
    else:
        yield from chain.from_iterable(map(_scalars, node.items))


def check_shown(texts: Texts, given: dict[str, Given], top: Keys) -> None:
    """FamilyError unless the stem shows every given that is not hidden, and none that is."""
    shown = set(chain.from_iterable(_shown(sentence) for sentence in texts.stem))
    entries = top.node.entries["given"].value
    for name, quantity in given.items():
        if not isinstance(entries, Mapping):  # refused by the schema
            raise TypeError(entries)
        key = entries.entries[name].key
        if quantity.hidden and name in shown:
            raise key.fault(
                f"given '{name}' is hidden, but the stem shows it",
                hint="delete `hidden:`, or its field in the stem",
            )
        if not quantity.hidden and name not in shown:
            raise key.fault(
                f"given '{name}': the student never sees {name}",
                hint=f"put {{{name}}} into the stem, or write `hidden: yes`",
            )


def _shown(sentence: Sentence) -> Iterator[str]:
    for part in sentence:
        match part:
            case ValueField(name=name, form="value" | "number" | "equation"):
                yield name
            case TableField(names=names):
                yield from names
