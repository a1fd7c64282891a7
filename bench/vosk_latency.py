"""How soon a spoken word shows: python -m bench.vosk_latency MODEL_FOLDER RECORDING ... [--piece 0.1]

The recording is fed to the stream in pieces, as a microphone would; sound time stands for the clock, and the time that the
recogniser takes for each piece is added. Latency of a word: from its end (as the final words tell) to the first partial that
holds it at its place. Prints median and 95th percentile, the share of words that were never partial, load time and memory.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from coach.audio.read import read
from coach.listen.speech import RATE_HZ
from coach.listen.vosk import VoskListener


def latencies_s(listener: VoskListener, samples: NDArray[np.float32], piece_s: float) -> tuple[list[float], int]:
    """Latency of every word that was shown before the end, and the number of words that were not."""
    stream, shown = listener.stream(), []
    size, clock_s = int(piece_s * RATE_HZ), 0.0
    for at in range(0, len(samples), size):
        piece = samples[at : at + size]
        clock_s = max(clock_s, (at + len(piece)) / RATE_HZ)  # the piece is there; an earlier one may still be worked on
        began = time.perf_counter()
        words = stream.feed(piece)
        clock_s += time.perf_counter() - began
        if words is not None:
            shown.append((clock_s, [w.text for w in words.words]))
    final = stream.finish().words
    found = []
    for n, word in enumerate(final):
        first = next((when for when, texts in shown if len(texts) > n and texts[n] == word.text and when >= word.start_s), None)
        if first is not None:
            found.append(first - word.end_s)
    return found, len(final) - len(found)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("model", type=Path)
    parser.add_argument("recordings", nargs="+", type=Path)
    parser.add_argument("--piece", type=float, default=0.1, help="seconds of sound that arrive together")
    args = parser.parse_args()
    began = time.perf_counter()
    listener = VoskListener(args.model)
    print(f"load            {time.perf_counter() - began:6.2f} s")
    found: list[float] = []
    missing, seconds, began = 0, 0.0, time.perf_counter()
    for path in args.recordings:
        samples = read(path).samples
        seconds += len(samples) / RATE_HZ
        here, never = latencies_s(listener, samples, args.piece)
        found, missing = found + here, missing + never
    share = (time.perf_counter() - began) / seconds
    middle, late = np.percentile(found, (50, 95))
    print(f"latency         {middle:6.2f} s median, {late:.2f} s 95th percentile of {len(found)} words; never shown {missing}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
    print(f"hearing         {share:6.3f} x the length of the sound; {peak:.0f} MB at most")


if __name__ == "__main__":
    main()
