"""Make the demo recordings from their scripts: synthetic voices in, a small ogg file and a truth file each out.

Run by hand, with Debian's flite on the path: python -m recordings_demo.make
In go scripts/*.yaml; beside this file go NAME.ogg (what is heard) and NAME.truth.json (which mistakes were planted).
"""

from __future__ import annotations

import json
import re
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import yaml

from coach.audio.read import RATE_HZ, read
from coach.audio.write import encode_ogg, replace_file

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

HERE = Path(__file__).parent
BITS_PER_S = 20_000
PAUSE_S = 0.4  # after a sentence; a script may ask for more
ROOM_DBFS = -55.0  # a quiet room behind the voice: no microphone gives digital silence
PEAK = 0.5
RESPELLED = {  # for the synthesiser only, which has never heard of these
    "Wyandotte": "why an dot",
    "Wyandottes": "why an dots",
    "Orpington": "or ping ton",
    "Orpingtons": "or ping tons",
    "pullet": "pull it",
    "cockerel": "cock er ell",
    "coverts": "cuv erts",
    "undercolor": "under color",
    "earlobes": "ear lobes",
    "Shh": "shush",
}


def main() -> None:
    """Make every recording whose script is there."""
    for path in sorted((HERE / "scripts").glob("*.yaml")):
        script = yaml.safe_load(path.read_text(encoding="utf-8"))
        samples = perform(script)
        replace_file(HERE / f"{script['name']}.ogg", encode_ogg(samples, RATE_HZ, BITS_PER_S))
        replace_file(HERE / f"{script['name']}.truth.json", (json.dumps(truth(script), indent=1) + "\n").encode())
        print(f"{script['name']}: {len(samples) / RATE_HZ:.1f} s")


def truth(script: dict[str, Any]) -> dict[str, Any]:
    """What a listener should find in the recording of this script."""
    return {
        "format": "demo-truth/1",
        "recording": f"{script['name']}.ogg",
        "bird": f"birds/{script['bird']}.yaml",
        "title": script["title"],
        "planted": script["planted"],
        "out_of_order": script["out_of_order"],
    }


def perform(script: dict[str, Any]) -> Samples:
    """The whole rehearsal, float32 (n,) at RATE_HZ: sentences with pauses, in a quiet room."""
    parts = [np.zeros(RATE_HZ // 2, np.float32)]
    for sentence in script["sentences"]:
        parts.append(speak(sentence["say"], script["voice"], script.get("settings", {})))
        parts.append(np.zeros(round(RATE_HZ * sentence.get("pause_s", PAUSE_S)), np.float32))
    voice = np.concatenate(parts)
    room = np.random.default_rng(0).normal(0, 10 ** (ROOM_DBFS / 20), len(voice))
    heard: Samples = (PEAK * voice / np.abs(voice).max() + room).astype(np.float32)
    return heard


def speak(text: str, voice: str, settings: dict[str, float]) -> Samples:
    """One sentence by flite, float32 (n,) at RATE_HZ."""
    spoken = re.sub(r"[A-Za-z]+", lambda match: RESPELLED.get(match[0], match[0]), text)
    options = [part for key, value in settings.items() for part in ("--setf", f"{key}={value}")]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "sentence.wav")
        subprocess.run(["flite", "-voice", voice, *options, "-t", spoken, "-o", str(path)], check=True)
        return read(path).samples


if __name__ == "__main__":
    main()
