"""What goes to paper: question sheets, answer sheets and the marking guide of some forms."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from qbank.item import Choice, Matching, NumberEntry, Ordering
from qbank.proof.asked import letter, lettered
from qbank.proof.forms import Asked, Form, Question
from qbank.proof.keyed import accepted, order_text, pairs_text, wrong_value
from qbank.proof.markup import blocks, inline
from qbank.proof.text import attribute, escape, points_text
from qbank.proof.words import SheetWords, words_for
from qbank.rendering.plain import number_text

# ---------------------------------------------------------------------------- questions


def question_sheets(title: str, forms: Sequence[Form]) -> Iterator[str]:
    """One question sheet a form."""
    for form in forms:
        words = _words(form)
        yield _opening(title, form, f"{words.form} {form.letter}", words)
        yield f'<p class="note">{escape(words.use_answer_sheet)}</p>'
        for question in form.questions:
            yield _question(question, words)
        yield "</section>\n"


def _opening(title: str, form: Form, what: str, words: SheetWords) -> str:
    points = _points(form.points, words)
    return (
        f'<section class="form form-{form.letter}" lang="{attribute(_language(form))}">'
        f'<header class="sheet-head"><h3>{escape(title)}</h3><p class="which">{escape(what)}</p>'
        f"<p>{points}</p></header>"
    )


def _question(question: Question, words: SheetWords) -> str:
    item = question.item
    caution = (
        f'<p class="caution"><strong>{escape(words.caution)}.</strong> {escape(item.caution)}</p>'
        if item.caution
        else ""
    )
    parts = "".join(
        f'<li class="sheet-part"><p class="prompt">{inline(asked.part.prompt)} '
        f'<span class="points">({_points(asked.part.points, words)})</span></p>'
        f"{_options(asked)}</li>"
        for asked in question.parts
    )
    return (
        f'<article class="question"><h4>{escape(words.question)} {question.number}</h4>'
        f'<div class="stem">{blocks(item.stem)}</div><ol class="parts">{parts}</ol>{caution}'
        "</article>\n"
    )


def _options(asked: Asked) -> str:
    listed = "".join(
        f"<li>{lettered(letter(place), option)}</li>" for place, option in enumerate(asked.options)
    )
    options = f'<ul class="options">{listed}</ul>' if listed else ""
    if isinstance(asked.part, Matching):
        sources = "".join(
            f"<li>{lettered(str(place), source)}</li>"
            for place, source in enumerate(asked.part.sources, 1)
        )
        return f'<div class="match"><ul class="options">{sources}</ul>{options}</div>'
    return options


# ---------------------------------------------------------------------------- answers


def answer_sheets(title: str, forms: Sequence[Form]) -> Iterator[str]:
    """A sheet to fill in: one for all forms where it would be the same, else one a form."""
    bodies = [_answers(form) for form in forms]
    if len(set(bodies)) == 1:
        words = _words(forms[0])
        boxes = " ".join(f'<span class="box">{form.letter}</span>' for form in forms)
        which = f"{escape(words.form)} {boxes}" if len(forms) > 1 else f"{words.form} A"
        yield _answer_sheet(title, which, bodies[0], forms[0], "form")
        return
    for form, body in zip(forms, bodies, strict=True):
        which = f"{escape(_words(form).form)} {form.letter}"
        yield _answer_sheet(title, which, body, form, f"form form-{form.letter}")


def _answer_sheet(title: str, which: str, body: str, form: Form, kind: str) -> str:
    words = _words(form)
    return (
        f'<section class="{kind}" lang="{attribute(_language(form))}">'
        f'<header class="sheet-head"><h3>{escape(title)}</h3><p class="which">{which}</p></header>'
        f'<p class="write">{escape(words.name)} <span class="line long"></span> '
        f'{escape(words.date)} <span class="line"></span></p>{body}</section>\n'
    )


def _answers(form: Form) -> str:
    words = _words(form)
    rows = []
    for question in form.questions:
        for number_, asked in enumerate(question.parts, 1):
            points = _points(asked.part.points, words)
            rows.append(
                f'<tr><th scope="row">{question.number}.{number_}</th><td>{_to_fill(asked)}</td>'
                f'<td class="points">{points}</td></tr>'
            )
    heads = "".join(
        f'<th scope="col">{escape(head)}</th>'
        for head in (words.question, words.answer, words.points)
    )
    return (
        f'<table class="answers"><thead><tr>{heads}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


def _to_fill(asked: Asked) -> str:
    part = asked.part
    letters = [letter(place) for place in range(len(asked.options))]
    match part:
        case NumberEntry():
            return f'<span class="line long"></span> {escape(part.unit)}'
        case Choice():
            return " ".join(f'<span class="box">{mark}</span>' for mark in letters)
        case Ordering():
            return " ".join(
                f'{place}. <span class="box"></span>' for place in range(1, len(letters) + 1)
            )
        case Matching():
            return " ".join(
                f'{place} – <span class="box"></span>' for place in range(1, len(part.sources) + 1)
            )


# ---------------------------------------------------------------------------- marking


def marking_guides(title: str, forms: Sequence[Form]) -> Iterator[str]:
    """Keys, accepted bands, points and telling wrong answers, form by form."""
    for form in forms:
        words = _words(form)
        yield _opening(title, form, f"{words.marking_guide}, {words.form} {form.letter}", words)
        heads = "".join(
            f'<th scope="col">{escape(head)}</th>'
            for head in (words.question, words.key, words.accepted)
        )
        heads += f'<th scope="col" class="number">{escape(words.points)}</th>'
        yield f'<div class="scroll"><table class="marking"><thead><tr>{heads}</tr></thead>'
        for question in form.questions:
            for number_, asked in enumerate(question.parts, 1):
                yield _marking(f"{question.number}.{number_}", asked, words)
        total = words.number(number_text(form.points))
        yield (
            f'<tbody><tr><th scope="row" colspan="3">{escape(words.total)}</th>'
            f'<td class="number">{total}</td></tr></tbody></table></div></section>\n'
        )


def _marking(label: str, asked: Asked, words: SheetWords) -> str:
    """One part: a group of rows that stays together on a page."""
    part = asked.part
    band, below = "", ""
    match part:
        case NumberEntry():
            key = "–" if math.isnan(part.key) else f"<strong>{escape(part.key_shown)}</strong>"
            stated = f" ({escape(part.tolerance.stated)})" if part.tolerance.stated else ""
            band = f"{escape(accepted(part, words))}{stated}"
            told = "; ".join(
                f"{escape(wrong_value(part, w, words))} ({escape(w.slip)})"
                for w in part.wrong_values
            )
            below = f"{escape(words.slips)}: {told}" if told else ""
        case Choice():
            right = [
                (letter(k), option) for k, option in enumerate(asked.options) if option.correct
            ]
            listed = "".join(f"<li>{lettered(mark, option)}</li>" for mark, option in right)
            key = f'<ul class="right">{listed}</ul>' if listed else "–"
            told = ", ".join(
                f"{letter(k)} ({escape(option.slip)})"
                for k, option in enumerate(asked.options)
                if option.slip
            )
            below = f"{escape(words.slips)}: {told}" if told else ""
        case Ordering():
            key = f"<strong>{order_text(part, asked.options)}</strong>"
            band = escape(words.share if part.partial else words.all_or_none)
        case Matching():
            key = f"<strong>{pairs_text(part, asked.options)}</strong>"
            band = escape(words.share if part.partial else words.all_or_none)
    points = words.number(number_text(part.points))
    if below:
        below = f'<tr class="told"><td></td><td colspan="3">{below}</td></tr>'
    return (
        f'<tbody class="together"><tr><th scope="row">{label}</th><td>{key}</td>'
        f'<td class="band">{band}</td><td class="number">{points}</td></tr>'
        f"{below}</tbody>"
    )


def _points(points: float, words: SheetWords) -> str:
    return escape(words.number(points_text(points, words.point, words.points)))


def _language(form: Form) -> str:
    return form.questions[0].item.language if form.questions else "en"


def _words(form: Form) -> SheetWords:
    return words_for(_language(form))
