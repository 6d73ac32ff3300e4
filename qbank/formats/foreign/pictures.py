"""Pictures that items of anyone's making refer to: read from the package, within bounds."""

from __future__ import annotations

import re
from collections.abc import Callable
from urllib.parse import unquote

from lxml import etree

from qbank.errors import CheckFailed, QbankError
from qbank.formats.foreign.losses import Losses
from qbank.formats.pictures import PNG, SVG, PicturePlace, ensure_picture
from qbank.formats.qti_tree import text_of
from qbank.item import Image

MAX_PICTURE = 16 << 20
MAX_PICTURES = 50  # of one item
_OURS = (".png", ".svg")
_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")
_DESCRIPTIONS = ("description", "qti-visually-hidden")
_SIGNATURES = {b"\xff\xd8\xff": "image/jpeg", b"GIF8": "image/gif", b"RIFF": "image/webp"}


class PictureLoader:
    """Makes images for one item; `read` gives the bytes at an address seen from its document.

    `glance`, where it is given, says whether there are any: pictures are then not looked at.
    """

    def __init__(
        self,
        identifier: str,
        read: Callable[[str], bytes],
        losses: Losses,
        glance: Callable[[str], bytes] | None = None,
    ) -> None:
        self._glance = glance
        self._place = PicturePlace(identifier)
        self._read = read
        self._losses = losses
        self._names: dict[str, str] = {}

    def __call__(self, source: str, alt: str, element: etree._Element) -> Image | None:
        """The image, or None with a loss told."""
        try:
            if len(self._names) >= MAX_PICTURES:
                raise QbankError(f"the item has more than {MAX_PICTURES} pictures")
            if re.match(r"[A-Za-z][A-Za-z0-9+.-]*:", source) or source.startswith("//"):
                raise QbankError("it lies outside the package, and nothing is fetched")
            glance = self._glance if source.endswith(_OURS) else None
            if glance is not None and (data := glance(source)):
                kind = PNG if source.endswith(_OURS[0]) else SVG
                image = self._image(source, data, kind, alt, element)
            else:
                data = self._read(source)
                image = self._image(source, data, _media_type(data), alt, element)
                ensure_picture(image)
        except (QbankError, CheckFailed) as fault:
            self._losses.add(
                "picture", f"the picture '{source[:80]}' is left out: {fault.message}", element
            )
            return None
        if not alt:
            self._losses.add(
                "picture-words", f"the picture '{source[:80]}' has no alternative text", element
            )
        return image

    def _image(
        self, source: str, data: bytes, kind: str, alt: str, element: etree._Element
    ) -> Image:
        following = element.getnext()
        if following is None:
            parent = element.getparent()
            following = None if parent is None else parent.getnext()
        told = following is not None and following.get("class") in _DESCRIPTIONS
        return Image(
            name=self._name(source, kind),
            media_type=kind,
            data=data,
            alt=alt or "picture without a description",
            description=text_of(following) if told and following is not None else "",
            width=_pixels(element.get("width")),
            height=_pixels(element.get("height")),
        )

    def _name(self, source: str, kind: str) -> str:
        """A plain file name of its own for each source."""
        if source in self._names:
            return self._names[source]
        name = _UNSAFE.sub("-", self._place.name(unquote(source))).strip("-.")[-80:].lstrip("-._")
        ending = ".png" if kind == PNG else ".svg"
        if not name.lower().endswith(ending):
            name = f"{name or 'picture'}{ending}"
        while name in self._names.values():
            name = f"{len(self._names)}-{name}"
        self._names[source] = name
        return name


def _media_type(data: bytes) -> str:
    if data.startswith(b"\x89PNG"):
        return PNG
    for start, kind in _SIGNATURES.items():
        if data.startswith(start):
            raise QbankError(f"it is of type {kind}; only PNG and SVG are kept")
    return SVG


def _pixels(text: str | None) -> int:
    found = re.match(r"\s*(\d{1,5})", text or "")
    return int(found[1]) if found and "%" not in (text or "") else 0
