"""Synthetic voices, and what a home recording does to a voice.

In: a text, or sound. Out: sound at RATE_HZ, with the times of its sentences. The programs: flite, festival or espeak-ng for
voices, sox for the effects that change pitch, tempo or the room.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import numpy as np

from coach.audio.read import RATE_HZ, read
from coach.audio.write import write_wav
from coach.errors import CoachError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["EFFECTS", "RATE_HZ", "Spoken", "effect", "say"]

PEAK = 0.5
_SILENCE = 0.02  # of the peak: what is softer at either end is cut off
EFFECTS = ("none", "room", "noise20", "noise10", "child", "fast", "slow", "phone", "quiet", "mp3")


@dataclass(frozen=True, slots=True)
class Spoken:
    """Sound (float32, (n,), -1..1, RATE_HZ) and the seconds from and to which each sentence is spoken in it."""

    samples: Samples
    times_s: tuple[tuple[float, float], ...]


def say(voice: str, text: str, respell: Mapping[str, str], folder: Path) -> Samples:
    """The sentence by PROGRAM:VOICE, cut to where it sounds, at a common level.

    Raises:
        CoachError: the program is not installed, or it does not know the voice.
    """
    program, _, name = voice.partition(":")
    wav = folder / "sentence.wav"
    wav.unlink(missing_ok=True)
    text = re.sub(r"[A-Za-z]+", lambda m: respell.get(m[0].lower(), m[0]), text) if program != "espeak-ng" else text
    if program == "flite":
        _call("flite", "-voice", name, "-t", text, "-o", str(wav))
    elif program == "festival":
        _call("text2wave", "-eval", f"(voice_{name})", "-o", str(wav), stdin=text)
    elif program == "espeak-ng":
        _call("espeak-ng", "-v", name, "-w", str(wav), text)
    else:
        raise CoachError(f"{voice}: no such program; write flite:VOICE, festival:VOICE or espeak-ng:VOICE")
    if not wav.is_file():
        raise CoachError(f"{voice}: {program} knows no such voice")
    samples = read(wav).samples
    loud = np.flatnonzero(np.abs(samples) > _SILENCE * np.abs(samples).max())
    cut = samples[loud[0] : loud[-1] + RATE_HZ // 50]
    level: Samples = (cut * (PEAK / np.abs(cut).max())).astype(np.float32)
    return level


def effect(name: str, spoken: Spoken, rng: Random) -> Spoken:
    """The same rehearsal through one effect.

    Raises:
        CoachError: there is no such effect, or sox is not installed.
    """
    if name == "none":
        return spoken
    if name.startswith("noise"):
        return replace(spoken, samples=_in_noise(spoken.samples, float(name.removeprefix("noise")), rng))
    chains = {
        "room": f"gain -3 reverb {rng.randrange(20, 35)} 40 {rng.randrange(15, 40)} 60 5 -2 remix -".split(),
        "child": ["pitch", str(rng.randrange(200, 420))],
        "fast": ["tempo", "-s", f"{rng.uniform(1.08, 1.2):.3f}"],
        "slow": ["tempo", "-s", f"{rng.uniform(0.82, 0.92):.3f}"],
        "phone": ["rate", "8000", "highpass", "300", "lowpass", "3400"],
        "quiet": ["gain", f"-{rng.randrange(16, 26)}"],
        "mp3": [],
    }  # fmt: skip
    if name not in chains:
        raise CoachError(f"there is no effect '{name}'; there are {', '.join(EFFECTS)}")
    out = _sox(spoken.samples, chains[name], "mp3" if name == "mp3" else "wav")
    if name in ("fast", "slow"):
        share = len(out) / len(spoken.samples)
        return Spoken(out, tuple((a * share, b * share) for a, b in spoken.times_s))
    return Spoken(np.resize(np.pad(out, (0, max(0, len(spoken.samples) - len(out)))), len(spoken.samples)), spoken.times_s)


def _in_noise(samples: Samples, decibels: float, rng: Random) -> Samples:
    """A fan and hens some way off, so many decibels below the voice."""
    draw = np.random.default_rng(rng.randrange(1 << 30))
    spectrum = np.fft.rfft(draw.normal(size=len(samples)))
    fan = np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 100)), len(samples))
    noise = fan / fan.std()
    for at in np.cumsum(draw.exponential(2.5 * RATE_HZ, 4 + len(samples) // RATE_HZ)).astype(int):
        for n in range(draw.integers(1, 5)):
            cluck, start = _cluck(draw), int(at + n * 0.2 * RATE_HZ)
            if start + len(cluck) < len(noise):
                noise[start : start + len(cluck)] += 3 * cluck
    voiced = samples[np.abs(samples) > 0.05 * np.abs(samples).max()]
    gain = np.sqrt((voiced**2).mean() / (noise**2).mean()) / 10 ** (decibels / 20)
    mixed: Samples = np.clip(samples + gain * noise, -1, 1).astype(np.float32)
    return mixed


def _cluck(draw: np.random.Generator) -> NDArray[np.float64]:
    """A short falling tone."""
    n = int(RATE_HZ * draw.uniform(0.05, 0.14))
    at = np.arange(n) / n
    phase = 2 * np.pi * draw.uniform(450, 1100) * n / RATE_HZ * (at - at**2 / 8)
    wave: NDArray[np.float64] = np.sin(np.pi * at) ** 2 * (np.sin(phase) + 0.5 * np.sin(2 * phase))
    return wave


def _sox(samples: Samples, chain: list[str], kind: str) -> Samples:
    with tempfile.TemporaryDirectory() as folder:
        before, after = Path(folder, "before.wav"), Path(folder, f"after.{kind}")
        write_wav(before, samples, RATE_HZ)
        _call("sox", "-R", str(before), *(["-C", "24"] if kind == "mp3" else []), str(after), *chain)
        return read(after).samples


def _call(program: str, *arguments: str, stdin: str | None = None) -> None:
    if shutil.which(program) is None:
        package = {"text2wave": "festival"}.get(program, program)
        raise CoachError(f"{program} is not installed; on Debian: apt-get install {package}")
    done = subprocess.run([program, *arguments], input=stdin, text=True, capture_output=True, check=False)
    if done.returncode:
        raise CoachError(f"{program} failed: {done.stderr.strip()[-300:]}")
