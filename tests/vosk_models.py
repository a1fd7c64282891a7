"""What tests of the Vosk listener share: the tiny model, its everyday variant, and sentences by synthetic voices."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.audio.read import read
from coach.listen.vosk import VoskListener
from coach.places import models_dir

TINY = models_dir() / "tiny-synthetic"
SOUNDS = Path(__file__).parent / "sounds"
VOICES = ("slt", "rms", "kal16")


def everyday_model(folder: Path) -> Path:
    """The tiny model with the graph that lacks the trade's rare words, put together in this folder."""
    for part in ("am", "conf"):
        shutil.copytree(TINY / part, folder / part)
    shutil.copytree(TINY / "graph-everyday", folder / "graph")
    return folder


def sound(name: str) -> NDArray[np.float32]:
    """A stored sentence file (flite voices; see sounds/README.md)."""
    return read(SOUNDS / f"{name}.ogg").samples


def opened(folder: Path, home: Path) -> VoskListener:
    """A listener with this model; what it remembers of the check lies in that home."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COACH_HOME", str(home))
        return VoskListener(folder)
