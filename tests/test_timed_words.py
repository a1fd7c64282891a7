"""Words with times come in from every kind of file, go out again, and bad files are refused with a line that helps."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coach.errors import CoachError
from coach.listen.timed_words import read_timed_words, write_srt, write_vtt, write_words_json
from coach.words import TimedWords, Word

SAID = TimedWords(
    (Word("this", 0.31, 0.48, 0.97), Word("is", 0.48, 0.6), Word("\u00e9meraude,", 2.0, 2.5, 0.5)), seconds=2.5
)
FUZZ = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def saved(path: Path, content: str | bytes) -> Path:
    """A file with that content."""
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def as_json(*rows: Any) -> str:
    """A words.json with these entries."""
    return json.dumps({"format": "timed-words/1", "words": rows})


def row(text: Any = "hen", start: Any = 1.0, end: Any = 1.5, **more: Any) -> dict[str, Any]:
    """One entry, good unless told otherwise."""
    return {"text": text, "start": start, "end": end, **more}


def texts(words: TimedWords) -> list[str]:
    """The words alone."""
    return [word.text for word in words.words]


def refusal(path: Path) -> str:
    """The one line with which path is refused."""
    with pytest.raises(CoachError) as caught:
        read_timed_words(path)
    message = str(caught.value)
    assert message.startswith(f"{path}:")
    assert "\n" not in message
    return message


# words.json ---------------------------------------------------------------------------------------------------------


def test_json_comes_back_as_written(tmp_path: Path) -> None:
    """Text, times and confidence survive the way out and in."""
    write_words_json(tmp_path / "a.words.json", SAID)
    assert read_timed_words(tmp_path / "a.words.json") == SAID


def test_json_of_the_contract_is_read(tmp_path: Path) -> None:
    """The example of the contract is read, with or without confidence, with whole-number times and further fields."""
    rows = [row("this", 0.31, 0.48, confidence=0.97), row("bird", 1, 2, speaker="A")]
    words = read_timed_words(saved(tmp_path / "a.words.json", as_json(*rows)))
    assert words.words == (Word("this", 0.31, 0.48, 0.97), Word("bird", 1.0, 2.0))
    assert words.seconds == 2.0
    assert words.timed


def test_unordered_words_are_sorted_and_overlaps_kept(tmp_path: Path) -> None:
    """Words are put in order of their starts; equal starts keep their order."""
    rows = [row("c", 2, 3), row("a", 0, 2.5), row("b1", 1, 1), row("b2", 1, 4)]
    words = read_timed_words(saved(tmp_path / "a.json", as_json(*rows)))
    assert texts(words) == ["a", "b1", "b2", "c"]
    assert words.seconds == 4.0


def test_an_entry_of_several_words_is_split(tmp_path: Path) -> None:
    """An entry that holds a phrase shares its time among its words."""
    words = read_timed_words(saved(tmp_path / "a.json", as_json(row("Plymouth Rock", 0, 1.4, confidence=0.9))))
    assert texts(words) == ["Plymouth", "Rock"]
    assert [word.confidence for word in words.words] == [0.9, 0.9]
    assert words.words[0].end_s == words.words[1].start_s == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({"start": 1, "end": 2}, 'word 1 has no "text"'),
        ({"text": "hen", "end": 2}, 'word 1 has no "start"'),
        ({"text": "hen", "start": 1}, 'word 1 has no "end"'),
        ("hen", 'word 1 is "hen"; it needs "text", "start" and "end"'),
        (row(text=3), 'word 1 has 3 as its "text"'),
        (row(text="  "), 'word 1 has "  " as its "text"'),
        (row(start=2.0), 'word 1 ("hen") ends at 1.5 s, before it starts at 2 s'),
        (row(start=-1), 'word 1 has -1 as its "start"'),
        (row(end=float("nan")), 'word 1 has NaN as its "end"'),
        (row(end=float("inf")), 'word 1 has Infinity as its "end"'),
        (row(end=10**400), "word 1 has 1000"),
        (row(start="1.0"), 'word 1 has "1.0" as its "start"'),
        (row(start=True), 'word 1 has true as its "start"'),
        (row(start=None), 'word 1 has null as its "start"'),
        (row(start=90_000, end=90_300), "give its times in seconds"),
        (row(confidence=97), 'word 1 ("hen") has a "confidence" of 97'),
        (row(confidence="high"), 'word 1 has "high" as its "confidence"'),
    ],
)
def test_a_bad_entry_is_named_by_its_index(tmp_path: Path, entry: Any, told: str) -> None:
    """The line says which word, counted from 0, and what is wrong with it."""
    assert told in refusal(saved(tmp_path / "a.words.json", as_json(row(), entry)))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", ":1: is not JSON"),
        ("{\n'format'", ":2: is not JSON"),
        ("[1, 2]", 'its format is null; it needs "format": "timed-words/1"'),
        ('{"format": "timed-words/2", "words": []}', 'its format is "timed-words/2"'),
        ('{"format": "timed-words/1"}', 'needs a list under "words"'),
        ('{"format": "timed-words/1", "words": {}}', 'needs a list under "words"'),
        (as_json(), "has no words in it"),
        ("[" * 100_000, "JSON"),
        (b'{"format": "timed-words/1\xff"}', "byte 25 is not utf-8 text; save the file as UTF-8"),
        ("hen".encode("utf-16-le"), "is not plain text; save the file as UTF-8"),
    ],
)
def test_a_bad_file_is_refused(tmp_path: Path, content: str | bytes, told: str) -> None:
    """What is not a list of timed words says what it lacks."""
    assert told in refusal(saved(tmp_path / "a.words.json", content))


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=12,
)
SCALARS = st.none() | st.integers(-1, 5) | st.floats(-1, 5) | st.floats() | st.text(max_size=6)
ROWS = st.fixed_dictionaries(
    {}, optional=dict.fromkeys(("text", "start", "end", "confidence", "extra"), SCALARS)
) | st.builds(row, st.text(min_size=1, max_size=9), st.floats(0, 2), st.floats(2, 9), confidence=st.floats(0, 1))
DOCUMENTS = JSON_VALUES | st.fixed_dictionaries(
    {"format": st.just("timed-words/1"), "words": st.lists(ROWS, max_size=5) | JSON_VALUES}
)


@FUZZ
@given(DOCUMENTS)
def test_any_json_gives_words_or_one_line(tmp_path: Path, document: Any) -> None:
    """Whatever JSON comes, the answer is ordered words that can be written again, or a CoachError of one line."""
    path = saved(tmp_path / "any.words.json", json.dumps(document))
    try:
        words = read_timed_words(path)
    except CoachError as err:
        assert str(err).startswith(str(path))
        assert "\n" not in str(err)
        return
    assert all(before.start_s <= after.start_s for before, after in pairwise(words.words))
    assert words.seconds == max(word.end_s for word in words.words)
    for write, name in ((write_words_json, "b.json"), (write_srt, "b.srt"), (write_vtt, "b.vtt")):
        write(tmp_path / name, words)
    assert texts(read_timed_words(tmp_path / "b.json")) == texts(words)


@FUZZ
@given(st.binary(max_size=200), st.sampled_from([".words.json", ".srt", ".vtt", ".txt"]))
def test_any_bytes_give_words_or_one_line(tmp_path: Path, content: bytes, ending: str) -> None:
    """No file of any kind ends in another error."""
    try:
        assert read_timed_words(saved(tmp_path / f"any{ending}", content)).words
    except CoachError as err:
        assert "\n" not in str(err)


# srt and vtt --------------------------------------------------------------------------------------------------------

SRT = (
    "1\r\n00:00:01,000 --> 00:00:03,000\r\n<i>This</i> is my\r\nhen.\r\n\r\n"
    "2\r\n01:00:00,5 --> 01:00:01\r\nThanks &amp; bye\r\n"
)
VTT = """WEBVTT - take two

NOTE not spoken

STYLE
::cue { color: red }

intro
00:01.000 --> 00:03.000 align:start position:10%
<v Ann>This <c.loud>is</c> my
<00:00:02.000>hen.</v>

01:00:00.500 --> 01:00:01.000
Thanks &amp; bye
"""


@pytest.mark.parametrize(("name", "content"), [("a.srt", SRT), ("a.vtt", VTT), ("a.VTT", VTT)])
def test_subtitles_are_read(tmp_path: Path, name: str, content: str) -> None:
    """Only what is spoken is kept: no numbers, settings, notes, tags or speakers."""
    words = read_timed_words(saved(tmp_path / name, content))
    assert texts(words) == ["This", "is", "my", "hen.", "Thanks", "&", "bye"]
    assert words.words[0].start_s == 1.0
    assert words.words[3].end_s == 3.0
    assert words.words[4].start_s == 3600.5
    assert words.seconds == 3601.0


def test_a_cue_is_shared_by_letters(tmp_path: Path) -> None:
    """Longer words get more of the cue's time, and no time is lost between them."""
    words = read_timed_words(saved(tmp_path / "a.srt", "1\n00:00:00,000 --> 00:00:01,600\nhen waddles now\n")).words
    assert [word.start_s for word in words] == pytest.approx([0, 0.4, 1.2])
    assert [word.end_s for word in words] == pytest.approx([0.4, 1.2, 1.6])


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("1\n00:00:05,000 --> 00:00:03,000\nhen\n", ":2: the cue ends at 3 s, before it starts at 5 s"),
        ("1\n0:0:5 -> x\n00:00:xx --> 00:00:03,000\nhen\n", ":3: "),
        ("just some words\n", "has no cue times"),
        ("1\n00:00:01,000 --> 00:00:03,000\n\n", "has no words in it"),
        ("", "has no words in it"),
    ],
)
def test_bad_subtitles_are_refused(tmp_path: Path, content: str, told: str) -> None:
    """The line gives the number of the line in the file."""
    assert told in refusal(saved(tmp_path / "a.srt", content))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_marked_encodings_are_read(tmp_path: Path, encoding: str) -> None:
    """A byte order mark is understood and is no part of the first word."""
    for name, content in (("a.srt", SRT), ("a.vtt", VTT), ("a.txt", "This"), ("a.json", as_json(row("This")))):
        assert texts(read_timed_words(saved(tmp_path / name, content.encode(encoding))))[0] == "This"


@pytest.mark.parametrize(("write", "name"), [(write_srt, "a.srt"), (write_vtt, "a.vtt")])
def test_subtitles_come_back(tmp_path: Path, write: Any, name: str) -> None:
    """Written cues keep every word in order, break at pauses, and stay near the true times."""
    said = TimedWords(
        tuple(Word(f"w{n}" if n % 7 else "<&>", n * 0.4 + n // 10, n * 0.4 + n // 10 + 0.3) for n in range(50)), 24.0
    )
    write(tmp_path / name, said)
    back = read_timed_words(tmp_path / name).words
    assert [word.text for word in back] == [word.text for word in said.words]
    assert all(abs(new.start_s - old.start_s) < 0.6 for new, old in zip(back, said.words, strict=True))
    starts = {round(word.start_s, 3) for word in back}
    assert {0.0, 5.0, 10.0, 15.0, 20.0} <= starts


# Plain text ---------------------------------------------------------------------------------------------------------


def test_plain_text_has_no_times(tmp_path: Path) -> None:
    """Words stand in a row at 150 a minute, half a second between sentences, and are marked as untimed."""
    words = read_timed_words(saved(tmp_path / "a.txt", 'This is "Pearl."\nA  hen!\n'))
    assert texts(words) == ["This", "is", '"Pearl."', "A", "hen!"]
    assert [word.start_s for word in words.words] == pytest.approx([0, 0.4, 0.8, 1.7, 2.1])
    assert words.seconds == pytest.approx(2.5)
    assert not words.timed


def test_no_text_is_told(tmp_path: Path) -> None:
    """Blank text holds no words."""
    assert "has no words in it" in refusal(saved(tmp_path / "a.txt", " \n\n"))


# Files --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a.wav", "a.docx", "a"])
def test_another_ending_lists_what_is_read(tmp_path: Path, name: str) -> None:
    """The line names the kinds that are read."""
    assert ".words.json, .srt, .vtt or .txt" in refusal(saved(tmp_path / name, "hen"))


def test_missing_files_and_folders(tmp_path: Path) -> None:
    """What is not there, or is a folder, is told apart."""
    (tmp_path / "b.json").mkdir()
    assert "there is no such file" in refusal(tmp_path / "a.json")
    assert "cannot be read (Is a directory)" in refusal(tmp_path / "b.json")


def test_a_recording_under_a_wrong_name_is_not_swallowed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file far too large for words is refused before it is read."""
    monkeypatch.setattr("coach.listen.timed_words.MAX_BYTES", 10)
    assert "is too large" in refusal(saved(tmp_path / "a.txt", "a hen " * 9))
