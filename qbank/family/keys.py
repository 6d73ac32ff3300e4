"""Walks a mapping by its section of the schema and hands out what the keys hold."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import NoReturn

from qbank.family.nodes import Entry, Listing, Mapping, Node, Scalar
from qbank.family.section import Form, Key, Section

MAX_TEXT = 20_000
_FIELD = re.compile(r"\{(?:[A-Za-z][\w.]*|(?:=|say |law |let |table )[^{}]*)\}")


def nearest(name: str, known: Iterable[str]) -> str:
    """`Did you mean ...?`, or the names there are, as a mend for a name that is not known."""
    names = list(known)
    if near := get_close_matches(name, names, n=1, cutoff=0.6):
        return f"Did you mean {near[0]}?"
    if not names:
        return "there is none to name"
    more = ", ..." if len(names) > 12 else ""
    return f"known: {', '.join(names[:12])}{more}"


class Keys:
    """The keys of one mapping, checked against a section.

    `what` names the thing in messages, such as "given 'm_a'". Raises FamilyError for an unknown,
    a missing or a contradicting key and for a value of the wrong form.
    """

    def __init__(self, node: Node, section: Section, what: str, at: Scalar | None = None) -> None:
        if not isinstance(node, Mapping):
            names = ", ".join(key.name for key in section.keys if key.required)
            example = names or ", ".join(section.one_of) or section.keys[0].name
            raise node.fault(
                f"{what}: expected a mapping with keys such as {example}, found {describe(node)}",
                hint=f"write `{{{example.split(',')[0].split(' ')[0]}: ...}}`",
            )
        self.node = node
        self.section = section
        self.what = what
        self.at = at  # the name the mapping stands under
        self._check_names()
        self._check_presence()
        for entry in node:
            self._check_form(entry)

    def _check_names(self) -> None:
        known = [key.name for key in self.section.keys]
        for entry in self.node:
            if entry.key.text not in known:
                raise entry.key.fault(
                    f"{self.what}: the key '{entry.key.text[:60]}' is not known here",
                    hint=nearest(entry.key.text, known),
                )

    def _check_presence(self) -> None:
        present = self.node.entries
        for key in self.section.keys:
            if key.required and key.name not in present:
                self.fail(f"the key '{key.name}' is missing", f"add `{key.name}:` ({key.doc})")
            if key.needs and key.name in present and key.needs not in present:
                raise present[key.name].key.fault(
                    f"{self.what}: '{key.name}' has a meaning only beside '{key.needs}'",
                    hint=f"delete `{key.name}:`, or use `{key.needs}:`",
                )
        if self.section.one_of:
            found = [name for name in self.section.one_of if name in present]
            options = ", ".join(self.section.one_of)
            if not found:
                self.fail(f"exactly one of {options} is needed, found none", "add one of them")
            if len(found) > 1:
                raise present[found[1]].key.fault(
                    f"{self.what}: exactly one of {options} is needed, found {' and '.join(found)}",
                    hint="keep one of them",
                )

    def _check_form(self, entry: Entry) -> None:
        key = self.section.key(entry.key.text)
        node = entry.value
        if key is None:  # refused by _check_names
            raise KeyError(entry.key.text)
        if not _fits(node, key.form):
            raise node.fault(
                f"{self.what}: '{key.name}' holds {key.form.value}, found {describe(node)}",
                hint=_form_mend(node, key),
            )
        if isinstance(node, Scalar) and not node.text.strip():
            raise entry.key.fault(
                f"{self.what}: '{key.name}' is empty", hint=f"write {key.doc}, or delete the key"
            )
        count = len(node.items) if isinstance(node, Listing) else 0
        count = len(node.entries) if isinstance(node, Mapping) else count
        if key.most and count > key.most:
            raise entry.key.fault(
                f"{self.what}: '{key.name}' has {count} entries, more than {key.most}",
                hint="split the family",
            )
        for scalar in (node, *(node.items if isinstance(node, Listing) else ())):
            if isinstance(scalar, Scalar) and len(scalar.text) > MAX_TEXT:
                raise scalar.fault(
                    f"{self.what}: '{key.name}' has {len(scalar.text):,} characters, more than "
                    f"{MAX_TEXT:,}",
                    span=(0, 1),
                    hint="shorten it",
                )

    def fail(self, message: str, hint: str) -> NoReturn:
        """An error about the mapping, at the name it stands under, else where it begins."""
        text = f"{self.what}: {message}"
        if self.at is not None:
            raise self.at.fault(text, hint=hint)
        raise self.node.source.fault(text, self.node.start, self.node.start + 1, hint)

    def __contains__(self, name: str) -> bool:
        return name in self.node.entries

    def key(self, name: str) -> Scalar:
        """The key itself, for errors about it."""
        return self.node.entries[name].key

    def value(self, name: str) -> Node:
        """What stands under a key that is there."""
        return self.node.entries[name].value

    def text(self, name: str) -> Scalar | None:
        """The text under a key, or None where the key is absent."""
        entry = self.node.entries.get(name)
        if entry is None or not isinstance(entry.value, Scalar):
            return None
        return entry.value

    def need(self, name: str) -> Scalar:
        """The text under a key the schema requires, or that is known to be there."""
        scalar = self.text(name)
        if scalar is None:
            self.fail(f"the key '{name}' is missing", f"add `{name}:`")
        return scalar

    def words(self, name: str, default: str = "") -> str:
        """The text under a key as one line of prose."""
        scalar = self.text(name)
        if scalar is None:
            return default
        if field := _FIELD.search(scalar.text):
            raise scalar.fault(
                f"{self.what}, {name}: a field, {field[0][:40]}, is not read here",
                field.span(),
                "fields belong in `text`, prompts and statements; write plain words here",
            )
        return " ".join(scalar.text.split())

    def mapping(self, name: str) -> list[Entry]:
        """The entries under a key, none where it is absent. Keys are not empty."""
        entry = self.node.entries.get(name)
        if entry is None or not isinstance(entry.value, Mapping):
            return []
        for inner in entry.value:
            if not inner.key.text.strip():
                raise inner.key.fault(
                    f"{self.what}: an entry of '{name}' has no name",
                    hint="write a name before the colon",
                )
        return list(entry.value)

    def items(self, name: str) -> list[Node]:
        """The items under a key: those of its list, or its one text."""
        entry = self.node.entries.get(name)
        if entry is None:
            return []
        return list(entry.value.items) if isinstance(entry.value, Listing) else [entry.value]

    def texts(self, name: str) -> list[Scalar]:
        """The texts under a key that holds text or a list of texts."""
        found = []
        for item in self.items(name):
            if not isinstance(item, Scalar) or not item.text.strip():
                raise item.fault(
                    f"{self.what}: '{name}' holds text or a list of texts, found {describe(item)}",
                    hint="put text that starts with { or [ in quotes",
                )
            found.append(item)
        return found

    def one_of(self) -> str:
        """Which of the keys, of which exactly one must be there, is there."""
        return next(name for name in self.section.one_of if name in self)


def text_of(entry: Entry, what: str) -> Scalar:
    """The value of an entry that must be text and not empty."""
    if not isinstance(entry.value, Scalar):
        raise entry.value.fault(
            f"{what}: expected text, found {describe(entry.value)}",
            hint="put text that starts with { or [ in quotes",
        )
    if not entry.value.text.strip():
        raise entry.key.fault(f"{what}: nothing stands here", hint="write the value, or delete it")
    return entry.value


def describe(node: Node) -> str:
    """What a node is, in words."""
    match node:
        case Scalar(text=text):
            return f"'{text[:40]}'" if text.strip() else "nothing"
        case Listing(items=items):
            return f"a list of {len(items)}"
        case Mapping():
            return "a mapping"


def _fits(node: Node, form: Form) -> bool:
    match form:
        case Form.TEXT:
            return isinstance(node, Scalar)
        case Form.LIST:
            return isinstance(node, Listing)
        case Form.TEXTS:
            return isinstance(node, Scalar | Listing)
        case Form.MAPPING:
            return isinstance(node, Mapping)


def _form_mend(node: Node, key: Key) -> str:
    if key.form in (Form.TEXT, Form.TEXTS) and not isinstance(node, Scalar):
        return "put text that starts with { or [ in quotes"
    if key.form is Form.LIST:
        return f"write `{key.name}:` with one `- ` entry a line"
    return f"write `{key.name}:` with one `name: ...` entry a line"
