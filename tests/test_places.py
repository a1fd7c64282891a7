"""Where shipped data lies, in a source checkout and in an installed wheel."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from coach import places


def test_the_shipped_cards_are_there() -> None:
    """The folder of the cards holds cards, wherever the coach runs from."""
    assert (places.breed_cards_dir() / "buff-orpington.yaml").is_file()


def test_a_wheel_carries_the_folders_inside_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Inside the package where the wheel put them, else beside it."""
    package = tmp_path / "coach"
    (package / "models").mkdir(parents=True)
    monkeypatch.setattr(places, "_PACKAGE", package)
    assert places.models_dir() == package / "models"
    assert places.recordings_demo_dir() == tmp_path / "recordings_demo"
    assert places.knowledge_data_dir() == package / "knowledge" / "data"


def test_a_name_that_is_taken_gets_a_number(tmp_path: Path) -> None:
    """Two folders of one name stand side by side, and every folder made on the way is the user's alone."""
    umask = os.umask(0)
    try:
        made = [places.make_private_folder(tmp_path / "a" / "b", "one") for _ in range(3)]
    finally:
        os.umask(umask)
    assert [folder.name for folder in made] == ["one", "one-2", "one-3"]
    assert {stat.S_IMODE(f.stat().st_mode) for f in (*made, tmp_path / "a", tmp_path / "a" / "b")} == {0o700}


def test_a_record_that_cannot_be_written_leaves_the_old_one(tmp_path: Path) -> None:
    """The old content stays and nothing lies beside it; a record that can be written is the user's alone."""
    path = tmp_path / "record.json"
    places.write_private_json(path, {"a": 1})
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    (tmp_path / "folder.json").mkdir()
    with pytest.raises(OSError):
        places.write_private_json(tmp_path / "folder.json", {"a": 2})
    assert path.read_text() == '{\n "a": 1\n}\n'
    assert sorted(p.name for p in tmp_path.iterdir()) == ["folder.json", "record.json"]
