"""What the header of a column says that it holds, in several languages."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from qbank.audit.reading.unit_text import read_unit

# role: what it is, for people; a role may be followed by a number, for parts and options
ROLES = {
    "id": "identifier of the item",
    "title": "title",
    "stem": "the question",
    "prompt": "what a part asks",
    "key": "the right answer",
    "unit": "unit of the answer",
    "tolerance": "accepted deviation, as a number or with %, or the accepted range",
    "percent": "accepted deviation in per cent",
    "low": "least accepted number",
    "high": "greatest accepted number",
    "option": "an option to choose",
    "wrong": "a wrong option, beside the right one",
    "credit": "what an option earns",
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
    "|aufgabe nr|item number|name|item name|key id|exercise|exercise no|exercise number"
    "|problem number|problem no|frage id|id frage|aufgaben id|aufgabe id|fragen nr|num"
    "|numero de question|exo",
    "title": "title|titel|titre|heading|titulo",
    "stem": "stem|question|question text|questiontext|text|stem html|stem text|problem|task"
    "|item text|problem text|prompt|question stem|wording|body|frage|fragetext|aufgabe"
    "|aufgabentext|enonce|pregunta|enunciado|domanda|vraag|quesito|problem statement|statement"
    "|question html|question body|item stem|fragestellung|aufgabenstellung|question content"
    "|content|q|question prompt|fragentext|intitule|question complete|texto|testo"
    "|testo della domanda|texto de la pregunta",
    "key": "key|answer|accepted answers|accepted answer|acceptable answers|accepted values"
    "|correct answer|right answer|answer key|solution value|value|result|correct value|expected"
    "|expected answer|numeric answer|final answer|ans|antwort|losung|ergebnis|richtige antwort"
    "|reponse|bonne reponse|respuesta|risposta|antwoord|schlussel|solution|correct response"
    "|key value|answer value|expected value|numerical answer|cle|model answer|sample answer"
    "|musterlosung|korrekte antwort|true answer|true value|blank|gap|lucke|soln|sol"
    "|respuesta correcta|reponse correcte|reponse attendue|risposta corretta|juiste antwoord"
    "|correct numerical answer|resultat|resultado",
    "unit": "unit|units|answer unit|answer units|unit of answer|einheit|unite|unidad|unita"
    "|key unit|unit of measurement|unites|unidades|einheiten",
    "tolerance": "tolerance|tol|margin|error|accepted error|abs tolerance|absolute tolerance"
    "|answer tolerance|toleranz|tolerancia|deviation|plus minus|allowed error|margin of error"
    "|accept|accepted|accepted range|acceptable range|range|tolerance range|abweichung"
    "|erlaubte abweichung|zulassige abweichung|toleranzbereich|ecart|marge|tolleranza|band"
    "|accepted band",
    "percent": "percent tolerance|tolerance percent|tolerance pct|tol percent"
    "|relative tolerance|rel tolerance|toleranz prozent|percent error|tolerance in percent"
    "|pct tolerance|tol pct",
    "low": "low|lower|min|minimum|lower bound|least|tolerance low|from|answer min|accepted min"
    "|untergrenze|key low|min answer|lower limit",
    "high": "high|upper|max|maximum|upper bound|greatest|tolerance high|answer max|accepted max"
    "|obergrenze|key high|max answer|upper limit",
    "option": "option|answer option|answer choice|option text|choice text|possible answer"
    "|choice|alternative|opt|opcion|auswahl|antwortoption|antwortmoglichkeit",
    "wrong": "distractor|distraktor|wrong answer|incorrect answer|wrong option|incorrect option"
    "|wrong|incorrect|false answer|falsche antwort|wrong choice|mauvaise reponse|distractors"
    "|distraktoren|wrong answers|incorrect answers|falsche antworten",
    "options": "options|choices|alternatives|answers|answer options|answer choices"
    "|possible answers|antworten|auswahlmoglichkeiten|optionen|opciones|options html|reponses"
    "|antwortmoglichkeiten|antwortoptionen|option list|answer list|propositions|opzioni",
    "correct": "correct|correct option|correct choice|correct letter|correct index|right option"
    "|key letter|key option|answer letter|correct answers|richtig|correcte"
    "|correct answer letter|correct answer index|correct answer number|richtige option|right"
    "|answer index|letter|right letter|correct answer nr|correct answer no|richtige antwort nr"
    "|nummer der richtigen antwort",
    "credit": "credit|fraction|is correct|option score|option grade|grade|bewertung|gewichtung"
    "|anteil|wertung|poids",
    "feedback": "feedback|explanation|rationale|general feedback|worked solution|solution text"
    "|solution html|comment|hint|erklarung|ruckmeldung|explication|full solution|losungsweg"
    "|comments|notes|note|grader notes|marking notes|rubric|working|workings|bemerkung"
    "|kommentar|hinweis",
    "part": "part|part id|subpart|sub question|subquestion|teil|partie|sub part|question part",
    "points": "pts|punktzahl|points|point|marks|mark|score|weight|punkte|max score|credits"
    "|max points|puntos|bareme|note max|puntaje|punteggio",
    "type": "type|question type|item type|kind|typ|fragetyp|format|tipo|category type",
    "family": "family|family id|template|template id|familie",
    "version": "family version|template version",
    "digest": "family digest",
    "case": "case",
    "seed": "seed|random seed",
    "index": "index|instance|instance index",
    "picture": "picture|image|figure|img|image url|image file|diagram|bild|abbildung|media",
    "language": "lang|language|sprache|langue",
    "ignored": "pool|subject|level|licence|license|author|authors|objectives|topic|chapter|tags"
    "|tag|difficulty|date|created|modified|status|section|category|caution|source|thema|kapitel"
    "|datum|autor|schwierigkeit|niveau|keywords|last change|last modified|owner|exam|week"
    "|lesson|kategorie|categorie|sig figs|significant figures|figures|chapitre|remark|usage"
    "|review status|version no",
}  # fmt: skip
_BY_WORD = {word: role for role, words in _WORDS.items() for word in words.split("|")}
_NUMBERED = frozenset({
    "key", "unit", "tolerance", "percent", "low", "high", "option", "prompt", "points", "correct",
    "feedback", "type", "options", "wrong", "credit",
})  # fmt: skip
_SUFFIX = re.compile(r"(?P<word>.+?) ?(?P<mark>[0-9]{1,2}|(?<= )[a-j])$")
_PART_FIRST = re.compile(
    r"(?P<what>part|teil|subpart|answer|antwort|reponse|blank|gap|lucke|option|choice|alternative"
    r"|opt) ?(?P<mark>[0-9]{1,2}|[a-j]) (?P<word>.+)$"
)
_OPTIONS = ("option", "choice", "alternative", "opt")
_EARNED = frozenset({
    "credit", "fraction", "grade", "is correct", "correct", "right", "is right", "true", "points",
    "score", "weight", "percent", "pct", "share", "richtig", "punkte", "bewertung", "mark", "marks",
})  # fmt: skip
_LONE_MARK = re.compile(r"[(\[]\s?(?:part\s)?([A-Ja-j]|[0-9]{1,2})\s?[)\]]")
# Words of a long header that no list has, such as "How far off may the answer be?".
_LOOSE = {
    "feedback": "feedback explanation explanations explain rationale comment comments notes remarks"
    " hint hints erklarung ruckmeldung kommentar losungsweg explication",
    "tolerance": "tolerance tol toleranz tolerated deviation abweichung accepted accept margin"
    " tolerancia tolleranza ecart off",
    "unit": "unit units einheit einheiten unite unidad",
    "options": "options choices alternatives antwortmoglichkeiten antwortoptionen",
    "key": "answer key solution result losung ergebnis antwort reponse respuesta risposta",
    "stem": "question problem stem frage aufgabe pregunta enonce domanda vraag",
}
_UNIT_IN_HEADER = re.compile(
    r"[(\[]\s?(?:in )?([^()\[\]]{1,24}(?:\([^()]{1,12}\))?)[)\]]|\bin (\S{1,12})$"
)


def normal(header: str) -> str:
    """A header in small letters without accents and marks; "CorrectAnswer_1" is two words and 1."""
    text = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", header[:200])
    text = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("%", " percent "))
    text = "".join(sign for sign in text if not unicodedata.combining(sign)).lower()
    return " ".join(re.findall(r"[a-z0-9]+", text))


def listed_marks(headers: Sequence[str]) -> frozenset[str]:
    """The headers that differ in nothing but "(a)", "(b)" and so on at their ends, so that these
    are no units."""
    found: dict[str, dict[str, str]] = {}
    for header in headers:
        if match := _LONE_MARK.search(header):
            bare = normal(header[: match.start()] + " " + header[match.end() :])
            found.setdefault(bare, {})[match[1].lower()] = header
    out: set[str] = set()
    for marks in found.values():
        first = sorted(marks)
        if len(first) >= 2 and first in (
            list("abcdefghij"[: len(first)]),
            [str(n + 1) for n in range(len(first))],
        ):
            out |= set(marks.values())
    return frozenset(out)


def of_header(header: str, *, listed: bool = False) -> tuple[str, str]:
    """The role and the number that a header says; empty where it says none.

    `listed` says that a letter in brackets tells it from its neighbours; see `listed_marks`.
    """
    if listed:
        header = _LONE_MARK.sub(r" \1 ", header)
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
            if first["what"] in (*_OPTIONS, "answer", "antwort") and first["word"] in _EARNED:
                return "credit", first["mark"]
            role, _ = of_header(first["word"].removesuffix(" html"))
            role = "prompt" if role == "stem" else role
            if first["what"] in _OPTIONS and role == "stem":
                role = "option"
            return (role, first["mark"]) if role else ("", "")
        if last := _SUFFIX.match(text):
            role = _BY_WORD.get(last["word"].strip(), "")
            if role in _NUMBERED:
                return role, last["mark"]
    return "", ""


def loosely(header: str) -> tuple[str, ...]:
    """What a header that is no name of a column may mean by its words, the likeliest first."""
    words = set(normal(header).split())
    return tuple(role for role, said in _LOOSE.items() if words & set(said.split()))


def header_unit(header: str, role: str) -> str:
    """The unit that the header of a key or an option states."""
    if role not in ("key", "option"):
        return ""
    match = _UNIT_IN_HEADER.search(header)
    text = (match[1] or match[2]) if match else ""
    return text.strip() if text and read_unit(text) is not None else ""
