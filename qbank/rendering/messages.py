"""All words the tool itself says in an item, by language; an author's words are in the family.

A message is a pattern whose {fields} are filled with text or formulas.
"""

from __future__ import annotations

from dataclasses import dataclass

from qbank.expressions.formula_writer import Words


@dataclass(frozen=True, slots=True)
class Messages:
    """One language. Fields named `..._one` serve a count of one."""

    words: Words
    # prompts
    calculate: str
    calculate_unnamed: str
    choose_value: str
    choose_value_unnamed: str
    in_unit: str
    to_figures: str
    to_one_figure: str
    to_decimals: str
    to_one_decimal: str
    to_whole: str
    to_tens: str
    choose_word: str
    choose_law: str
    constant_in_case: str
    mark_statements: str
    put_in_order: str
    match: str
    # tolerances
    tolerance_places: str
    # tables
    data: str
    values_of: str
    number_of_value: str
    quantity: str
    sign: str
    value: str
    answers: str
    unrounded: str
    rounded: str
    put_back: str
    equation: str
    left_side: str
    right_side: str
    difference: str
    explained: str
    # figures
    labels_read: str
    # worked solution
    article: str
    holds_here: str
    case_is: str
    with_constants: str
    none_of_the_others: str
    fails: str
    intermediate: str
    equation_named: str
    negative: str
    check: str
    check_trivial: str
    check_fails: str
    rounding_explains: str
    rounding_does_not_explain: str


ENGLISH = Messages(
    words=Words("and", "or", "not"),
    calculate="Calculate {name} {symbol}{unit}, rounded {places}.",
    calculate_unnamed="Calculate {symbol}{unit}, rounded {places}.",
    choose_value="Choose the value of {name} {symbol}.",
    choose_value_unnamed="Choose the value of {symbol}.",
    in_unit=" in {unit}",
    to_figures="to {count} significant figures",
    to_one_figure="to 1 significant figure",
    to_decimals="to {count} decimal places",
    to_one_decimal="to 1 decimal place",
    to_whole="to a whole number",
    to_tens="to a multiple of {size}",
    choose_word="Choose what is right here: {word} …",
    choose_law="Choose the equation that is right here: {law}.",
    constant_in_case="{constant} = {value} for {case}",
    mark_statements="Mark every statement that is true.",
    put_in_order="Put these in the right order.",
    match="Match each entry with the one it belongs to.",
    tolerance_places="1.5 units in the last place",
    data="Data",
    values_of="Values of {symbols}",
    number_of_value="no.",
    quantity="quantity",
    sign="symbol",
    value="value",
    answers="Answers",
    unrounded="unrounded",
    rounded="rounded",
    put_back="The rounded answers put back into the equations",
    equation="equation",
    left_side="left side",
    right_side="right side",
    difference="difference",
    explained="explained by rounding",
    labels_read="Its labels read:",
    article="the ",
    holds_here="The data decide which way it goes: {condition}, and here {numbers}.",
    case_is="So this is the case “{case}”{constants}.",
    with_constants=", with {constants}",
    none_of_the_others="No other case fits the data, so this is the case “{case}”{constants}.",
    fails="The case “{case}” would need {condition}, but here {numbers}.",
    intermediate="{name}:",
    equation_named="The equation “{law}”:",
    negative="{symbol} comes out negative; the sign belongs to the answer.",
    check="Check: {condition}, because {because}. Here {numbers}.",
    check_trivial="Check: {condition}, because {because}.",
    check_fails=("Check: {condition} should hold, because {because}. With these data it does not."),
    rounding_explains=(
        "The two sides of each equation differ by no more than rounding explains: each answer "
        "may be off by half a unit in its last place."
    ),
    rounding_does_not_explain=(
        "Rounding does not explain all of the difference; something is wrong with these answers."
    ),
)

GERMAN = Messages(
    words=Words("und", "oder", "nicht", ","),
    calculate="Berechnen Sie: {name} {symbol}{unit}, {places}.",
    calculate_unnamed="Berechnen Sie {symbol}{unit}, {places}.",
    choose_value="Welcher Wert ist richtig: {name} {symbol}?",
    choose_value_unnamed="Welcher Wert von {symbol} ist richtig?",
    in_unit=" in {unit}",
    to_figures="auf {count} gültige Ziffern gerundet",
    to_one_figure="auf 1 gültige Ziffer gerundet",
    to_decimals="auf {count} Nachkommastellen gerundet",
    to_one_decimal="auf 1 Nachkommastelle gerundet",
    to_whole="auf eine ganze Zahl gerundet",
    to_tens="auf ein Vielfaches von {size} gerundet",
    choose_word="Was ist hier richtig: {word} …",
    choose_law="Welche Gleichung ist hier richtig: {law}?",
    constant_in_case="{constant} = {value} im Fall „{case}“",
    mark_statements="Markieren Sie alle zutreffenden Aussagen.",
    put_in_order="Bringen Sie dies in die richtige Reihenfolge.",
    match="Ordnen Sie jedem Eintrag den zu, der zu ihm gehört.",
    tolerance_places="1,5 Einheiten der letzten Stelle",
    data="Daten",
    values_of="Werte von {symbols}",
    number_of_value="Nr.",
    quantity="Größe",
    sign="Formelzeichen",
    value="Wert",
    answers="Ergebnisse",
    unrounded="ungerundet",
    rounded="gerundet",
    put_back="Die gerundeten Ergebnisse in die Gleichungen eingesetzt",
    equation="Gleichung",
    left_side="linke Seite",
    right_side="rechte Seite",
    difference="Differenz",
    explained="durch Runden erklärt",
    labels_read="Beschriftungen:",
    article="",
    holds_here="Die Daten entscheiden, wie es ausgeht: {condition}, und hier {numbers}.",
    case_is="Also liegt der Fall „{case}“ vor{constants}.",
    with_constants=", mit {constants}",
    none_of_the_others=(
        "Kein anderer Fall passt zu den Daten, also liegt der Fall „{case}“ vor{constants}."
    ),
    fails="Der Fall „{case}“ verlangt {condition}, aber hier ist {numbers}.",
    intermediate="{name}:",
    equation_named="Die Gleichung „{law}“:",
    negative="{symbol} ist negativ; das Vorzeichen gehört zum Ergebnis.",
    check="Probe: {condition}, denn {because}. Hier {numbers}.",
    check_trivial="Probe: {condition}, denn {because}.",
    check_fails=(
        "Probe: Es sollte {condition} gelten, denn {because}. Mit diesen Daten gilt es nicht."
    ),
    rounding_explains=(
        "Die beiden Seiten jeder Gleichung weichen nicht weiter voneinander ab, als das Runden "
        "erklärt: Jedes Ergebnis kann um eine halbe Einheit seiner letzten Stelle danebenliegen."
    ),
    rounding_does_not_explain=(
        "Das Runden erklärt die Differenz nicht ganz; etwas an diesen Ergebnissen ist falsch."
    ),
)


MESSAGES = {"en": ENGLISH, "de": GERMAN}


def messages_for(language: str) -> Messages:
    """The messages of a language tag such as "en-GB"; English where there are none."""
    return MESSAGES.get(language.partition("-")[0].lower(), ENGLISH)


def number_of(value: float, messages: Messages) -> str:
    """A constant of a case as people write it."""
    return messages.words.number(f"{value:g}".replace("-", "\u2212"))
