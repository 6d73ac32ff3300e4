"""A family file -> a `Family`, or an error that says where, what and how to mend it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from qbank.family import cases as case_section
from qbank.family import laws as law_section
from qbank.family import schema
from qbank.family.asks import AskReader
from qbank.family.attributes import MAX_FIGURES
from qbank.family.fields import SentenceReader
from qbank.family.figure_section import check_figure, read_figure
from qbank.family.keys import Keys, nearest, text_of
from qbank.family.model import Case, Family, Law
from qbank.family.nodes import Node, digest
from qbank.family.numerals import whole_number
from qbank.family.quantities import Quantities
from qbank.family.reader import decode, read_bytes, read_nodes
from qbank.family.rules import read_confirm, read_rules
from qbank.family.scope import Formulas, Kind, Scope
from qbank.family.slips import SlipReader
from qbank.family.texts import check_shown, read_settings, read_texts
from qbank.family.translations import LANGUAGE, languages, translated

_FAMILY_NAME = re.compile(r"[a-z][a-z0-9-]{0,59}")
_VERSION = re.compile(r"\d{1,6}\.\d{1,6}\.\d{1,6}")
_SUBJECT = re.compile(r"[^\s/]+(?: [^\s/]+)*(?:/[^\s/]+(?: [^\s/]+)*)*")


def load_family(path: str | Path, language: str | None = None) -> Family:
    """Reads and checks one family file, in its own language or in another that it has.

    The language makes no difference to what is drawn and computed. Raises FamilyError, at
    file:line:column and with the mend, when the file cannot be read, is not plain YAML data, has
    no such language, or says something that does not hold together.
    """
    file = Path(path)
    return read_family(decode(read_bytes(file), str(file)), str(file), language)


def read_family(text: str, name: str, language: str | None = None) -> Family:
    """Checks the text of a family file; `name` is what messages call the file.

    Where `name` ends in .yaml or .yml, its stem must be the family's name. Raises FamilyError.
    """
    return family_of(read_nodes(text, name), name, language)


def family_of(root: Node, name: str, language: str | None = None) -> Family:
    """Checks what the nodes of a family file say; errors as for `read_family`."""
    top = Keys(root, schema.FAMILY, "family")
    _check_heading(top, name)
    known = languages(root)
    # what random numbers and identity hang on is the same in every language
    content, draws = digest(root), digest(top.need("family"), top.value("given"))
    if language is not None and language != known[0]:
        top = Keys(translated(root, language), schema.FAMILY, "family")

    scope = Scope()
    formulas = Formulas(scope)
    quantities = Quantities(top, scope)
    case_entries = case_section.case_entries(top)
    case_section.declare_constants(case_entries, formulas)

    given, let, find = quantities.given(), quantities.let(), quantities.find()
    if not given:
        raise top.key("given").fault("given: nothing is given", hint="add what the student knows")
    if not find:
        raise top.key("find").fault("find: no unknown is declared", hint="add what is asked for")
    cases = case_section.read_cases(case_entries, formulas, top)
    unknowns = list(find)
    laws = law_section.read_laws(top, formulas, cases, unknowns)
    law_section.check_laws(laws, cases, unknowns, top)
    cases, laws = _called(top, cases, laws)
    rules = read_rules(top, formulas, cases, unknowns)
    confirm = read_confirm(top, formulas, cases)
    slips = SlipReader(Formulas(scope, counts=False), given, let, laws, cases).read(top)

    case_words = frozenset(cases[0].words)
    settings = read_settings(top, case_words)
    names = [case.name for case in cases]
    sentences = SentenceReader(
        formulas=formulas,
        given=given,
        law_cases=law_section.holding(laws, names),
        cases=names,
        case_words=case_words,
        setting_words=frozenset(settings[0].words),
        figure="figure" in top,
    )
    figure = read_figure(top, sentences, cases, given)
    ask = AskReader(sentences, cases, laws, slips).read(top)
    texts = read_texts(top, top.words("language", "en"), sentences, cases)
    check_shown(texts, given, top)
    check_figure(figure, texts, top)
    _refuse_unused(scope)
    return Family(
        name=top.words("family"),
        title=top.words("title"),
        subject=top.words("subject"),
        level=top.words("level"),
        version=top.words("version"),
        licence=top.words("licence"),
        authors=_all_words(top, "authors"),
        objectives=_all_words(top, "objectives"),
        caution=top.words("caution"),
        given=given,
        let=let,
        find=find,
        cases=cases,
        laws=laws,
        rules=rules,
        confirm=confirm,
        slips=slips,
        ask=ask,
        texts=texts,
        settings=settings,
        equal_shares=top.words("shares") == "equal",
        digest=content,
        draw_key=draws,
        place=root.place,
        figure=figure,
        working=_working(top),
        reject_coinciding=top.words("coinciding") == "reject",
        languages=known,
    )


def _called(
    top: Keys, cases: tuple[Case, ...], laws: tuple[Law, ...]
) -> tuple[tuple[Case, ...], tuple[Law, ...]]:
    """The cases and laws with what people call them."""
    names = {case.name for case in cases if case.name} | {law.name for law in laws}
    told = {}
    for entry in top.mapping("called"):
        name = entry.key.text
        if name not in names:
            raise entry.key.fault(
                f"called: there is no law or case '{name[:60]}'", hint=nearest(name, sorted(names))
            )
        told[name] = " ".join(text_of(entry, f"called, '{name}'").text.split())
    if not told:
        return cases, laws
    return (
        tuple(replace(case, called=told.get(case.name, "")) for case in cases),
        tuple(replace(law, called=told.get(law.name, "")) for law in laws),
    )


def _working(top: Keys) -> int | None:
    """The figures kept on the way, or None where the file does not say."""
    if "working" not in top:
        return None
    keys = Keys(top.value("working"), schema.WORKING, "working", top.key("working"))
    return whole_number(keys.need("figures"), "working, figures", 2, MAX_FIGURES)


def _check_heading(top: Keys, file: str) -> None:
    """FamilyError unless the single-line keys of the heading have the form they need."""
    _match(top, "family", _FAMILY_NAME, "small letters, digits and hyphens", "stepped-drum")
    _match(top, "version", _VERSION, "three numbers", "1.0.0")
    _match(top, "language", LANGUAGE, "a language code", "en")
    _match(top, "subject", _SUBJECT, "topics joined by slashes", "mechanics/rotation")
    _match(top, "shares", re.compile("equal|natural"), "equal or natural", "equal")
    _match(top, "coinciding", re.compile("drop|reject"), "drop or reject", "reject")
    name = top.words("family")
    path = Path(file)
    if path.suffix in (".yaml", ".yml") and path.stem != name:
        raise top.need("family").fault(
            f"family: the name '{name}' is not that of the file, {path.name}",
            hint=f"rename the file to {name}{path.suffix}, or write `family: {path.stem}`",
        )
    if top.words("shares") == "equal" and not top.mapping("cases"):
        raise top.key("shares").fault(
            "shares: there are no cases to share instances equally among",
            hint="delete `shares:`, or add cases",
        )


def _match(top: Keys, key: str, pattern: re.Pattern[str], wanted: str, example: str) -> None:
    scalar = top.text(key)
    if scalar is not None and not pattern.fullmatch(top.words(key)):
        raise scalar.fault(
            f"{key}: expected {wanted}, found '{scalar.text.strip()[:60]}'",
            hint=f"write for example `{key}: {example}`",
        )


def _all_words(top: Keys, key: str) -> tuple[str, ...]:
    return tuple(" ".join(scalar.text.split()) for scalar in top.texts(key))


def _refuse_unused(scope: Scope) -> None:
    """FamilyError for a given, a let or a constant of the cases that nothing uses."""
    mends = {
        Kind.GIVEN: "use it in a law, a let or a rule, or delete it",
        Kind.DATA: "use it in a let, or delete it",
        Kind.LET: "use it in a law or a text, or delete it",
        Kind.CONSTANT: "use it in a law, or delete it",
    }
    for name, kind in scope.kinds.items():
        if kind in mends and name not in scope.used:
            raise scope.keys[name].fault(
                f"'{name}' is {kind.value} that nothing uses", hint=mends[kind]
            )
