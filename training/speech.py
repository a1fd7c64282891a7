"""Let synthesisers read the sentences: python speech.py SENTENCES.json OUT_FOLDER [PROCESSES [WHO [KOKORO_FOLDER]]]

In: sentences.json. Out: sound.npy (int16, 16 kHz, one after the other) and index.json (where each lies, who spoke).
Voices in HELD speak the held-back templates only and never in training; flite's awb, plain en-gb, festival, Piper and
three of Kokoro's five voices never speak here. Rooms, noise and bands are added while training (augment.py).
Every sentence has its synthesiser; WHO names those that speak in this run (flite,espeak,pico,kokoro), so that the slow
one can have a run or a machine of its own. KOKORO_FOLDER: see kokoro.py.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
import wave
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
FLITE = ["slt", "rms", "kal16"]
ACCENTS = ["en-us", "en-us", "en-us", "en-us", "en-gb", "en-gb-scotland", "en-029", "en-us-nyc"]
VARIANTS = """f1 f2 f3 f4 m1 m2 m3 m4 m6 m7 m8 klatt klatt2 klatt3 klatt6 Andy Annie Alex Lee Gene linda steph edward anika
quincy travis belinda""".split()
PICO = ["en-US", "en-GB"]
HELD = ["en-us+f5", "en-us+m5", "en-us+klatt4", "en-gb-x-rp"]
SHARES = {"flite": 0.41, "espeak": 0.36, "pico": 0.19, "kokoro": 0.04}
SHARE_SAME_SPEED = 0.25
LONGEST_S = 14.0
Sound = NDArray[np.float32]
Spoken = tuple[str, Sound, int]  # voice, samples -32768..32767, their rate
Synthesiser = Callable[[str, np.random.Generator, float], Spoken]  # text, what is drawn, the speed undone afterwards

_loaded: dict[str, Any] = {}


def flite(text: str, rng: np.random.Generator, speed: float) -> Spoken:
    """A diphone or unit voice at its own tempo and pitch."""
    voice = str(rng.choice(FLITE))
    stretch, shift = float(rng.uniform(0.78, 1.35)) * speed, float(rng.uniform(0.8, 1.3))
    pitch = f"int_f0_target_mean={105 * shift:.0f}" if voice == "kal16" else f"f0_shift={shift:.2f}"
    options = ["--setf", f"duration_stretch={stretch:.3f}", "--setf", pitch]
    return (voice, *_run(["flite", "-voice", voice, *options, "-t", text, "-o"], []))


def espeak(text: str, rng: np.random.Generator, speed: float, voice: str = "") -> Spoken:
    """A formant voice: an accent and a variant, unless a voice is named."""
    voice = voice or f"{rng.choice(ACCENTS)}+{rng.choice(VARIANTS)}"
    tempo, pitch = str(int(rng.integers(115, 195) / speed)), str(int(rng.integers(20, 85)))
    return (voice, *_run(["espeak-ng", "-v", voice, "-s", tempo, "-p", pitch, "-w"], [text]))


def pico(text: str, rng: np.random.Generator, speed: float) -> Spoken:
    """A voice made of recorded pieces, American or British."""
    import ttspico

    voice = str(rng.choice(PICO))
    engine = _loaded.get(voice) or _loaded.setdefault(voice, ttspico.TtsEngine(voice))
    engine.rate, engine.pitch = int(rng.uniform(78, 125) / speed), int(rng.uniform(75, 140))
    return f"pico {voice}", np.frombuffer(engine.speak(text), np.int16).astype(np.float32), RATE_HZ


def kokoro(text: str, rng: np.random.Generator, speed: float) -> Spoken:
    """A neural voice between two of its voices."""
    from kokoro import Kokoro

    engine = _loaded.get("kokoro") or _loaded.setdefault("kokoro", Kokoro(_loaded["kokoro folder"]))
    share = float(rng.choice([0.0, 1.0, rng.uniform(0.2, 0.8)]))
    samples, rate = engine.speak(text, share, float(rng.uniform(0.8, 1.25)) / speed)
    return f"kokoro {share:.1f}", samples * 32767, rate


SYNTHESISERS: dict[str, Synthesiser] = {"flite": flite, "espeak": espeak, "pico": pico, "kokoro": kokoro}


def _run(command: list[str], rest: list[str]) -> tuple[Sound, int]:
    path = Path(_loaded["scratch"]) / f"{os.getpid()}.wav"
    subprocess.run([*command, str(path), *rest], check=True, capture_output=True)
    with wave.open(str(path)) as file:
        rate = file.getframerate()
        return np.frombuffer(file.readframes(file.getnframes()), np.int16).astype(np.float32), rate


def resample(samples: Sound, length: int) -> Sound:
    """The samples at another rate, through their spectrum."""
    spectrum = np.fft.rfft(samples)
    bins = length // 2 + 1
    spectrum = spectrum[:bins] if len(spectrum) >= bins else np.pad(spectrum, (0, bins - len(spectrum)))
    return (np.fft.irfft(spectrum, length) * (length / len(samples))).astype(np.float32)


def speak(job: tuple[int, dict[str, str]]) -> tuple[int, str, NDArray[np.int16]] | None:
    """One sentence by a voice drawn for it, trimmed of silence, in its own tempo, pitch and vocal tract."""
    number, sentence = job
    rng = np.random.default_rng(zlib.crc32(f"{number}/{sentence['text']}".encode()))
    speed = 1.0 if rng.random() < SHARE_SAME_SPEED else float(rng.uniform(0.84, 1.32))
    held = sentence["part"] == "held"
    name = "espeak" if held else str(rng.choice(list(SHARES), p=list(SHARES.values())))
    if name not in _loaded["who"]:
        return None
    try:
        if held:
            voice, samples, rate = espeak(sentence["spoken"], rng, speed, str(rng.choice(HELD)))
        else:
            voice, samples, rate = SYNTHESISERS[name](sentence["spoken"], rng, speed)
    except (subprocess.CalledProcessError, OSError, wave.Error, EOFError):
        return None
    loud = np.flatnonzero(np.abs(samples) > 150)
    if len(loud) < rate // 8:
        return None
    samples = samples[max(0, loud[0] - rate // 50) : loud[-1] + rate // 25]
    samples = resample(samples, int(len(samples) * RATE_HZ / rate / speed))
    if len(samples) > LONGEST_S * RATE_HZ:
        return None
    samples *= 16000 / np.abs(samples).max()
    return number, voice, np.round(samples).astype(np.int16)


def _begin(scratch: str, who: list[str], folder: str) -> None:
    _loaded.update({"scratch": scratch, "who": who, "kokoro folder": folder})


def main(sentences: Path, out: Path, processes: int = 2, who: str = "", kokoro_folder: str = "") -> None:
    """Speak them all; a line of progress every thousand."""
    texts: list[dict[str, Any]] = json.loads(sentences.read_text())
    out.mkdir(parents=True, exist_ok=True)
    index, sounds, at = [], [], 0
    with (
        tempfile.TemporaryDirectory() as scratch,
        multiprocessing.Pool(processes, _begin, (scratch, who.split(",") if who else list(SHARES), kokoro_folder)) as pool,
    ):
        for found in pool.imap_unordered(speak, enumerate(texts), 8):
            if found is None:
                continue
            number, voice, samples = found
            index.append({"sentence": number, "voice": voice, "at": at, "length": len(samples)})
            sounds.append(samples)
            at += len(samples)
            if len(index) % 1000 == 0:
                print(len(index), f"{at / RATE_HZ / 3600:.2f} hours", flush=True)
    np.save(out / "sound.npy", np.concatenate(sounds))
    (out / "index.json").write_text(json.dumps(index))
    print(f"{len(index)} of {len(texts)} sentences spoken, {at / RATE_HZ / 3600:.2f} hours")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), int((sys.argv[3:] or ["2"])[0]), *sys.argv[4:6])
