"""`qbank forms` and `qbank list --difficulty` as a user runs them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import qbank
from qbank.cli.main import exit_code_of
from tests.forms.blueprints import PULL

BLUEPRINT = """\
title: Pulls, short test
forms: 2
families: pull.yaml
draw:
  - {family: pull, count: 2}
"""


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = exit_code_of(list(arguments))
    captured = capsys.readouterr()
    return code, captured.out, captured.err


@pytest.fixture
def blueprint(tmp_path: Path) -> Path:
    (tmp_path / "pull.yaml").write_text(PULL, encoding="utf-8")
    path = tmp_path / "pulls.yaml"
    path.write_text(BLUEPRINT, encoding="utf-8")
    return path


def test_forms_prints_a_table_and_writes_a_bank_a_form(capsys, blueprint, tmp_path):
    out = tmp_path / "out"
    code, text, err = run(capsys, "forms", str(blueprint), "--to", "csv", "--out", str(out))
    assert code == 0, err
    written = sorted(path.name for path in out.iterdir())
    assert written == ["Pulls-short-test-form-1-csv", "Pulls-short-test-form-2-csv"]
    lines = text.splitlines()
    assert lines[0] == "Pulls, short test (seed 0)"
    assert max(map(len, lines)) <= 100
    assert sum(line.split()[:1] == ["1"] and "pull" in line for line in lines) == 2
    assert sum(line.split()[:1] == ["2"] and "pull" in line for line in lines) == 2
    assert "the band is 0.1. No two forms have an item in common." in text
    assert err.count("2 items") == 2


def test_forms_as_json_says_what_stands_where(capsys, blueprint, tmp_path):
    arguments = ["forms", str(blueprint), "--forms", "3", "--seed", "4", "--to", "csv", "--json"]
    code, text, err = run(capsys, *arguments, "--out", str(tmp_path / "out"))
    assert code == 0
    assert err == ""
    drawn = json.loads(text)
    assert drawn["title"] == "Pulls, short test"
    assert drawn["seed"] == 4
    assert [form["form"] for form in drawn["forms"]] == [1, 2, 3]
    assert drawn["spread"] <= drawn["band"] == 0.1
    items = [item for form in drawn["forms"] for item in form["items"]]
    assert len({(item["family"], item["index"]) for item in items}) == 6
    for form, package in zip(drawn["forms"], drawn["packages"], strict=True):
        total = sum(item["difficulty"] for item in form["items"])
        assert form["difficulty"] == pytest.approx(total, abs=1e-4)
        items = list(qbank.read_items(Path(package["path"])))
        assert len(items) == package["items"] == 2
        assert [item.provenance.index for item in items] == [i["index"] for i in form["items"]]


def test_forms_twice_gives_the_same_bytes(capsys, blueprint, tmp_path):
    texts = []
    for name in "ab":
        code, text, _ = run(
            capsys, "forms", str(blueprint), "--to", "csv", "--out", str(tmp_path / name)
        )
        assert code == 0
        texts.append(text)
    assert texts[0] == texts[1]
    first, second = (
        {
            str(path.relative_to(tmp_path / name)): path.read_bytes()
            for path in (tmp_path / name).rglob("*")
            if path.is_file()
        }
        for name in "ab"
    )
    assert first == second
    assert len(first) == 4


def test_forms_hold_no_adaptive_items(capsys, blueprint, tmp_path):
    """Hints on request would make them adaptive, in a form as in a bank."""
    family = tmp_path / "pull.yaml"
    text = family.read_text(encoding="utf-8")
    hinted = text.replace("{F_r}.'}", "{F_r}.', hints: [Think.]}")
    assert hinted != text
    family.write_text(hinted, encoding="utf-8")
    arguments = ["forms", str(blueprint), "--to", "qti-3.0", "--to", "jsonl", "--unpacked"]
    code, _, err = run(capsys, *arguments, "--out", str(tmp_path / "out"))
    assert code == 0, err
    items = list((tmp_path / "out").rglob("items/*/*.xml"))
    assert len(items) == 4
    assert all('adaptive="false"' in item.read_text(encoding="utf-8") for item in items)
    (lines, _) = sorted((tmp_path / "out").rglob("*.jsonl"))
    assert "Think." in lines.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "arguments", "said"),
    [
        ("family: pull", "family: pul", [], "Did you mean pull?"),
        ("forms: 2", "forms: many", [], "pulls.yaml:2:8: blueprint, forms: expected a whole"),
        ("count: 2", "counts: 2", [], "Did you mean count?"),
        ("forms: 2", "forms: 2", ["--forms", "0"], "0 is not in the range"),
        ("forms: 2", "forms: 2", ["--to", "cvs"], "did you mean 'csv'?"),
    ],
)
def test_mistakes_end_with_exit_code_2_and_nothing_written(
    capsys, blueprint, tmp_path, old, new, arguments, said
):
    blueprint.write_text(BLUEPRINT.replace(old, new), encoding="utf-8")
    out = tmp_path / "out"
    code, text, err = run(capsys, "forms", str(blueprint), *arguments, "--out", str(out))
    assert code == 2
    assert text == ""
    assert said in err
    assert "Traceback" not in err
    assert not out.exists()


def test_a_blueprint_that_is_not_there(capsys, tmp_path):
    code, _, err = run(capsys, "forms", str(tmp_path / "no.yaml"))
    assert code == 2
    assert "no.yaml:1:1: there is no such file" in err


def test_list_draws_how_the_difficulty_spreads(capsys):
    code, text, _ = run(capsys, "list", "thin-lens", "--difficulty")
    assert code == 0
    picture = text.split("\nthin-lens\n")[1]
    assert picture.startswith("difficulty index of 1,000 instances: ")
    assert "█" * 40 in picture
    assert "closeness" in picture


def test_list_says_the_spread_as_json(capsys):
    code, text, _ = run(capsys, "list", "thin-lens", "--difficulty", "--seed", "3", "--json")
    assert code == 0
    (family,) = json.loads(text)
    spread = family["difficulty"]
    assert sum(spread["counts"]) == spread["instances"] == 1000
    assert spread["least"] <= spread["median"] <= spread["most"]
    plain = json.loads(run(capsys, "list", "thin-lens", "--json")[1])
    assert "difficulty" not in plain[0]
