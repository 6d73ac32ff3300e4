"""Documents as others write them, put together for tests: scenarios of our own."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

from qbank.formats.dialects import DIALECTS
from qbank.formats.foreign.bank import open_bank
from qbank.formats.source import ReadItem

TEMPLATE = "http://www.imsglobal.org/question/qti_v2p1/rptemplates/"
SCORE = (
    '<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float">'
    "<defaultValue><value>0</value></defaultValue></outcomeDeclaration>"
)


def response(base="float", key="", cardinality="single", name="RESPONSE", extra=""):
    """A response declaration."""
    keys = "".join(f"<value>{k}</value>" for k in key.split("|") if k)
    correct = f"<correctResponse>{keys}</correctResponse>" if keys else ""
    return (
        f'<responseDeclaration identifier="{name}" cardinality="{cardinality}" baseType="{base}">'
        f"{correct}{extra}</responseDeclaration>"
    )


def item(declared, body, rules="", version="qti-2.1", more="", attributes=""):
    """An item of a version, from markup in the names of 2.1 (mapping note, section 0)."""
    dialect = DIALECTS[version]
    if rules.startswith("TEMPLATE "):
        processing = f'<responseProcessing template="{TEMPLATE}{rules[9:]}"/>'
    else:
        processing = f"<responseProcessing>{rules}</responseProcessing>" if rules else ""
    text = (
        f'<assessmentItem identifier="crane-1" title="A crane" adaptive="false" '
        f'timeDependent="false" {attributes}>{declared}{SCORE}<itemBody>{body}</itemBody>'
        f"{processing}{more}</assessmentItem>"
    )
    if dialect.kebab:
        text = re.sub(r"</?([a-z]+)[^<>]*>", lambda tag: _new_names(tag[0], tag[1]), text)
    return text.replace(" identifier", f' xmlns="{dialect.namespace}" identifier', 1)


_HTML = ("p", "div", "span", "table", "caption", "tr", "th", "td", "b", "ul", "li", "img", "sup")


def _new_names(tag: str, _name: str) -> str:
    name = re.match(r"</?([A-Za-z]+)", tag)[1]
    new = name if name in _HTML else "qti-" + re.sub(r"([A-Z])", r"-\1", name).lower()
    tag = tag.replace(name, new, 1)
    return re.sub(r"(?<=\s)([a-z]+(?:[A-Z][a-z]*)+)(?==)",
                  lambda a: re.sub(r"([A-Z])", r"-\1", a[1]).lower(), tag)  # fmt: skip


def gives(test: str, points: float = 1) -> str:
    """A condition that sets the score."""
    return (
        f'<responseCondition><responseIf>{test}<setOutcomeValue identifier="SCORE">'
        f'<baseValue baseType="float">{points}</baseValue></setOutcomeValue></responseIf>'
        "</responseCondition>"
    )


R = '<variable identifier="RESPONSE"/>'
KEY = '<correct identifier="RESPONSE"/>'
ENTRY = '<textEntryInteraction responseIdentifier="RESPONSE"/>'


def base(value: object, kind: str = "float") -> str:
    """A constant."""
    return f'<baseValue baseType="{kind}">{value}</baseValue>'


def read_document(tmp_path: Path, text: str | bytes, name: str = "one.xml") -> list[ReadItem]:
    """The items of a single document; it must be readable as a whole."""
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with open_bank(path) as bank:
        found = list(bank)
        assert bank.unreadable == []
    return found


def read_one(tmp_path: Path, text: str) -> ReadItem:
    """The one item of a document."""
    (found,) = read_document(tmp_path, text)
    return found


def codes(found: ReadItem) -> set[str]:
    """The kinds of loss of an item."""
    return {loss.code for loss in found.losses}


def asi(presentation: str, rules: str = "", more: str = "", fields: str = "", variable="") -> str:
    """A document of QTI 1.2.1 with one item."""
    meta = f"<itemmetadata><qtimetadata>{fields}</qtimetadata></itemmetadata>" if fields else ""
    declared = variable or '<decvar varname="SCORE" vartype="Decimal" defaultval="0"/>'
    processing = (
        f"<resprocessing><outcomes>{declared}</outcomes>{rules}</resprocessing>" if rules else ""
    )
    return (
        f'<questestinterop><item ident="hoist-1" title="A hoist">{meta}<presentation>'
        f"{presentation}</presentation>{processing}{more}</item></questestinterop>"
    )


def field(label: str, entry: str) -> str:
    """A metadata field of QTI 1.2.1."""
    return (
        f"<qtimetadatafield><fieldlabel>{label}</fieldlabel><fieldentry>{entry}</fieldentry>"
        "</qtimetadatafield>"
    )


def when(test: str, points: str = "", go_on: str = "No", action: str = "Set", shown="") -> str:
    """A respcondition."""
    setting = f'<setvar varname="SCORE" action="{action}">{points}</setvar>' if points else ""
    feedback = f'<displayfeedback feedbacktype="Response" linkrefid="{shown}"/>' if shown else ""
    return (
        f'<respcondition continue="{go_on}"><conditionvar>{test}</conditionvar>{setting}{feedback}'
        "</respcondition>"
    )


def zipped(path: Path, members: dict[str, str | bytes]) -> Path:
    """A zip file."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in members.items():
            package.writestr(name, data)
    return path


def manifest(*resources: tuple[str, str], schema: str = "QTIv2.1 Package", version="1.0.0") -> str:
    """A manifest that lists (type, href)."""
    listed = "".join(
        f'<resource identifier="R{n}" type="{kind}" href="{href}"><file href="{href}"/></resource>'
        for n, (kind, href) in enumerate(resources)
    )
    return (
        '<manifest xmlns="http://www.imsglobal.org/xsd/imscp_v1p1" identifier="M"><metadata>'
        f"<schema>{schema}</schema><schemaversion>{version}</schemaversion></metadata>"
        f"<organizations/><resources>{listed}</resources></manifest>"
    )
