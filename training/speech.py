"""Let synthesisers read the sentences: python speech.py SENTENCES.json OUT_FOLDER [PROCESSES]

In: sentences.json. Out: sound.npy (int16, 16 kHz, one after the other) and index.json (where each lies, who spoke).
Voices in HELD speak the held-back templates only and never in training; flite's awb and plain en-gb never speak here.
Rooms, noise and bands are added while training (augment.py).
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
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
FLITE = ["slt", "rms", "kal16"]
ACCENTS = ["en-us", "en-us", "en-us", "en-us", "en-gb", "en-gb-scotland", "en-029", "en-us-nyc"]
VARIANTS = [
    "f1",
    "f2",
    "f3",
    "f4",
    "m1",
    "m2",
    "m3",
    "m4",
    "m6",
    "m7",
    "m8",
    "klatt",
    "klatt2",
    "klatt3",
    "klatt6",
    "Andy",
    "Annie",
    "Alex",
    "Lee",
    "Gene",
    "linda",
    "steph",
    "edward",
    "anika",
    "quincy",
    "travis",
    "belinda",
]
HELD = ["en-us+f5", "en-us+m5", "en-us+klatt4", "en-gb-x-rp"]
SHARE_FLITE = 0.6
SHARE_SAME_SPEED = 0.25
LONGEST_S = 14.0


def resample(samples: NDArray[np.float32], length: int) -> NDArray[np.float32]:
    """The samples at another rate, through their spectrum."""
    spectrum = np.fft.rfft(samples)
    bins = length // 2 + 1
    spectrum = spectrum[:bins] if len(spectrum) >= bins else np.pad(spectrum, (0, bins - len(spectrum)))
    return (np.fft.irfft(spectrum, length) * (length / len(samples))).astype(np.float32)


def speak(job: tuple[int, dict[str, str], str]) -> tuple[int, str, NDArray[np.int16]] | None:
    """One sentence by a voice drawn for it, trimmed of silence, in its own tempo, pitch and vocal tract."""
    number, sentence, scratch = job
    rng = np.random.default_rng(zlib.crc32(f"{number}/{sentence['text']}".encode()))
    speed = 1.0 if rng.random() < SHARE_SAME_SPEED else float(rng.uniform(0.84, 1.32))
    path = Path(scratch) / f"{os.getpid()}.wav"
    held = sentence["part"] == "held"
    if not held and rng.random() < SHARE_FLITE:
        voice = str(rng.choice(FLITE))
        stretch = float(rng.uniform(0.78, 1.35)) * speed
        shift = float(rng.uniform(0.8, 1.3))
        pitch = f"int_f0_target_mean={105 * shift:.0f}" if voice == "kal16" else f"f0_shift={shift:.2f}"
        command = [
            "flite",
            "-voice",
            voice,
            "--setf",
            f"duration_stretch={stretch:.3f}",
            "--setf",
            pitch,
            "-t",
            sentence["spoken"],
            "-o",
            str(path),
        ]
    else:
        voice = str(rng.choice(HELD)) if held else f"{rng.choice(ACCENTS)}+{rng.choice(VARIANTS)}"
        tempo = str(int(rng.integers(115, 195) / speed))
        command = [
            "espeak-ng",
            "-v",
            voice,
            "-s",
            tempo,
            "-p",
            str(int(rng.integers(20, 85))),
            "-w",
            str(path),
            sentence["spoken"],
        ]
    try:
        subprocess.run(command, check=True, capture_output=True)
        with wave.open(str(path)) as file:
            rate = file.getframerate()
            samples = np.frombuffer(file.readframes(file.getnframes()), np.int16).astype(np.float32)
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


def main(sentences: Path, out: Path, processes: int) -> None:
    """Speak them all."""
    texts: list[dict[str, Any]] = json.loads(sentences.read_text())
    out.mkdir(parents=True, exist_ok=True)
    index, sounds, at = [], [], 0
    with tempfile.TemporaryDirectory() as scratch, multiprocessing.Pool(processes) as pool:
        jobs = ((n, s, scratch) for n, s in enumerate(texts))
        for found in pool.imap_unordered(speak, jobs, 16):
            if found is None:
                continue
            number, voice, samples = found
            index.append({"sentence": number, "voice": voice, "at": at, "length": len(samples)})
            sounds.append(samples)
            at += len(samples)
    np.save(out / "sound.npy", np.concatenate(sounds))
    (out / "index.json").write_text(json.dumps(index))
    print(f"{len(index)} of {len(texts)} sentences spoken, {at / RATE_HZ / 3600:.2f} hours")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 2)
