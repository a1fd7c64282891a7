"""Judging alone: processor time and memory for 1 minute to 2 hours, and how time grows with words. python -m bench.judging

Prints the figures, judges nothing. Words are the demo scripts over and over; what is timed is the whole way from timed words
to verdicts (spotting, repair without sound, deciding twice). Grows: seconds a word, against those of the first row.
"""

from __future__ import annotations

import gc
import time
import tracemalloc

from bench.speed import rehearsal
from coach.demo import load_demo
from coach.review import Subject, judge_words, load_subject

MINUTES = (1, 2, 5, 10, 30, 60, 120)
TIMES = 3
TRACED_MINUTES = 60  # tracing memory slows everything about tenfold


def main() -> None:
    """Print the curve."""
    subject = load_subject(str(load_demo("tansy").bird))
    judge_words(rehearsal(1), subject)  # dictionaries and cards are read once
    print(f"{'minutes':>8}{'words':>8}{'seconds':>9}{'ms/word':>9}{'grows':>7}{'peak MB':>9}{'B/word':>8}")
    first = 0.0
    for minutes in MINUTES:
        taken_s, n_words = _best_s(subject, minutes)
        first = first or taken_s / n_words
        memory = ""
        if minutes <= TRACED_MINUTES:
            peak = _peak_bytes(subject, minutes)
            memory = f"{peak / 1e6:9.1f}{peak / n_words:8.0f}"
        a_word = taken_s / n_words
        print(f"{minutes:8}{n_words:8}{taken_s:9.2f}{1000 * a_word:9.3f}{a_word / first:7.2f}{memory}")


def _best_s(subject: Subject, minutes: float) -> tuple[float, int]:
    """Processor seconds, the best of three, and the number of words."""
    heard = rehearsal(minutes)
    runs = []
    for _ in range(TIMES if minutes <= 30 else 1):
        gc.collect()
        began = time.process_time()
        judge_words(heard, subject)
        runs.append(time.process_time() - began)
    return min(runs), len(heard.words)


def _peak_bytes(subject: Subject, minutes: float) -> int:
    """The most memory that judging holds at once, above what was there before."""
    heard = rehearsal(minutes)
    tracemalloc.start()
    judge_words(heard, subject)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


if __name__ == "__main__":
    main()
