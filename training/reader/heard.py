"""heard.py TEXTS OUT [--writers W,W] [--seed N]: what the listener writes when the texts are spoken.

Every rehearsal is read aloud by a synthesiser (flite's slt, rms, kal16; espeak-ng's variants: none of the voices kept for
measuring), roughened with sox (tempo, a child's pitch, a room, noise) and heard by the shipped listener, without weighing.
The tags are carried over by aligning the words. Needs flite, espeak-ng, sox.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import subprocess
import tempfile
from dataclasses import asdict
from pathlib import Path

from rapidfuzz.distance import Levenshtein

from coach.audio.read import read
from coach.review import open_listener
from coach.words import Word
from training.reader.corpus import Tag, Talk
from training.reader.export import talks_of

FLITE = ("slt", "rms", "kal16")
ESPEAK = ("f1", "f2", "f3", "f4", "m1", "m3", "m7", "klatt", "klatt2", "Andy", "Annie", "linda", "steph", "anika", "belinda")
ACCENTS = ("en-us", "en-us", "en-us", "en-gb", "en-gb-scotland", "en-029")


def speak(text: str, path: Path, rng: random.Random) -> str:
    """The text as a wav file, and who read it how."""
    raw = path.with_suffix(".raw.wav")
    if rng.random() < 0.65:
        voice = rng.choice(FLITE)
        _run("flite", "-voice", voice, "--setf", f"duration_stretch={rng.uniform(0.85, 1.2):.2f}", "-t", text, "-o", raw)
    else:
        voice = f"{rng.choice(ACCENTS)}+{rng.choice(ESPEAK)}"
        _run("espeak-ng", "-v", voice, "-s", str(rng.randint(135, 175)), "-p", str(rng.randint(30, 75)), "-w", raw, text)
    effects: list[str] = []
    if rng.random() < 0.3:
        effects += ["pitch", str(rng.randint(150, 500))]
    if rng.random() < 0.3:
        effects += ["reverb", str(rng.randint(15, 55))]
    _run("sox", raw, "-r", "16000", "-c", "1", path, "gain", "-n", "-3", *effects)
    if rng.random() < 0.35:
        noisy, level = path.with_suffix(".noisy.wav"), 10 ** (-rng.uniform(10, 24) / 20) * 0.12
        seconds = _run("soxi", "-D", path).strip()
        noise = path.with_suffix(".noise.wav")
        color = rng.choice(["pinknoise", "brownnoise", "whitenoise"])
        _run("sox", "-n", "-r", "16000", "-c", "1", noise, "synth", seconds, color, "vol", f"{level:.4f}")
        _run("sox", "-m", "-v", "1", path, "-v", "1", noise, noisy)
        noisy.replace(path)
        effects += ["noise"]
    return " ".join([voice, *effects])


def _run(*command: str | Path) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def plain(word: str) -> str:
    """A word as it is compared."""
    return re.sub(r"[^a-z0-9]", "", word.lower())


def carried(talk: Talk, heard: list[Word]) -> list[Tag]:
    """The tags at the heard words; those whose words were lost altogether are dropped."""
    true, got = [plain(w) for w in talk.words], [plain(w.text) for w in heard]
    place = [0] * (len(true) + 1)
    kept = [False] * len(true)
    for op in Levenshtein.opcodes(true, got):
        n, m = op.src_end - op.src_start, op.dest_end - op.dest_start
        for k in range(n):
            place[op.src_start + k + 1] = op.dest_start + (m if op.tag == "replace" and k == n - 1 else min(k + 1, m))
            kept[op.src_start + k] = op.tag in ("equal", "replace")
    out, before = [], 0
    for tag in talk.tags:
        start = max(before, tag.after - 4)
        if tag.after == before:
            start = max(0, tag.after - 4)
        words = kept[start : tag.after]
        if words and sum(words) >= 0.4 * len(words):
            out.append(Tag(place[tag.after], tag.item, tag.slip, tag.value))
        before = tag.after
    return out


def main() -> None:
    """Speak, hear and carry over, one file a rehearsal; files that are there are left alone."""
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("texts", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("--writers", default="")
    p.add_argument("--seed", type=int, default=1)
    a = p.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    listener = open_listener("whisper")
    for path in sorted(a.texts.glob("writer-??.txt")):
        if a.writers and path.stem not in a.writers.split(","):
            continue
        for talk in talks_of(path):
            target = a.out / f"{talk.name}.{a.seed}.json"
            if target.exists():
                continue
            rng = random.Random(f"{a.seed}/{talk.name}")
            with tempfile.TemporaryDirectory() as folder:
                wav = Path(folder) / "talk.wav"
                how = speak(" ".join(talk.words), wav, rng)
                heard = listener.transcribe(read(wav).samples)
            words = list(heard.words)
            if len(words) < 0.4 * len(talk.words):
                continue
            rows = [{"text": w.text, "start": w.start_s, "end": w.end_s, "confidence": w.confidence} for w in words]
            target.write_text(json.dumps({"how": how, "words": rows, "tags": [asdict(t) for t in carried(talk, words)]}))
            print(talk.name, how, len(talk.words), len(words), flush=True)


if __name__ == "__main__":
    main()
