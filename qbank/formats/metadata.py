"""Metadata of an item in the manifest: IEEE LOM for people and catalogues, qtiMetadata for
importing systems, and the provenance from which the same item can be made again.

LOM is in the loose binding, elements in the order of IEEE 1484.12.1 (from memory). Provenance
is a relation of kind `isbasedon` whose resource is identified by one catalogue entry per fact;
catalogue names start with `qbank:`.
"""

from __future__ import annotations

from functools import lru_cache

from qbank import __version__
from qbank.formats.dialects import LOM, Dialect
from qbank.formats.xmltext import escape, quote
from qbank.item import Choice, Item, Metadata, NumberEntry, Part

CATALOGUE = "qbank:"
FACTS = ("family", "version", "digest", "seed", "index", "case")


def item_metadata(item: Item, dialect: Dialect) -> str:
    """The `metadata` element of an item's resource."""
    provenance = item.provenance
    version = provenance.version if provenance else ""
    head, tail = _shared(item.title, item.language, item.metadata, version)
    relation = ""
    if provenance is not None:
        relation = _relation(
            (
                provenance.family,
                provenance.version,
                provenance.digest,
                str(provenance.seed),
                str(provenance.index),
                provenance.case,
            )
        )
    kinds = tuple(sorted({interaction_type(part) for part in item.parts}))
    qti = _qti(dialect.metadata_namespace, kinds, _flags(item))
    identifier = _catalogue_entry("item", item.identifier)
    return f"<metadata>{head}{identifier}{tail[0]}{relation}{tail[1]}{qti}</metadata>\n"


def package_metadata(identifier: str, title: str, language: str, dialect: Dialect) -> str:
    """The `metadata` element of the manifest, with the package strings of the version."""
    return (
        f"<metadata><schema>{dialect.package_schema}</schema>"
        f"<schemaversion>{dialect.package_version}</schemaversion>"
        f'<lom xmlns="{LOM}"><general>{_catalogue_entry("bank", identifier)}'
        f"<title>{_string(title, language)}</title><language>{escape(language)}</language>"
        "</general></lom></metadata>\n"
    )


def interaction_type(part: Part) -> str:
    """The interaction's name, camelCase in every version (mapping note, a5)."""
    if isinstance(part, NumberEntry):
        return "textEntryInteraction"
    return "inlineChoiceInteraction" if part.inline and not part.multiple else "choiceInteraction"


def _flags(item: Item) -> tuple[bool, bool, bool, bool]:
    """Composite, adaptive, with feedback, with a solution."""
    feedback = any(
        answer.feedback
        for part in item.parts
        for answer in (part.options if isinstance(part, Choice) else part.wrong_values)
    )
    return len(item.parts) > 1, bool(item.hints), feedback, bool(item.solution)


@lru_cache(maxsize=256)
def _qti(namespace: str, kinds: tuple[str, ...], flags: tuple[bool, bool, bool, bool]) -> str:
    composite, adaptive, feedback, solution = flags
    fixed = "nonadaptive" if feedback or solution else "none"
    feedback_type = "adaptive" if adaptive else fixed
    interactions = "".join(f"<interactionType>{kind}</interactionType>" for kind in kinds)
    return (
        f'<qtiMetadata xmlns="{namespace}"><timeDependent>false</timeDependent>'
        f"<composite>{_boolean(composite)}</composite>{interactions}"
        f"<feedbackType>{feedback_type}</feedbackType>"
        f"<solutionAvailable>{_boolean(solution)}</solutionAvailable>"
        f"<toolName>qbank</toolName><toolVersion>{__version__}</toolVersion></qtiMetadata>"
    )


@lru_cache(maxsize=256)
def _shared(
    title: str, language: str, metadata: Metadata, version: str
) -> tuple[str, tuple[str, str]]:
    """What siblings share: the LOM before the item's identifier, and the parts after it."""
    life = ""
    if version or metadata.authors:
        stated = f"<version>{_string(version, language)}</version>" if version else ""
        life = f"<lifeCycle>{stated}{''.join(map(_author, metadata.authors))}</lifeCycle>"
    rights = ""
    if metadata.licence:
        rights = (
            f"<rights>{_term('copyrightAndOtherRestrictions', 'yes')}"
            f"<description>{_string(metadata.licence, language)}</description></rights>"
        )
    classes = ""
    if metadata.subject:
        taxa = "".join(
            f"<taxon><entry>{_string(step, language)}</entry></taxon>"
            for step in metadata.subject.split("/")
        )
        source = f"<source>{_string('subject', 'en')}</source>"
        classes += _classification("discipline", f"<taxonPath>{source}{taxa}</taxonPath>")
    for purpose, texts in (
        ("educational objective", metadata.objectives),
        ("educational level", (metadata.level,) if metadata.level else ()),
    ):
        for text in texts:
            said = f"<description>{_string(text, language)}</description>"
            classes += _classification(purpose, said)
    return (
        f'<lom xmlns="{LOM}"><general>',
        (
            f"<title>{_string(title, language)}</title><language>{escape(language)}</language>"
            f"</general>{life}<technical><format>text/x-imsqti-item-xml</format></technical>"
            f"{rights}",
            f"{classes}</lom>",
        ),
    )


def _relation(facts: tuple[str, ...]) -> str:
    entries = "".join(
        _catalogue_entry(name, value) for name, value in zip(FACTS, facts, strict=True) if value
    )
    return f"<relation>{_term('kind', 'isbasedon')}<resource>{entries}</resource></relation>"


def _catalogue_entry(name: str, value: str) -> str:
    return (
        f"<identifier><catalog>{CATALOGUE}{name}</catalog><entry>{escape(value)}</entry>"
        "</identifier>"
    )


def _string(text: str, language: str) -> str:
    return f'<string language="{quote(language)}">{escape(text)}</string>'


def _term(element: str, value: str) -> str:
    """A term of the vocabulary that LOM 1.0 itself defines."""
    return f"<{element}><source>LOMv1.0</source><value>{value}</value></{element}>"


def _classification(purpose: str, content: str) -> str:
    return f"<classification>{_term('purpose', purpose)}{content}</classification>"


def _author(name: str) -> str:
    """An author as LOM wants it: a vCard (RFC 2426, section 3.1: FN and N are required)."""
    for character in "\\;,":
        name = name.replace(character, "\\" + character)
    name = name.replace("\n", " ")
    card = f"BEGIN:VCARD\nVERSION:3.0\nFN:{name}\nN:{name};;;;\nEND:VCARD"
    return f"<contribute>{_term('role', 'author')}<entity>{escape(card)}</entity></contribute>"


def _boolean(value: bool) -> str:
    return "true" if value else "false"
