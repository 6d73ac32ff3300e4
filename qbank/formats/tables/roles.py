"""What the columns of a table hold: by what users say, by their headers, then by their cells."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from qbank.audit.reading.quantities import read_number
from qbank.audit.reading.unit_text import read_unit
from qbank.errors import QbankError
from qbank.place import Place

# role: what it is, for people; a role may be followed by a number, for parts and options
ROLES = {
    "id": "identifier of the item",
    "title": "title",
    "stem": "the question",
    "prompt": "what a part asks",
    "key": "the right answer",
    "unit": "unit of the answer",
    "tolerance": "accepted deviation, as a number or with %",
    "percent": "accepted deviation in per cent",
    "low": "least accepted number",
    "high": "greatest accepted number",
    "option": "an option to choose",
    "options": "all options in one cell",
    "correct": "which option is right",
    "feedback": "feedback or solution",
    "part": "identifier of the part",
    "points": "points",
    "type": "kind of question",
    "family": "family the item was made from",
    "version": "version of that family",
    "digest": "digest of that family",
    "case": "case of that family",
    "seed": "seed it was drawn with",
    "index": "number under that seed",
    "picture": "picture",
    "language": "language",
    "ignored": "not read",
}

_WORDS: dict[str, str] = {
    "id": "id|item id|itemid|question id|questionid|identifier|ident|item|nr|no|number|item no"
    "|question no|question number|qid|code|ref|reference|kennung|nummer|numero|frage nr"
    "|aufgabe nr|item number|name|item name|key id",
    "title": "title|titel|titre|heading|titulo",
    "stem": "stem|question|question text|questiontext|text|stem html|stem text|problem|task"
    "|item text|problem text|prompt|question stem|wording|body|frage|fragetext|aufgabe|aufgabentext"
    "|enonce|pregunta|enunciado|domanda|vraag|quesito|problem statement|statement",
    "key": "key|answer|correct answer|right answer|answer key|solution value|value|result"
    "|correct value|expected|expected answer|numeric answer|final answer|ans|antwort|losung"
    "|ergebnis|richtige antwort|reponse|bonne reponse|respuesta|risposta|antwoord|schlussel"
    "|solution|correct response|key value|answer value|expected value|numerical answer|cle",
    "unit": "unit|units|answer unit|answer units|unit of answer|einheit|unite|unidad|unita"
    "|key unit",
    "tolerance": "tolerance|tol|margin|error|accepted error|abs tolerance|absolute tolerance"
    "|answer tolerance|toleranz|tolerancia|deviation|plus minus|allowed error|margin of error",
    "percent": "percent tolerance|tolerance percent|tolerance pct|tol percent|relative tolerance"
    "|rel tolerance|toleranz prozent|percent error|tolerance in percent|pct tolerance|tol pct",
    "low": "low|lower|min|minimum|lower bound|least|tolerance low|from|answer min|accepted min"
    "|untergrenze|key low|min answer|lower limit",
    "high": "high|upper|max|maximum|upper bound|greatest|tolerance high|answer max|accepted max"
    "|obergrenze|key high|max answer|upper limit",
    "option": "option|choice|alternative|distractor|opt|opcion|wrong answer"
    "|incorrect answer|auswahl",
    "options": "options|choices|alternatives|answers|answer options|answer choices|possible answers"
    "|antworten|auswahlmoglichkeiten|optionen|opciones|options html|reponses",
    "correct": "correct|correct option|correct choice|correct letter|correct index|right option"
    "|key letter|key option|answer letter|correct answers|richtig|correcte|correct answer letter"
    "|correct answer index|correct answer number|richtige option|right|answer index",
    "feedback": "feedback|explanation|rationale|general feedback|worked solution|solution text"
    "|solution html|comment|hint|erklarung|ruckmeldung|explication|full solution|losungsweg",
    "part": "part|part id|subpart|sub question|subquestion|teil|partie|sub part|question part",
    "points": "points|point|marks|mark|score|weight|punkte|max score|credits|max points|puntos",
    "type": "type|question type|item type|kind|typ|fragetyp|format|tipo|category type",
    "family": "family|family id|template|template id|familie",
    "version": "family version|template version",
    "digest": "family digest",
    "case": "case",
    "seed": "seed|random seed",
    "index": "index|instance|instance index",
    "picture": "picture|image|figure|img|image url|image file|diagram|bild|abbildung|media",
    "language": "lang|language|sprache|langue",
    "ignored": "pool|subject|level|licence|license|author|authors|objectives|topic|chapter|tags|tag"
    "|difficulty|date|created|modified|status|section|category|caution|source|thema|kapitel",
}  # fmt: skip
_BY_WORD = {word: role for role, words in _WORDS.items() for word in words.split("|")}
_NUMBERED = frozenset({
    "key", "unit", "tolerance", "percent", "low", "high", "option", "prompt", "points", "correct",
    "feedback", "type", "options",
})  # fmt: skip
_SUFFIX = re.compile(r"(?P<word>.+?) ?(?P<mark>[0-9]{1,2}|(?<= )[a-j])$")
_PART_FIRST = re.compile(r"(?:part|teil|subpart) ?(?P<mark>[0-9]{1,2}|[a-j]) (?P<word>.+)$")
_UNIT_IN_HEADER = re.compile(
    r"[(\[]\s?(?:in )?([^()\[\]]{1,24}(?:\([^()]{1,12}\))?)[)\]]|\bin (\S{1,12})$"
)
_LETTER = re.compile(r"[A-Ja-j]|[0-9]")


@dataclass(frozen=True, slots=True)
class Column:
    """A column: position from 0, header, role, number of its part or option, and why.

    `unit` is the unit its header states, as "N" in "answer (N)".
    """

    at: int
    header: str
    role: str = ""
    mark: str = ""
    why: str = ""
    unit: str = ""

    def says(self) -> str:
        """A sentence on what the column was taken for."""
        name = f"column {self.at + 1}" + (f" '{self.header}'" if self.header else "")
        if not self.role:
            return f"{name}: not used, nothing says what it is"
        of = f" ({self.mark})" if self.mark else ""
        return f"{name}: {ROLES[self.role]}{of}, {self.why}"


@dataclass(slots=True)
class _Facts:
    """What the cells of a column are like."""

    filled: float = 0.0
    numeric: float = 0.0
    units: float = 0.0
    letters: float = 0.0
    length: float = 0.0
    distinct: float = 0.0
    rising: bool = False  # whole numbers, each more than the one before
    sequence: bool = False
    values: list[str] = field(default_factory=list)


def normal(header: str) -> str:
    """A header in small letters without accents and marks; "CorrectAnswer_1" is two words and 1."""
    text = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", header[:200])
    text = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("%", " percent "))
    text = "".join(sign for sign in text if not unicodedata.combining(sign)).lower()
    return " ".join(re.findall(r"[a-z0-9]+", text))


def has_header(rows: Sequence[Sequence[str]]) -> bool:
    """Whether the first record names the columns."""
    first = [cell.strip() for cell in rows[0]]
    if any(len(cell) > 120 for cell in first):
        return False
    if any(_of_header(cell)[0] for cell in first):
        long = any(len(cell) > 60 for cell in first)
        numbers = sum(_is_number(cell) and not _of_header(cell)[0] for cell in first)
        return not long and numbers * 2 <= len(first)
    if len(rows) < 2 or any(map(_is_number, first)):
        return False
    later = rows[1 : 1 + 20]
    for at, cell in enumerate(first):
        below = [row[at].strip() for row in later if at < len(row) and row[at].strip()]
        if below and all(map(_is_number, below)) and cell:
            return True
    return False


def columns_of(
    header: Sequence[str] | None,
    rows: Sequence[Sequence[str]],
    named: Mapping[str, str] | None,
    path: str,
) -> list[Column]:
    """The columns with their roles. `rows` are a sample without the header.

    Raises QbankError where `named` says a role or a column that does not exist.
    """
    width = max((len(row) for row in (header or [], *rows)), default=0)
    names = [*(header or []), *[""] * width][:width]
    columns = [Column(at, name.strip()) for at, name in enumerate(names)]
    fixed = _named(columns, named or {}, path)
    for at, column in fixed.items():
        columns[at] = column
    taken = {column.role for column in fixed.values() if column.role != "ignored"}
    if header is not None:
        _by_header(columns, fixed, taken)
    facts = [_facts([row[at] for row in rows if at < len(row)]) for at in range(width)]
    _option_letters(columns)
    _options_or_parts(columns, facts)
    _by_cells(columns, facts)
    return columns


def _named(columns: list[Column], named: Mapping[str, str], path: str) -> dict[int, Column]:
    found: dict[int, Column] = {}
    for role, wanted in named.items():
        word, _, mark = role.strip().lower().partition(" ")
        if word not in ROLES:
            raise QbankError(
                f"a table has no columns of the kind {role!r}",
                place=Place(path, 1, 1),
                hint=f"the kinds are {', '.join(ROLES)}; parts and options are numbered: 'key 2'",
            )
        text = str(wanted).strip()
        fits = [column for column in columns if column.header == text]
        fits = fits or [c for c in columns if c.header and normal(c.header) == normal(text)]
        if not fits and text.isascii() and text.isdecimal() and len(text) < 5:
            fits = [column for column in columns if column.at == int(text) - 1]
        if len(fits) != 1:
            heads = ", ".join(f"{c.at + 1} '{c.header}'" for c in columns[:40])
            said = "no column" if not fits else "several columns"
            raise QbankError(
                f"{said} {text!r} for {ROLES[word]}",
                place=Place(path, 1, 1),
                hint=f"name one by its header or its number; there are {heads}",
            )
        at = fits[0].at
        found[at] = replace(
            fits[0], role=word, mark=mark, why="as you say", unit=_header_unit(fits[0].header, word)
        )
    return found


def _of_header(header: str) -> tuple[str, str]:
    """The role and the number that a header says; empty where it says none."""
    word = normal(header)
    if not word:
        return ("id", "") if header.strip() in ("#", "№") else ("", "")
    if word in _BY_WORD:
        return _BY_WORD[word], ""
    bare = normal(re.sub(r"[(\[][^)\]]{0,40}[)\]]|\bin \S{1,12}$", " ", header))
    if bare in _BY_WORD:
        return ("percent", "") if _BY_WORD[bare] == "tolerance" and "percent" in word else (
            _BY_WORD[bare], "")  # fmt: skip
    for text in (word, bare):
        if first := _PART_FIRST.match(text):
            role, _ = _of_header(first["word"].removesuffix(" html"))
            role = "prompt" if role == "stem" else role
            return (role, first["mark"]) if role else ("", "")
        if last := _SUFFIX.match(text):
            role = _BY_WORD.get(last["word"].strip(), "")
            if role in _NUMBERED:
                return role, last["mark"]
    return "", ""


def _header_unit(header: str, role: str) -> str:
    if role not in ("key", "option"):
        return ""
    match = _UNIT_IN_HEADER.search(header)
    text = (match[1] or match[2]) if match else ""
    return text.strip() if text and read_unit(text) is not None else ""


def _by_header(columns: list[Column], fixed: Mapping[int, Column], taken: set[str]) -> None:
    seen: set[tuple[str, str]] = set()
    for at, column in enumerate(columns):
        if at in fixed:
            continue
        role, mark = _of_header(column.header)
        if not role or (role in taken and role not in ("option",)):
            continue
        if (role, mark) in seen and role != "option":
            continue
        seen.add((role, mark))
        unit = _header_unit(column.header, role)
        columns[at] = replace(column, role=role, mark=mark, why="by its header", unit=unit)
    roles = {column.role for column in columns}
    if "stem" not in roles:  # a lone prompt is the question
        for at, column in enumerate(columns):
            if column.role == "prompt" and not column.mark:
                columns[at] = replace(column, role="stem")


def _option_letters(columns: list[Column]) -> None:
    """Columns headed A, B, C … hold options."""
    run = [c for c in columns if not c.role and re.fullmatch(r"[A-Ja-j]", c.header)]
    letters = [column.header.lower() for column in run]
    if len(run) >= 2 and letters == list("abcdefghij"[: len(run)]):
        for column in run:
            columns[column.at] = replace(
                column, role="option", mark=column.header.lower(), why="by its header, a letter"
            )


def _options_or_parts(columns: list[Column], facts: list[_Facts]) -> None:
    """Numbered answers are options where another column says which is right, else parts."""
    answers = [column for column in columns if column.role == "key" and column.mark]
    lone = [column for column in columns if column.role == "key" and not column.mark]
    correct = [column for column in columns if column.role == "correct"]
    options = any(column.role in ("option", "options") for column in columns)
    if len(answers) >= 2 and (correct or (lone and not options)):
        for column in answers:
            columns[column.at] = replace(column, role="option", why=column.why + ", beside a key")
        options = True
    if correct and not options and not lone and not answers:
        for column in correct:  # "correct" without options is the key
            columns[column.at] = replace(column, role="key")
    if lone and options and not correct:
        for column in lone:
            columns[column.at] = replace(column, role="correct")
    if lone and options and correct and not facts[correct[0].at].filled:
        columns[correct[0].at] = replace(correct[0], role="")


def _is_number(text: str) -> bool:
    """Whether a cell is a number, with a unit and a word or two at most."""
    if len(text) > 40:
        return False
    found = read_number(text)
    return found is not None and len(text) - (found.end - found.start) <= 12


def _facts(cells: Sequence[str]) -> _Facts:
    values = [cell.strip() for cell in cells]
    filled = [value for value in values if value]
    facts = _Facts(values=filled)
    if not filled:
        return facts
    count = len(filled)
    facts.filled = count / max(len(values), 1)
    facts.numeric = sum(map(_is_number, filled)) / count
    facts.units = (
        sum(
            len(value) <= 20 and value[0].isalpha() and read_unit(value) is not None
            for value in filled
        )
        / count
    )
    facts.letters = sum(_LETTER.fullmatch(value) is not None for value in filled) / count
    facts.length = sum(map(len, filled)) / count
    facts.distinct = len(set(filled)) / count
    plain = [int(value) for value in filled if value.isascii() and value.isdecimal()
             and len(value) < 10]  # fmt: skip
    facts.rising = len(plain) == count and all(a < b for a, b in pairwise(plain))
    facts.sequence = facts.rising and all(b - a == 1 for a, b in pairwise(plain))
    return facts


def _names_items(facts: _Facts, *, before_stem: bool) -> bool:
    """Whether cells are short and never alike: names, or numbers that only count."""
    if facts.distinct < 1 or facts.length > 32 or len(facts.values) < 2:
        return False
    return facts.sequence or facts.numeric < 0.5 or (facts.rising and before_stem)


def _by_cells(columns: list[Column], facts: list[_Facts]) -> None:
    """Roles of what no header says, by what the cells are like."""

    def roles() -> set[str]:
        return {column.role for column in columns}

    def free() -> list[int]:
        return [at for at, column in enumerate(columns) if not column.role and facts[at].filled]

    def give(at: int, role: str, why: str, mark: str = "") -> None:
        columns[at] = replace(columns[at], role=role, why=why, mark=mark)

    if "stem" not in roles():
        texts = [at for at in free() if facts[at].length >= 12 and facts[at].numeric < 0.5]
        if texts:
            give(max(texts, key=lambda at: facts[at].length), "stem", "the longest text")
    if not roles() & {"id"}:
        stem = next((column.at for column in columns if column.role == "stem"), -1)
        short = [at for at in free()[:1] if _names_items(facts[at], before_stem=at < stem)]
        if short and len(free()) > 1:
            give(short[0], "id", "short and never twice the same")
    if not roles() & {"key", "correct"}:
        stem = next((c.at for c in columns if c.role == "stem"), -1)
        letters = [at for at in free() if facts[at].letters == 1 and not facts[at].sequence
                   and any(value.isalpha() for value in facts[at].values)]  # fmt: skip
        if letters and len([at for at in free() if at != letters[-1] and at > stem]) >= 2:
            right = letters[-1]
            give(right, "correct", "letters that pick an option")
            if not roles() & {"option", "options"}:
                for n, at in enumerate(a for a in free() if a > stem):
                    give(at, "option", "one of several beside a letter", "abcdefghij"[n % 10])
        else:
            numbers = [at for at in free() if facts[at].numeric >= 0.6 and not facts[at].sequence]
            if numbers:
                best = max(numbers, key=lambda at: (round(facts[at].distinct, 1), -at))
                give(best, "key", "numbers that vary")
    if "unit" not in roles() and "key" in roles():
        units = [at for at in free() if facts[at].units >= 0.8]
        if units:
            give(units[0], "unit", "every cell is a unit")
