"""Record for minutes from a microphone that hears known sound; print what was lost and what it cost.

    python -m bench.capture_drops [MINUTES]

Needs no sound hardware (see tests/sound_server.py). Dropped frames are counted twice: by the capture itself, and by
finding every second of what was played in what was recorded.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from sound_server import MISSING, SoundServer

from coach.audio.levels import rms_dbfs
from coach.audio.read import RATE_HZ, read
from coach.audio.write import write_wav
from coach.places import recordings_demo_dir

SEARCH_S = 0.25  # how far a second may have moved to be found
LEAST_LIKENESS = 0.9  # correlation
LEAST_DBFS = -35.0  # quieter seconds hold too little to be told from their neighbors

RECORD = """
import json, resource, sys, time
from pathlib import Path
from coach.live.capture import open_capture
with open_capture(None, Path(sys.argv[1])) as capture:
    began, levels = time.monotonic(), []
    print("ready", flush=True)
    sys.stdin.readline()
    wall_s = time.monotonic() - began
usage = resource.getrusage(resource.RUSAGE_SELF)  # its memory figure is the parent's on Linux where that is larger
peak_kb = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(json.dumps({"seconds": capture.seconds(), "wall_s": wall_s, "lost_s": capture.lost_s(),
                  "cpu_s": usage.ru_utime + usage.ru_stime, "peak_mb": peak_kb / 1024, "problem": capture.problem()}))
"""


def main(minutes: float) -> None:
    """Play, record, compare, print."""
    demos = np.concatenate([read(path).samples for path in sorted(recordings_demo_dir().glob("*.ogg"))])
    played = np.resize(demos, round(minutes * 60 * RATE_HZ))
    with tempfile.TemporaryDirectory(prefix="coach-") as name, SoundServer(Path(name)) as server:
        folder = Path(name)
        write_wav(folder / "played.wav", played, RATE_HZ)
        recorder = server.python(RECORD, str(folder / "take.wav"))
        assert recorder.stdout
        recorder.stdout.readline()
        server.play(folder / "played.wav")
        time.sleep(1)
        out, _ = recorder.communicate("\n", timeout=60)
        figures = json.loads(out)
        lags = _lags(played, read(folder / "take.wav").samples)
    print(f"recorded {figures['seconds']:.1f} s in {figures['wall_s']:.1f} s, problem: {figures['problem']}")
    print(f"seconds lost by the capture's own count: {figures['lost_s']}")
    moved = {second: lag for second, lag in lags.items() if lag != next(iter(lags.values()))}
    print(f"seconds found at the same distance as the first: {len(lags) - len(moved)} of {len(lags)}; others: {moved or 'none'}")
    share = figures["cpu_s"] / figures["wall_s"]
    print(f"processor time: {figures['cpu_s']:.1f} s, {share:.1%} of one core; memory {figures['peak_mb']:.0f} MB")


def _lags(played: np.ndarray, heard: np.ndarray) -> dict[int, int | None]:  # type: ignore[type-arg]
    """How many samples later each second with sound in it was heard; None where it is not found."""
    start = _find(played[: 5 * RATE_HZ], heard[: 15 * RATE_HZ])[0]
    lags: dict[int, int | None] = {}
    reach = round(SEARCH_S * RATE_HZ)
    for at in range(0, len(played) - RATE_HZ, RATE_HZ):
        second = played[at : at + RATE_HZ]
        if rms_dbfs(second) < LEAST_DBFS:
            continue
        left = max(0, at + start - reach)
        place, likeness = _find(second, heard[left : left + RATE_HZ + 2 * reach])
        lags[at // RATE_HZ] = left + place - at if likeness > LEAST_LIKENESS else None
    return lags


def _find(part: np.ndarray, whole: np.ndarray) -> tuple[int, float]:  # type: ignore[type-arg]
    """The place in whole most like part, and how like it is there (correlation)."""
    n = 1 << (len(part) + len(whole)).bit_length()
    products = np.fft.irfft(np.fft.rfft(whole, n) * np.conj(np.fft.rfft(part, n)), n)[: len(whole) - len(part) + 1]
    sums = np.cumsum(np.square(np.pad(whole, (1, 0)), dtype=np.float64))
    energies = sums[len(part) :] - sums[: -len(part)]
    likenesses = products / np.sqrt(np.maximum(energies, 1e-9) * np.sum(np.square(part, dtype=np.float64)))
    place = int(np.argmax(likenesses))
    return place, float(likenesses[place])


if __name__ == "__main__":
    if MISSING:
        raise SystemExit(f"not installed: {', '.join(MISSING)}")
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 10)
