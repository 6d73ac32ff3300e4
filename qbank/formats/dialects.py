"""What differs between the versions of QTI, stated once.

The writer is worded in the names of version 2.1. `Dialect.markup` turns such markup into that
of a version by one rule (mapping note, section 0, measured in the official examples): an
element `fooBar` becomes `qti-foo-bar` in 3.0 and an attribute `fooBar` becomes `foo-bar`, while
enumerated values, HTML and MathML keep their names; `contentBody`, the wrapper that 3.0 puts
around the content of rubric and feedback blocks, disappears in 2.x. Addresses and package
strings are those of the mapping note, section a1: measured for 2.2 and 3.0, from memory for 2.1.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

MATHML = "http://www.w3.org/1998/Math/MathML"
LOM = "http://ltsc.ieee.org/xsd/LOM"
HTML = frozenset(["p", "div", "span", "table", "caption", "thead", "tbody", "tr", "th", "td"])
_CAMEL = re.compile(r"(?<=[a-z0-9])([A-Z])")
_TAG = re.compile(r"<(/?)([A-Za-z]+)")
_ATTRIBUTE = re.compile(r"(?<=\s)([a-z]+(?:[A-Z][a-z]*)+)(?==)")
_CONTENT_BODY = re.compile(r"</?contentBody>")


@dataclass(frozen=True, slots=True)
class Dialect:
    """One version of QTI: its names, namespaces, schema addresses and package strings."""

    name: str
    title: str
    kebab: bool  # qti-foo-bar in place of fooBar
    content_body: bool  # the wrapper in rubric and feedback blocks, and other news of 3.0
    described_by: bool  # pictures can be tied to their descriptions
    rubric_use: str  # attributes that only this version has on a rubric for candidates
    namespace: str
    schema: str
    metadata_namespace: str
    manifest_namespace: str
    manifest_schema: str
    package_schema: str
    package_version: str
    item_type: str
    test_type: str

    @property
    def template_grammar(self) -> str:
        """The grammar of items that draw their own data."""
        return f"parametrised-{self.name.removeprefix('qti-')}"

    def markup(self, text: str) -> str:
        """Markup in the names of 2.1 as that of this version.

        >>> QTI_30.markup('<simpleChoice templateIdentifier="A"><p>x</p></simpleChoice>')
        '<qti-simple-choice template-identifier="A"><p>x</p></qti-simple-choice>'
        """
        if not self.content_body:
            text = _CONTENT_BODY.sub("", text)
        if not self.kebab:
            return text
        text = _TAG.sub(lambda tag: f"<{tag[1]}{self.element(tag[2])}", text)
        return _ATTRIBUTE.sub(lambda name: _kebab(name[1]), text)

    def element(self, name: str) -> str:
        """The name of an element in this version, from that of 2.1."""
        return f"qti-{_kebab(name)}" if self.kebab and name not in HTML else name


def _kebab(name: str) -> str:
    return _CAMEL.sub(r"-\1", name).lower()


def camel(name: str) -> str:
    """The 2.1 name of an element or attribute of any version; other names stay.

    >>> camel("qti-outcome-declaration"), camel("show-hide"), camel("th")
    ('outcomeDeclaration', 'showHide', 'th')
    """
    first, *rest = name.removeprefix("qti-").split("-")
    return first + "".join(word.capitalize() for word in rest)


QTI_21 = Dialect(
    name="qti-2.1",
    title="QTI 2.1 package",
    kebab=False,
    content_body=False,
    described_by=False,
    rubric_use="",
    namespace="http://www.imsglobal.org/xsd/imsqti_v2p1",
    schema="http://www.imsglobal.org/xsd/qti/qtiv2p1/imsqti_v2p1.xsd",
    metadata_namespace="http://www.imsglobal.org/xsd/imsqti_metadata_v2p1",
    manifest_namespace="http://www.imsglobal.org/xsd/imscp_v1p1",
    manifest_schema="http://www.imsglobal.org/xsd/qti/qtiv2p1/qtiv2p1_imscpv1p2_v1p0.xsd",
    package_schema="QTIv2.1 Package",
    package_version="1.0.0",
    item_type="imsqti_item_xmlv2p1",
    test_type="imsqti_test_xmlv2p1",
)

# The same words in new namespaces (mapping note, section 0). Strings measured in the official
# examples, but for the namespace of the metadata and the type of a test, from memory.
QTI_22 = replace(
    QTI_21,
    name="qti-2.2",
    title="QTI 2.2 package",
    described_by=True,
    namespace="http://www.imsglobal.org/xsd/imsqti_v2p2",
    schema="http://www.imsglobal.org/xsd/qti/qtiv2p2/imsqti_v2p2p2.xsd",
    metadata_namespace="http://www.imsglobal.org/xsd/imsqti_metadata_v2p2",
    manifest_schema="http://www.imsglobal.org/xsd/qti/qtiv2p2/qtiv2p2_imscpv1p2_v1p0.xsd",
    package_schema="QTIv2.2 Package",
    item_type="imsqti_item_xmlv2p2",
    test_type="imsqti_test_xmlv2p2",
)

QTI_30 = Dialect(
    name="qti-3.0",
    title="QTI 3.0 package",
    kebab=True,
    content_body=True,
    described_by=True,
    rubric_use=' use="instructions" class="qti-rubric-inline"',
    namespace="http://www.imsglobal.org/xsd/imsqtiasi_v3p0",
    schema="https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqti_asiv3p0_v1p0.xsd",
    metadata_namespace="http://www.imsglobal.org/xsd/imsqti_metadata_v3p0",
    manifest_namespace="http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1",
    manifest_schema=(
        "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqtiv3p0_imscpv1p2_v1p0.xsd"
    ),
    package_schema="QTI Package",
    package_version="3.0.0",
    item_type="imsqti_item_xmlv3p0",
    test_type="imsqti_test_xmlv3p0",
)

DIALECTS = {dialect.name: dialect for dialect in (QTI_21, QTI_22, QTI_30)}
