"""Paragraphs, formulas and tables as markup, which is the same in every version and in HTML."""

from __future__ import annotations

from collections.abc import Iterable

from qbank.errors import CheckFailed
from qbank.formats.formulas import formula
from qbank.formats.xmltext import escape
from qbank.item import Block, Display, Inline, Math, Paragraph, Table

TableShape = tuple[bool, int, tuple[int, ...], bool]


def inline(content: tuple[Inline, ...]) -> str:
    """Text and formulas in turn, as the content of a paragraph."""
    if len(content) == 1 and type(content[0]) is str:  # by far the most: cells and plain sentences
        return escape(content[0])
    return "".join(
        [
            formula(piece.mathml, piece.plain) if isinstance(piece, Math) else escape(piece)
            for piece in content
        ]
    )


def plain(content: tuple[Inline, ...]) -> str:
    """Text and formulas in turn, as characters alone."""
    return "".join(piece.plain if isinstance(piece, Math) else piece for piece in content)


def blocks(contents: Iterable[Block]) -> str:
    """Blocks one after the other, a line each."""
    return "".join(map(block, contents))


def block(content: Block) -> str:
    """A paragraph, a formula on its own line or a table.

    Raises CheckFailed for another kind of block, which no format writes yet.
    """
    if isinstance(content, Paragraph):
        return f"<p>{inline(content.content)}</p>\n"
    if isinstance(content, Display):
        return formula(content.math.mathml, content.math.plain, display=True) + "\n"
    if isinstance(content, Table):
        return _table(content)
    raise CheckFailed(f"a {type(content).__name__} cannot be written in this format")


def table_shapes(contents: Iterable[Block]) -> list[TableShape]:
    """What a grammar sees of the tables among some blocks: caption, header, rows, row headers."""
    return [
        (
            bool(content.caption),
            len(content.header),
            tuple(map(len, content.rows)),
            content.row_headers,
        )
        for content in contents
        if isinstance(content, Table)
    ]


def _table(table: Table) -> str:
    caption = f"<caption>{escape(table.caption)}</caption>" if table.caption else ""
    header = "".join([f'<th scope="col">{inline(cell)}</th>' for cell in table.header])
    rows = []
    for row in table.rows:
        cells = [f"<td>{inline(cell)}</td>" for cell in row]
        if table.row_headers and row:
            cells[0] = f'<th scope="row">{inline(row[0])}</th>'
        rows.append(f"<tr>{''.join(cells)}</tr>\n")
    head = f"<thead><tr>{header}</tr></thead>" if header else ""
    return f"<table>{caption}{head}<tbody>\n{''.join(rows)}</tbody></table>\n"
