"""`coach review`: what it prints, what it writes, how it ends, and the one line it says when something is at fault."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

import cli_files as files
import jsonschema
import numpy as np
import pytest
from cli_files import BIRD, run

from coach.places import breed_cards_dir, knowledge_data_dir, recordings_demo_dir
from coach.report.schema import SCHEMA_FILE

Capsys = pytest.CaptureFixture[str]

CHECKERS = recordings_demo_dir() / "checkers.ogg"
CARD = (breed_cards_dir() / "barred-plymouth-rock.yaml").read_text(encoding="utf-8")
BIRD_TEXT = Path(BIRD).read_text(encoding="utf-8")
ROUTE = (knowledge_data_dir() / "routes" / "head-to-tail.yaml").read_text(encoding="utf-8")
STORY = (
    "Last summer we drove to the lake, and my brother forgot his trunks, so he sat on the dock and watched us. My mom "
    "bought ice cream. The dog ran away with a shoe, and my legs hurt from chasing him. Then it rained, and we went "
    "back home and watched a movie on the porch."
)


@pytest.fixture(autouse=True)
def plain_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    """No width or color from whoever runs the tests."""
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)


@pytest.fixture
def words(tmp_path: Path) -> str:
    """The script of a demo as timed words."""
    return files.words_file(tmp_path / "checkers.words.json", files.script_words("checkers"))


def written(path: Path, content: str | bytes) -> str:
    """The path of a file with that in it."""
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return str(path)


def tone(seconds: float) -> np.ndarray[Any, np.dtype[np.float32]]:
    """A hum that anybody would hear, in which nobody speaks."""
    return (0.3 * np.sin(np.arange(int(16000 * seconds)) * 0.1)).astype(np.float32)


# Recordings at fault --------------------------------------------------------------------------------------------------


def test_a_missing_recording(capsys: Capsys, tmp_path: Path) -> None:
    """The name is repeated and questioned."""
    path = str(tmp_path / "none.ogg")
    assert run(capsys, "review", path, "--bird", BIRD).line == (
        f"coach: {path}: there is no such file; check its name and folder"
    )


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("empty.ogg", b"", "is empty (0 bytes); copy the file again, or record the rehearsal again"),
        ("head.ogg", CHECKERS.read_bytes()[:100], "is not a recording that can be read; give a wav, mp3, m4a, ogg, "),
        ("random.mp3", bytes(range(256)) * 9, "is not a recording that can be read; give a wav, mp3, m4a, ogg, "),
        ("letter.wav", b"Dear judge,\n", "is not a recording that can be read; give a wav, mp3, m4a, ogg, "),
        ("phone.m4a", b"\0\0\0\x18ftypM4A \0\0\0\0M4A isom", "was broken off before its recorder finished it; copy "),
    ],
)
def test_a_file_that_is_no_recording(capsys: Capsys, tmp_path: Path, name: str, content: bytes, message: str) -> None:
    """Empty, cut off after its first bytes, noise, text: each says what it is and what to do."""
    path = written(tmp_path / name, content)
    assert run(capsys, "review", path, "--bird", BIRD).line.startswith(f"coach: {path}: {message}")


def test_a_recording_without_a_sample(capsys: Capsys, tmp_path: Path) -> None:
    """A header alone holds no sound."""
    path = files.wav(tmp_path / "zero.wav", tone(0))
    assert "holds no sound that can be decoded; copy the file again" in run(capsys, "review", path, "--bird", BIRD).line


def test_a_silent_recording(capsys: Capsys, tmp_path: Path) -> None:
    """Digital silence points at the microphone."""
    path = files.wav(tmp_path / "silent.wav", 0 * tone(3))
    assert "nothing can be heard in it; check that the microphone" in run(capsys, "review", path, "--bird", BIRD).line


def test_a_recording_of_four_hours(capsys: Capsys, tmp_path: Path) -> None:
    """Refused from its header, before anything is decoded."""
    path = files.four_hours(tmp_path / "four.wav")
    assert run(capsys, "review", path, "--bird", BIRD).line == (
        f"coach: {path}: is 4 h long; a rehearsal is minutes; cut out the part to review and give that"
    )


def test_a_video_without_sound(capsys: Capsys, tmp_path: Path) -> None:
    """Pictures alone are named as such."""
    av = pytest.importorskip("av")
    path = tmp_path / "mute.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 32, 32, "yuv420p"
        for _ in range(5):
            container.mux(stream.encode(av.VideoFrame(32, 32, "yuv420p")))
        container.mux(stream.encode(None))
    assert "holds pictures or text but no sound" in run(capsys, "review", str(path), "--bird", BIRD).line


def test_a_folder_as_a_recording(capsys: Capsys, tmp_path: Path) -> None:
    """A folder is no recording."""
    assert "is a folder; name the recording inside it" in run(capsys, "review", str(tmp_path), "--bird", BIRD).line


def test_a_file_that_may_not_be_read(capsys: Capsys, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No permission says so (stubbed: the administrator may read everything)."""

    path, opened = files.wav(tmp_path / "closed.wav", tone(1)), Path.open

    def refuse(self: Path, *args: Any, **more: Any) -> Any:
        if str(self) == path:
            raise PermissionError(13, "Permission denied", path)
        return opened(self, *args, **more)

    monkeypatch.setattr(Path, "open", refuse)
    assert "you have no permission to read it; copy it" in run(capsys, "review", path, "--bird", BIRD).line


@pytest.mark.parametrize("name", ["x" * 300 + ".ogg", "x\udcff.ogg", "\x1b[2J.ogg", "a\nb.ogg"])
def test_a_strange_name_stays_one_line(capsys: Capsys, tmp_path: Path, name: str) -> None:
    """Too long, not text, or with control characters: one line, no traceback."""
    line = run(capsys, "review", str(tmp_path / name), "--bird", BIRD).line
    assert line.startswith("coach: ") and line.isprintable()


def test_neither_recording_nor_words(capsys: Capsys) -> None:
    """Says what may be given."""
    assert run(capsys, "review", "--bird", BIRD).line == (
        "coach: nothing to review: give a recording, or words with --words FILE.words.json"
    )


def test_without_a_bird(capsys: Capsys) -> None:
    """Wrong usage shows the usage and ends with 2."""
    ran = run(capsys, "review", "x.ogg")
    assert ran.code == 2 and ran.err.startswith("usage: coach review") and "--bird" in ran.err.splitlines()[-1]


# Birds, cards and routes at fault -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("- a\n- b\n", ":1: holds no keys; start it with a line such as 'format: ...'"),
        ("just words\n", ":1: holds no keys; start it with a line such as 'format: ...'"),
        ("format: bird/1\nname: !!python/object/apply:os.getcwd []\n", ":2: tag 'tag:yaml.org,2002:python/object/"),
        (BIRD_TEXT.encode().replace(b"Checkers", b"Ch\xe9ckers"), ":3: not UTF-8 text (byte 0xe9); save the file as"),
        (BIRD_TEXT.replace("barred-p", "bared-p"), "no breed card 'bared-plymouth-rock'; nearest: barred-plymouth"),
        (BIRD_TEXT.replace("sex_age", "sexage"), ": key 'sexage': not known here; did you mean 'sex_age'?"),
        (BIRD_TEXT.replace("region: legs", "region: leggs"), "the route has no region 'leggs'; did you mean 'legs'?"),
        ("a: " + "[" * 9999 + "]" * 9999, ": nested too deeply; these files need four levels at most"),
        ("", ": "),
    ],
)
def test_a_bird_at_fault(capsys: Capsys, tmp_path: Path, content: str | bytes, message: str) -> None:
    """File, line, key and remedy; no object is ever built from a file."""
    path = written(tmp_path / "bird.yaml", content)
    line = run(capsys, "review", "x.ogg", "--bird", path).line
    assert line.startswith(f"coach: {path}:") and message in line


def test_a_missing_bird(capsys: Capsys, tmp_path: Path) -> None:
    """The bird's file is not there."""
    path = str(tmp_path / "bird.yaml")
    assert run(capsys, "review", "x.ogg", "--bird", path).line == (
        f"coach: {path}: no such file; check the name and the folder"
    )


def test_a_card_with_a_typo(capsys: Capsys, tmp_path: Path) -> None:
    """A key nobody knows names the key that was meant."""
    path = written(tmp_path / "barred-plymouth-rock.yaml", CARD.replace("\norigin:", "\norgin:"))
    line = run(capsys, "review", "x.ogg", "--bird", BIRD, "--card", path).line
    assert line.startswith(f"coach: {path}:") and "key 'orgin': not known here; did you mean 'origin'?" in line


@pytest.mark.parametrize("option", ["--card", "--route"])
def test_an_id_that_does_not_exist(capsys: Capsys, option: str) -> None:
    """The id is repeated with what may be given instead."""
    line = run(capsys, "review", "x.ogg", "--bird", BIRD, option, "no-such").line
    assert "'no-such'" in line and "path of your own" in line


def test_a_route_that_names_an_unknown_region(capsys: Capsys, tmp_path: Path) -> None:
    """A club's own route with an item in a region it does not have."""
    text = ROUTE.replace("also_regions: [", "also_regions: [wigns, ", 1)
    assert text != ROUTE
    path = written(tmp_path / "head-to-tail.yaml", text)
    line = run(capsys, "review", "x.ogg", "--bird", BIRD, "--route", path).line
    assert line.startswith(f"coach: {path}:") and "'wigns'" in line and "did you mean 'wings'?" in line


# Words at fault -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("a.words.json", '{"format": "timed-words/1", "words": []}', " has no words in it; give the words that "),
        ("a.words.json", "{", ":1: is not JSON (Expecting property name"),
        ("a.words.json", "[" * 20000, "is JSON that cannot be read"),
        ("a.srt", "no times here\n", "has no cue times; give a subtitle file, or plain words in a .txt file"),
        ("a.txt", b"caf\xe9", "is not utf-8 text; save the file as UTF-8"),
        ("a.doc", "hello", "cannot tell what kind of words these are"),
    ],
)
def test_words_at_fault(capsys: Capsys, tmp_path: Path, name: str, content: str | bytes, message: str) -> None:
    """Words that cannot be read say why."""
    line = run(capsys, "review", "--words", written(tmp_path / name, content), "--bird", BIRD).line
    assert line.startswith(f"coach: {tmp_path / name}:") and message in line


# What is written ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("option", ["--json", "--page"])
def test_a_report_into_a_missing_folder(capsys: Capsys, tmp_path: Path, words: str, option: str) -> None:
    """Said before anything is heard; the other report is not written either."""
    other = {"--json": "--page", "--page": "--json"}[option]
    path = str(tmp_path / "none" / "out")
    ran = run(capsys, "review", words, "--bird", BIRD, option, path, other, str(tmp_path / "other"))
    assert ran.line == f"coach: {path}: there is no folder '{tmp_path / 'none'}'; make it, or choose another place"
    assert [p.name for p in tmp_path.iterdir()] == ["checkers.words.json"]


def test_a_report_into_a_closed_folder(
    capsys: Capsys, tmp_path: Path, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder of somebody else (stubbed: the administrator may write everywhere)."""
    monkeypatch.setattr("os.access", lambda *_, **__: False)
    path = str(tmp_path / "out.json")
    assert run(capsys, "review", words, "--bird", BIRD, "--json", path).line == (
        f"coach: {path}: the folder '{tmp_path}' may not be written to; choose another place"
    )


def test_a_report_in_the_place_of_a_folder(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """A folder is not replaced."""
    line = run(capsys, "review", words, "--bird", BIRD, "--page", str(tmp_path)).line
    assert "is a folder; give the report a file name in it" in line


def test_a_disk_that_fills_up(capsys: Capsys, tmp_path: Path, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The report is on the screen all the same, one line tells, and the old file is still there."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    out = Path(written(tmp_path / "out.json", "old"))
    monkeypatch.setattr("os.replace", full)
    ran = run(capsys, "review", words, "--bird", BIRD, "--json", str(out))
    assert ran.code == 2 and ran.out.count("\n") > 10
    assert "(No space left on device)" in ran.err and ran.err.count("\n") == 1
    assert out.read_text() == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["checkers.words.json", "out.json"]


def test_a_report_never_overwrites_what_it_is_made_from(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """Neither the words, nor the bird, nor the other report."""
    bird = written(tmp_path / "bird.yaml", BIRD_TEXT)
    for option, path in (("--json", words), ("--page", bird), ("--json", str(tmp_path / "." / "bird.yaml"))):
        line = run(capsys, "review", words, "--bird", bird, option, path).line
        assert "is named twice in this command" in line
    both = ("--json", str(tmp_path / "out"), "--page", str(tmp_path / "out"))
    assert "is named twice" in run(capsys, "review", words, "--bird", bird, *both).line
    assert Path(bird).read_text(encoding="utf-8") == BIRD_TEXT and Path(words).stat().st_size > 1000


def test_the_report_file_fits_the_schema_and_the_contract(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """Every stable field, by its name."""
    out = tmp_path / "out.json"
    assert run(capsys, "review", words, "--bird", BIRD, "--json", str(out)).code == 0
    data = json.loads(out.read_text(encoding="utf-8"))
    schema = json.loads(resources.files("coach.report").joinpath(SCHEMA_FILE).read_text(encoding="utf-8"))
    jsonschema.validate(data, schema)
    assert (data["format"], data["recording"]["file"]) == ("rehearsal-report/1", "checkers.words.json")
    assert data["listener"].keys() >= {"name", "seconds"}
    assert (data["route"], data["card"], data["bird"]) == ("head-to-tail", "barred-plymouth-rock", "checkers")
    assert data["words"][0] == {"text": "Good", "start": 0.5, "end": 0.78, "confidence": None, "written": None}
    assert [r["id"] for r in data["regions"]] == (
        "opening head neck back tail vent abdomen breast wings legs closing".split()
    )
    assert {"id", "status", "seconds", "visits", "expected_place", "spoken_place"} <= data["regions"][0].keys()
    fields = "id region kind required status expected heard start end confidence".split()
    assert all(item.keys() >= set(fields) for item in data["items"])
    assert data["order"].keys() >= {"spoken", "out_of_order"} and data["caution"]
    assert data["delivery"].keys() >= {"words_per_minute", "fillers", "long_pauses"}


def test_evidence_has_a_time_and_a_skipped_item_has_none(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """Whatever was said names its words and seconds within the recording."""
    out = tmp_path / "out.json"
    run(capsys, "review", words, "--bird", BIRD, "--json", str(out))
    data = json.loads(out.read_text(encoding="utf-8"))
    for item in data["items"]:
        if item["status"] == "skipped":
            assert item["heard"] is None and item["start"] is None, item
        else:
            assert item["heard"] and 0 <= item["start"] <= item["end"] <= data["recording"]["seconds"], item


def test_the_page_from_words_plays_nothing(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """One file with the report; without a recording there is no player."""
    out = tmp_path / "out.html"
    assert run(capsys, "review", words, "--bird", BIRD, "--page", str(out)).code == 0
    page = out.read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>") and "Checkers" in page and "<audio" not in page


# What is printed ------------------------------------------------------------------------------------------------------


def test_a_rehearsal_with_mistakes_is_no_failure(capsys: Capsys, words: str) -> None:
    """Exit 0, nothing on stderr, the mistakes and the line to say on stdout."""
    ran = run(capsys, "review", words, "--bird", BIRD)
    assert (ran.code, ran.err) == (0, "")
    assert "I heard “knees”; the name is “hocks”" in ran.out and "Say: This joint is the hock." in ran.out


def test_an_everyday_story_is_no_rehearsal(capsys: Capsys, tmp_path: Path) -> None:
    """The report says so and blames nothing."""
    words = [{"text": w, "start": 0.4 * n, "end": 0.4 * n + 0.3} for n, w in enumerate(STORY.split())]
    ran = run(capsys, "review", files.words_file(tmp_path / "story.words.json", words), "--bird", BIRD)
    assert ran.code == 0 and "This does not sound like a rehearsal, so there is nothing to report." in ran.out
    assert "left out" not in ran.out


@pytest.mark.parametrize("columns", [40, 80, 160])
def test_lines_keep_to_the_width(
    capsys: Capsys, words: str, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    """No line is wider than the terminal, and the time lines use the room there is."""
    monkeypatch.setenv("COLUMNS", str(columns))
    out = run(capsys, "review", words, "--bird", BIRD).out
    longest = max(map(len, out.splitlines()))
    assert columns * 0.8 <= longest <= columns


def test_piped_output_has_no_escape_codes(capsys: Capsys, words: str) -> None:
    """Plain text where nobody asked for color."""
    assert "\x1b" not in run(capsys, "review", words, "--bird", BIRD).out


def test_color_on_a_terminal_unless_unwanted(capsys: Capsys, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A terminal gets color; NO_COLOR and a dumb terminal do not."""
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    colored = run(capsys, "review", words, "--bird", BIRD).out
    assert "\x1b[" in colored
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b" not in run(capsys, "review", words, "--bird", BIRD).out
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert "\x1b" not in run(capsys, "review", words, "--bird", BIRD).out


# Options --------------------------------------------------------------------------------------------------------------


def test_words_may_be_named_either_way(capsys: Capsys, words: str) -> None:
    """As the recording or with --words: the same report."""
    named = run(capsys, "review", "--words", words, "--bird", BIRD)
    assert named.code == 0 and named.out == run(capsys, "review", words, "--bird", BIRD).out


def test_plain_text_shows_no_times(capsys: Capsys, tmp_path: Path) -> None:
    """Text has no times, so no clock, pace or pause is made up."""
    text = " ".join(w["text"] for w in files.script_words("checkers"))
    ran = run(capsys, "review", written(tmp_path / "a.txt", text), "--bird", BIRD)
    assert ran.code == 0 and "“knees”" in ran.out and "Pace" not in ran.out and "0:" not in ran.out


def test_subtitles_have_times(capsys: Capsys, tmp_path: Path) -> None:
    """The cue's time stands beside the finding."""
    said = ["This is a Barred Plymouth Rock hen.", "She has a rose comb.", "Here are wattles.", "Her beak is yellow."]
    cues = "".join(f"{n}\n00:00:{n:02}0,000 --> 00:00:{n:02}5,000\n{text}\n\n" for n, text in enumerate(said, 1))
    ran = run(capsys, "review", written(tmp_path / "a.srt", cues.replace("00:00:0", "00:00:")), "--bird", BIRD)
    assert ran.code == 0 and "I heard “rose”; it should be “single”" in ran.out and "0:2" in ran.out


def test_a_card_file_takes_the_place_of_the_birds_own(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """With other values on the card, other values are right."""
    text = CARD.replace("barred-plymouth-rock", "my-rock", 1)
    card = written(tmp_path / "my-rock.yaml", text.replace("egg_color: brown", "egg_color: white"))
    ran = run(capsys, "review", words, "--bird", BIRD, "--card", card)
    assert ran.code == 0 and "I heard “brown”; it should be “white”" in ran.out


def test_a_card_given_makes_up_for_a_birds_unknown_card(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """--card is enough when the bird's own card does not exist."""
    bird = written(tmp_path / "bird.yaml", BIRD_TEXT.replace("card: barred", "card: no"))
    assert run(capsys, "review", words, "--bird", bird, "--card", "barred-plymouth-rock").code == 0


def test_a_route_file_takes_the_place_of_the_usual_one(capsys: Capsys, tmp_path: Path, words: str) -> None:
    """A club's own wording of the line to say."""
    route = written(tmp_path / "head-to-tail.yaml", ROUTE.replace("This joint is the hock.", "Look at this hock."))
    ran = run(capsys, "review", words, "--bird", BIRD, "--route", route)
    assert ran.code == 0 and "Say: Look at this hock." in ran.out


def test_another_shipped_route(capsys: Capsys, words: str) -> None:
    """With wings expected early, wings told late are out of order."""
    ran = run(capsys, "review", words, "--bird", BIRD, "--route", "wings-early")
    assert ran.code == 0 and "out of order" in ran.out
