"""Families that are bad in one way each: vetting notices it, at the line marked `# <- code`."""

import re
from functools import cache
from pathlib import Path

import pytest

from qbank.finding import Severity
from qbank.vetting import vet as vetting
from qbank.vetting.vet import vet_file

HERE = Path(__file__).parent
BAD = sorted((HERE / "bad").glob("*.yaml"))
MARK = re.compile(r"# <- ([\w-]+)")

AT = "for example at m_# = # g, m_# = # g, F = # N, R = # N"
POINTS = "# % of # points (# at corners and edges)"
CARRIED = "moves a by more than its tolerance, for F in # % of the instances"

# What each says, every number written as #.
SENTENCES = {
    "answer-guessable": "# is within one tolerance of q in # % of # instances",
    "answer-too-sensitive": f"half a unit in the third figure of F and R {CARRIED}",
    "case-boundary": f"where two sides are equal, no case holds: {POINTS}, "
    "for example m_# = # g, m_# = # g, F = # N, R = # N",
    "case-disagrees": "a is not as expected in # % of the draws that meet every rule, for example"
    " in case 'slows down' at m_# = # g, m_# = # g, F = # N, R = # N",
    "case-gap": f"no case holds at {POINTS}, {AT}",
    "case-gap-narrow": f"no case holds at {POINTS}, {AT}",
    "case-overlap": f"the cases 'speeds up' and 'slows down' hold together at {POINTS}, {AT}",
    "case-rare": "the case 'speeds up' comes up in # % of # instances",
    "caution-missing": "the text says 'crane', which suggests lifting, and there is no caution",
    "check-fails": "check-fails: instance # of seed # fails the check confirm: 'S > R', because the"
    " coupling overcomes the brake: does not hold: R = # S = # (SI units)",
    "feedback-missing": "no feedback for statement #",
    "few-instances": "there are # distinct instances",
    "figures-beyond-data": f"half a unit in the last digit shown of F {CARRIED}",
    "given-without-effect": "another value of d changes an answer in # % of the instances",
    "hints-missing": "there are no hints",
    "key-same-rank": "the key for S is the smallest of # options in # % of # instances",
    "law-not-shown": "the written steps show other laws, but not 'coupling'",
    "laws-unsolvable": "case 'speeds up', laws 'motion' and 'coupling' do not determine 'a' and"
    " 'S': one of the laws follows from the others",
    "marks-guessable": "statement # and no other is to be marked in # % of # instances",
    "match-by-elimination": "# sources have # targets, each used once, so the last pair follows"
    " from the others",
    "option-all-or-none": "the option 'None of the above holds.' speaks of the other options"
    " ('None of the above')",
    "option-mixed-figures": "the options for S differ in their significant figures, or some have a"
    " power of ten and some not, in # % of # instances",
    "option-negative": "the statement 'It is not so that the carts do not move together.' holds"
    " # negations",
    "option-odd-length": "the option 'they gain speed, because the pull of the cord on the front c'"
    " has # characters, the shortest #",
    "option-odd-sign": "one option for S is the only one of its sign in # % of # instances",
    "option-odd-size": "the slip 'whole-mass' makes a distractor for S that is off by more than a"
    " factor # in # % of # instances",
    "quantity-unused": "'h' is a given that nothing uses",
    "question-double": "the prompt 'What do the carts do? And why?' asks # questions",
    "question-negative": "the question 'Which of these do the carts not do?' hangs on the word"
    " 'not'",
    "refused": [
        "law 'motion': the sides differ in dimension: left is a force (kg m s^-#), right is a pure"
        " number",
        "rule #: the sides of the comparison differ in dimension: abs(m_# - m_#) is a mass (kg),"
        " # N is a force (kg m s^-#)",
        "slip 'wrong-cart', replace 'coupling': 'b' names nothing in this family",
        "part # statement #: the sides of the comparison differ in dimension: m_# is a mass (kg),"
        " F is a force (kg m s^-#)",
    ],
    "rule-never-binds": "the rule `m_# <= # g` turns away none of # draws",
    "rule-redundant": "all # draws that the rule `abs(F - R) >= # N` turns away are turned away by"
    " `abs(F - R) >= # N` in line # as well",
    "rule-rejects-nearly-all": "the rule `m_# >= # g` turns away # % of # draws",
    "rules-unmeetable": "rules-unmeetable: none of # draws meets the rules; no draw meets together"
    " `m_# > #*m_#` and `m_# > #*m_#`",
    "slip-like-key": "the answers of the slip 'slightly-off' lie within the tolerance of the right"
    " ones in # % of # instances",
    "slip-like-slip": "the slips 'brake-forgotten' (line #) and 'resistance-forgotten' lead to the"
    " same answers in # % of # instances",
    "slip-near-key": "the slip 'slightly-off' cannot be told from honest rounding of S in # % of"
    " the draws, so the tolerance of S does not heed it",
    "slip-never-applies": "the slip 'root-of-a-negative' gives no value in any instance"
    " (# instances looked at)",
    "slip-seldom-applies": "the slip 'root-of-a-difference' gives a value in # % of # instances",
    "solution-missing": "no step of the worked solution is written; only the generated ones appear",
    "stem-hard-to-read": "the reading ease of the stem is # (Flesch #), with # words a sentence",
    "stem-long": "the stem has # words",
    "tolerance-reaches-slip": "the tolerance of S reaches the answer of a slip in # % of the draws,"
    " which are not used",
    "tolerance-too-narrow": "the tolerance of S is narrower than what honest rounding can reach in"
    " # % of the draws",
    "word-guessable": "'they gain speed' is right in # % of # instances",
    "word-unused": "the cases say the word 'winner', but no text says it and no part asks for it",
}

# What a fault brings with it, beside what is marked.
FOLLOWS = {
    "answer-too-sensitive": {"answer-too-sensitive", "figures-beyond-data"},
    "case-disagrees": {"case-boundary", "case-disagrees"},
    "case-gap": {"case-boundary"},
    "case-gap-narrow": {"case-boundary"},
    "case-rare": {"word-guessable"},
    "few-instances": {"rule-never-binds"},
    "figures-beyond-data": {"figures-beyond-data"},
    "option-odd-sign": {"key-same-rank"},
    "option-odd-size": {"feedback-missing", "option-mixed-figures"},
    "rule-rejects-nearly-all": {"marks-guessable"},
    "rules-unmeetable": {"rule-redundant"},
    "slip-like-key": {"slip-near-key"},
    "tolerance-too-narrow": {"tolerance-reaches-slip"},
}
NOTES = {
    "case-boundary", "figures-beyond-data", "law-not-shown", "match-by-elimination",
    "option-negative", "option-odd-length", "slip-near-key", "solution-missing",
    "stem-hard-to-read", "stem-long",
}  # fmt: skip


@cache
def vetted(path):
    return vet_file(path)


def marks(path):
    """Line and code of every mark in a file."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [
        (number, found[1]) for number, line in enumerate(lines, 1) for found in MARK.finditer(line)
    ]


def without_numbers(sentence):
    return re.sub(r"\d[\d,.]*", "#", sentence)


def test_the_family_they_are_made_from_is_clean():
    found = vet_file(HERE / "two-carts.yaml")
    assert found.findings == ()
    assert found.clean


def test_every_bad_family_has_its_sentence():
    assert {path.stem for path in BAD} == set(SENTENCES)


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_a_bad_family_is_noticed_at_its_line(path):
    result = vetted(path)
    said = SENTENCES[path.stem]
    said = [said] if isinstance(said, str) else said
    found = {(f.place.line, f.code): f for f in result.findings}
    marked = marks(path)
    assert len(marked) == len(said)
    for (line, code), sentence in zip(marked, said, strict=True):
        finding = found[line, code]
        assert finding.place.file == str(path)
        assert without_numbers(finding.found) == sentence
        assert finding.expected
        assert finding.mend
        assert finding.severity is (Severity.NOTE if code in NOTES else finding.severity)
        assert finding.weighs == (code not in NOTES)
    assert result.clean == all(code in NOTES for _, code in marked)


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_nothing_else_is_said_of_it(path):
    marked = {code for _, code in marks(path)}
    others = {f.code for f in vetted(path).findings if (f.place.line, f.code) not in marks(path)}
    assert others == FOLLOWS.get(path.stem, set()), marked


def codes_of(check):
    """The codes a check can report: those its docstring opens with."""
    return check.__doc__.partition(":")[0].split(", ")


def test_every_code_is_noticed_by_some_bad_family():
    codes = {code for check in vetting.CHECKS for code in codes_of(check)}
    codes |= {"refused", "laws-unsolvable", "rules-unmeetable", "check-fails"}
    assert codes == {code for path in BAD for _, code in marks(path)}


def test_where_the_reader_had_to_stop_it_is_said(tmp_path):
    text = (HERE / "two-carts.yaml").read_text(encoding="utf-8")
    path = tmp_path / "two-carts.yaml"
    path.write_text(text.replace("by 0.05 N}", "by 0.05 X}"), encoding="utf-8")
    result = vet_file(path)
    assert [f.code for f in result.findings] == ["refused"]
    assert result.findings[0].place.line == 12
    assert result.looked_at == {"reading": "stopped at the last fault; more may come to light"}


def test_all_refused_parts_are_told_in_the_order_of_the_file():
    result = vetted(HERE / "bad" / "refused.yaml")
    lines = [finding.place.line for finding in result.findings]
    assert lines == sorted(lines)
    assert not result.looked_at
