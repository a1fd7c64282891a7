"""The best listener present is chosen, and the line that comes with the choice says which and why."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from coach.errors import CoachError
from coach.listen import choose as choosing
from coach.listen.catalogue import load_catalogue
from coach.listen.choose import choose
from coach.places import models_dir

TINY = models_dir() / "tiny-synthetic"


@pytest.fixture(autouse=True)
def alone(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A home of its own, both libraries there, and no listener but those that a test puts there."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "own"))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("USERPROFILE", str(tmp_path / "home"))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)
    monkeypatch.delenv(choosing.VARIABLE, raising=False)
    monkeypatch.setattr(choosing, "_has_library", lambda listener: True)
    return tmp_path / "own" / "models"


def put(folder: Path, size: int = 10) -> Path:
    """Something that looks like a Vosk model, of some size."""
    (folder / "am").mkdir(parents=True)
    (folder / "am" / "final.mdl").write_bytes(bytes(size))
    return folder


def test_auto_takes_the_taught_listener_and_says_why(alone: Path) -> None:
    """With a Vosk model beside it the listener that knows the trade's words hears, and the line names both."""
    put(alone / "vosk-model-small-en-us-0.15")
    chosen = choose()
    assert (chosen.listener, chosen.model) == ("whisper", "whisper")
    assert "trade's words" in chosen.why and "LibriSpeech test-clean" in chosen.why
    assert "vosk-model-small-en-us-0.15 (9.85 %)" in chosen.why


def test_auto_goes_by_published_figures(alone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without Whisper's library the best Vosk model hears: 5.69 % published is better than 9.85 %.

    Source: alphacephei.com/vosk/models, column "Word error rate/Speed", LibriSpeech test-clean.
    """
    monkeypatch.setattr(choosing, "_has_library", lambda listener: listener == "vosk")
    put(alone / "vosk-model-small-en-us-0.15", 500)
    put(alone / "vosk-model-en-us-0.22")
    chosen = choose("auto")
    assert (chosen.listener, chosen.model) == ("vosk", "vosk-model-en-us-0.22")
    assert "5.69 %" in chosen.why


def test_the_fixture_is_never_taken_unless_its_folder_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tiny synthetic model ships, yet neither auto nor vosk alone takes it; its folder given it is taken."""
    assert TINY.is_dir()
    with pytest.raises(CoachError, match="no Vosk model on this machine"):
        choose("vosk")
    with pytest.raises(CoachError, match="no such folder"):
        choose("vosk", "tiny-synthetic")
    monkeypatch.setattr(choosing, "_has_library", lambda listener: listener == "vosk")
    with pytest.raises(CoachError, match="no Vosk model"):
        choose("auto")
    assert choose("vosk", str(TINY)).folder == TINY
    assert choose(None, str(TINY)).listener == "vosk"


def test_the_largest_of_unknown_models(alone: Path) -> None:
    """Models that nobody published figures for come last, the largest of them first."""
    put(alone / "vosk-model-en-us-mine", 50)
    put(alone / "vosk-model-en-us-bigger", 500)
    assert choose("vosk").model == "vosk-model-en-us-bigger"
    put(alone / "vosk-model-small-en-us-0.15")
    chosen = choose("vosk")
    assert chosen.model == "vosk-model-small-en-us-0.15" and "best of 3" in chosen.why


@pytest.mark.parametrize("name", ["vosk-model-small-de-0.15", "vosk-model-fr-0.22", "vosk-model-spk-0.4"])
def test_other_languages_are_passed_over(alone: Path, name: str) -> None:
    """Models whose name tells another language, or that know speakers and no words, are not candidates."""
    put(alone / name, 1000)
    with pytest.raises(CoachError, match="no Vosk model"):
        choose("vosk")


@pytest.mark.parametrize("place", ["vosk-cache", "variable-of-the-library", "own-variable"])
def test_where_models_are_found(alone: Path, place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A model in the library's cache, in the folder of its variable or in our own variable is found.

    Source of the places: vosk 0.3.45, vosk/__init__.py, MODEL_DIRS.
    """
    root = {"vosk-cache": Path.home() / ".cache" / "vosk"}.get(place, alone.parent / "elsewhere")
    folder = put(root / "vosk-model-en-us-0.22")
    if place == "variable-of-the-library":
        monkeypatch.setenv("VOSK_MODEL_PATH", str(root))
    if place == "own-variable":
        monkeypatch.setenv(choosing.VARIABLE, str(folder))
    chosen = choose("vosk")
    assert chosen.folder == folder
    assert (choosing.VARIABLE in chosen.why) == (place == "own-variable")


def test_a_wrong_variable_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The variable pointing nowhere is an error for vosk; auto hears with another and does not stop."""
    monkeypatch.setenv(choosing.VARIABLE, str(tmp_path / "gone"))
    with pytest.raises(CoachError, match=f"{choosing.VARIABLE}=.*gone.*no Vosk model"):
        choose("vosk")
    assert choose().listener == "whisper"


def test_listener_and_model_must_go_together() -> None:
    """A Vosk folder for whisper, a Whisper folder for vosk, an unknown listener: one clear line each."""
    whisper = str(models_dir() / "whisper-trade")
    for name, model, words in (
        ("whisper", str(TINY), "no Whisper model"),
        ("vosk", whisper, "a Whisper model"),
        ("ears", None, "auto, whisper, whisper-plain, vosk"),
    ):
        with pytest.raises(CoachError, match=words) as caught:
            choose(name, model)
        assert "\n" not in str(caught.value)
    assert choose(None, whisper).model == "whisper"


def test_a_model_by_its_name(alone: Path) -> None:
    """A model that is here can be named without its folder."""
    folder = put(alone / "vosk-model-en-us-0.22-lgraph")
    assert choose("vosk", "vosk-model-en-us-0.22-lgraph").folder == folder


def test_every_figure_has_a_source() -> None:
    """Each published figure that choosing goes by names where it was published."""
    figures = [p for model in load_catalogue().values() for p in model.published_wer]
    assert figures and all(p.source and 0 < p.percent < 100 for p in figures)


@pytest.mark.listener
def test_the_chosen_one_opens(tmp_path: Path) -> None:
    """A copy of the fixture in a folder of another name is chosen by its path and opens."""
    pytest.importorskip("vosk")
    copy = tmp_path / "a folder with spaces" / "modèle"
    shutil.copytree(TINY, copy)
    assert choose("vosk", str(copy)).open().name == "vosk"
