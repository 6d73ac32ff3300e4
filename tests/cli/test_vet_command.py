"""`qbank vet`: exit codes, several families, JSON."""

import json
from pathlib import Path

import pytest

from qbank.cli.main import exit_code_of

VETTING = Path(__file__).parent.parent / "vetting"
CLEAN = str(VETTING / "two-carts.yaml")


def bad(name):
    return str(VETTING / "bad" / f"{name}.yaml")


def run(capsys, *arguments):
    code = exit_code_of(["vet", *arguments])
    return code, *capsys.readouterr()


def test_a_clean_family(capsys):
    code, out, err = run(capsys, CLEAN, "--sample", "1000")
    assert (code, err) == (0, "")
    assert out.startswith("two-carts: nothing to find fault with\n")


def test_notes_alone_are_clean(capsys):
    code, out, _ = run(capsys, bad("stem-long"), "--sample", "1000")
    assert code == 0
    assert ": note: the stem has" in out


def test_a_warning_exits_with_1_and_names_its_line(capsys):
    code, out, _ = run(capsys, CLEAN, bad("hints-missing"), "--sample", "1000")
    assert code == 1
    path = bad("hints-missing")
    line = Path(path).read_text("utf-8").splitlines().index("  stem: |  # <- hints-missing") + 1
    assert f"{path}:{line}:3: warning: there are no hints [hints-missing]" in out
    assert out.index("two-carts:") < out.index("hints-missing:")


def test_what_the_reader_refuses_is_a_finding(capsys):
    code, out, _ = run(capsys, bad("refused"))
    assert code == 1
    assert out.startswith("refused: 4 errors\n")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "no family"),
        (b"family: \xff", "UTF-8"),
        (b"family: [", "YAML"),
    ],
)
def test_a_file_that_cannot_be_read_exits_with_2(capsys, tmp_path, content, said):
    path = tmp_path / "f.yaml"
    if content is not None:
        path.write_bytes(content)
    code, out, err = run(capsys, str(path), CLEAN)
    assert (code, out) == (2, "")
    assert err.startswith("Error: ")
    assert said.lower() in err.lower() or str(path) in err


def test_json_holds_everything(capsys):
    code, out, _ = run(capsys, CLEAN, bad("rule-redundant"), "--json", "--sample", "1000")
    assert code == 1
    clean, faulty = json.loads(out)
    assert clean["clean"]
    assert clean["findings"] == []
    assert clean["elasticities"]["S"]["F"] > 1
    (finding,) = faulty["findings"]
    assert finding["code"] == "rule-redundant"
    assert finding["severity"] == "warning"
    assert finding["line"] > 1
    assert finding["numbers"]["turned away"] > 0
    assert not faulty["clean"]


def test_the_seed_decides_what_is_drawn(capsys):
    shares = []
    for seed in "1", "1", "2":
        _, out, _ = run(capsys, bad("word-guessable"), "--json", "--seed", seed)
        shares.append(json.loads(out)[0]["findings"][0]["numbers"]["share"])
    assert shares[0] == shares[1] != shares[2]
