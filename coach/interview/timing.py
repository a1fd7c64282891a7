"""How long an answer took: seconds to the first word, of the whole, and of silence inside it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from coach.interview.model import Timing
from coach.words import TimedWords

__all__ = ["timing"]

PAUSE_S = 0.5  # shorter gaps between words are not silence
REACH_S = 0.3  # a recogniser lets a word begin up to so long before its sound


def timing(heard: TimedWords, voice_s: Sequence[float] = ()) -> Timing | None:
    """The timing of an answer whose sound began when the question had been asked; None for words without times.

    Args:
        voice_s: where the sound has a voice beginning, rising; more exact than the recogniser's word times.
    """
    if not heard.timed:
        return None
    words = [w for w in heard.words if w.is_spoken]
    if not words:
        return Timing(None, round(heard.seconds, 2), round(heard.seconds, 2))
    first_s = words[0].start_s
    first_s = next((v for v in voice_s if first_s <= v <= first_s + REACH_S), first_s)
    gaps = [b.start_s - a.end_s for a, b in pairwise(words)]
    return Timing(round(first_s, 2), round(words[-1].end_s, 2), round(sum(g for g in gaps if g > PAUSE_S), 2))
