"""The markup of an item in the names of QTI 2.1, piece by piece, with `%s` where text goes.

`Dialect.markup` makes the pieces of another version of them. Scoring is explicit in every item
(mapping note, b3, b4, c), never by a standard template, so that it does not hang on what an
importing system knows:

- numbers: `lower <= response <= upper` as two comparisons (b3: the form that means the same in
  every engine), one rule a part, each part into its own outcome, then a sum (b4);
- feedback: one modal feedback per option and per wrong value, chosen by an outcome of type
  identifier; a response that a named slip explains sets it to SLIP_ and the slip's name;
- order and pairs (b6): the key as a whole earns all points; with partial credit each entry in its
  place, or each source with its right target and no other, adds its share where the whole is not
  right, so that pairing everything with everything earns nothing;
- worked solution: modal feedback on an outcome that response processing always sets;
- hints: an endAttemptInteraction, which needs an adaptive item (defect 37 of section h), so only
  items with hints are adaptive; the next hint shows at each request, the answer ends the item.
"""

from __future__ import annotations

# Blocks a comma and everything else that is not a float of XML Schema (b3).
PATTERN_MASK = r"[+\-]?[0-9]*\.?[0-9]*([eE][+\-]?[0-9]+)?"
# The same for every key, so that the width of the field gives nothing away.
EXPECTED_LENGTH = 12
SLIP = "SLIP_"
HINT_TITLES = {"en": "Show a hint", "de": "Hinweis zeigen"}

_NUMBER = '<baseValue baseType="float">%s</baseValue>'
_BAND = (
    '<and><gte><variable identifier="RESPONSE_%s"/>'
    f"{_NUMBER}</gte>"
    '<lte><variable identifier="RESPONSE_%s"/>'
    f"{_NUMBER}</lte></and>\n"
)
_SET_FEEDBACK = (
    '<setOutcomeValue identifier="FEEDBACK_%s"><baseValue baseType="identifier">%s</baseValue>'
    "</setOutcomeValue>"
)

MARKUP = {
    "declare_number": (
        '<responseDeclaration identifier="RESPONSE_%s" cardinality="single" baseType="float">'
        '<correctResponse interpretation="%s"><value>%s</value></correctResponse>'
        "</responseDeclaration>\n"
    ),
    "declare_choice": (
        '<responseDeclaration identifier="RESPONSE_%s" cardinality="%s" baseType="identifier">'
        "%s</responseDeclaration>\n"
    ),
    "declare_pairs": (
        '<responseDeclaration identifier="RESPONSE_%s" cardinality="multiple" '
        'baseType="directedPair">%s</responseDeclaration>\n'
    ),
    "keys": "<correctResponse>%s</correctResponse>",
    "value": "<value>%s</value>",
    "declare_request": (
        '<responseDeclaration identifier="HINTREQUEST" cardinality="single" baseType="boolean"/>\n'
    ),
    "declare_total": (
        '<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float"%s>'
        "<defaultValue><value>0</value></defaultValue></outcomeDeclaration>\n"
        '<outcomeDeclaration identifier="MAXSCORE" cardinality="single" baseType="float">'
        "<defaultValue><value>%s</value></defaultValue></outcomeDeclaration>\n"
    ),
    "normal_maximum": ' normalMaximum="%s"',
    "declare_score": (
        '<outcomeDeclaration identifier="SCORE_%s" cardinality="single" baseType="float"%s>'
        "<defaultValue><value>0</value></defaultValue></outcomeDeclaration>\n"
    ),
    "declare_flag": (
        '<outcomeDeclaration identifier="%s" cardinality="%s" baseType="identifier"/>\n'
    ),
    "body": "<itemBody>\n%s</itemBody>\n",
    "caution": (
        '<rubricBlock view="candidate"%s><contentBody><p>%s</p></contentBody></rubricBlock>\n'
    ),
    "entry": (
        '<p>%s <textEntryInteraction class="%s" responseIdentifier="RESPONSE_%s" '
        f'expectedLength="{EXPECTED_LENGTH}" patternMask="{PATTERN_MASK}"/>%s</p>\n'
    ),
    "unit": ' <span class="unit">%s</span>',
    "inline_choice": (
        '<p>%s <inlineChoiceInteraction responseIdentifier="RESPONSE_%s" shuffle="%s">'
        "%s</inlineChoiceInteraction></p>\n"
    ),
    "inline_option": '<inlineChoice identifier="%s">%s</inlineChoice>',
    "choice": (
        '<choiceInteraction responseIdentifier="RESPONSE_%s" shuffle="%s" maxChoices="%s">\n'
        "<prompt>%s</prompt>\n%s</choiceInteraction>\n"
    ),
    "option": '<simpleChoice identifier="%s">%s</simpleChoice>\n',
    "order": (
        '<orderInteraction responseIdentifier="RESPONSE_%s" shuffle="true">\n'
        "<prompt>%s</prompt>\n%s</orderInteraction>\n"
    ),
    "match": (
        '<matchInteraction responseIdentifier="RESPONSE_%s" shuffle="true" maxAssociations="%s">\n'
        "<prompt>%s</prompt>\n<simpleMatchSet>\n%s</simpleMatchSet>\n"
        "<simpleMatchSet>\n%s</simpleMatchSet>\n</matchInteraction>\n"
    ),
    "associable": (
        '<simpleAssociableChoice identifier="%s" matchMax="%s">%s</simpleAssociableChoice>\n'
    ),
    "request": ('<p><endAttemptInteraction responseIdentifier="HINTREQUEST" title="%s"/></p>\n'),
    "band": _BAND,
    "rule": "<responseCondition><responseIf>%s</responseIf>\n%s</responseCondition>\n",
    "else_if": "<responseElseIf>%s</responseElseIf>\n",
    "matches": (
        '<match><variable identifier="RESPONSE_%s"/><correct identifier="RESPONSE_%s"/></match>\n'
    ),
    "unmarked": '<isNull><variable identifier="RESPONSE_%s"/></isNull>\n',
    "picked": (
        '<match><variable identifier="RESPONSE_%s"/>'
        '<baseValue baseType="identifier">%s</baseValue></match>'
    ),
    "among": (
        '<member><baseValue baseType="identifier">%s</baseValue>'
        '<variable identifier="RESPONSE_%s"/></member>'
    ),
    "placed": (
        '<match><index n="%s"><variable identifier="RESPONSE_%s"/></index>'
        '<baseValue baseType="identifier">%s</baseValue></match>'
    ),
    "paired": (
        '<member><baseValue baseType="directedPair">%s %s</baseValue>'
        '<variable identifier="RESPONSE_%s"/></member>'
    ),
    "not": "<not>%s</not>",
    "all": "<and>%s</and>\n",
    "any": "<or>%s</or>\n",
    "else": "<responseElse>\n%s</responseElse>\n",
    "earn": (
        '<setOutcomeValue identifier="SCORE_%s"><sum><variable identifier="SCORE_%s"/>'
        f"{_NUMBER}</sum></setOutcomeValue>"
    ),
    "set_score": (f'<setOutcomeValue identifier="SCORE_%s">{_NUMBER}</setOutcomeValue>'),
    "set_feedback": _SET_FEEDBACK,
    "add_feedback": (
        '<setOutcomeValue identifier="FEEDBACK_%s"><multiple><variable identifier="FEEDBACK_%s"/>'
        '<baseValue baseType="identifier">%s</baseValue></multiple></setOutcomeValue>'
    ),
    "set_total": '<setOutcomeValue identifier="SCORE"><sum>%s</sum></setOutcomeValue>\n',
    "score": '<variable identifier="SCORE_%s"/>',
    "set_solution": (
        '<setOutcomeValue identifier="SOLUTION"><baseValue baseType="identifier">WORKED'
        "</baseValue></setOutcomeValue>\n"
    ),
    "answered": "<responseProcessing>\n%s</responseProcessing>\n",
    "hinted": (
        "<responseProcessing>\n"
        '<responseCondition><responseIf><variable identifier="HINTREQUEST"/>\n'
        "<responseCondition>%s</responseCondition></responseIf>\n"
        '<responseElse>\n%s<setOutcomeValue identifier="completionStatus">'
        '<baseValue baseType="identifier">completed</baseValue></setOutcomeValue>'
        "</responseElse></responseCondition>\n</responseProcessing>\n"
    ),
    "first_hint": (
        '<responseIf><isNull><variable identifier="HINT"/></isNull>'
        '<setOutcomeValue identifier="HINT"><multiple><baseValue baseType="identifier">HINT_1'
        "</baseValue></multiple></setOutcomeValue></responseIf>\n"
    ),
    "next_hint": (
        '<responseElseIf><not><member><baseValue baseType="identifier">%s</baseValue>'
        '<variable identifier="HINT"/></member></not>'
        '<setOutcomeValue identifier="HINT"><multiple><variable identifier="HINT"/>'
        '<baseValue baseType="identifier">%s</baseValue></multiple></setOutcomeValue>'
        "</responseElseIf>\n"
    ),
    "modal": (
        '<modalFeedback outcomeIdentifier="%s" identifier="%s" showHide="show"><contentBody>'
        "%s</contentBody></modalFeedback>\n"
    ),
}
