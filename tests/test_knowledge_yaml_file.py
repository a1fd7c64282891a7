"""The YAML reader: what it refuses, and that each refusal is one line with file, line and remedy."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from coach.errors import CoachError
from coach.knowledge.yaml_file import MAX_BYTES, Fields, Problems, load_yaml


def refusal(path: Path, text: str | bytes) -> str:
    """Write the file, read it and give back the message without the folder."""
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(CoachError) as caught:
        load_yaml(path)
    assert "\n" not in str(caught.value)
    return str(caught.value).replace(str(path), path.name)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A place for a file to read."""
    return tmp_path / "a.yaml"


def test_values_keep_their_lines(file: Path) -> None:
    """A value stands at the line of its key, a member of a list at its own."""
    file.write_text("# a remark\nsay:\n  - one\n  - two\ntoes: 4\n")
    top = load_yaml(file)
    assert top.entries["say"].line == 2
    assert [node.line for node in top.entries["say"].items] == [3, 4]
    assert (top.entries["toes"].line, top.entries["toes"].kind, top.entries["toes"].text) == (5, "number", "4")


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(file: Path) -> None:
    """Files saved by a simple Windows editor are read."""
    file.write_bytes(b"\xef\xbb\xbfid: a\r\nname: b\r\n")
    assert load_yaml(file).entries["name"].text == "b"


def test_a_missing_file_is_named(file: Path) -> None:
    """A wrong path says so."""
    with pytest.raises(CoachError, match=r"a\.yaml: no such file; check the name and the folder$"):
        load_yaml(file)


def test_a_folder_is_refused(tmp_path: Path) -> None:
    """A folder in place of a file says so."""
    with pytest.raises(CoachError, match="is a folder; name the file in it$"):
        load_yaml(tmp_path)


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="the administrator may read everything")
def test_a_file_without_permission_is_refused(file: Path) -> None:
    """A file that may not be read says so."""
    file.write_text("id: a\n")
    file.chmod(0)
    with pytest.raises(CoachError, match="may not be read; change its permissions$"):
        load_yaml(file)


def test_an_impossible_path_is_refused() -> None:
    """A name no file can have gives a message, not a traceback."""
    with pytest.raises(CoachError, match="cannot be opened"):
        load_yaml(Path("a" * 5000))
    with pytest.raises(CoachError, match="cannot be opened"):
        load_yaml(Path("a\0b.yaml"))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (b"id: a\nname: caf\xe9\n", "a.yaml:2: not UTF-8 text (byte 0xe9); save the file as UTF-8"),
        (b"id: a\nname: \x00\n", "a.yaml:2: holds the unprintable character #x00; remove it"),
        ("", "a.yaml:1: holds no keys; start it with a line such as 'format: ...'"),
        ("# only a remark\n", "a.yaml:1: holds no keys; start it with a line such as 'format: ...'"),
        ("- one\n- two\n", "a.yaml:1: holds no keys; start it with a line such as 'format: ...'"),
        ("id: a\nid: b\n", "a.yaml:2: key 'id': stands twice, first on line 1; keep one of them"),
        ("colors: {eye: a, eye: b}\n", "a.yaml:1: key 'eye': stands twice, first on line 1; keep one of them"),
        ("? [a]\n: b\n", "a.yaml:1: a list or mapping stands as a key; write a word before the ':'"),
        (
            "id: !!python/name:os.system x\n",
            ("a.yaml:1: tag 'tag:yaml.org,2002:python/name:os.system' is not allowed; write a plain value"),
        ),
        ("id: !mine {a: 1}\n", "a.yaml:1: tag '!mine' is not allowed; write a plain value"),
        (
            "a: &x [1]\nb: *x\n",
            (
                "a.yaml:2: not readable as YAML (alias '*x' is not allowed); check the indentation "
                "(spaces, no tabs) and put text with ':' or '#' in quotes"
            ),
        ),
        (
            "id: a\nline: note: this\n",
            (
                "a.yaml:2: not readable as YAML (mapping values are not allowed here); check the "
                "indentation (spaces, no tabs) and put text with ':' or '#' in quotes"
            ),
        ),
        (
            "id: a\n---\nid: b\n",
            (
                "a.yaml:2: not readable as YAML (but found another document); check the indentation "
                "(spaces, no tabs) and put text with ':' or '#' in quotes"
            ),
        ),
    ],
)
def test_unreadable_files_say_where_and_what_to_do(file: Path, text: str | bytes, message: str) -> None:
    """Each kind of unreadable file has its own line."""
    assert refusal(file, text) == message


def test_a_huge_file_is_refused(file: Path) -> None:
    """A recording named by mistake is not read to its end."""
    assert "larger than 1,000,000 bytes" in refusal(file, b"#" * (MAX_BYTES + 1))


def test_a_deeply_nested_file_is_refused(file: Path) -> None:
    """Brackets without end give a message, not a crash."""
    assert refusal(file, "a: " + "[" * 2_000) == "a.yaml: nested too deeply; these files need four levels at most"


def read(file: Path, text: str, *allowed: str) -> tuple[Fields, Problems]:
    """The fields of a text and the list of its problems."""
    file.write_text(text)
    problems = Problems(Path("a.yaml"))
    return Fields(load_yaml(file), problems, allowed), problems


def test_an_unknown_key_names_the_nearest_allowed_one(file: Path) -> None:
    """A misspelled key gets a suggestion, a foreign one the list."""
    _, problems = read(file, "earlobes: red\nprice: 3\n", "earlobe", "eye")
    assert problems.lines == [
        "a.yaml:1: key 'earlobes': not known here; did you mean 'earlobe'?",
        "a.yaml:2: key 'price': not known here; allowed: earlobe, eye",
    ]


@pytest.mark.parametrize(
    ("value", "what"),
    [
        ("no", 'no means true or false in YAML; put it in quotes: "no"'),
        ("[white, yes]", 'yes means true or false in YAML; put it in quotes: "yes"'),
        ("", "empty; write a phrase or leave the key out"),
        ("'  '", "empty; write a phrase or leave the key out"),
        ("[]", "an empty list; add a phrase or leave the key out"),
        ("[[a]]", "a list stands where a phrase is expected; write plain words"),
        ("{a: b}", "a group of keys stands where a phrase is expected; write plain words"),
    ],
)
def test_what_is_no_phrase_is_refused(file: Path, value: str, what: str) -> None:
    """The words no and yes, which YAML reads as values, and empty or nested values get their own message."""
    fields, problems = read(file, f"eye: {value}\n", "eye")
    fields.phrases("eye")
    assert problems.lines == [f"a.yaml:1: key 'eye': {what}"]


def test_numbers_and_dates_count_as_phrases(file: Path) -> None:
    """A year needs no quotes."""
    fields, problems = read(file, "period: 1940\nday: 1940-02-30\n", "period", "day")
    assert (fields.text("period"), fields.text("day"), problems.lines) == ("1940", "1940-02-30", [])


@pytest.mark.parametrize("value", ["'8'", "8 lb", "heavy", "9:30", ".nan", "[8]", "true", ""])
def test_what_is_no_number_is_refused(file: Path, value: str) -> None:
    """A weight must be a plain number."""
    fields, problems = read(file, f"cock: {value}\n", "cock")
    assert fields.number("cock", 1, 20, "pounds") is None
    assert problems.lines[0].endswith("is not a number of pounds; write one such as 8.5, without quotes or unit")


def test_a_number_out_of_range_is_refused(file: Path) -> None:
    """A weight in ounces written as pounds is caught."""
    fields, problems = read(file, "cock: 136\n", "cock")
    assert fields.number("cock", 1, 20, "pounds") is None
    assert problems.lines == ["a.yaml:1: key 'cock': 136 pounds cannot be right; give a number from 1 to 20"]


@pytest.mark.parametrize("value", ["4.5", "0", "13", "four", "-1", "1.0e+999"])
def test_what_is_no_whole_number_in_range_is_refused(file: Path, value: str) -> None:
    """A count must be whole and possible."""
    fields, problems = read(file, f"points: {value}\n", "points")
    assert fields.whole("points", 1, 12) is None
    assert problems.lines == [f"a.yaml:1: key 'points': '{value}' does not fit; give a whole number from 1 to 12"]


@pytest.mark.parametrize(("value", "expected"), [("true", True), ("yes", True), ("No", False), ("off", False)])
def test_flags_are_read(file: Path, value: str, expected: bool) -> None:
    """Every YAML spelling of true and false counts."""
    assert read(file, f"optional: {value}\n", "optional")[0].flag("optional") is expected


def test_a_quoted_flag_is_refused(file: Path) -> None:
    """A phrase is neither true nor false."""
    fields, problems = read(file, 'optional: "yes"\n', "optional")
    assert fields.flag("optional") is None
    assert problems.lines == [
        "a.yaml:1: key 'optional': 'yes' is neither true nor false; write one of the two, without quotes"
    ]


def test_a_problem_stays_on_one_line(file: Path) -> None:
    """Line breaks in a key or a value do not break the message."""
    fields, problems = read(file, 'toes: |\n  4\n  5\n"a\\nb": 1\n', "toes")
    fields.whole("toes", 3, 6)
    assert problems.lines == [
        "a.yaml:4: key 'a b': not known here; allowed: toes",
        "a.yaml:1: key 'toes': '4 5 ' does not fit; give a whole number from 3 to 6",
    ]


def test_the_first_problem_is_raised_with_the_count_of_the_others() -> None:
    """One line, but the reader knows that there is more to mend."""
    problems = Problems(Path("a.yaml"))
    problems.raise_first()
    problems.add(3, "id", "missing; add it")
    problems.add(4, "say", "missing; add it")
    with pytest.raises(CoachError, match=r"^a\.yaml:3: key 'id': missing; add it \(and 1 more in this file\)$"):
        problems.raise_first()
