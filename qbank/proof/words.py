"""The words on sheets for paper, by language; a student reads them beside the item's own."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SheetWords:
    form: str
    question: str
    answer: str
    point: str
    points: str
    name: str
    date: str
    caution: str
    use_answer_sheet: str
    marking_guide: str
    key: str
    accepted: str
    slips: str
    total: str
    share: str
    all_or_none: str
    to: str
    mark: str = "."

    def number(self, text: str) -> str:
        """A number with a decimal point as the language writes it."""
        return text.replace(".", self.mark)


ENGLISH = SheetWords(
    form="Form",
    question="Question",
    answer="Answer",
    point="point",
    points="points",
    name="Name",
    date="Date",
    caution="Caution",
    use_answer_sheet="Write your answers on the answer sheet, and mark this form's letter there.",
    marking_guide="Marking guide",
    key="Key",
    accepted="Accepted",
    slips="Wrong answers that tell their mistake",
    total="Total",
    share="a share for each right one",
    all_or_none="all or none",
    to="to",
)

GERMAN = SheetWords(
    form="Variante",
    question="Aufgabe",
    answer="Antwort",
    point="Punkt",
    points="Punkte",
    name="Name",
    date="Datum",
    caution="Vorsicht",
    use_answer_sheet=(
        "Schreiben Sie Ihre Antworten auf das Antwortblatt und kreuzen Sie dort den Buchstaben "
        "dieser Variante an."
    ),
    marking_guide="Bewertungsschlüssel",
    key="Lösung",
    accepted="Anerkannt",
    slips="Falsche Antworten, die ihren Fehler verraten",
    total="Summe",
    share="anteilig für jede richtige",
    all_or_none="ganz oder gar nicht",
    to="bis",
    mark=",",
)

WORDS = {"en": ENGLISH, "de": GERMAN}


def words_for(language: str) -> SheetWords:
    """The words of a language tag such as "en-GB"; English where there are none."""
    return WORDS.get(language.partition("-")[0].lower(), ENGLISH)
