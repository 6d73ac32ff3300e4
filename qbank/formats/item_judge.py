"""Judging every item as it is written, without parsing each.

Siblings differ in text and numbers and hardly ever in structure, and a grammar judges structure
and the form of values. So an item is parsed and judged in full, by the grammar and by the rules
across elements, when anything in its structure is new: a part, a table, the frame around them.
It is also judged in full, whatever its structure, once in five hundred, as a guard.

Of the other items what is left is sure by how they are written, at every item: text is escaped
and holds no character that XML forbids (`xmltext`), each formula was judged alone (`formulas`),
numbers are finite, keys lie in their bands and wrong ranges stay apart (`soundness`). The tests
hold this against judging every item in full; so does `validate_package`.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable

from qbank.errors import CheckFailed, QbankError
from qbank.formats import qti_references
from qbank.formats.base import Finding
from qbank.formats.dialects import Dialect
from qbank.formats.grammar import grammar, parse
from qbank.formats.qti_tree import local

IN_FULL_ANYWAY = 500  # one item in so many
_MOST_STRUCTURES = 50_000


class ItemJudge:
    """Accepts or refuses items of one dialect; remembers the structures it has accepted."""

    def __init__(self, dialect: Dialect) -> None:
        self._dialect = dialect
        self._accepted: set[Hashable] = set()
        self.judged = 0
        self.judged_in_full = 0

    def ensure(
        self,
        member: str,
        data: bytes,
        structures: tuple[Hashable, ...],
        files: Collection[str] = (),
    ) -> None:
        """Raise CheckFailed with the findings when the item breaks a rule.

        `files` are the paths of its pictures.
        """
        self.judged += 1
        if self.judged % IN_FULL_ANYWAY and self._accepted.issuperset(structures):
            return
        self.judged_in_full += 1
        findings = item_findings(self._dialect, member, data, files)
        if findings:
            raise CheckFailed(
                f"the item written as '{member}' breaks {len(findings)} of the rules for packages",
                hint="\n    ".join(map(str, findings[:10])),
            )
        if len(self._accepted) > _MOST_STRUCTURES:
            self._accepted.clear()
        self._accepted.update(structures)


def item_findings(
    dialect: Dialect, member: str, data: bytes, files: Collection[str] = ()
) -> list[Finding]:
    """The judgement in full: everything wrong with one item, to which those files belong."""
    try:
        root = parse(data, member)
    except QbankError as fault:
        return [Finding("xml.well-formed", member, fault.message, None, "XML 1.0")]
    drawn = any(local(part.tag) == "templateProcessing" for part in root.iterchildren("*"))
    rules = grammar(dialect.template_grammar if drawn else dialect.name)
    return list(rules.iter_findings(root, member)) or list(
        qti_references.iter_findings(root, member, files)
    )
