"""How the voice check fares on synthetic voices: prints tables, judges nothing. Needs flite, espeak-ng, festival and sox.

First the passage by six voices and four made child-like (pitch and formants up, tempo kept), clean, in noise 10 dB under the
voice, and over a telephone, at each speed that the check tries. Then, for the speed chosen there, what it does on another text:
the demo rehearsals made child-like the same way. Ten minutes on two cores: python -m bench.voice_check FOLDER
"""

from __future__ import annotations

import argparse
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import yaml

from coach.audio.read import RATE_HZ, read
from coach.audio.write import write_wav
from coach.places import recordings_demo_dir
from coach.review import open_listener
from coach.voice.fit import SPEEDS, best_speed, slowed
from coach.voice.measure import measure
from coach.voice.passage import Passage, load_passage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

NOISE_DB = 10.0
PHONE_HZ = (300.0, 3400.0)
CHILD = (1.2, 1.3)
DEMOS = ("tansy", "checkers", "doily")
# For the synthesisers only, which have never heard of these words.
RESPELLED = {"Wyandotte": "why an dot", "Orpington": "or ping ton", "pullet": "pull it", "cockerel": "cock er ell",
             "coverts": "cuv erts", "undercolor": "under color", "earlobes": "ear lobes"}  # fmt: skip


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, help="for the sound made on the way")
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    listener = open_listener()
    voices = speak_all(folder)
    child = {f"{name} child {up}": raised(voices[name], up, folder) for up in CHILD for name in ("slt", "rms")}
    print("voice              effect   share heard at " + ", ".join(f"{s:g}" for s in SPEEDS) + "; taken; trade words misheard")
    for name, clean in {**voices, **child}.items():
        for effect, sound in effects(clean).items():
            found = {s: measure(load_passage(), listener.transcribe(slowed(sound, s))) for s in SPEEDS}
            shares = {s: hearing.share_heard for s, hearing in found.items()}
            best = best_speed(shares)
            figures = "  ".join(f"{share:.3f}" for share in shares.values())
            print(
                f"{name:18} {effect:8} {figures}  {best:4g}  {len(found[1.0].misheard)} -> {len(found[best].misheard)}",
                flush=True,
            )
    print("demo      raised by   share heard at the same speeds")
    for demo in DEMOS:
        script = yaml.safe_load((recordings_demo_dir() / "scripts" / f"{demo}.yaml").read_text(encoding="utf-8"))
        text = Passage(tuple(sentence["say"] for sentence in script["sentences"]), ())
        plain = read(recordings_demo_dir() / f"{demo}.ogg").samples
        for up in (1.0, *CHILD):
            sound = plain if up == 1 else raised(plain, up, folder)
            shares = {s: measure(text, listener.transcribe(slowed(sound, s))).share_heard for s in SPEEDS}
            print(f"{demo:9} {up:9g}   " + "  ".join(f"{share:.3f}" for share in shares.values()), flush=True)


def speak_all(folder: Path) -> dict[str, Samples]:
    """The passage by every voice."""
    text = " ".join(load_passage().paragraphs)
    for word, sounds in RESPELLED.items():
        text = text.replace(word, sounds)
    commands = {name: ["flite", "-voice", name, "-t", text, "-o"] for name in ("slt", "rms", "kal16")}
    commands |= {f"espeak {v}": ["espeak-ng", "-v", v, "-s", "145", text, "-w"] for v in ("en-us+f5", "en-gb+m3")}
    commands["festival"] = ["text2wave", "-o"]
    out = {}
    for name, command in commands.items():
        path = folder / f"{name}.wav"
        subprocess.run([*command, str(path)], input=text, text=True, check=True)
        sound = read(path).samples
        out[name] = (0.5 * sound / np.abs(sound).max()).astype(np.float32)
    return out


def raised(sound: Samples, up: float, folder: Path) -> Samples:
    """Pitch and formants times that, tempo kept, as a smaller speaker has them."""
    plain, high = folder / "plain.wav", folder / "high.wav"
    write_wav(plain, 0.9 * sound, RATE_HZ)
    subprocess.run(["sox", str(plain), str(high), "speed", str(up), "tempo", "-s", str(1 / up)], check=True)
    return read(high).samples


def effects(sound: Samples) -> dict[str, Samples]:
    """The sound as it is, in pink noise, and through a telephone's band and 8-bit mu-law (ITU-T G.711)."""
    n = len(sound)
    hertz = np.fft.rfftfreq(n, 1 / RATE_HZ)
    noise = np.fft.irfft(np.fft.rfft(np.random.default_rng(7).normal(size=n)) / np.sqrt(np.maximum(hertz, 50.0)), n)
    noise *= np.sqrt(np.mean(sound**2)) * 10 ** (-NOISE_DB / 20) / noise.std()
    band = np.fft.irfft(np.fft.rfft(sound) * ((hertz > PHONE_HZ[0]) & (hertz < PHONE_HZ[1])), n)
    band /= np.abs(band).max()
    code = np.round(127 * np.sign(band) * np.log1p(255 * np.abs(band)) / np.log(256)) / 127
    phone = 0.5 * np.sign(code) * (256 ** np.abs(code) - 1) / 255
    return {"clean": sound, "noise": (0.8 * (sound + noise)).astype(np.float32), "phone": phone.astype(np.float32)}


if __name__ == "__main__":
    main()
