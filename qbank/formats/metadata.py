"""Metadata of an item in the manifest: IEEE LOM for people and catalogues, qtiMetadata for
importing systems, and the provenance from which the same item can be made again.

LOM is in the loose binding, elements in the order of IEEE 1484.12.1 (from memory). Provenance
is a relation of kind `isbasedon` whose resource is identified by one catalogue entry per fact;
catalogue names start with `qbank:`.
"""

from __future__ import annotations

from collections.abc import Hashable

from qbank import __version__
from qbank.formats.arranging import answers_of
from qbank.formats.dialects import LOM, Dialect
from qbank.formats.xmltext import escape, quote
from qbank.item import Choice, Item, Matching, Metadata, NumberEntry, Ordering, Part

CATALOGUE = "qbank:"
FACTS = ("family", "version", "digest", "seed", "index", "case")


def item_metadata(
    item: Item, dialect: Dialect, identifier: str, index: str, *, template: bool = False
) -> str:
    """The `metadata` element of an item's resource, with its identifier and index as given.

    `template` says that the item draws its own data.
    """
    origin = item.provenance
    relation = ""
    if origin is not None:
        seed = str(origin.seed)
        facts = (origin.family, origin.version, origin.digest, seed, index, origin.case)
        relation = _relation(facts)
    version = origin.version if origin else ""
    return (
        f'<metadata><lom xmlns="{LOM}"><general>{_catalogue_entry("item", identifier)}'
        f"<title>{_string(item.title, item.language)}</title>"
        f"<language>{escape(item.language)}</language></general>"
        f"{_life_cycle(item.metadata, version, item.language)}"
        "<technical><format>text/x-imsqti-item-xml</format></technical>"
        f"{_rights(item.metadata, item.language)}{relation}"
        f"{_classifications(item.metadata, item.language)}</lom>"
        f"{_qti(item, dialect, template)}</metadata>\n"
    )


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
    match part:
        case NumberEntry():
            return "textEntryInteraction"
        case Choice():
            drop_down = part.inline and not part.multiple
            return "inlineChoiceInteraction" if drop_down else "choiceInteraction"
        case Ordering():
            return "orderInteraction"
        case Matching():
            return "matchInteraction"


def metadata_structure(item: Item) -> tuple[Hashable, ...]:
    """Everything that the metadata of an item says but its identifier and index."""
    origin = item.provenance
    return (
        item.title,
        item.language,
        item.metadata,
        origin and (origin.family, origin.version, origin.digest, origin.seed, origin.case),
        tuple([interaction_type(part) for part in item.parts]),
        bool(item.hints),
        bool(item.solution),
        _gives_feedback(item),
    )


def _gives_feedback(item: Item) -> bool:
    return any(answer.feedback for part in item.parts for answer in answers_of(part))


def _qti(item: Item, dialect: Dialect, template: bool) -> str:
    fixed = "nonadaptive" if item.solution or _gives_feedback(item) else "none"
    kinds = sorted({interaction_type(part) for part in item.parts})
    interactions = "".join(f"<interactionType>{kind}</interactionType>" for kind in kinds)
    return (
        f'<qtiMetadata xmlns="{dialect.metadata_namespace}">'
        f"{'<itemTemplate>true</itemTemplate>' if template else ''}"
        "<timeDependent>false</timeDependent>"
        f"<composite>{_boolean(len(item.parts) > 1)}</composite>{interactions}"
        f"<feedbackType>{'adaptive' if item.hints else fixed}</feedbackType>"
        f"<solutionAvailable>{_boolean(bool(item.solution))}</solutionAvailable>"
        f"<toolName>qbank</toolName><toolVersion>{__version__}</toolVersion></qtiMetadata>"
    )


def _life_cycle(metadata: Metadata, version: str, language: str) -> str:
    if not version and not metadata.authors:
        return ""
    stated = f"<version>{_string(version, language)}</version>" if version else ""
    return f"<lifeCycle>{stated}{''.join(map(_author, metadata.authors))}</lifeCycle>"


def _rights(metadata: Metadata, language: str) -> str:
    if not metadata.licence:
        return ""
    return (
        f"<rights>{_term('copyrightAndOtherRestrictions', 'yes')}"
        f"<description>{_string(metadata.licence, language)}</description></rights>"
    )


def _classifications(metadata: Metadata, language: str) -> str:
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
    return classes


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
