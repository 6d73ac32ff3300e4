"""Paragraphs, formulas, tables and pictures as markup, the same in every version and in HTML."""

from __future__ import annotations

from collections.abc import Hashable, Iterable

from qbank.formats.formulas import formula
from qbank.formats.pictures import PicturePlace
from qbank.formats.xmltext import escape
from qbank.item import Block, Display, Image, Inline, Math, Paragraph, Table


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


def blocks(contents: Iterable[Block], place: PicturePlace) -> str:
    """Blocks one after the other, a line each."""
    return "".join([block(content, place) for content in contents])


def block(content: Block, place: PicturePlace) -> str:
    """A paragraph, a formula on its own line, a table or a picture."""
    if isinstance(content, Paragraph):
        return f"<p>{inline(content.content)}</p>\n"
    if isinstance(content, Display):
        return formula(content.math.mathml, content.math.plain, display=True) + "\n"
    if isinstance(content, Table):
        return _table(content)
    return place.markup(content)


def shapes(contents: Iterable[Block]) -> list[Hashable]:
    """What a grammar sees of tables and pictures: of tables the caption, header, rows and row
    headers, of pictures whether there is a size and a description."""
    found: list[Hashable] = []
    for content in contents:
        if isinstance(content, Table):
            rows = tuple(map(len, content.rows))
            caption = bool(content.caption)
            found.append((caption, len(content.header), rows, content.row_headers))
        elif isinstance(content, Image):
            found.append((content.width > 0, content.height > 0, bool(content.description)))
    return found


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
