"""Finding families by name and by path."""

from pathlib import Path

import pytest

from qbank.errors import FamilyError
from qbank.family.library import find_family, shipped_families


def test_shipped_families_are_named_after_their_files_without_doubles() -> None:
    names = [path.stem for path in shipped_families()]
    assert len(names) >= 10
    assert len(set(names)) == len(names)


def test_a_name_or_a_path_finds_the_same_file() -> None:
    path = find_family("stepped-drum")
    assert path.name == "stepped-drum.yaml"
    assert find_family(str(path)) == path
    assert find_family(path) == path


@pytest.mark.parametrize(
    ("name", "message", "hint"),
    [
        ("steped-drum", "no family is named 'steped-drum'", "Did you mean stepped-drum?"),
        (
            "q",
            "no family is named 'q'",
            "`qbank list` shows the shipped families; a path must end in .yaml",
        ),
        (
            "none/such.yaml",
            "there is no such file",
            "check the path, or name a shipped family; `qbank list` shows them",
        ),
        (
            "../../etc/passwd\0.yaml",
            "there is no such file",
            "check the path, or name a shipped family; `qbank list` shows them",
        ),
        ("x" * 5000 + ".yml", "there is no such file", None),
    ],
)
def test_what_is_not_there(name: str, message: str, hint: str | None) -> None:
    with pytest.raises(FamilyError) as caught:
        find_family(name)
    assert caught.value.message == message
    assert hint is None or caught.value.hint == hint


def test_a_folder_is_no_family(tmp_path: Path) -> None:
    with pytest.raises(FamilyError) as caught:
        find_family(tmp_path / "none.yaml")
    assert caught.value.place is not None
    assert caught.value.place.file == str(tmp_path / "none.yaml")


def test_in_a_wheel_the_families_lie_inside_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shipped" / "topic").mkdir(parents=True)
    inside = tmp_path / "shipped" / "topic" / "one.yaml"
    inside.write_text("", encoding="utf-8")
    monkeypatch.setattr("qbank.family.library._FOLDERS", (tmp_path / "shipped", tmp_path))
    assert shipped_families() == [inside]
    monkeypatch.setattr("qbank.family.library._FOLDERS", (tmp_path / "none",))
    assert shipped_families() == []
    with pytest.raises(FamilyError):
        find_family("one")
