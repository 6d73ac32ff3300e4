"""YAML as a stranger may write it: the traps read as they stand, the hostile refused."""

import os
import time
from pathlib import Path

import pytest

from qbank.errors import FamilyError
from qbank.family.nodes import Listing, Mapping, Node, Scalar
from qbank.family.reader import MAX_BYTES, decode, read_bytes, read_nodes


def plain(node: Node) -> object:
    match node:
        case Scalar(text=text):
            return text
        case Listing(items=items):
            return [plain(item) for item in items]
        case Mapping(entries=entries):
            return {key: plain(entry.value) for key, entry in entries.items()}


def fault_of(text: str) -> FamilyError:
    with pytest.raises(FamilyError) as caught:
        read_nodes(text, "f.yaml")
    return caught.value


# Measured with PyYAML's own resolver: 1e3 is text, 010 is 8, 12:30 is 750, `no` is False.
@pytest.mark.parametrize(
    "written",
    ["1e3", "010", "12:30", "no", "off", "null", "~", "1_000", "0x1F", ".inf", "2026-01-01", "1.0"],
)
def test_scalars_stay_the_text_that_stands_there(written: str) -> None:
    assert plain(read_nodes(f"a: {written}\nb: [{written}]\n{written}: x\n", "f")) == {
        "a": written,
        "b": [written],
        written: "x",
    }


def test_a_comma_in_braces_does_not_end_plain_text() -> None:
    text = "{a: 4.7, 10,22 kΩ, b: max(x, y) > 0,\n c: one,\n   two, d: [p, q], e: '', f: }"
    assert plain(read_nodes(text, "f")) == {
        "a": "4.7, 10, 22 kΩ",
        "b": "max(x, y) > 0",
        "c": "one, two",
        "d": ["p", "q"],
        "e": "",
        "f": "",
    }


@pytest.mark.parametrize(
    ("text", "at", "message"),
    [
        ("k: {law left}", "1:5", "expected `key: value` after the brace, found 'law left'"),
        (
            "k: {a: 'quoted', more}",
            "1:18",
            "expected `key: value`, found 'more' without a colon",
        ),
        ("k: {a: [1], more}", "1:13", "expected `key: value`, found 'more' without a colon"),
    ],
)
def test_a_comma_that_continues_nothing_is_an_error(text: str, at: str, message: str) -> None:
    error = fault_of(text)
    assert f"{error.place}" == f"f.yaml:{at}"
    assert error.message == message
    assert error.hint is not None
    assert "in quotes" in error.hint


def test_line_ends_of_other_systems_and_a_byte_order_mark_are_read() -> None:
    text = decode("\ufeffa: 1\r\nb: |\r\n  x\r\n  y\r\n".encode(), "f")
    assert plain(read_nodes(text, "f")) == {"a": "1", "b": "x\ny\n"}


@pytest.mark.parametrize(
    ("text", "at", "message", "hint"),
    [
        (
            "a: 1\nb: 2\na: 3\n",
            "3:1",
            "the key 'a' stands here a second time; the first is in line 1",
            "delete one of the two, or rename it",
        ),
        (
            "a: {b: 1, c: 2, b: 3}",
            "1:17",
            "the key 'b' stands here a second time; the first is in line 1",
            "delete one of the two, or rename it",
        ),
        (
            "a: &x 1\n",
            "1:4",
            "an anchor (&x) is not part of the family language",
            "delete it, or put text that starts with & or ! in quotes",
        ),
        (
            "a: 1\nb: *x\n",
            "2:4",
            "an alias (*x) is not part of the family language",
            "write the value out, or put text that starts with * in quotes",
        ),
        (
            "a: !!python/object/apply:os.system [echo]\n",
            "1:4",
            "a tag (tag:yaml.org,2002:python/object/apply:os.system) is not part of the family "
            "language",
            "delete it, or put text that starts with & or ! in quotes",
        ),
        (
            "a: !local 1\n",
            "1:4",
            "a tag (!local) is not part of the family language",
            "delete it, or put text that starts with & or ! in quotes",
        ),
        (
            "a: 1\n---\na: 2\n",
            "2:1",
            "a second document begins here; a file holds one family",
            "move what follows `---` into a file of its own",
        ),
        ("", "1:1", "the file is empty", "start it with `family: NAME`; see the README"),
        ("# only a note\n", "1:1", "the file is empty", None),
        (
            "- a\n- b\n",
            "1:1",
            "expected the sections of a family, such as `given:` and `laws:`",
            "start the file with `family: NAME`",
        ),
        (
            "? [a, b]\n: 1\n",
            "1:3",
            "a key must be text; a list or mapping stands here",
            "put text that starts with { or [ in quotes",
        ),
        (
            "a: b\x07c\n",
            "1:5",
            "the character U+0007 cannot be seen and is not allowed",
            "delete it; lines end with a line feed",
        ),
        ("a: b\u2028c\n", "1:5", "the character U+2028 cannot be seen and is not allowed", None),
        ("a: \u202eb\n", "1:4", "the character U+202E cannot be seen and is not allowed", None),
        (
            "a: b: c\n",
            "1:5",
            "a colon and a space inside text start a new entry",
            "put the whole text in quotes",
        ),
        (
            "a:\n\tb: 1\n",
            "2:1",
            "a tab stands where the line's indentation is read",
            "indent with spaces",
        ),
        (
            "unit: %\n",
            "1:7",
            "text cannot begin with this character",
            "put the text in quotes",
        ),
        (
            "a: {b: 1\nc: 2\n",
            "2:2",
            "the mapping in braces is not closed, or its text holds a brace, a bracket or a colon",
            "close it with }, or put the text in quotes",
        ),
        (
            "a: [1, 2\nb: 3\n",
            "2:2",
            "the list in brackets is not closed, or its text holds a brace, a bracket or a colon",
            "close it with ], or put the text in quotes",
        ),
        (
            "a: 1\nword\nb: 2\n",
            "3:1",
            "expected `key: value`, found a line without a colon",
            "add the colon, or indent the line to continue the text above",
        ),
        ('a: 1\nb: "open\nc: 2\n', "2:4", "the quotes opened here are not closed", "close them"),
        (
            "a: 1\n b: 2\n",
            "2:3",
            "a colon and a space inside text start a new entry",
            "put the whole text in quotes",
        ),
        (
            'a: "quoted" and more\n',
            "1:13",
            "this line fits neither the indentation nor the quotes of what stands above it",
            "give all keys of a section the same indentation; quote a text as a whole",
        ),
        (
            'a: "\\d"\n',
            "1:6",
            "a backslash inside double quotes starts an escape",
            "use single quotes, or write the backslash twice",
        ),
    ],
)
def test_a_fault_says_where_what_and_how_to_mend_it(
    text: str, at: str, message: str, hint: str | None
) -> None:
    error = fault_of(text)
    assert (f"{error.place}", error.message) == (f"f.yaml:{at}", message)
    assert error.hint
    assert hint is None or error.hint == hint
    assert error.excerpt is not None


BOMB = "\n".join(["a0: &a0 [x, x]", *(f"a{i}: &a{i} [*a{i - 1}, *a{i - 1}]" for i in range(1, 40))])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (BOMB, "an anchor (&a0) is not part of the family language"),
        ("a: " + "[" * 500_000, "lists and mappings are nested more than 20 deep"),
        ("a: " + "{k: " * 200_000, "lists and mappings are nested more than 20 deep"),
        (
            "\n".join(" " * i + "a:" for i in range(1300)),
            "lists and mappings are nested more than 20 deep",
        ),
        ("- x\n" * 240_000, "the file holds more than 10,000 values"),
        ("a: [" + "x," * 450_000 + "]", "the file holds more than 10,000 values"),
        ("a: 1\n---\n" * 100_000, "a second document begins here; a file holds one family"),
        ("a: " + "x" * MAX_BYTES, "the text is longer than 1,000,000 characters"),
        ("a: " + "9" * 900_000 + "\nb: *c", "an alias (*c) is not part of the family language"),
        ("a: '" + "''" * 490_000 + "\n", "the quotes opened here are not closed"),
        ('a: "' + "\\" * 900_001, None),
        ("? " * 400_000, "a key must be text; a list or mapping stands here"),
        ("!" * 900_000, None),
        ("%TAG ! tag:x,2000:\n" * 20_000 + "---\na: 1", None),
        ("#" * 900_000, "the file is empty"),
        ("\n" * 900_000, "the file is empty"),
        ("&a " * 300_000, None),
        (": " * 400_000, None),
    ],
    ids=range(18),
)
def test_hostile_text_is_refused_in_bounded_time(text: str, message: str | None) -> None:
    start = time.process_time()
    error = fault_of(text)
    assert time.process_time() - start < 10
    assert message is None or error.message == message
    assert error.place is not None


def test_bytes_that_are_no_utf8_are_refused_with_their_place() -> None:
    with pytest.raises(FamilyError) as caught:
        decode("a: é\nbé: ".encode() + b"\xff", "f.yaml")
    assert str(caught.value) == (
        "f.yaml:2:5: byte 0xff is not UTF-8\n    save the file in the encoding UTF-8"
    )


def test_files_that_are_none_are_refused(tmp_path: Path) -> None:
    big = tmp_path / "big.yaml"
    big.write_bytes(b"#" * (MAX_BYTES + 1))
    fifo = tmp_path / "fifo.yaml"
    os.mkfifo(fifo)
    for path, message in (
        (tmp_path / "none.yaml", "there is no such file"),
        (tmp_path, "expected a file, found a folder or a device"),
        (fifo, "expected a file, found a folder or a device"),
        (big, "the file is larger than 1,000,000 bytes; a family needs a few thousand"),
        (tmp_path / ("x" * 300), "the file cannot be read: File name too long"),
        (tmp_path / "nul\0", "the file cannot be read: embedded null byte"),
    ):
        with pytest.raises(FamilyError) as caught:
            read_bytes(path)
        assert caught.value.message == message
        assert caught.value.hint
        assert caught.value.place is not None
        assert caught.value.place.file == str(path)
