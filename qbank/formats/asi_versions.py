"""The two formats with items of QTI 1.2.1: what their packages are called, stated once.

Addresses and package strings are those of the mapping note, section a1, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AsiVersion:
    """Names of one format; ASI is what 1.2.1 calls assessments, sections and items."""

    name: str
    schema: str
    manifest_namespace: str
    manifest_schema: str
    package_schema: str
    package_version: str
    bank_type: str  # the resource type of a document with items
    namespace: str = "http://www.imsglobal.org/xsd/ims_qtiasiv1p2"

    @property
    def manifest_grammar(self) -> str:
        return f"manifest-{self.name}"


QTI_12 = AsiVersion(
    name="qti-1.2",
    schema="http://www.imsglobal.org/xsd/ims_qtiasiv1p2p1.xsd",
    manifest_namespace="http://www.imsglobal.org/xsd/imscp_v1p1",
    manifest_schema="http://www.imsglobal.org/xsd/imscp_v1p1.xsd",
    package_schema="IMS Content",
    package_version="1.1.3",
    bank_type="imsqti_xmlv1p2",
)

CARTRIDGE_13 = AsiVersion(
    name="cartridge-1.3",
    schema="http://www.imsglobal.org/profile/cc/ccv1p3/ccv1p3_qtiasiv1p2p1_v1p0.xsd",
    manifest_namespace="http://www.imsglobal.org/xsd/imsccv1p3/imscp_v1p1",
    manifest_schema="http://www.imsglobal.org/profile/cc/ccv1p3/ccv1p3_imscp_v1p2_v1p0.xsd",
    package_schema="IMS Common Cartridge",
    package_version="1.3.0",
    bank_type="imsqti_xmlv1p2/imscc_xmlv1p3/question-bank",
)
