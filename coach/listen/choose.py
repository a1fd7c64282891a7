"""Which listener hears, with which model, and why.

In: what was asked for (auto, whisper, whisper-plain or vosk; a model's folder or name). Out: a Chosen, not yet opened.
`auto` takes the best that is there by the published word error rates of the catalogue (models.yaml, all on one public test
set); the listener that this project taught the trade's words goes before, for that set has none of them.
"""

from __future__ import annotations

import importlib.util
import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from coach.errors import CoachError
from coach.listen.catalogue import Found, fetched_dir, find_models, load_catalogue, load_test_set, vosk_dirs
from coach.listen.vosk_model import folder_bytes, is_model
from coach.listen.weights import MISSING as NO_LISTENER
from coach.listen.weights import PLAIN_MISSING, WEIGHTS
from coach.places import models_dir

if TYPE_CHECKING:
    from coach.listen.listener import Listener

__all__ = ["NAMES", "VARIABLE", "Chosen", "choose"]

NAMES = ("auto", "whisper", "whisper-plain", "vosk")
VARIABLE = "COACH_VOSK_MODEL"
NEVER = "tiny-synthetic"  # hears synthetic voices only; taken when its folder is named, and never else
NO_MODEL = (
    f"no Vosk model on this machine; get one with: coach models get vosk-model-small-en-us-0.15, or name one with --model FOLDER "
    f"or {VARIABLE}"
)
_LIBRARIES = {"whisper": "ctranslate2", "vosk": "vosk"}
_FOREIGN = re.compile(r"vosk-model-(small-)?(?!en\b)[a-z]{2,3}(-|$)|vosk-model-spk")


@dataclass(frozen=True, slots=True)
class Chosen:
    """A listener ("whisper", "whisper-plain", "vosk"), its model's name and folder, and one line that tells why."""

    listener: str
    model: str
    folder: Path
    why: str

    def open(self) -> Listener:
        """Load it.

        Raises:
            CoachError: library or model are missing, broken or not English.
        """
        if self.listener == "vosk":
            from coach.listen.vosk import VoskListener

            return VoskListener(self.folder)
        from coach.listen.whisper import WhisperListener

        if self.model in WEIGHTS:
            return WhisperListener(self.model)  # of these the weights are checked
        return WhisperListener(self.listener, str(self.folder))


def choose(name: str | None = None, model: str | None = None) -> Chosen:
    """The listener and model for what was asked.

    Args:
        name: one of NAMES; None for auto.
        model: a model's folder, or the name of one that is on this machine.
    Raises:
        CoachError: there is no such listener or model, or the two do not go together.
    """
    name = name or "auto"
    if name not in NAMES:
        raise CoachError(f"--listener {name}: there is no such listener; choose one of {', '.join(NAMES)}")
    if model:
        return _named(name, model)
    if name == "vosk":
        return _best_vosk()
    if name == "auto":
        return _best()
    return _of_catalogue(name, f"{name}: as asked for")


def _named(name: str, model: str) -> Chosen:
    """A model given by its folder or name."""
    folder = Path(model).expanduser()
    if not folder.is_dir():
        here = {found.model.name: found.folder for found in find_models() if found.model.name != NEVER}
        here |= {path.name: path for path in _vosk_folders()}
        if model not in here:
            names = ", ".join(sorted(here)) or "none"
            raise CoachError(f"--model {model}: no such folder, and no model of that name here (here: {names}); see coach models")
        folder = here[model]
    is_whisper = (folder / "model.bin").is_file()
    if name.startswith("whisper") and not is_whisper:
        raise CoachError(f"--model {model}: this is no Whisper model, it has no model.bin; leave out --listener {name}")
    if name == "vosk" and is_whisper:
        raise CoachError(f"--model {model}: this is a Whisper model; leave out --listener vosk")
    shipped = next((f.model.name for f in find_models() if f.folder.resolve() == folder.resolve()), folder.name)
    if is_whisper:
        # A model that nobody calibrated goes by the figures of the untaught one.
        return Chosen(shipped if shipped in WEIGHTS else "whisper-plain", shipped, folder, f"{shipped}: as asked for")
    return Chosen("vosk", folder.name, folder, f"vosk with {folder.name}: as asked for")


def _of_catalogue(name: str, why: str) -> Chosen:
    found = next((f for f in find_models() if f.model.name == name), None)
    if not _has_library("whisper"):
        raise CoachError(NO_LISTENER)
    if found is None:
        raise CoachError(PLAIN_MISSING if name == "whisper-plain" else NO_LISTENER)
    return Chosen(name, name, found.folder, why)


def _best_vosk() -> Chosen:
    """The model that the variable names, else the best of those that are here."""
    own = os.environ.get(VARIABLE)
    if own:
        folder = Path(own).expanduser()
        if not is_model(folder):
            raise CoachError(f"{VARIABLE}={own}: there is no Vosk model in that folder; change the variable or take it away")
        return Chosen("vosk", folder.name, folder, f"vosk with {folder.name}: named by {VARIABLE}")
    ranked = _ranked(_vosk_folders())
    if not ranked:
        raise CoachError(NO_MODEL)
    of_several = f", the best of {len(ranked)} Vosk models here" if len(ranked) > 1 else ", the only Vosk model here"
    return Chosen("vosk", ranked[0].name, ranked[0], f"vosk with {ranked[0].name}: {_figure(ranked[0].name)}{of_several}")


def _best() -> Chosen:
    """The best that is here: the taught listener, then by published error rate, then models without one."""
    found = [f for f in find_models() if f.model.listener == "whisper"] if _has_library("whisper") else []
    choices = [_whisper(f) for f in found]
    if _has_library("vosk"):
        try:
            choices.append(_best_vosk())
        except CoachError:  # none here, or the variable is wrong: another may still hear
            if not choices:
                raise
    if not choices:
        raise CoachError(NO_LISTENER)
    best, *others = sorted(choices, key=lambda c: (not _is_taught(c.model), _percent(c.model)))
    what = "vosk with " if best.listener == "vosk" else ""
    taught = "it knows the trade's words, " if _is_taught(best.model) else ""
    rest = "; also here: " + ", ".join(f"{c.model} ({_figure(c.model)})" for c in others) if others else "; no other is here"
    why = f"{what}{best.model}: {taught}{_figure(best.model, in_full=True)}{rest}"
    return replace(best, why=why)


def _whisper(found: Found) -> Chosen:
    name = found.model.name
    return Chosen(name if name in WEIGHTS else "whisper-plain", name, found.folder, "")


def _vosk_folders() -> Iterator[Path]:
    """English Vosk models: shipped, the user's, then the library's own places; each name once."""
    seen = {NEVER}
    for root in (models_dir(), fetched_dir(), *vosk_dirs()):
        # The library's variable may name a model itself.
        inside = [root] if is_model(root) else sorted(root.iterdir()) if root.is_dir() else []
        for folder in inside:
            if folder.name not in seen and is_model(folder) and not _FOREIGN.match(folder.name):
                seen.add(folder.name)
                yield folder


def _ranked(folders: Iterable[Path]) -> list[Path]:
    """Best first: by published error rate; those without one after them, the largest first."""
    return sorted(folders, key=lambda f: (_percent(f.name), -folder_bytes(f)))


def _is_taught(model: str) -> bool:
    known = load_catalogue().get(model)
    return known is not None and known.taught


def _percent(model: str) -> float:
    """Published share of words wrong, infinite where nobody published one."""
    known = load_catalogue().get(model)
    percent = known.wer() if known else None
    return float("inf") if percent is None else percent


def _figure(model: str, *, in_full: bool = False) -> str:
    percent = _percent(model)
    if percent == float("inf"):
        return "no published error rate"
    return f"{percent:g} % of words wrong on {load_test_set()}, as published" if in_full else f"{percent:g} %"


def _has_library(listener: str) -> bool:
    return importlib.util.find_spec(_LIBRARIES[listener]) is not None
