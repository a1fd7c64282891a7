"""Speech with labels: the flite voices read sentences, and flite itself tells when each phone ends (option -psdur).

In: sentences as training/sentences.py writes them. Out: one Utterance each: cepstra as the library computes them under
conf/mfcc.conf, and the phone of every frame. Tempo, pitch, level, true silence around and noise differ from one to the next.
"""

from __future__ import annotations

import subprocess
import wave
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from training.tiny_vosk.sounds import CLASSES, flite_phone

RATE_HZ = 16_000
FRAME_S, MIDDLE_S = 0.01, 0.0125
CEPSTRA = 40
VOICES = ("slt", "rms", "kal16")
# --dither=0 and zeros around the speech belong together: test sound holds true zeros.
MFCC_CONF = f"""--use-energy=false
--num-mel-bins={CEPSTRA}
--num-ceps={CEPSTRA}
--low-freq=20
--high-freq=-400
--dither=0
--allow-upsample=true
"""


@dataclass(frozen=True, slots=True)
class Utterance:
    """cepstra: float32, (n, 40), a frame every 10 ms; classes: uint8, (n,), places in sounds.CLASSES."""

    cepstra: NDArray[np.float32]
    classes: NDArray[np.uint8]


def speak(number: int, spoken: str, scratch: Path) -> Utterance:
    """One sentence by a voice and in a manner drawn for it."""
    rng = np.random.default_rng(zlib.crc32(f"{number}/{spoken}".encode()))
    voice, shift = str(rng.choice(VOICES)), float(rng.uniform(0.85, 1.2))
    pitch = f"int_f0_target_mean={105 * shift:.0f}" if voice == "kal16" else f"f0_shift={shift:.2f}"
    manner = ["--setf", f"duration_stretch={rng.uniform(0.85, 1.25):.2f}", "--setf", pitch]
    command = ["flite", "-voice", voice, "-psdur", *manner, "-t", spoken, "-o", str(scratch)]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    with wave.open(str(scratch)) as file:
        samples = np.frombuffer(file.readframes(file.getnframes()), np.int16).astype(np.float32)
    lead, tail = (int(s * RATE_HZ) for s in rng.uniform(0, 0.4, 2))
    sound = np.pad(samples * (10 ** (rng.uniform(-20, -1) / 20) * 32000 / np.abs(samples).max()), (lead, tail))
    if rng.random() < 0.5:
        level = np.sqrt((sound**2).mean()) * 10 ** (-rng.uniform(12, 45) / 20)
        sound += rng.normal(0, level, len(sound)).astype(np.float32)
    cepstra = mfcc(np.clip(np.round(sound), -32768, 32767))
    return Utterance(cepstra, _classes(told, lead / RATE_HZ, len(cepstra)))


def _classes(told: Sequence[str], lead_s: float, frames: int) -> NDArray[np.uint8]:
    """The phone in the middle of every frame, from flite's "phone:end" items; silence before and after."""
    pairs = [item.rsplit(":", 1) for item in told]
    ends = np.array([float(end) for _, end in pairs])
    numbers = np.array([CLASSES.index(flite_phone(name)) for name, _ in pairs] + [0], np.uint8)
    middle = np.arange(frames) * FRAME_S + MIDDLE_S - lead_s
    return np.where(middle < 0, 0, numbers[np.searchsorted(ends, middle, side="right")]).astype(np.uint8)


def mfcc(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """float32, (n_frames, 40). samples are in the range of int16, not -1..1: the library passes its own on unscaled."""
    import kaldi_native_fbank as knf

    options = knf.MfccOptions()
    options.frame_opts.samp_freq, options.frame_opts.dither = RATE_HZ, 0.0
    options.mel_opts.num_bins, options.mel_opts.low_freq, options.mel_opts.high_freq = CEPSTRA, 20, -400
    options.num_ceps, options.use_energy = CEPSTRA, False
    hearing = knf.OnlineMfcc(options)
    hearing.accept_waveform(RATE_HZ, samples.tolist())
    hearing.input_finished()
    return np.stack([hearing.get_frame(n) for n in range(hearing.num_frames_ready)]).astype(np.float32)
