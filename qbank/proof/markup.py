"""Content of an item as HTML: paragraphs, formulas, tables and pictures."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable, Sequence

from qbank.item import Block, Display, Image, Inline, Math, Paragraph, Table
from qbank.proof.mathml import formula
from qbank.proof.text import attribute, escape

# A picture is shown by an `img` element, in which a browser runs no script and loads nothing.
MEDIA_TYPES = frozenset({"image/svg+xml", "image/png"})
WIDEST_PICTURE = 4096  # CSS pixels

_HELD = re.compile(r"[^\s\w]{1,4}(?=\s|$)")


def inline(content: Sequence[Inline]) -> str:
    """Text and formulas in a row; a comma or a bracket after a formula stays on its line."""
    pieces: list[str] = []
    for piece in content:
        if isinstance(piece, Math):
            pieces.append(formula(piece.mathml, piece.plain))
            continue
        held = _HELD.match(piece) if pieces and pieces[-1].endswith("</math>") else None
        if held:
            pieces[-1] = f'<span class="held">{pieces[-1]}{escape(held[0])}</span>'
        pieces.append(escape(piece[held.end() :] if held else piece))
    return "".join(pieces)


def blocks(contents: Iterable[Block]) -> str:
    """Blocks one after the other."""
    return "".join(map(block, contents))


def block(content: Block) -> str:
    """A paragraph, a formula on its own line, a table or a picture."""
    match content:
        case Paragraph():
            return f"<p>{inline(content.content)}</p>\n"
        case Display(math=math):
            shown = formula(math.mathml, math.plain, display=True)
            return f'<div class="formula scroll">{shown}</div>\n'
        case Table():
            return _table(content)
        case Image():
            return _image(content)


def _table(table: Table) -> str:
    caption = f"<caption>{escape(table.caption)}</caption>" if table.caption else ""
    header = "".join(f'<th scope="col">{inline(cell)}</th>' for cell in table.header)
    head = f"<thead><tr>{header}</tr></thead>" if header else ""
    rows = "".join(_row(row, table.row_headers) for row in table.rows)
    return f'<div class="scroll"><table>{caption}{head}<tbody>{rows}</tbody></table></div>\n'


def _row(row: Sequence[Sequence[Inline]], row_header: bool) -> str:
    cells = [f"<td>{inline(cell)}</td>" for cell in row]
    if row_header and row:
        cells[0] = f'<th scope="row">{inline(row[0])}</th>'
    return f"<tr>{''.join(cells)}</tr>"


def _image(image: Image) -> str:
    said = escape(image.description)
    caption = (
        '<figcaption><details class="seen"><summary>Description</summary>'
        f"<p>{said}</p></details></figcaption>"
        if said
        else ""
    )
    if image.media_type not in MEDIA_TYPES:
        return f'<figure><p class="note">[{escape(image.alt)}]</p>{caption}</figure>\n'
    data = b64encode(image.data).decode("ascii")
    size = "".join(
        f' {name}="{pixels}"'
        for name, pixels in (("width", image.width), ("height", image.height))
        if 0 < pixels <= WIDEST_PICTURE
    )
    return (
        f'<figure><img src="data:{image.media_type};base64,{data}" alt="{attribute(image.alt)}" '
        f'loading="lazy" decoding="async"{size}>'
        f"{caption}</figure>\n"
    )
