r"""An item with its key and worked solution as one LaTeX document.

It needs `amsmath` and `textcomp`, and `babel` where the language is not English. TeX
takes no SVG, so the place of a figure is held by its text in words.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from qbank.expressions.symbols import with_unit
from qbank.item import (
    Block,
    Choice,
    Display,
    Image,
    Inline,
    Item,
    Matching,
    Math,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Part,
    Table,
)
from qbank.rendering.case_formulas import LatexMath
from qbank.rendering.latex_text import latex_text
from qbank.rendering.plain import inline_text, number_text, wrong_number_text
from qbank.rendering.terminal import origin

WIDEST = 78  # characters of a table's row that fit a line of the page, about


@dataclass(frozen=True, slots=True)
class _Labels:
    """What the document says of itself."""

    babel: str = ""
    key: str = "Key"
    hints: str = "Hints"
    solution: str = "Worked solution"
    figure: str = "Figure"
    caution: str = "Caution"
    accepted: str = "accepted"
    right: str = "right"
    wrong: str = "wrong"
    point: str = "point"
    points: str = "points"
    mark: str = "."


_LANGUAGES: Mapping[str, _Labels] = {
    "en": _Labels(),
    "de": _Labels(
        *("ngerman", "Lösung", "Hinweise", "Lösungsweg", "Abbildung", "Vorsicht", "zulässig"),
        *("richtig", "falsch", "Punkt", "Punkte", ","),
    ),
}


def latex_document(item: Item) -> str:
    """The whole document, in UTF-8 where it is written to a file.

    The item's formulas must be `LatexMath`, from `Renderer(family, latex=True)`; raises ValueError
    for others.
    """
    labels = _LANGUAGES.get(item.language.partition("-")[0], _LANGUAGES["en"])
    return "\n".join([*_preamble(labels), *_body(item, labels), r"\end{document}", ""])


def _preamble(labels: _Labels) -> Iterator[str]:
    yield r"\documentclass[a4paper]{article}"
    yield r"\usepackage[T1]{fontenc}"
    yield r"\usepackage[utf8]{inputenc}"
    yield r"\usepackage{textcomp}"
    yield r"\usepackage{amsmath}"
    if labels.babel:
        yield rf"\usepackage[{labels.babel}]{{babel}}"
    yield r"\begin{document}"


def _body(item: Item, labels: _Labels) -> Iterator[str]:
    yield rf"\section*{{{latex_text(item.title)}}}"
    yield from _blocks(item.stem, labels)
    yield from ("", r"\begin{enumerate}")
    for part in item.parts:
        yield from _asked(part, labels)
    yield r"\end{enumerate}"
    yield from ("", rf"\subsection*{{{labels.key}}}", r"\begin{enumerate}")
    for part in item.parts:
        yield from _key(part, labels)
    yield r"\end{enumerate}"
    if item.hints:
        yield from ("", rf"\subsection*{{{labels.hints}}}", r"\begin{enumerate}")
        yield from (rf"\item {_inline(hint)}" for hint in item.hints)
        yield r"\end{enumerate}"
    if item.solution:
        yield from ("", rf"\subsection*{{{labels.solution}}}")
        yield from _blocks(item.solution, labels)
    if item.caution:
        yield from ("", rf"\paragraph{{{labels.caution}:}} {latex_text(item.caution)}")
    yield from ("", rf"\noindent{{\footnotesize {latex_text(origin(item))}}}")


# ---------------------------------------------------------------------------- blocks


def _blocks(blocks: Sequence[Block], labels: _Labels) -> Iterator[str]:
    for block in blocks:
        yield ""
        match block:
            case Paragraph(content=content):
                yield _inline(content)
            case Display(math=math):
                yield rf"\[ {_latex_of(math)} \]"
            case Table():
                yield from _table(block)
            case Image(alt=alt, description=description):
                words = " ".join(filter(None, (alt, description)))
                yield rf"\begin{{quote}}\emph{{{labels.figure}:}} {latex_text(words)}\end{{quote}}"


def _inline(content: Sequence[Inline]) -> str:
    return "".join(
        rf"\({_latex_of(part)}\)" if isinstance(part, Math) else latex_text(part)
        for part in content
    )


def _latex_of(math: Math) -> str:
    if not isinstance(math, LatexMath):
        raise ValueError(
            f"expected formulas with LaTeX, found only MathML of '{math.plain}'; "
            "make the item with Renderer(family, latex=True)"
        )
    return math.latex.strip()


def _table(table: Table) -> Iterator[str]:
    rows = [table.header, *table.rows]
    widths = [max(len(inline_text(row[k])) for row in rows) for k in range(len(table.header))]
    columns = "l" * len(widths)
    if sum(widths) > WIDEST:
        share = 0.9 - 0.03 * len(widths)
        columns = "".join(rf"p{{{share * w / sum(widths):.2f}\linewidth}}" for w in widths)
    yield r"\begin{center}"
    if table.caption:
        yield rf"{latex_text(table.caption)}\\[0.5ex]"
    yield rf"\begin{{tabular}}{{{columns}}}"
    yield r"\hline"
    for number, row in enumerate(rows):
        yield " & ".join(map(_cell, row)) + r" \\"
        if number == 0:
            yield r"\hline"
    yield from (r"\hline", r"\end{tabular}", r"\end{center}")


def _cell(content: Sequence[Inline]) -> str:
    """A cell; braces keep a `[` from being read as an option of the row before."""
    return "{" + _inline(content) + "}"


# ---------------------------------------------------------------------------- parts


def _asked(part: Part, labels: _Labels) -> Iterator[str]:
    word = labels.point if part.points == 1 else labels.points
    points = f"{part.points:g}".replace(".", labels.mark)
    yield rf"\item {_inline(part.prompt)} ({points} {word})"
    match part:
        case NumberEntry(unit=unit):
            yield rf"\par\underline{{\hspace{{6em}}}}~{latex_text(unit)}"
        case Choice(options=options) | Ordering(entries=options):
            yield from _options(sorted(options, key=lambda option: option.identifier))
        case Matching(sources=sources, targets=targets):
            yield from _options(sources)
            yield from _options(targets)


def _options(options: Sequence[Option]) -> Iterator[str]:
    yield r"\begin{itemize}"
    yield from (_option(option) for option in options)
    yield r"\end{itemize}"


def _option(option: Option) -> str:
    return rf"\item[{{{latex_text(option.identifier)}}}] {_inline(option.content)}"


def _key(part: Part, labels: _Labels) -> Iterator[str]:
    match part:
        case NumberEntry():
            yield from _entry(part, labels)
        case Choice(options=options):
            right = [latex_text(option.identifier) for option in options if option.correct]
            yield rf"\item {', '.join(right) or chr(0x2D)}"
            yield from _reasons(options)
        case Ordering(entries=entries):
            yield rf"\item {', '.join(latex_text(entry.identifier) for entry in entries)}"
        case Matching(pairs=pairs):
            told = [rf"{latex_text(a)} \(\to\) {latex_text(b)}" for a, b in pairs]
            yield rf"\item {', '.join(told)}"


def _entry(part: NumberEntry, labels: _Labels) -> Iterator[str]:
    band = part.tolerance
    ends = (number_text(end).replace(".", labels.mark) for end in (band.low, band.high))
    between = " \N{EN DASH} ".join(ends)
    accepted = latex_text(f"({labels.accepted}: {between}; {band.stated})")
    yield rf"\item \textbf{{{latex_text(part.key_shown)}}} {accepted}"
    if not part.wrong_values:
        return
    yield r"\begin{itemize}"
    for wrong in part.wrong_values:
        number = wrong_number_text(part, wrong).replace(".", labels.mark)
        yield rf"\item {latex_text(with_unit(number, part.unit))}: {_inline(wrong.feedback)}"
    yield r"\end{itemize}"


def _reasons(options: Sequence[Option]) -> Iterator[str]:
    """What is said to those who choose wrongly."""
    told = [option for option in options if option.feedback]
    if told:
        yield r"\begin{itemize}"
        for option in told:
            yield rf"\item[{{{latex_text(option.identifier)}}}] {_inline(option.feedback)}"
        yield r"\end{itemize}"
