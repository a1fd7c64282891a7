"""Several tuned folders hear one set, the encoder run once: python hear_many.py SET OUT_FOLDER JOBS NAME=FOLDER ...

The free transcript is that of coach's WhisperListener, without context: the same stretches, window, beam and silenced tokens.
Only its word times are left out. Out: OUT_FOLDER/SET-NAME.json for measure.py table.
"""

from __future__ import annotations

import json
import sys
import wave
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from coach.listen.speech import RATE_HZ, find_speech, group
from coach.listen.whisper_model import WINDOW_FRAMES, Whisper

_models: dict[str, Whisper] = {}


def _start(folders: dict[str, str]) -> None:
    for name, folder in folders.items():
        _models[name] = Whisper(Path(folder))


def hear_case(path: Path) -> tuple[str, dict[str, str]]:
    """What each model writes of one case."""
    with wave.open(str(path)) as file:
        samples = np.frombuffer(file.readframes(file.getnframes()), np.int16).astype(np.float32) / 32768
    said: dict[str, list[str]] = {name: [] for name in _models}
    first = next(iter(_models.values()))
    for stretch in group(find_speech(samples), len(samples) / RATE_HZ):
        encoded = first.encode(samples, stretch, WINDOW_FRAMES)
        for name, model in _models.items():
            if tokens := model.decode(encoded):
                said[name].append(model.text(tokens))
    return path.stem, {name: " ".join(parts) for name, parts in said.items()}


def main(argv: list[str]) -> None:
    """Hear the set."""
    made, out, jobs = Path(argv[0]), Path(argv[1]), int(argv[2])
    folders = dict(a.split("=", 1) for a in argv[3:])
    cases = [p for p in sorted(made.glob("*.wav")) if p.with_name(f"{p.stem}.truth.json").is_file()]
    with ProcessPoolExecutor(jobs, initializer=_start, initargs=(folders,)) as pool:
        heard = dict(pool.map(hear_case, cases))
    out.mkdir(parents=True, exist_ok=True)
    for name in folders:
        found = {"set": str(made), "cases": {case: said[name] for case, said in heard.items()}}
        (out / f"{made.name}-{name}.json").write_text(json.dumps(found, indent=1))


if __name__ == "__main__":
    main(sys.argv[1:])
