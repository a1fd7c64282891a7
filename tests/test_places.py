"""Where shipped data lies, in a source checkout and in an installed wheel."""

from __future__ import annotations

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
