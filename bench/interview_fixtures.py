"""Makes the dozen short spoken answers that the tests hear: python -m bench.interview_fixtures (needs flite and espeak-ng)."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import numpy as np
from interview_answers import SPOKEN, WHOLE

from bench.interview import speak
from coach.audio.read import read
from coach.audio.write import encode_ogg


def main() -> None:
    """Write them beside the answers."""
    folder = Path(__file__).resolve().parent.parent / "tests" / "interview_answers"
    with tempfile.TemporaryDirectory() as made:
        path = Path(made) / "one.wav"
        for name, (voice, text) in SPOKEN.items():
            pieces = []
            for who, words in WHOLE if voice == "turns" else ((voice, text),):
                speak(words, who, path)
                sound = read(path)
                pieces += [sound.samples, np.zeros(sound.rate_hz * 4 // 5, np.float32)]
            (folder / f"{name}.ogg").write_bytes(encode_ogg(np.concatenate(pieces[:-1]), sound.rate_hz))


if __name__ == "__main__":
    main()
