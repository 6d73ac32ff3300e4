"""The standard's response-processing templates, built in.

A template is known by the last part of its address without `.xml`, in any version and in all
the spellings official items use (mapping note, g3); nothing is ever fetched. The CC2 ones are
as the shipped 3.0 files have them.
"""

from __future__ import annotations

from functools import cache

from lxml import etree

_SET = '<setOutcomeValue identifier="%s">%s</setOutcomeValue>'
_FLOAT = '<baseValue baseType="float">%s</baseValue>'
_NAME = '<baseValue baseType="identifier">%s</baseValue>'
_RIGHT = '<match><variable identifier="RESPONSE"/><correct identifier="RESPONSE"/></match>'
_NONE = '<isNull><variable identifier="RESPONSE"/></isNull>'


def _rules(test: str, then: str, otherwise: str) -> str:
    return (
        f"<responseCondition><responseIf>{test}{then}</responseIf>"
        f"<responseElse>{otherwise}</responseElse></responseCondition>"
    )


def _score(expression: str) -> str:
    return _SET % ("SCORE", expression)


def _feedback(outcome: str, name: str) -> str:
    return _SET % (outcome, _NAME % name)


_TEMPLATES = {
    "match_correct": _rules(_RIGHT, _score(_FLOAT % 1), _score(_FLOAT % 0)),
    "map_response": _rules(
        _NONE, _score(_FLOAT % 0), _score('<mapResponse identifier="RESPONSE"/>')
    ),
    "map_response_point": _rules(
        _NONE, _score(_FLOAT % 0), _score('<mapResponsePoint identifier="RESPONSE"/>')
    ),
    "CC2_match": _rules(_RIGHT, _score(_FLOAT % 1), _score(_FLOAT % 0)),
    "CC2_match_basic": _rules(
        _RIGHT,
        _score('<variable identifier="MAXSCORE"/>') + _feedback("FEEDBACKBASIC", "correct"),
        _score(_FLOAT % 0) + _feedback("FEEDBACKBASIC", "incorrect"),
    ),
    "CC2_map_response": _rules(
        _NONE, _score(_FLOAT % 0), _score('<mapResponse identifier="RESPONSE"/>')
    )
    + _rules(_RIGHT, _feedback("FEEDBACK", "correct"), _feedback("FEEDBACK", "incorrect")),
}


def template_name(address: str) -> str:
    """The last part of a template's address, without `.xml`.

    >>> template_name("https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/match_correct.xml")
    'match_correct'
    """
    return address.strip().rstrip("/").rpartition("/")[2].removesuffix(".xml")


@cache
def template(name: str) -> etree._Element | None:
    """The rules of a template, in an element; None for a name the standard does not have."""
    rules = _TEMPLATES.get(name)
    return (
        None
        if rules is None
        else etree.fromstring(f"<responseProcessing>{rules}</responseProcessing>")
    )
