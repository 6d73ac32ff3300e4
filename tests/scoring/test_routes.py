"""Pre-conditions, branches, session controls and section references of a test.

The rules are from memory of the standard's information model ([M] in the mapping note), since no
published example has any (note, section i): a pre-condition that is false or NULL passes over;
a branch is tried after its item, section or part was shown and leads ahead only; in parts that
are not linear both are ignored for sections and items.
"""

from __future__ import annotations

import time
import zipfile
from pathlib import Path

import pytest

from qbank.errors import QbankError
from qbank.scoring.assessment import ScoredTest
from qbank.scoring.compiled import compile_item
from qbank.scoring.documents import read_document
from qbank.scoring.faults import ScoringError
from qbank.scoring.grading import score, score_test
from tests.scoring.items import DIALECTS, NULL, QTI_21, base, declare, document, f, i, put
from tests.scoring.test_assessment import ITEM, RIGHT, WRONG, Shelf, ref, section

NO, YES = base("boolean", "false"), base("boolean", "true")
TOTAL = put("SCORE", '<sum><testVariables variableIdentifier="SCORE"/></sum>')


def pre(test: str) -> str:
    return f"<preCondition>{test}</preCondition>"


def branch(target: str, test: str = YES) -> str:
    return f'<branchRule target="{target}">{test}</branchRule>'


def scored(name: str, least: float) -> str:
    """Whether a variable is at least so much."""
    return f'<gte><variable identifier="{name}"/>{f(least)}</gte>'


def part(inner: str, name: str = "P", mode: str = "linear", submission: str = "individual") -> str:
    attributes = f'navigationMode="{mode}" submissionMode="{submission}"'
    return f'<testPart identifier="{name}" {attributes}>{inner}</testPart>'


def make(parts: str, *, processing: str = TOTAL, shelf: Shelf | None = None, dialect=QTI_21):
    declared = declare("outcome", "SCORE", "float", "0")
    text = dialect.markup(
        f'<assessmentTest xmlns="{dialect.namespace}" identifier="T" title="T">{declared}{parts}'
        f"<outcomeProcessing>{processing}</outcomeProcessing></assessmentTest>"
    )
    return ScoredTest(read_document(text.encode()), shelf or Shelf())


def met(parts: str, responses=None, **more) -> str:
    return " ".join(make(parts, **more).score(responses or {}).items)


ABC = ref("A") + ref("B") + ref("C")


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        (part(section("S", ref("A", inner=pre(NO)) + ref("B"))), "B"),
        (part(section("S", ref("A", inner=pre(YES)) + ref("B"))), "A B"),
        (part(section("S", ref("A", inner=pre(NULL)) + ref("B"))), "B"),
        (part(section("S", ref("A", inner=pre(YES) + pre(NO)) + ref("B"))), "B"),
        (part(section("S", pre(NO) + ref("A") + ref("B")) + section("R", ref("C"))), "C"),
        (part(section("S", section("R", pre(NO) + ABC) + ref("D"))), "D"),
        (part(pre(NO) + section("S", ABC)) + part(section("R", ref("D")), "Q"), "D"),
        # A section passed over is not left by its branch, nor is an item.
        (part(section("S", pre(NO) + branch("C") + ref("A")) + section("R", ref("B") + ref("C"))),
         "B C"),
        (part(section("S", ref("A", inner=pre(NO) + branch("C")) + ref("B") + ref("C"))), "B C"),
        # Not linear: ignored for items and sections, not for parts.
        (part(section("S", pre(NO) + ref("A", inner=pre(NO)) + ref("B")), mode="nonlinear"), "A B"),
        (part(pre(NO) + section("S", ABC), mode="nonlinear"), ""),
        (part(section("S", ref("A", inner=branch("EXIT_TEST")) + ref("B")), mode="nonlinear"),
         "A B"),
    ],
)  # fmt: skip
def test_pre_conditions(parts, expected):
    assert met(parts) == expected


def two(inner: str, more: str = "") -> str:
    """Two sections, the first within another, and a second part."""
    first = section("S", section("IN", inner + ref("B") + ref("C")) + ref("D") + more)
    return part(first + section("R", ref("E") + ref("F"))) + part(section("Z", ref("G")), "Q")


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        (branch("C"), "A C D E F G"),
        (branch("C", NO), "A B C D E F G"),
        (branch("C", NULL), "A B C D E F G"),
        (branch("C", NO) + branch("E") + branch("D"), "A E F G"),  # the first that is true
        (branch("R"), "A E F G"),
        (branch("F"), "A F G"),
        (branch("EXIT_SECTION"), "A D E F G"),
        (branch("EXIT_TESTPART"), "A G"),
        (branch("EXIT_TEST"), "A"),
        (branch("G"), "A B C D E F G"),  # in another part: no target
        (branch("A"), "A B C D E F G"),  # not ahead
        (branch("IN"), "A B C D E F G"),  # begun already
        (branch("NONE"), "A B C D E F G"),
    ],
)
@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_branches_of_an_item(rule, expected, dialect):
    test = make(two(ref("A", inner=rule)), dialect=dialect)
    found = test.score({})
    assert " ".join(found.items) == expected
    lost = any("lies ahead of 'A'" in warning for warning in found.warnings)
    targets = {name for name in ("G", "A", "IN", "NONE") if f'"{name}"' in rule}
    assert lost == bool(targets)


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        (branch("F"), "A B C F G"),
        (branch("EXIT_SECTION"), "A B C E F G"),  # the one around it
        (branch("EXIT_TESTPART"), "A B C G"),
        (branch("EXIT_TEST"), "A B C"),
        (branch("F", scored("A.SCORE", 2)), "A B C F G"),
        (branch("F", scored("A.SCORE", 3)), "A B C D E F G"),
    ],
)
def test_branches_of_a_section_come_after_its_last_item(rule, expected):
    assert met(two(rule + ref("A")), {"A": RIGHT}) == expected


def test_a_section_that_is_exited_has_ended_and_one_that_is_jumped_out_of_has_not():
    assert met(two(branch("F") + ref("A", inner=branch("EXIT_SECTION")))) == "A F G"
    assert met(two(branch("F") + ref("A", inner=branch("E")))) == "A E F G"
    # Its last item was passed over: it ends all the same.
    inner = branch("F") + ref("A") + ref("B") + ref("C", inner=pre(NO))
    parts = part(section("S", section("IN", inner) + ref("D")) + section("R", ref("E") + ref("F")))
    assert met(parts) == "A B F"


def test_the_rest_of_an_exited_section_is_passed_over_though_it_mixes_with_others():
    mixed = section("POOL", ref("A") + ref("B") + ref("C"), 'keepTogether="false"')
    mixed = mixed.replace('href="item.xml" >', f'href="item.xml" >{branch("EXIT_SECTION")}')
    inner = '<ordering shuffle="true"/>' + mixed + "".join(ref(f"X{n}") for n in range(4))
    test = make(part(section("S", inner)))
    apart = 0
    for seed in range(30):
        found = list(test.score({}, seed).items)
        assert len([name for name in found if name in "ABC"]) == 1
        assert len(found) == 5
        apart += [s.identifier for s in test.select(seed)][:5] != found
    assert apart > 5


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        (branch("R"), "A C"),
        (branch("EXIT_TEST"), "A"),
        (branch("EXIT_TESTPART"), "A B C"),
        (branch("P"), "A B C"),
        (branch("R", NO), "A B C"),
    ],
)
@pytest.mark.parametrize("mode", ["linear", "nonlinear"])
def test_branches_of_a_part(rule, expected, mode):
    parts = part(rule + section("S", ref("A")), mode=mode)
    parts += part(section("T", ref("B")), "Q") + part(section("U", ref("C")), "R")
    assert met(parts) == expected


def test_rules_see_the_outcomes_of_what_came_before():
    """An easier item after a wrong answer, a harder one after a right one; scores by hand."""
    parts = part(
        section(
            "S",
            ref("A")
            + ref("EASY", inner=pre(f'<lt><variable identifier="SCORE"/>{f(2)}</lt>'))
            + ref("HARD", inner=pre(scored("SCORE", 2)))
            + ref("LAST", inner=pre(scored("SCORE", 4))),
        )
    )
    test = make(parts)
    assert list(test.score({"A": WRONG, "EASY": RIGHT}).items) == ["A", "EASY", "HARD"]
    found = test.score({"A": RIGHT, "HARD": RIGHT, "LAST": RIGHT})
    assert list(found.items) == ["A", "HARD", "LAST"]
    assert found.score == 6
    with pytest.raises(ScoringError, match="does not meet an item 'EASY'"):
        test.score({"A": RIGHT, "EASY": RIGHT})


def test_outcomes_start_again_before_each_outcome_processing():
    once_more = put("SCORE", f'<sum><variable identifier="SCORE"/>{f(1)}</sum>')
    inner = ref("A") + ref("B", inner=pre(scored("SCORE", 1)))
    parts = part(section("S", inner + ref("C", inner=pre(scored("SCORE", 2)))))
    found = make(parts, processing=once_more).score({})
    assert list(found.items) == ["A", "B"]
    assert found.score == 1


def test_items_passed_over_take_no_part_in_the_outcomes():
    count = put("SCORE", "<integerToFloat><numberSelected/></integerToFloat>")
    assert make(part(section("S", ABC)), processing=count).score({}).score == 3
    gone = part(section("S", ref("A", inner=branch("C")) + ref("B") + ref("C")))
    assert make(gone, processing=count).score({}).score == 2


def test_what_is_submitted_at_once_is_graded_at_the_end_of_its_part():
    inner = ref("A") + ref("B", inner=pre(scored("A.SCORE", 2)))
    parts = part(section("S", inner), submission="simultaneous")
    parts += part(pre(scored("SCORE", 2)) + section("R", ref("C")), "Q")
    found = make(parts).score({"A": RIGHT})
    assert list(found.items) == ["A", "C"]
    assert found.score == 2


def test_a_preset_may_be_taken_from_an_item_before():
    """templateDefault: evaluated as the item begins; where all begin together, before any."""
    from_a = '<truncate><variable identifier="A.SCORE"/></truncate>'
    preset = f'<templateDefault templateIdentifier="T">{from_a}</templateDefault>'
    inner = ref("A") + ref("B", inner=preset) + ref("C", inner=pre(scored("B.T", 2)))
    answers = {"A": RIGHT, "B": {}}
    assert met(part(section("S", inner)), answers) == "A B C"
    take = put("SCORE", '<integerToFloat><variable identifier="B.T"/></integerToFloat>')
    linear, other = (
        make(part(section("S", inner), mode=mode), processing=take).score(answers).score
        for mode in ("linear", "nonlinear")
    )
    assert (linear, other) == (2, 0)


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_what_is_ignored_or_left_to_delivery_is_told(dialect):
    control = '<itemSessionControl maxAttempts="2" showFeedback="true"/>'
    limit = '<timeLimits maxTime="600"/>'
    inner = section("S", control + ref("A", inner=pre(NO) + limit))
    limited = '<timeLimits maxTime="3600" allowLateSubmission="true"/>'
    test = make(limited + part(inner, mode="nonlinear"), dialect=dialect)
    found = test.score({"A": RIGHT})
    assert found.score == 2
    assert found.delivery == (
        "timeLimits of 'T': maxTime=3600, allowLateSubmission=true",
        "itemSessionControl of 'S': maxAttempts=2, showFeedback=true",
        "timeLimits of 'A': maxTime=600",
    )
    (warning,) = found.warnings
    assert "'preCondition' (line 1) is ignored: its part is not linear" in warning


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_a_shared_text_is_told_and_moves_no_score(dialect):
    shared = '<assessmentStimulusRef identifier="TEXT" href="../texts/quay.xml" title="Quay"/>'
    item = document(
        declare("response", "RESPONSE", "identifier", "A")
        + declare("outcome", "SCORE", "float", "0")
        + shared,
        put("SCORE", f(1)),
        dialect=dialect,
    )
    assert compile_item(item).stimuli == ("../texts/quay.xml",)
    assert score(item, {"RESPONSE": "B"}).warnings == ()
    assert make(part(section("S", ref("A")))).score({}).delivery == ()
    shelf = Shelf()
    shelf.items = {"item.xml": compile_item(item)}
    told = make(part(section("S", ref("A"))), shelf=shelf).score({"A": {}})
    assert told.score == 1
    assert told.delivery == ("assessmentStimulusRef of item 'A': href=../texts/quay.xml",)


@pytest.mark.parametrize(
    ("rule", "message"),
    [
        (pre(""), "'preCondition' (line 1) holds 0 expressions, not one"),
        (branch("B", YES + NO), "'branchRule' (line 1) holds 2 expressions, not one"),
        (pre("<sun/>"), "there is no operator 'sun' (line 1)"),
    ],
)
def test_conditions_that_cannot_be_evaluated_are_told_with_their_place(rule, message):
    with pytest.raises(ScoringError) as fault:
        make(part(section("S", ref("A", inner=rule) + ref("B")))).score({})
    assert message in str(fault.value)


# ---------------------------------------------------------------------------- sections of files


def file_of(inner: str, name: str = "FAR") -> str:
    return section(name, inner).replace(
        "<assessmentSection ", f'<assessmentSection xmlns="{QTI_21.namespace}" ', 1
    )


def section_ref(name: str, href: str, more: str = "", inner: str = "") -> str:
    opening = f'<assessmentSectionRef identifier="{name}" href="{href}" {more}>'
    return f"{opening}{inner}</assessmentSectionRef>"


def test_a_section_of_another_file_is_put_in():
    shelf = Shelf(far=file_of('<selection select="1"/>' + ref("A") + ref("B")))
    test = make(part(section("S", section_ref("HERE", "far.xml") + ref("C"))), shelf=shelf)
    for seed in range(10):
        first, last = test.select(seed)
        assert (first.identifier in ("A", "B"), last.identifier) == (True, "C")
        assert first.sections == ("P", "S", "HERE", "FAR")
    by_name = '<sum><testVariables sectionIdentifier="%s" variableIdentifier="SCORE"/></sum>'
    for name in ("HERE", "FAR", "S"):
        counted = make(
            part(section("S", section_ref("HERE", "far.xml") + ref("C"))),
            processing=put("SCORE", by_name % name),
            shelf=Shelf(far=file_of(ref("A"))),
        )
        assert counted.score({"A": RIGHT}).score == 2


def test_what_the_reference_says_holds_too():
    shelf = Shelf(far=file_of(pre(YES) + ref("A")))
    for condition, expected in ((NO, "C"), (YES, "A C")):
        inner = section_ref("HERE", "far.xml", inner=pre(condition)) + ref("C")
        assert met(part(section("S", inner)), shelf=shelf) == expected
    inner = section_ref("HERE", "far.xml", inner=branch("D")) + ref("C") + ref("D")
    assert met(part(section("S", inner)), shelf=shelf) == "A D"
    inner = ref("B", inner=branch("HERE")) + ref("C") + section_ref("HERE", "far.xml")
    assert met(part(section("S", inner)), shelf=shelf) == "B A"
    must = '<selection select="1"/>' + section_ref("HERE", "far.xml", 'required="true"') + ref("C")
    assert {met(part(section("S", must)), shelf=shelf) for _ in range(5)} == {"A"}


def test_a_section_within_itself_is_refused():
    one = Shelf(far=file_of(section_ref("X", "far.xml")))
    two = Shelf(far=file_of(section_ref("X", "on.xml")), on=file_of(section_ref("Y", "./far.xml")))
    two.sections["./far.xml"] = two.sections["far.xml"]
    for shelf in (one, two):
        with pytest.raises(ScoringError, match="is within itself"):
            make(part(section("S", section_ref("HERE", "far.xml"))), shelf=shelf)


def test_sections_that_double_end():
    """Each file refers twice to the next: a million sections from 20 files."""
    files = {
        f"s{n}": file_of(section_ref("A", f"s{n + 1}.xml") + section_ref("B", f"s{n + 1}.xml"))
        for n in range(20)
    }
    started = time.process_time()
    with pytest.raises(ScoringError, match="more than 200000 sections and references"):
        make(part(section_ref("HERE", "s0.xml")), shelf=Shelf(**files, s20=file_of("")))
    again = "".join(section(f"S{n}", '<selection select="999" withReplacement="true"/>')
                    .replace("</assessmentSection>", "") for n in range(10))  # fmt: skip
    with pytest.raises(ScoringError, match="shows more than 2000 sections"):
        make(part(again + section("X", "") + "</assessmentSection>" * 10)).score({})
    assert time.process_time() - started < 20


def test_rules_that_look_at_many_items_often_end():
    looks = f"<gt><sum>{'<numberSelected/>' * 100}</sum>{i(0)}</gt>"
    inner = "".join(ref(f"I{n}", inner=pre(looks)) for n in range(400))
    with pytest.raises(ScoringError, match="look at items more than 5000000 times"):
        make(part(section("S", inner))).score({})


@pytest.fixture
def package(tmp_path: Path) -> Path:
    def write(name: str, data: str | bytes) -> None:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data if isinstance(data, bytes) else data.encode())

    write("items/a.xml", ITEM)
    # Relative to the section's own file, and with an escaped space in a name.
    write("sections/one two.xml", file_of(ref("A", href="../items/a.xml")))
    declared = declare("outcome", "SCORE", "float", "0")
    inner = part(section("S", section_ref("HERE", "../sections/one%20two.xml")))
    write(
        "tests/t.xml",
        f'<assessmentTest xmlns="{QTI_21.namespace}" identifier="T" title="T">{declared}{inner}'
        f"<outcomeProcessing>{TOTAL}</outcomeProcessing></assessmentTest>",
    )
    return tmp_path


def test_hrefs_are_relative_to_the_file_they_stand_in(package):
    assert score_test(package, {"A": RIGHT}).score == 2
    packed = package / "bank.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for path in sorted(package.rglob("*.xml")):
            archive.write(path, path.relative_to(package).as_posix())
    assert score_test(packed, {"A": RIGHT}).score == 2
    assert score_test(packed.read_bytes(), {"A": RIGHT}).score == 2


@pytest.mark.parametrize(
    "href", ["../../outside.xml", "/etc/hostname", "file:///etc/hostname", "..%2F..%2Foutside.xml",
             "http://example.org/s.xml", "one%00.xml", ""],
)  # fmt: skip
def test_no_reference_leaves_the_package(package, href):
    (package.parent / "outside.xml").write_text(file_of(ref("A")))
    path = package / "tests/t.xml"
    text = path.read_text()
    path.write_text(text.replace("../sections/one%20two.xml", href))
    with pytest.raises(QbankError, match="which the package does not hold"):
        score_test(package, {"A": RIGHT})
    path.write_text(text)
    inner = package / "sections/one two.xml"
    inner.write_text(inner.read_text().replace("../items/a.xml", href))
    with pytest.raises(QbankError, match="which the package does not hold"):
        score_test(package, {"A": RIGHT})


def test_what_is_no_section_is_told(package):
    (package / "sections/one two.xml").write_bytes(ITEM)
    with pytest.raises(QbankError, match="is no section: it is <assessmentItem>"):
        score_test(package, {})


def test_a_table_of_json_lines_holds_no_items_of_qti(tmp_path):
    path = tmp_path / "bank.jsonl"
    path.write_text('{"qbank": 1}\n')
    for found in (lambda: score(path, {}), lambda: score_test(path, {})):
        with pytest.raises(QbankError, match=r"bank.jsonl.* is no package of QTI"):
            found()
