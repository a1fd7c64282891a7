"""`coach models`: the list, fetching and removing as a user does it; and the catalogue that ships."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import cli_files as files
import pytest
from model_server import Publisher, model, publisher, vosk_zip

from coach.listen import catalogue
from coach.listen.catalogue import Model, find_models, load_catalogue

Capsys = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Homes of the test's own, for the coach and for the Vosk library."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)
    return tmp_path / "home"


@pytest.fixture
def served() -> Iterator[Publisher]:
    """A publisher."""
    with publisher() as one:
        yield one


@pytest.fixture
def wanted(served: Publisher, monkeypatch: pytest.MonkeyPatch) -> Model:
    """A small model in the catalogue in place of the others."""
    one = model(served.put("x.zip", vosk_zip()))
    monkeypatch.setattr(catalogue, "load_catalogue", lambda: {one.name: one})
    return one


# The catalogue ------------------------------------------------------------------------------------------------------


def test_every_file_has_an_https_address_and_a_sum() -> None:
    """From the two publishers only, SHA-256 in full, a size or a bound."""
    wanted = [file for one in load_catalogue().values() for file in one.files]
    assert len(wanted) >= 5
    assert {urlsplit(file.url).hostname for file in wanted} == {"alphacephei.com", "huggingface.co"}
    assert all(urlsplit(file.url).scheme == "https" and re.fullmatch("[0-9a-f]{64}", file.sha256) for file in wanted)


def test_the_sizes_agree() -> None:
    """What the list says in MB is what the files have in bytes, and unpacking is bounded where there is an archive."""
    for one in load_catalogue().values():
        if one.files and all(file.size for file in one.files):
            assert sum(file.size or 0 for file in one.files) == pytest.approx(one.size_mb * 1e6, rel=0.02)
        assert (one.unpacked_mb is not None) == any(file.is_archive for file in one.files)


def test_the_published_errors_rank_as_published() -> None:
    """Radford et al. 2022 (tiny.en 5.6, base.en 4.2, small.en 3.1) and the Vosk project's list (9.85, 7.82, 5.69)."""
    percents = [
        ("whisper-small.en", 3.1),
        ("whisper-base.en", 4.2),
        ("whisper-plain", 5.6),
        ("vosk-model-en-us-0.22", 5.69),
        ("vosk-model-en-us-0.22-lgraph", 7.82),
        ("vosk-model-small-en-us-0.15", 9.85),
    ]
    assert [(name, load_catalogue()[name].wer()) for name, _ in percents] == percents
    assert all(published.source for one in load_catalogue().values() for published in one.published_wer)


def test_the_shared_files_of_whisper_are_those_that_ship() -> None:
    """tokenizer.json and vocabulary.txt are the same in all English Whisper models: the sums hold against our own copy."""
    from coach.listen.fetch_http import sha256_of
    from coach.places import models_dir

    for name in ("whisper-base.en", "whisper-small.en"):
        sums = {file.name: (file.sha256, file.size) for file in load_catalogue()[name].files}
        for shared in ("tokenizer.json", "vocabulary.txt"):
            ours = models_dir() / "whisper-trade" / shared
            assert sums[shared] == (sha256_of(ours), ours.stat().st_size)


def test_a_model_without_published_figures_has_none() -> None:
    """Unknown is None, so that nobody takes it for a good one."""
    assert load_catalogue()["tiny-synthetic"].wer() is None


def test_models_are_found_where_the_vosk_library_looks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folders of vosk 0.3.45 (MODEL_DIRS): its own cache, and VOSK_MODEL_PATH before it; a fetched one comes first."""
    name = "vosk-model-small-en-us-0.15"

    def found() -> dict[str, tuple[Path, str]]:
        return {f.model.name: (f.folder, f.place) for f in find_models()}

    def put(root: Path) -> Path:
        (root / name / "am").mkdir(parents=True)
        (root / name / "am" / "final.mdl").write_bytes(b"m")
        return root / name

    assert name not in found()
    cached = put(tmp_path / ".cache/vosk")
    assert found()[name] == (cached, "found")
    monkeypatch.setenv("VOSK_MODEL_PATH", str(tmp_path / "own"))
    own = put(tmp_path / "own")
    assert found()[name] == (own, "found")
    fetched = put(tmp_path / "home/models")
    assert found()[name] == (fetched, "fetched")


def test_an_empty_folder_is_no_model(home: Path) -> None:
    """A name alone does not make it one."""
    (home / "models" / "whisper-base.en").mkdir(parents=True)
    assert "whisper-base.en" not in {f.model.name for f in find_models()}


# The command --------------------------------------------------------------------------------------------------------


def test_the_list_tells_what_is_here_and_what_can_be_had(capsys: Capsys) -> None:
    """Each model once, under its heading, with size, licence and errors; the list fits the screen."""
    ran = files.run(capsys, "models")
    here, there = ran.out.split("To be had over the internet")
    assert ran.code == 0 and ran.err == ""
    assert re.search(r"^  whisper +<- 'auto' takes this one$", here, re.MULTILINE)
    for name in ("vosk-model-small-en-us-0.15", "whisper-base.en", "whisper-small.en"):
        assert re.search(rf"^  {re.escape(name)}$", there, re.MULTILINE)
    assert "41 MB, licence Apache-2.0, errors 9.85" in there
    assert all(len(line) <= 80 for line in ran.out.splitlines() if "/" not in line)


def test_listing_asks_nobody(capsys: Capsys, served: Publisher, wanted: Model) -> None:
    """Nothing is fetched, and no folder made, without being asked to."""
    files.run(capsys, "models")
    assert served.asked == []


def test_get_says_what_from_where_and_how_large(capsys: Capsys, wanted: Model, home: Path) -> None:
    """Before and after: address, size, licence, sum; the folder on stdout; the list then has it as fetched."""
    ran = files.run(capsys, "models", "get", wanted.name)
    assert ran.code == 0 and ran.out == f"{home / 'models' / wanted.name}\n"
    before, after = ran.err.split("checked:")
    assert wanted.files[0].url in before and "licence MIT" in before and re.search(r"fetching \d", before)
    assert wanted.files[0].sha256 in after
    listed = files.run(capsys, "models").out
    assert f"fetched: {home / 'models' / wanted.name}" in listed.split("To be had")[0]


def test_what_was_begun_shows_in_the_list_and_goes_on(
    capsys: Capsys, served: Publisher, wanted: Model, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A broken fetch ends with one line and exit 2; the same command again finishes it."""
    monkeypatch.setattr("coach.listen.fetch_http.WAIT_S", 0.0)
    served.stops_after = [700, *[0] * 5]
    ran = files.run(capsys, "models", "get", wanted.name)
    assert ran.code == 2 and "700 bytes are kept" in ran.err.splitlines()[-1]
    assert "begun:" in files.run(capsys, "models").out
    served.stops_after.clear()
    again = files.run(capsys, "models", "get", wanted.name)
    assert again.code == 0 and "going on with" in again.err
    assert served.asked[-1][1] == "bytes=700-"


def test_remove_frees_and_tells(capsys: Capsys, wanted: Model, home: Path) -> None:
    """The model is gone, a second time is an error."""
    files.run(capsys, "models", "get", wanted.name)
    assert files.run(capsys, "models", "remove", wanted.name).out.startswith(f"{wanted.name}: removed, 0.1 MB freed")
    assert not (home / "models" / wanted.name).exists()
    assert "nothing to remove" in files.run(capsys, "models", "remove", wanted.name).line


@pytest.mark.parametrize("what", ["get", "remove"])
def test_an_unknown_name_is_helped(capsys: Capsys, what: str) -> None:
    """A near miss gets its right name."""
    assert "did you mean 'whisper-base.en'?" in files.run(capsys, "models", what, "whisper-base").line


def test_what_ships_can_be_neither_fetched_nor_removed(capsys: Capsys) -> None:
    """One line each."""
    assert "comes with coach" in files.run(capsys, "models", "get", "whisper").err
    assert "nothing to remove" in files.run(capsys, "models", "remove", "whisper").line
