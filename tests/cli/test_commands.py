"""The commands as a user runs them: output, exit codes, and what bad input is told."""

from __future__ import annotations

import csv
import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import qbank
from qbank.cli.main import cli, exit_code_of


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = exit_code_of(list(arguments))
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_version_as_a_command_and_as_a_module():
    for command in (["qbank"], ["-m", "qbank"]):
        start = [sys.executable] if command[0] == "-m" else []
        program = [str(Path(sys.executable).with_name("qbank"))] if not start else start + command
        done = subprocess.run([*program, "--version"], capture_output=True, text=True)
        assert done.returncode == 0
        assert qbank.__version__ in done.stdout


@pytest.mark.parametrize("name", list(cli.commands))
def test_every_command_explains_itself_with_an_example(capsys, name):
    code, out, _ = run(capsys, name, "--help")
    assert code == 0
    assert f"qbank {name}" in out
    assert "Example:" in out


def test_list_names_every_shipped_family_and_counts_it(capsys):
    code, out, err = run(capsys, "list", "--json")
    assert code == 0
    assert err == ""
    listed = json.loads(out)
    assert len(listed) >= 10
    assert all(family["instances"] > 0 for family in listed)
    assert [f["family"] for f in listed] == [path.stem for path in qbank.shipped_families()]


def test_list_filters(capsys):
    code, out, _ = run(capsys, "list", "--subject", "optics")
    assert code == 0
    assert "thin-lens" in out
    assert "stepped-drum" not in out


def test_show_prints_the_worked_solution_within_80_columns(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    code, out, _ = run(capsys, "show", "stepped-drum", "--seed", "7", "--index", "3")
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    again = run(capsys, "show", "stepped-drum", "--seed", "7", "--index", "3")
    assert again[1] == out


def test_work_solves_hand_given_data(capsys):
    # The stepped drum of case 1, answers by four independent routes: see tests/references.
    data = ["m_a=1.6kg", "m_b=4.0kg", "r=10cm", "R=20cm", "M_r=3.0kg", "M_R=5.0kg"]
    code, out, err = run(capsys, "work", "stepped-drum", *data, "--json")
    assert code == 0, err
    keys = {part["identifier"]: part.get("key") for part in json.loads(out)["parts"]}
    assert [v for v in keys.values() if isinstance(v, float)] == [19.1, 22.0, 21.6]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (["m_a=1.6"], "m_a"),
        (["m_a=1.6cm"], "mass"),
        (["m_a=__import__('os').getcwd()"], "m_a"),
        (["m_a=1e999kg"], "m_a"),
        (["m_a=1.6kg", "m_a=2kg"], "twice"),
        (["=1.6kg", "m_a=1kg"], "NAME=VALUE"),
        (["m_a"], "NAME=VALUE"),
        (["m_a=1.6kg", "m_c=1.6kg"], "Did you mean m_b?"),
    ],
)
def test_work_says_what_is_wrong_with_the_data(capsys, data, said):
    others = ["m_b=4.0kg", "r=10cm", "R=20cm", "M_r=3.0kg", "M_R=5.0kg"]
    code, out, err = run(capsys, "work", "stepped-drum", *others, *data)
    assert code == 2
    assert out == ""
    assert said in err
    assert "Traceback" not in err


def test_work_prints_no_statement_that_does_not_hold(capsys):
    # A negative mass: the left tension is then less than the (negative) weight.
    data = ["m_a=-1.6kg", "m_b=4.0kg", "r=10cm", "R=20cm", "M_r=3.0kg", "M_R=5.0kg"]
    code, out, err = run(capsys, "work", "stepped-drum", *data)
    assert code == 0
    assert "fails the check confirm: 'T_a > m_a*g'" in err
    checks = " ".join(out.split()).split("Check: ")[1:]
    assert len(checks) == 3
    assert checks[0].startswith("T_a > m_a·g should hold, because the left load speeds up")
    assert "With these data it does not." in checks[0]
    assert "Here 10.15 N < 39.24 N." in checks[1]


def test_work_names_every_given_that_is_missing(capsys):
    code, _, err = run(capsys, "work", "stepped-drum", "m_a=1.6kg")
    assert code == 2
    assert "no value is given for m_b, r, R, M_r, M_R" in err


def test_make_writes_what_it_says(capsys, tmp_path):
    code, out, err = run(
        capsys, "make", "thin-lens", "stepped-drum", "--count", "3", "--out", str(tmp_path)
    )
    assert code == 0, err
    written = [Path(line) for line in out.split()]
    assert len(written) == 3
    assert all(path.exists() for path in written)
    table = next(path for path in written if path.is_dir()) / "items.csv"
    with table.open(newline="", encoding="utf-8") as rows:
        assert len(list(csv.reader(rows))) == 1 + 6
    assert "checks passed" in err


def test_make_twice_gives_the_same_bytes(capsys, tmp_path):
    for folder in ("a", "b"):
        assert (
            run(capsys, "make", "thin-lens", "--count", "4", "--out", str(tmp_path / folder))[0]
            == 0
        )
    first, second = (
        {
            str(path.relative_to(tmp_path / folder)): path.read_bytes()
            for path in (tmp_path / folder).rglob("*.*")
            if path.is_file()
        }
        for folder in "ab"
    )
    assert first == second
    assert first


def test_hints_on_request_are_written_when_asked_for(capsys, tmp_path):
    base = ["make", "thin-lens", "--count", "1", "--to", "qti-3.0", "--unpacked", "--name", "b"]
    for arguments, adaptive in (([], "false"), (["--hints"], "true")):
        assert run(capsys, *base, *arguments, "--out", str(tmp_path))[0] == 0
        item = next((tmp_path / "b-qti-3.0" / "items").rglob("*.xml")).read_text(encoding="utf-8")
        assert f'adaptive="{adaptive}"' in item
        assert ("qti-end-attempt-interaction" in item) == bool(arguments)


def test_make_with_json_prints_one_document(capsys, tmp_path):
    arguments = [
        "make",
        "thin-lens",
        "--count",
        "2",
        "--to",
        "csv",
        "--out",
        str(tmp_path),
        "--json",
    ]
    code, out, _ = run(capsys, *arguments)
    assert code == 0
    report = json.loads(out)
    assert report["families"]["thin-lens"]["instances"] == 2
    assert report["packages"][0]["items"] == 2


def test_make_of_none_is_an_empty_bank(capsys, tmp_path):
    code, out, err = run(
        capsys, "make", "thin-lens", "--count", "0", "--to", "csv", "--out", str(tmp_path)
    )
    assert code == 0, err
    assert (Path(out.strip()) / "items.csv").read_text(encoding="utf-8").count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["make", "thin-lens", "--count", "-1"], "-1"),
        (["make", "thin-lens", "--count", "many"], "many"),
        (["make", "thin-lens", "--count", "1000000000000"], "distinct instances"),
        (["make", "thin-lense"], "thin-lens"),
        (["make", "thin-lens", "--to", "qti-3"], "qti-3.0"),
        (["make", "no/such/file.yaml"], "no/such/file.yaml"),
        (["make", "thin-lens", "--seed", "-4"], "-4"),
        (["make", "thin-lens", "thin-lens"], "the family 'thin-lens' is named twice"),
        (["make", "thin-lens", "thin-lens", "--one-item"], "the family 'thin-lens' is named twice"),
        (["mkae"], "mkae"),
    ],
)
def test_the_users_mistakes_end_with_exit_code_2_and_a_mend(capsys, tmp_path, arguments, said):
    if arguments[0] == "make":
        arguments = [*arguments, "--out", str(tmp_path / "out")]
    code, out, err = run(capsys, *arguments)
    assert code == 2
    assert out == ""
    assert said in err
    assert "Traceback" not in err
    assert not list(tmp_path.rglob("*.*"))


TWO_FAULTS = """family: kettle
title: A kettle
subject: heat
version: 1
given:
  P: {name: power, draw: 1 .. 3 by 0 kW}
  t: {name: time, draw: 10 .. 90 by 10 s}
find:
  E: {name: energy, unit: kJ, figures: 3}
laws:
  energy: E = P*t
ask:
  - {enter: E}
text:
  stem: A kettle of {P} runs for {t}.
"""


@pytest.mark.parametrize("command", ["list", "show", "work", "make", "proof"])
def test_all_faults_of_a_family_file_are_told_at_once(capsys, tmp_path, monkeypatch, command):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "kettle.yaml"
    path.write_text(TWO_FAULTS, encoding="utf-8")
    code, out, err = run(capsys, command, str(path))
    assert (code, out) == (2, "")
    assert "the family has 2 faults" in err
    assert f"{path}:4:10: version: expected three numbers, found '1'" in err
    assert f"{path}:6:36: given 'P': the step must be more than 0, found 0" in err
    assert list(tmp_path.iterdir()) == [path]


def test_an_output_folder_that_is_a_file(capsys, tmp_path):
    target = tmp_path / "taken"
    target.write_text("mine")
    code, _, err = run(capsys, "make", "thin-lens", "--count", "1", "--out", str(target))
    assert code == 2
    assert f"'{target}': it is a file" in err
    assert target.read_text() == "mine"


def test_a_format_named_twice_is_written_once(capsys, tmp_path):
    base = ["make", "thin-lens", "--count", "1", "--out", str(tmp_path)]
    code, out, err = run(capsys, *base, "--to", "csv", "--to", "csv")
    assert code == 0, err
    assert out.split() == [str(tmp_path / "thin-lens-csv")]


def test_a_full_disk_leaves_the_old_package_whole(tmp_path):
    # A limit on the size of files a process may write stands in for a full disk.
    out = tmp_path / "out"
    base = [
        sys.executable,
        "-m",
        "qbank",
        "make",
        "thin-lens",
        "--to",
        "qti-2.1",
        "--out",
        str(out),
    ]
    subprocess.run([*base, "--count", "2"], check=True, capture_output=True)
    before = {path: path.read_bytes() for path in out.iterdir()}
    limited = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000));"
        "from qbank.cli.main import run; run(sys.argv[1:])"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited, *base[3:], "--count", "200"], capture_output=True, text=True
    )
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    assert {path: path.read_bytes() for path in out.iterdir()} == before


def test_an_interrupt_leaves_the_old_package_whole(tmp_path):
    out = tmp_path / "out"
    base = [
        sys.executable,
        "-m",
        "qbank",
        "make",
        "thin-lens",
        "--to",
        "qti-2.1",
        "--out",
        str(out),
    ]
    subprocess.run([*base, "--count", "2"], check=True, capture_output=True)
    before = {path: path.read_bytes() for path in out.iterdir()}
    process = subprocess.Popen(
        [*base, "--count", "20000"], stderr=subprocess.PIPE, text=True, cwd=tmp_path
    )
    deadline = time.monotonic() + 60
    while set(out.iterdir()) == set(before) and time.monotonic() < deadline:
        time.sleep(0.05)  # until the temporary file beside the target is there
    assert set(out.iterdir()) != set(before), "the run ended before it could be interrupted"
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode == 130, err
    assert "Interrupted" in err
    assert "Traceback" not in err
    assert {path: path.read_bytes() for path in out.iterdir()} == before


def test_a_reader_that_leaves_a_pipe_early_causes_no_noise():
    done = subprocess.run(
        f"{sys.executable} -m qbank show stepped-drum | head -n 1",
        shell=True, capture_output=True, text=True,
    )  # fmt: skip
    assert done.stdout
    assert done.stderr == ""


def test_a_defect_is_reported_without_a_traceback(capsys, monkeypatch):
    def broken(*_: object) -> None:
        raise ZeroDivisionError("planted")

    monkeypatch.setattr("qbank.generation.count_instances", broken)
    monkeypatch.delenv("QBANK_TRACEBACK", raising=False)
    code, _, err = run(capsys, "list", "thin-lens")
    assert code == 3
    assert "ZeroDivisionError: planted" in err
    assert "Traceback" not in err


def test_no_progress_is_drawn_into_a_pipe(tmp_path):
    command = [sys.executable, "-m", "qbank", "make", "thin-lens", "--count", "5"]
    done = subprocess.run([*command, "--out", str(tmp_path)], capture_output=True)
    assert b"\r" not in done.stderr
    assert b"\x1b" not in done.stderr


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("bank.csv", "a,b\n", "is no package of QTI"),
        ("kettle.yaml", "family: kettle\n", "is no package of QTI"),
        ("item.xml", "<assessmentItem", "is not well-formed XML"),
        ("item.xml", "<html/>", "is no item: it is <html>"),
        ("bank.zip", "PK", "is no package of QTI"),
        ("nothing", None, "No such file"),
    ],
)
def test_score_says_what_it_cannot_grade(capsys, tmp_path, name, content, said):
    path = tmp_path / name
    if content is not None:
        path.write_text(content, encoding="utf-8")
    code, out, err = run(capsys, "score", str(path), "RESPONSE=1")
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


def test_a_list_may_have_its_unit_once_or_after_each_value(capsys):
    others = ["C=95 %", "m_0=41 mm", "--json"]
    once = run(capsys, "work", "mean-interval", "x=41.2, 41.6, 42.1 mm", *others)
    each = run(capsys, "work", "mean-interval", "x=41.2 mm, 4.16 cm; 42.1 mm", *others)
    assert once[0] == 0, once[2]
    keys = [[part.get("key") for part in json.loads(out)["parts"]] for _, out, _ in (once, each)]
    assert keys[0] == keys[1]


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ("x=41.2 mm", "x: expected a list of 2 to 1000 values, found 1"),
        ("x=41.2, , 41.5 mm", "x: expected a number"),
        ("x=41.2 kg, 41.5 mm", "x is a length (m); 41.2 kg is a mass (kg)"),
        ("x=41.2, 41.5", "x: 41.2 has no unit"),
        ("x=" + "1, " * 1000 + "1 mm", "found 1001"),
    ],
)
def test_work_says_what_is_wrong_with_a_list(capsys, values, said):
    code, out, err = run(capsys, "work", "mean-interval", values, "C=95 %", "m_0=41 mm")
    assert (code, out) == (2, "")
    assert said in err
