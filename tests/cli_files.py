"""What the command tests share: a run of the command line, demo scripts as timed words, recordings made in place."""

from __future__ import annotations

import json
import struct
import wave
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from coach.cli import main
from coach.demo import load_demo
from coach.places import recordings_demo_dir
from coach.review import Review, load_subject, review

__all__ = ["BIRD", "Ran", "four_hours", "hear", "run", "script", "script_words", "wav", "words_file"]

BIRD = str(recordings_demo_dir() / "birds" / "checkers.yaml")
WORD_S, STEP_S, PAUSE_S = 0.28, 0.3, 0.4  # a word, from one to the next, and after a sentence


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    code: int
    out: str
    err: str

    @property
    def line(self) -> str:
        """The one line of the error."""
        assert self.code == 2 and self.out == "" and self.err.endswith("\n") and self.err.count("\n") == 1, self
        return self.err.rstrip("\n")


def run(capsys: pytest.CaptureFixture[str], *argv: str) -> Ran:
    """Run a command in this process."""
    capsys.readouterr()
    try:
        code = main(argv)
    except SystemExit as end:  # how argparse ends
        code = int(end.code or 0)
    out, err = capsys.readouterr()
    return Ran(code, out, err)


@cache
def hear(name: str) -> Review:
    """A demo through the real recogniser, once for all tests."""
    demo = load_demo(name)
    return review(str(demo.recording), load_subject(str(demo.bird)))


def script(name: str) -> dict[str, Any]:
    """What is said in a demo, sentence by sentence."""
    text = (recordings_demo_dir() / "scripts" / f"{name}.yaml").read_text(encoding="utf-8")
    return dict(yaml.safe_load(text))


def script_words(*names: str) -> list[dict[str, Any]]:
    """The scripts one after the other as timed words."""
    words, at_s = [], 0.5
    for sentence in (s for name in names for s in script(name)["sentences"]):
        for text in sentence["say"].split():
            words.append({"text": text, "start": round(at_s, 3), "end": round(at_s + WORD_S, 3)})
            at_s += STEP_S
        at_s += sentence.get("pause_s", PAUSE_S)
    return words


def words_file(path: Path, words: Sequence[dict[str, Any]]) -> str:
    """The words in the format timed-words/1."""
    path.write_text(json.dumps({"format": "timed-words/1", "words": words}), encoding="utf-8")
    return str(path)


def wav(path: Path, samples: np.ndarray[Any, np.dtype[np.float32]], rate_hz: int = 16000) -> str:
    """Mono 16-bit sound."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes((samples * 32767).astype("<i2").tobytes())
    return str(path)


def four_hours(path: Path) -> str:
    """A wav file of four hours that takes no room on most disks: the sound is a hole in the file."""
    n_bytes = 4 * 3600 * 8000
    fields = struct.pack("<IHHIIHH", 16, 1, 1, 8000, 8000, 1, 8)
    head = b"RIFF" + struct.pack("<I", 36 + n_bytes) + b"WAVEfmt " + fields + b"data" + struct.pack("<I", n_bytes)
    with path.open("wb") as file:
        file.write(head)
        file.truncate(len(head) + n_bytes)
    return str(path)
