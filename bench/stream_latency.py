"""How soon a word, and a tick, is there after it was said: `python -m bench.stream_latency [--together] [DEMO ...]`.

Demo recordings grow in a file at the speed of life, as a take does; the listening process of `coach rehearse` follows.
Words: from the end of each word of the whole recording (heard afterwards) to the first partial that holds it within half
a second of its place and that no later partial takes back. Ticks: from the end of what tells an item to the screen's
state that counts it for good. Prints median, 95th percentile, the processor's share, the time from the end of the
recording to the judgement, and how far stream and whole recording agree. --together makes one long recording of all.
"""

from __future__ import annotations

import re
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np

from coach.audio.read import RATE_HZ, read
from coach.demo import list_demos, load_demo
from coach.judge.verdict import Judgement, Status
from coach.listen.whisper import WhisperListener
from coach.live.ears import Done, Ears, Heard, Ready
from coach.live.tracker import LiveState
from coach.live.wav_file import GrowingWav
from coach.review import Subject, judge_words, load_subject, open_listener
from coach.words import TimedWords, Word

PIECE_S = 0.05  # capture writes about as often
NEAR_S = 0.5


def main(args: Sequence[str]) -> None:
    """Measure the demos of these names, or all."""
    names = [a for a in args if a != "--together"]
    demos = [load_demo(name) for name in names] or list(list_demos())
    groups = [demos] if "--together" in args else [[demo] for demo in demos]
    listener = WhisperListener()
    for group in groups:
        samples = np.concatenate([read(demo.recording).samples for demo in group])
        subject = load_subject(str(group[0].bird))
        print(f"{'+'.join(demo.id for demo in group)}, {len(samples) / RATE_HZ:.0f} s")
        if len(group) == 1:
            _words(listener, samples)
        _ticks(listener, samples, subject)


# --- words ----------------------------------------------------------------------------------------------------------


def _words(listener: WhisperListener, samples: np.ndarray) -> None:
    import jiwer

    stream = listener.stream()
    partials: list[tuple[float, TimedWords]] = []
    began, work, at = time.monotonic(), time.process_time(), 0
    while at < len(samples):
        wanted = int((time.monotonic() - began) * RATE_HZ)
        if wanted - at < PIECE_S * RATE_HZ:
            time.sleep(PIECE_S / 2)
            continue
        heard = stream.feed(samples[at:wanted])
        at = wanted
        if heard is not None:
            partials.append((time.monotonic() - began, heard))
    cores = (time.process_time() - work) / (time.monotonic() - began)
    ended = time.monotonic()
    final = stream.finish()
    finish_s = time.monotonic() - ended
    partials.append((time.monotonic() - began, final))
    whole = listener.transcribe(samples)
    waits = [w for word in whole.words if (w := _wait(word, partials)) is not None]
    error = jiwer.wer(_plain(whole.words), _plain(final.words))
    print(f"  words  {_figures(waits)}, never shown {len(whole.words) - len(waits)} of {len(whole.words)}")
    print(f"         {cores:.2f} cores busy; finish {finish_s:.2f} s; word error against the whole recording {error:.2%}")


def _wait(word: Word, partials: Sequence[tuple[float, TimedWords]]) -> float | None:
    """Seconds from the word's end to the partial that shows it for good; None when none does."""
    shown_at = None
    for at, partial_words in partials:
        near = (w for w in partial_words.words if abs(w.end_s - word.end_s) < NEAR_S)
        if any(_key(w) == _key(word) for w in near):
            shown_at = shown_at or at
        elif partial_words.seconds > word.end_s:
            shown_at = None
    return None if shown_at is None else shown_at - word.end_s


def _key(word: Word) -> str:
    return re.sub(r"[^a-z']", "", word.text.lower())


def _plain(words: Sequence[Word]) -> str:
    return " ".join(k for word in words if (k := _key(word)))


# --- ticks ----------------------------------------------------------------------------------------------------------


def _ticks(listener: WhisperListener, samples: np.ndarray, subject: Subject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "take.wav"
        with Ears(wav, subject, partial(open_listener, listener.name)) as ears:
            while not isinstance(ears.poll(1.0), Ready):
                pass
            states, done, after_s = _follow(ears, wav, samples)
    _, whole = judge_words(listener.transcribe(samples), subject, listener)
    said = [(v.id, v.end_s) for v in done.judgement.verdicts if v.status is Status.SAID and v.end_s is not None]
    waits = [w for item, end_s in said if (w := _tick_wait(item, end_s, states)) is not None]
    same, n = _same(whole, done.judgement)
    print(f"  ticks  {_figures(waits)}, never {len(said) - len(waits)}; {same} of {n} verdicts as in the review of the file")
    print(f"         judged {after_s:.2f} s after the end")


def _follow(ears: Ears, wav: Path, samples: np.ndarray) -> tuple[list[tuple[float, LiveState]], Done, float]:
    """States with their time, the end, and how long it took."""
    began = time.monotonic()
    grower = threading.Thread(target=_grow, args=(wav, samples, began))
    grower.start()
    states: list[tuple[float, LiveState]] = []
    ended = None
    while True:
        message = ears.poll(0.02)
        if isinstance(message, Heard):
            states.append((time.monotonic() - began, message.state))
        if isinstance(message, Done):
            return states, message, time.monotonic() - (ended or began)
        if ended is None and not grower.is_alive():
            ended = time.monotonic()
            ears.finish()


def _grow(wav: Path, samples: np.ndarray, began: float) -> None:
    file, at = GrowingWav(wav, RATE_HZ), 0
    while at < len(samples):
        time.sleep(PIECE_S)
        wanted = int((time.monotonic() - began) * RATE_HZ)
        file.append(samples[at:wanted])
        at = wanted
    file.close()


def _tick_wait(item: str, end_s: float, states: Sequence[tuple[float, LiveState]]) -> float | None:
    ticked_at = None
    for at, state in states:
        ticked_at = (ticked_at or at) if item in state.heard else None
    return None if ticked_at is None else ticked_at - end_s


def _same(a: Judgement, b: Judgement) -> tuple[int, int]:
    other = {v.id: v.status for v in b.verdicts}
    return sum(other.get(v.id) is v.status for v in a.verdicts), len(a.verdicts)


def _figures(waits: Sequence[float]) -> str:
    return f"after {np.median(waits):.2f} s (median), {np.percentile(waits, 95):.2f} s (95th percentile), {len(waits)} in all"


if __name__ == "__main__":
    main(sys.argv[1:])
