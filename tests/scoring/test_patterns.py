"""Regular expressions of XML Schema, and that none of them can be made to hang."""

from __future__ import annotations

import re
import time

import pytest
from elementpath.regex import translate_pattern
from hypothesis import given, settings
from hypothesis import strategies as st

from qbank.scoring.faults import ScoringError
from qbank.scoring.patterns import compile_pattern


@pytest.mark.parametrize(
    ("pattern", "matching", "other"),
    [
        ("", [""], ["a"]),
        ("a|b*", ["a", "", "bbb"], ["ab", "c"]),
        ("(ab)+", ["ab", "abab"], ["", "aba"]),
        ("a{2}", ["aa"], ["a", "aaa"]),
        ("a{2,}", ["aa", "aaaa"], ["a"]),
        ("a{1,3}b?", ["a", "aaab"], ["aaaa", "b"]),
        ("a{0,0}b", ["b"], ["ab"]),
        ("[a-cx]", ["b", "x"], ["d", "-"]),
        ("[^a-c]", ["d"], ["a", ""]),
        ("[a-z-[aeiou]]+", ["pmp"], ["pump"]),
        (r"[\-+]?[0-9]+([.,][0-9]+)?", ["-3,5", "+12", "7.25"], ["3.", "--3"]),
        (r"\d{3}", ["123", "٣٣٣"], ["12a"]),
        (r"\s\S", [" a", "\tb"], ["a ", "  "]),
        (r"\w+", ["aé1"], ["a b", "a-b"]),
        (r"\i\c*", ["_a-1.b:c", "é"], ["1a", "-"]),
        (r"\p{Lu}\P{Lu}", ["Ab", "É1"], ["ab", "AB"]),
        (r"\p{IsGreek}", ["α"], ["a"]),
        (r"\.\?\*\(\)\[\]\{\}\|\\", [".?*()[]{}|\\"], ["x"]),
        (".", ["a", "\t"], ["\n", "\r", ""]),
        ("^a$", ["^a$"], ["a"]),  # no anchors in the language
        ("[.^$|?*+(){}]", list(".^$|?*+(){}"), ["a"]),
        (r"[\d\-x]", ["5", "-", "x"], ["y"]),
        ("[a-]", ["a", "-"], ["b"]),
    ],
)
def test_patterns(pattern, matching, other):
    """XML Schema part 2, appendix F, from memory."""
    held = compile_pattern(pattern)
    assert [text for text in matching if not held.matches(text)] == []
    assert [text for text in other if held.matches(text)] == []


PIECES = st.recursive(
    st.sampled_from(["a", "b", ".", "[ab]", "[^a]", r"\d", "[a-c-[b]]", "1"]),
    lambda inner: st.one_of(
        st.tuples(inner, inner).map("".join),
        st.tuples(inner, inner).map("|".join),
        st.tuples(inner, st.sampled_from(["?", "*", "+", "{2}", "{1,2}", "{0,}"])).map(
            lambda pair: f"({pair[0]}){pair[1]}"
        ),
    ),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None)
@given(pattern=PIECES, texts=st.lists(st.text("abc1", max_size=6), min_size=1, max_size=6))
def test_against_a_general_library_for_xml_schema(pattern, texts):
    """elementpath translates the language for Python's re, where patterns this small end soon."""
    theirs = re.compile(
        translate_pattern(pattern, back_references=False, lazy_quantifiers=False, anchors=False)
    )
    ours = compile_pattern(pattern)
    for text in texts:
        assert ours.matches(text) == (theirs.fullmatch(text) is not None), (pattern, text)


@pytest.mark.parametrize(
    "pattern",
    ["(a+)+b", "(a*)*b", "(a|a)*b", "(a|aa)+b", "(a?){60}a{60}b", "(.*a){12}b", "((a*)*)*b"],
)
def test_what_hangs_a_backtracking_matcher_ends_here(pattern):
    """Patterns of the kinds that are known to take exponential time; common practice, no source."""
    start = time.process_time()
    assert not compile_pattern(pattern).matches("a" * 800)
    assert time.process_time() - start < 5


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("(", "a '(' without ')'"),
        (")", "a ')' without '('"),
        ("[", "it ends too early"),
        ("[a", "it ends too early"),
        ("*a", "'*' has nothing before it"),
        ("a{", "expected a count"),
        ("a{2,1}", "too large or falls"),
        ("a{99999}", "too large"),
        (r"\q", "there is no escape"),
        (r"\p{Xx}", "there is no category"),
        (r"\p{IsKlingon}", "is not known here"),
        ("[z-a]", "a range that falls"),
        ("[a-z-[b]c]", "a subtraction ends its class"),
        ("((a{90}){90}){90}", "too large to match"),
        ("(((((){1999}){1999}){1999}){1999})", "too large to match"),
        ("(" * 80 + ")" * 80, "brackets within each other"),
    ],
)
def test_patterns_that_are_refused(pattern, said):
    with pytest.raises(ScoringError) as fault:
        compile_pattern(pattern)
    assert said in str(fault.value)


def test_a_text_too_long_for_its_pattern_is_refused():
    with pytest.raises(ScoringError, match="too long"):
        compile_pattern("(a{500}b?)*").matches("a" * 90_000)


@settings(max_examples=300, deadline=None)
@given(pattern=st.text("()[]{}|?*+.\\^-a1,pIL", max_size=30), text=st.text(max_size=20))
def test_any_pattern_is_read_or_refused(pattern, text):
    try:
        compile_pattern(pattern).matches(text)
    except ScoringError:
        return
