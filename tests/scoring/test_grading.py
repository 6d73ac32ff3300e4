"""The library's and the command's way in: which item, which responses, what is told."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest

import qbank
from qbank.cli.main import exit_code_of
from qbank.errors import QbankError
from qbank.scoring.grading import score, score_test
from tests.scoring.items import declare, document, put

ITEM = document(
    declare("response", "RESPONSE", "float", "392.4")
    + declare("response", "MARKS", "identifier", cardinality="multiple")
    + declare("outcome", "SCORE", "float", "0")
    + declare("outcome", "MAXSCORE", "float", "2")
    + declare("outcome", "FEEDBACK", "identifier"),
    "<responseCondition><responseIf><equal toleranceMode='relative' tolerance='2'>"
    "<correct identifier='RESPONSE'/><variable identifier='RESPONSE'/></equal>"
    + put("SCORE", "<baseValue baseType='float'>2</baseValue>")
    + "</responseIf><responseElse>"
    + put("FEEDBACK", "<baseValue baseType='identifier'>G</baseValue>")
    + "</responseElse></responseCondition>",
    after='<modalFeedback outcomeIdentifier="FEEDBACK" identifier="G" showHide="show">'
    "<p>Put g in.</p></modalFeedback>",
)


@pytest.fixture
def one(tmp_path: Path) -> Path:
    path = tmp_path / "pump.xml"
    path.write_bytes(ITEM)
    return path


@pytest.fixture
def two(tmp_path: Path) -> Path:
    """A zip file without a manifest, with two items and something else."""
    path = tmp_path / "bank.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("a/pump.xml", ITEM)
        archive.writestr("a/crane.xml", ITEM.replace(b'identifier="item"', b'identifier="crane-7"'))
        archive.writestr("a/note.xml", b"<note/>")
        archive.writestr("picture.png", b"\x89PNG")
    return path


def test_bytes_files_folders_and_packages(one, two, tmp_path):
    right = {"RESPONSE": "390"}
    for source, item in [
        (ITEM, None), (one, None), (str(one), "item"), (two, "crane-7"), (two, "pump"),
        (two, "a/crane.xml"), (two.read_bytes(), "crane"), (tmp_path, "pump"),
    ]:  # fmt: skip
        assert score(source, right, item=item).score == 2


@pytest.mark.parametrize(
    ("item", "said"),
    [
        (None, "holds 2 items\n    name one of them: pump, crane"),
        ("cran", "holds no item 'cran'\n    did you mean 'crane'?"),
        ("../pump", "holds no item '../pump'"),
    ],
)
def test_which_item_is_told(two, item, said):
    with pytest.raises(QbankError) as fault:
        score(two, {}, item=item)
    assert said in str(fault.value)


def test_what_is_no_package(tmp_path):
    (tmp_path / "x.zip").write_bytes(b"nothing")
    for name, said in (
        ("x.zip", "is no package of QTI"),
        ("gone.zip", "cannot read"),
        ("gone.xml", "cannot read"),
    ):
        with pytest.raises(QbankError, match=said):
            score(tmp_path / name, {})
    (tmp_path / "x.zip").unlink()
    with pytest.raises(QbankError, match="holds no items"):
        score(tmp_path, {})


def test_paths_that_leave_the_package_are_refused(tmp_path):
    path = tmp_path / "evil.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("../pump.xml", ITEM)
    with pytest.raises(QbankError, match="leaves the package"):
        score(path, {})


def test_the_result_as_plain_data():
    found = score(ITEM, {"RESPONSE": "40"}).as_json()
    assert found["score"] == 0
    assert found["maximum"] == 2
    assert found["outcomes"]["FEEDBACK"] == "G"
    assert found["feedback"] == [{"outcome": "FEEDBACK", "identifier": "G", "text": "Put g in."}]
    json.dumps(found, allow_nan=False)


def run(capsys, *arguments: object) -> tuple[int, str, str]:
    code = exit_code_of(["score", *map(str, arguments)])
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_the_command_tells_score_outcomes_and_feedback(capsys, one):
    code, out, err = run(capsys, one, "RESPONSE=40")
    assert (code, err) == (0, "")
    assert "A pump\nScore: 0 of 2\n" in out
    assert "FEEDBACK shows G:\n  Put g in." in out
    assert "Score: 2 of 2" in run(capsys, one, "RESPONSE=392.4")[1]


def test_the_command_prints_json(capsys, one):
    code, out, _ = run(capsys, one, "RESPONSE=392.4", "MARKS=A", "MARKS=B", "--json")
    assert code == 0
    assert json.loads(out)["item"] == "item"
    assert json.loads(out)["score"] == 2


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["RESPONSE"], "expected RESPONSE=VALUE"),
        (["RESPONS=1"], "did you mean 'RESPONSE'?"),
        (["RESPONSE=1,5"], "a comma is no decimal sign"),
        (["RESPONSE=1", "RESPONSE=2"], "expected one value"),
        (["--item", "x"], "holds no item 'x'"),
    ],
)
def test_the_command_tells_what_is_wrong(capsys, one, arguments, said):
    code, out, err = run(capsys, one, *arguments)
    assert (code, out) == (2, "")
    assert said in err


def test_a_bank_of_ours_as_a_whole_test(tmp_path):
    """The test in a package picks one sibling a pool and sums what it scores."""
    report = qbank.make(
        ["thin-lens", "weak-acid"], count=4, formats=["qti-2.1"], out=tmp_path, name="bank"
    )
    path = report.packages[0].path
    items = {item.identifier: item for item in qbank.read_items(path)}
    met = set()
    for seed in range(12):
        from qbank.scoring.bank import find_test

        chosen = [selected.identifier for selected in find_test(path).select(seed)]
        assert [items[name].provenance.family for name in chosen] == ["thin-lens", "weak-acid"]
        met.update(chosen)
    assert len(met) > 4
    keyed = {
        name: {
            f"RESPONSE_{p.identifier}": p.key_text
            for p in items[name].parts
            if hasattr(p, "key_text")
        }
        for name in chosen
    }
    found = score_test(path, keyed, seed=11)
    points = sum(p.points for name in chosen for p in items[name].parts if hasattr(p, "key_text"))
    assert found.score == pytest.approx(points)
    assert found.warnings == ()
