"""Make the set of ordinary prose: python prose_set.py OUT_FOLDER (needs flite, espeak-ng, sox)

In: prose.txt, written for this. Out: a set for measure.py in three voices that never speak in training.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
VOICES = {
    "awb": ["flite", "-voice", "awb", "-o", "{out}", "-t"],
    "gb": ["espeak-ng", "-v", "en-gb", "-s", "150", "-w", "{out}"],
    "f5": ["espeak-ng", "-v", "en-us+f5", "-s", "155", "-w", "{out}"],
}
TOGETHER = 2
PLAIN_PARAGRAPHS = 8  # the ones after them are full of sound-alikes


def main(out: Path) -> None:
    """Speak every paragraph in every voice."""
    paragraphs = [line.strip() for line in (HERE / "prose.txt").read_text().splitlines() if line.strip()]
    out.mkdir(parents=True, exist_ok=True)
    number = 0
    for voice, command in VOICES.items():
        for at in range(0, len(paragraphs), TOGETHER):
            number += 1
            text, raw = " ".join(paragraphs[at : at + TOGETHER]), out / "raw.wav"
            subprocess.run([part.format(out=raw) for part in command] + [text], check=True)
            sound = out / f"prose-{number:02d}.wav"
            subprocess.run(["sox", str(raw), "-r", "16000", "-b", "16", str(sound), "norm", "-6"], check=True)
            raw.unlink()
            effect = "plain" if at < PLAIN_PARAGRAPHS else "sound-alikes"
            truth = {"script": text, "voice": voice, "effects": [effect], "sentences": []}
            sound.with_suffix(".truth.json").write_text(json.dumps(truth))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
