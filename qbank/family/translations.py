"""The section `languages`: a family's prose in further languages.

A translation is put in place of the prose in the nodes of the file, and the family is read again
from them, so that every rule for texts holds in each language. What is computed cannot change:
only prose can be replaced.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import NoReturn

from qbank.family import schema
from qbank.family.figure_schema import HOLDS, Holds
from qbank.family.keys import Keys, describe, nearest
from qbank.family.nodes import Entry, Listing, Mapping, Node, Scalar

LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{1,8}){0,4}")
_FIELD = re.compile(r"\{[^{}]*\}")
_WORD = re.compile(r"[^\W\d_]{2,}")
_QUANTITIES = ("given", "let", "find")


def languages(root: Node) -> tuple[str, ...]:
    """The languages of a family file, its own first. Raises FamilyError for a bad code."""
    top = Keys(root, schema.FAMILY, "family")
    own = top.words("language", "en")
    found = [own]
    for entry in top.mapping("languages"):
        code = entry.key.text
        if not LANGUAGE.fullmatch(code):
            raise entry.key.fault(
                f"languages: expected a language code, found '{code[:60]}'",
                hint="write for example `de:`",
            )
        if code == own:
            raise entry.key.fault(
                f"languages: '{code}' is the language of the family itself",
                hint="write that prose in the sections above",
            )
        found.append(code)
    return tuple(found)


def translated(root: Node, language: str) -> Mapping:
    """The nodes of a family file with the prose of another of its languages.

    Raises FamilyError, at the place in the translation, for a text that is missing, or that
    stands for nothing in the family.
    """
    top = Keys(root, schema.FAMILY, "family")
    entry = next((entry for entry in top.mapping("languages") if entry.key.text == language), None)
    if entry is None:
        known = ", ".join(languages(root))
        raise top.node.fault(
            f"the family has no text in '{language[:60]}'", hint=f"its languages: {known}"
        )
    return _Translation(top, language, entry).whole()


class _Translation:
    def __init__(self, top: Keys, language: str, entry: Entry) -> None:
        self.top = top
        self._section = ""  # the one whose prose is being replaced
        self.what = f"language {language}"
        self.at = entry.key
        self.keys = Keys(entry.value, schema.LANGUAGE, self.what, entry.key)

    def whole(self) -> Mapping:
        node = self.top.node
        sections: dict[str, Callable[[Node], Node]] = {
            **dict.fromkeys(("title", "level", "caution"), self._heading),
            "objectives": self._objectives,
            **dict.fromkeys(_QUANTITIES, self._quantities),
            "cases": self._cases,
            "confirm": self._confirm,
            "slips": self._slips,
            "ask": self._ask,
            "text": lambda _node: self.keys.value("text"),
            "settings": self._settings,
            "figure": self._figure,
        }
        self._refuse_strangers()
        entries: dict[str, Entry] = {}
        for name, entry in node.entries.items():
            if name in ("language", "languages", "called"):
                continue
            change = sections.get(name)
            self._section = name
            value = entry.value if change is None else change(entry.value)
            entries[name] = Entry(entry.key, value)
        entries["language"] = Entry(replace(self.at, text="language"), self.at)
        if "called" in self.keys:
            called = self.keys.node.entries["called"]
            entries["called"] = called
        return replace(node, entries=entries)

    def _refuse_strangers(self) -> None:
        """FamilyError for a part of the translation that the family itself has not."""
        for entry in self.keys.node:
            name = entry.key.text
            section = "given" if name == "names" else name
            if section not in self.top and name != "called":
                raise entry.key.fault(
                    f"{self.what}: the family has no '{section}'", hint="delete it here"
                )
        known = [
            quantity.key.text for section in _QUANTITIES for quantity in self.top.mapping(section)
        ]
        self._ensure_known("names", known)
        for name in ("cases", "slips"):
            self._ensure_known(name, [entry.key.text for entry in self.top.mapping(name)])
        settings = [_text_of(node, "name") for node in self.top.items("settings")]
        self._ensure_known("settings", [name for name in settings if name is not None])
        if "figure" in self.top:
            labels = [scalar.text for scalar in _labels(self.top.value("figure"))]
            self._ensure_known("figure", labels)

    def _ensure_known(self, section: str, known: list[str]) -> None:
        for entry in self.keys.mapping(section):
            if entry.key.text not in known:
                raise entry.key.fault(
                    f"{self.what}, {section}: '{entry.key.text[:60]}' stands for nothing in the"
                    " family",
                    hint=nearest(entry.key.text, known),
                )

    # ------------------------------------------------------------------------ sections

    def _heading(self, node: Node) -> Node:
        if self._section in self.keys:
            return self.keys.value(self._section)
        if self._section != "level":
            self._missing(f"the family's {self._section}")
        return node

    def _objectives(self, node: Node) -> Node:
        return self.keys.value("objectives") if "objectives" in self.keys else node

    def _quantities(self, node: Node) -> Node:
        return self._each(node, lambda name, value: self._with(value, "name", "names", name))

    def _cases(self, node: Node) -> Node:
        def say(name: str, value: Node) -> Node:
            return self._with_words(value, "cases", name)

        return self._each(node, say)

    def _slips(self, node: Node) -> Node:
        return self._each(node, lambda name, value: self._with(value, "says", "slips", name))

    def _confirm(self, node: Node) -> Node:
        if not isinstance(node, Listing):
            return node
        texts = self.keys.texts("confirm")
        if len(texts) != len(node.items):
            self._fail(
                "confirm", f"expected {len(node.items)} texts, one a statement, found {len(texts)}"
            )
        pairs = zip(node.items, texts, strict=True)
        return replace(node, items=tuple(_put(item, "because", text) for item, text in pairs))

    def _ask(self, node: Node) -> Node:
        if not isinstance(node, Listing):
            return node
        parts = self.keys.items("ask")
        if len(parts) != len(node.items):
            self._fail("ask", f"expected {len(node.items)} parts, found {len(parts)}")
        return replace(
            node,
            items=tuple(
                self._part(item, part, number)
                for number, (item, part) in enumerate(zip(node.items, parts, strict=True), 1)
            ),
        )

    def _part(self, node: Node, part: Node, number: int) -> Node:
        keys = Keys(part, schema.ASK_IN_LANGUAGE, f"{self.what}, part {number}")
        prompt = _text_of(node, "prompt")
        if prompt is not None and "prompt" not in keys and _has_words(prompt):
            keys.fail("the key 'prompt' is missing", "add the sentence that asks")
        if "prompt" in keys:
            if prompt is None:
                raise keys.key("prompt").fault(
                    f"{keys.what}: the family has no 'prompt' here", hint="delete it"
                )
            node = _put(node, "prompt", keys.need("prompt"))
        statements = _entry(node, "statements")
        if isinstance(statements, Listing):
            node = _put(node, "statements", self._statements(statements, keys))
        for form in ("order", "match"):
            own = _entry(node, form)
            if own is not None:
                node = _put(node, form, self._arranged(own, keys, form))
            elif form in keys:
                raise keys.key(form).fault(
                    f"{keys.what}: the family has no '{form}' here", hint="delete it"
                )
        return node

    def _arranged(self, own: Node, keys: Keys, form: str) -> Node:
        """The texts of an order or of pairs; those of the family where they have no words."""
        texts = list(own.items) if isinstance(own, Listing) else []
        if isinstance(own, Mapping):
            texts = [node for entry in own for node in (entry.key, entry.value)]
        if form not in keys:
            if any(isinstance(text, Scalar) and _has_words(text.text) for text in texts):
                keys.fail(f"the key '{form}' is missing", "add its texts, in the same order")
            return own
        told = keys.value(form)
        count, found = (
            len(node.entries) if isinstance(node, Mapping) else len(keys.items(form))
            for node in (own, told)
        )
        if isinstance(own, Listing):
            count = len(own.items)
        if count != found:
            raise keys.key(form).fault(
                f"{keys.what}: expected {count} entries of '{form}', found {found}",
                hint="write one for each, in the same order",
            )
        return told

    def _statements(self, node: Listing, keys: Keys) -> Node:
        told = keys.items("statements")
        if len(told) != len(node.items):
            keys.fail(
                f"expected {len(node.items)} statements, found {len(told)}",
                "write one for each, in the same order",
            )
        items = []
        for item, one in zip(node.items, told, strict=True):
            said = Keys(one, schema.STATEMENT_IN_LANGUAGE, f"{keys.what}, statement")
            retold = _put(item, "text", said.need("text"))
            if _text_of(item, "feedback") is not None:
                retold = _put(retold, "feedback", said.need("feedback"))
            items.append(retold)
        return replace(node, items=tuple(items))

    def _settings(self, node: Node) -> Node:
        if not isinstance(node, Listing):
            return node
        return replace(
            node,
            items=tuple(
                self._with_words(item, "settings", _text_of(item, "name") or "")
                for item in node.items
            ),
        )

    def _figure(self, node: Node) -> Node:
        told = {entry.key.text: entry.value for entry in self.keys.mapping("figure")}
        for label in _labels(node):
            if label.text not in told and _has_words(label.text):
                self._missing(f"the figure's label '{label.text[:60]}'", section="figure")
        return _relabelled(node, told)

    # ------------------------------------------------------------------------ pieces

    def _each(self, node: Node, change: Callable[[str, Node], Node]) -> Node:
        if not isinstance(node, Mapping):
            return node
        return replace(
            node,
            entries={
                name: Entry(entry.key, change(name, entry.value))
                for name, entry in node.entries.items()
            },
        )

    def _told(self, section: str, name: str) -> Node | None:
        return next((e.value for e in self.keys.mapping(section) if e.key.text == name), None)

    def _with(self, node: Node, key: str, section: str, name: str) -> Node:
        """The mapping with its prose under `key` replaced by what the translation says."""
        own = _text_of(node, key)
        told = self._told(section, name)
        if told is None:
            if own is not None and _has_words(own):
                self._missing(f"'{name}'", section)
            return node
        if not isinstance(told, Scalar):
            raise told.fault(
                f"{self.what}, {section}: expected text, found {describe(told)}",
                hint="put it in quotes",
            )
        return _put(node, key, told)

    def _with_words(self, node: Node, section: str, name: str) -> Node:
        said = _entry(node, "say")
        if not isinstance(said, Mapping):
            return node
        told = self._told(section, name)
        if told is None:
            self._missing(f"'{name}'", section)
        if not isinstance(told, Mapping):
            raise told.fault(
                f"{self.what}, {section}: expected the words of '{name}', found {describe(told)}",
                hint="write `WORD: text` for each",
            )
        return _put(node, "say", told)

    def _missing(self, thing: str, section: str = "") -> NoReturn:
        where = f" under `{section}:`" if section else ""
        raise self.at.fault(f"{self.what}: a text for {thing} is missing", hint=f"add it{where}")

    def _fail(self, section: str, message: str) -> NoReturn:
        at = self.keys.key(section) if section in self.keys else self.at
        raise at.fault(f"{self.what}, {section}: {message}", hint="write one for each, in order")


def _entry(node: Node, key: str) -> Node | None:
    if isinstance(node, Mapping) and key in node.entries:
        return node.entries[key].value
    return None


def _text_of(node: Node, key: str) -> str | None:
    value = _entry(node, key)
    return value.text if isinstance(value, Scalar) else None


def _put(node: Node, key: str, value: Node) -> Node:
    if not isinstance(node, Mapping):
        return node
    old = node.entries.get(key)
    name = Scalar(key, node.source, node.start, node.start) if old is None else old.key
    return replace(node, entries={**node.entries, key: Entry(name, value)})


def _has_words(text: str) -> bool:
    """Whether there is something to translate: letters outside fields."""
    return bool(_WORD.search(_FIELD.sub(" ", text)))


def _labels(figure: Node) -> Iterator[Scalar]:
    """The texts of a figure's shapes."""
    for list_name in ("shapes", "solved"):
        shapes = _entry(figure, list_name)
        for shape in shapes.items if isinstance(shapes, Listing) else ():
            for kind in shape if isinstance(shape, Mapping) else ():
                if isinstance(kind.value, Mapping):
                    for entry in kind.value:
                        yield from _texts_under(entry)


def _texts_under(entry: Entry) -> Iterator[Scalar]:
    holds = HOLDS.get(entry.key.text)
    if holds is Holds.SENTENCE and isinstance(entry.value, Scalar):
        yield entry.value
    elif holds is Holds.NAMES and isinstance(entry.value, Listing):
        yield from (item for item in entry.value.items if isinstance(item, Scalar))


def _relabelled(node: Node, told: dict[str, Node]) -> Node:
    """A figure's nodes with the texts that the translation names replaced."""
    match node:
        case Mapping(entries=entries):
            changed = {}
            for name, entry in entries.items():
                if any(True for _ in _texts_under(entry)):
                    changed[name] = Entry(entry.key, _retold(entry.value, told))
                else:
                    changed[name] = Entry(entry.key, _relabelled(entry.value, told))
            return replace(node, entries=changed)
        case Listing(items=items):
            return replace(node, items=tuple(_relabelled(item, told) for item in items))
    return node


def _retold(node: Node, told: dict[str, Node]) -> Node:
    if isinstance(node, Listing):
        return replace(node, items=tuple(_retold(item, told) for item in node.items))
    return told.get(node.text, node) if isinstance(node, Scalar) else node
