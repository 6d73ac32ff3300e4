"""Packages against the schema files of the standards' own bodies, as far as they could be had.

Sources: the QTI 2.1 Public Draft 2 schema of 2008-03-26 (IMS; stricter than the 2012 final), the
Content Packaging 1.1.3 schema (IMS) and W3C's MathML 3 schema; README.md beside those files says
how faithful they are and what their errors mean. Whoever has the official schemas of QTI 2.1
final or 3.0 names their folder in QBANK_SCHEMAS and gets those checks too.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import ClassVar

import pytest
from lxml import etree

from qbank.formats.dialects import DIALECTS, LOM, MATHML, QTI_21
from qbank.formats.grammar import FOLDER, grammar, secure_parser
from qbank.formats.writing import write_bank
from tests.formats.arranged import arranged_bank
from tests.formats.packages import write_sample

QTI_21_DRAFT = "qti-2.1-pd2/imsqti_v2p1.xsd"
PACKAGING = "ims-cp-1.1.3/imscp_v1p1.xsd"
MATHML_3 = "w3c/mathml3-xsd/mathml4.xsd"
LIP = (
    '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" '
    'targetNamespace="http://www.imsglobal.org/xsd/imslip_v1p0">'
    '<xs:element name="identification"/></xs:schema>'
)


class Offline(etree.Resolver):
    """The import map of the schema folder's README: addresses to files beside it."""

    FILES: ClassVar = {
        "http://www.w3.org/2001/xml.xsd": "w3c/xml/xml.xsd",
        "http://www.w3.org/2001/03/xml.xsd": "w3c/xml/xml.xsd",
        "http://www.w3.org/2001/XInclude.xsd": "w3c/xinclude/XInclude.xsd",
        "http://www.w3.org/Math/XMLSchema/mathml2/mathml2.xsd": MATHML_3,
    }

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def resolve(self, url, _public_id, context):
        if url.endswith("imslip_v1p0.xsd"):
            return self.resolve_string(LIP, context)
        if url in self.FILES:
            return self.resolve_filename(str(self.folder / self.FILES[url]), context)
        return None


def schema(folder: Path, name: str) -> etree.XMLSchema:
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Offline(folder))
    return etree.XMLSchema(etree.parse(folder / name, parser))


def documents(package: Path, pattern: str):
    return {p.name: etree.parse(p, secure_parser()) for p in sorted(package.glob(pattern))}


@pytest.fixture(scope="module")
def packages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("schemas")
    return {name: write_sample(folder, name) for name in DIALECTS}


@pytest.mark.parametrize("name", ["qti-2.1", "qti-2.2"])
def test_orders_and_matchings_are_valid_against_the_21_draft(standards, tmp_path, name):
    draft = schema(standards, QTI_21_DRAFT)
    write_bank(*arranged_bank(), tmp_path / "b", name, unpacked=True)
    paths = list(tmp_path.glob("b/items/*/*.xml"))
    assert len(paths) == len(arranged_bank()[1])
    for path in paths:
        text = path.read_bytes().replace(
            DIALECTS[name].namespace.encode(), QTI_21.namespace.encode()
        )
        document = etree.fromstring(text, secure_parser())
        assert draft.validate(document), (path.name, draft.error_log)


@pytest.mark.parametrize("name", ["qti-2.1", "qti-2.2"])
def test_items_and_test_are_valid_against_the_21_draft(standards, packages, name):
    """2.2 keeps the names of 2.1, so its documents pass when the namespace is put back."""
    draft = schema(standards, QTI_21_DRAFT)
    paths = [*packages[name].glob("items/*/*.xml"), packages[name] / "test.xml"]
    assert len(paths) == 6
    for path in paths:
        text = path.read_bytes().replace(
            DIALECTS[name].namespace.encode(), QTI_21.namespace.encode()
        )
        document = etree.fromstring(text, secure_parser())
        assert draft.validate(document), (path.name, draft.error_log)


def test_the_draft_refuses_what_our_grammar_refuses(standards, packages):
    """That the draft's schema is awake: edits that both must refuse."""
    draft = schema(standards, QTI_21_DRAFT)
    path = packages["qti-2.1"] / "items/quay-winch/i0123456789-0.xml"
    for old, new in (
        (' adaptive="false"', ""),
        (' maxChoices="1"', ""),
        ("<itemBody>", "<itemBody>text"),
        ("<responseProcessing>", "<responseProcessing/><responseProcessing>"),
        (' showHide="show"', ' showHide="yes"'),
        ("<mfrac><mi>P</mi>", "<mfrac>"),
        ('identifier="RESPONSE_P"', 'identifier="1"'),
    ):
        text = path.read_text(encoding="utf-8")
        assert old in text
        root = etree.fromstring(text.replace(old, new, 1).encode())
        assert not draft.validate(root), old
        assert not grammar("qti-2.1").accepts(root), old


@pytest.mark.parametrize("name", list(DIALECTS))
def test_the_manifest_is_valid_against_content_packaging(standards, packages, name):
    """Metadata of other namespaces is taken out first, as the folder's README says: the schema's
    wildcard is strict and their schemas are not there. The 3.0 namespace is put back to 1.1."""
    text = (packages[name] / "imsmanifest.xml").read_text(encoding="utf-8")
    text = text.replace(DIALECTS[name].manifest_namespace, QTI_21.manifest_namespace)
    root = etree.fromstring(text.encode())
    foreign = [
        e for e in root.iter(etree.Element) if etree.QName(e).namespace != QTI_21.manifest_namespace
    ]
    assert {etree.QName(e).namespace for e in foreign} == {LOM, DIALECTS[name].metadata_namespace}
    for element in foreign:
        if element.getparent() is not None:
            element.getparent().remove(element)
    for attribute in [a for a in root.attrib if a.startswith("{")]:
        del root.attrib[attribute]
    packaging = schema(standards, PACKAGING)
    assert packaging.validate(root), packaging.error_log


@pytest.mark.parametrize("name", list(DIALECTS))
def test_formulas_are_valid_against_w3c_mathml(standards, packages, name):
    mathml = schema(standards, MATHML_3)
    count = 0
    for document in documents(packages[name], "items/*/*.xml").values():
        for element in document.iter(f"{{{MATHML}}}math"):
            alone = etree.fromstring(etree.tostring(element, with_tail=False))
            assert mathml.validate(alone), mathml.error_log
            count += 1
    assert count > 20


def test_our_mathml_grammar_knows_only_elements_and_arities_of_w3cs(standards):
    """Every element our grammar names exists in W3C's schema, and what we call valid it does."""
    mathml = schema(standards, MATHML_3)
    names = {
        e.get("name")
        for e in etree.parse(FOLDER / "mathml.rng").iter(
            "{http://relaxng.org/ns/structure/1.0}element"
        )
    }
    two = ("mfrac", "mroot", "msub", "msup", "munder", "mover")
    three = ("msubsup", "munderover")
    for name in sorted(names - {"math", "mtr", "mtd"}):
        count = 2 if name in two else 3 if name in three else 0
        content = "<mi>x</mi>" * count
        text = f'<math xmlns="{MATHML}" alttext="a"><{name}>{content}</{name}></math>'
        root = etree.fromstring(text)
        assert mathml.validate(root), (name, mathml.error_log)
        assert grammar("qti-2.1").accepts(root, "math")
        if count:
            root[0].remove(root[0][0])
            assert not mathml.validate(root), name
            assert not grammar("qti-2.1").accepts(root, "math")


@pytest.mark.parametrize("name", list(DIALECTS))
def test_the_official_schemas_where_somebody_has_them(packages, name):
    folder = os.environ.get("QBANK_SCHEMAS")
    if not folder:
        pytest.skip("the official schemas are not here; name their folder in QBANK_SCHEMAS")
    dialect = DIALECTS[name]
    for address, pattern in (
        (dialect.schema, "items/*/*.xml"),
        (dialect.schema, "test.xml"),
        (dialect.manifest_schema, "imsmanifest.xml"),
    ):
        found = sorted(Path(folder).rglob(address.rpartition("/")[2]))
        if not found:
            pytest.skip(f"no {address.rpartition('/')[2]} in {folder}")
        official = etree.XMLSchema(etree.parse(found[0]))
        for file, document in documents(packages[name], pattern).items():
            assert official.validate(document), (file, official.error_log)
