"""Finding the members that addresses mean: encoded, wrongly cased, or one folder down."""

from __future__ import annotations

import posixpath
import re
from urllib.parse import unquote

from qbank.errors import QbankError
from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.manifest import MANIFEST
from qbank.formats.package import LooseFile, Package

_PLAIN = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9_.-]*(?:/[A-Za-z0-9_-][A-Za-z0-9_.-]*)*")


class Lookup:
    """The members of a package by address; `root` is the folder its manifest lies in."""

    def __init__(self, package: Package, losses: Losses) -> None:
        self._package = package
        self._losses = losses
        self._folded: dict[str, str] | None = None
        self.manifest = self._manifest()
        self.root = self.manifest.rpartition("/")[0] if self.manifest else ""

    def _manifest(self) -> str:
        """The manifest nearest to the top; empty where there is none."""
        if self._package.holds(MANIFEST) and not isinstance(self._package, LooseFile):
            return MANIFEST
        found = [n for n in self._package.names if n.rpartition("/")[2].lower() == MANIFEST]
        if not found:
            if not isinstance(self._package, LooseFile):
                self._losses.add("manifest", f"there is no {MANIFEST}: items were looked for")
            return ""
        chosen = min(found, key=lambda name: (name.count("/"), name))
        self._losses.add("manifest", f"the manifest is '{chosen}', not '{MANIFEST}' at the root")
        return chosen

    def find(self, folder: str, href: str) -> str | None:
        """The member an address means, seen from a folder; None where there is none."""
        if _PLAIN.fullmatch(href):  # most: an address that is a name, with nothing to resolve
            name = f"{folder}/{href}" if folder else href
            if self._package.holds(name):
                return name
        path = unquote(href.partition("#")[0].partition("?")[0]).replace("\\", "/")
        for candidate in dict.fromkeys((path, href)):
            for base in dict.fromkeys((folder, self.root)):
                name = posixpath.normpath(posixpath.join(base, candidate.lstrip("/")))
                if self._package.holds(name):
                    return name
        if isinstance(self._package, LooseFile):
            return None
        if self._folded is None:
            self._folded = {}
            for member in self._package.names:
                self._folded.setdefault(member.casefold(), member)
        for base in dict.fromkeys((folder, self.root)):
            name = posixpath.normpath(posixpath.join(base, path.lstrip("/"))).casefold()
            if name in self._folded:
                found = self._folded[name]
                self._losses.add("href", f"'{href[:100]}' is written '{found}' in the package")
                return found
        return None

    def glance(self, folder: str, href: str) -> bytes:
        """What stands for the bytes an address means. Raises QbankError where there are none."""
        found = self.find(folder, href)
        if found is None:
            raise QbankError(f"'{href[:100]}' is not in the package")
        return self._package.glance(found)

    def read(self, folder: str, href: str) -> bytes:
        """The bytes an address means. Raises QbankError where there are none."""
        found = self.find(folder, href)
        if found is None:
            raise QbankError(f"'{href[:100]}' is not in the package")
        return self._package.read(found)
