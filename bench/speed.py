"""How fast it is: prints the figures, judges nothing. Run by hand, on an otherwise idle machine: python bench/speed.py

Start of the command, review of a demo as a share of the recording's length with peak memory, and judging alone (in
processor time) for made-up rehearsals of growing length: the demo scripts over and over. --quick leaves listening out.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import time
from itertools import cycle

import yaml

from coach.demo import list_demos, load_demo
from coach.review import Subject, judge_words, load_subject
from coach.words import TimedWords, Word

DEMO = "checkers"
MINUTES = (5, 10, 30, 120)
WORD_S, STEP_S, PAUSE_S = 0.3, 0.33, 0.7  # about 150 words a minute
TIMES = 5


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="without listening")
    quick = parser.parse_args().quick
    print(f"coach --help       {statistics.median(run_s('--help') for _ in range(TIMES)):6.2f} s (median of {TIMES})")
    if not quick:
        time_review()
    subject = load_subject(str(load_demo("tansy").bird))
    judge_s(subject, 1)  # dictionaries and cards are read once
    for minutes in MINUTES:
        total_s, n_words = judge_s(subject, minutes)
        print(f"judging {minutes:4} min   {total_s:6.2f} s for {n_words} words, {1000 * total_s / n_words:.2f} ms a word")


def time_review() -> None:
    """The whole way for one demo, in a process of its own."""
    from coach.audio.read import read

    demo = load_demo(DEMO)
    seconds = read(demo.recording).seconds
    taken_s = run_s("review", str(demo.recording), "--bird", str(demo.bird))
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
    share = taken_s / seconds
    print(f"coach review       {taken_s:6.2f} s for {seconds:.0f} s of sound ({share:.0%}), {peak:.0f} MB at most")


def run_s(*argv: str) -> float:
    """Seconds a command takes, from starting Python to its end."""
    began = time.perf_counter()
    subprocess.run([sys.executable, "-m", "coach", *argv], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def judge_s(subject: Subject, minutes: float) -> tuple[float, int]:
    """Processor seconds of judging, and the number of words; the best of three runs."""
    heard = rehearsal(minutes)
    runs = []
    for _ in range(3):
        began = time.process_time()
        judge_words(heard, subject)
        runs.append(time.process_time() - began)
    return min(runs), len(heard.words)


def rehearsal(minutes: float) -> TimedWords:
    """The demo scripts one after the other, over and over, until the time is up."""
    words: list[Word] = []
    at_s = 0.0
    for sentence in cycle(sentences()):
        for text in sentence.split():
            words.append(Word(text, round(at_s, 3), round(at_s + WORD_S, 3)))
            at_s += STEP_S
        at_s += PAUSE_S
        if at_s >= minutes * 60:
            break
    return TimedWords(tuple(words), at_s)


def sentences() -> list[str]:
    """What is said in all demos."""
    scripts = [demo.recording.parent / "scripts" / f"{demo.id}.yaml" for demo in list_demos()]
    return [s["say"] for path in scripts for s in yaml.safe_load(path.read_text(encoding="utf-8"))["sentences"]]


if __name__ == "__main__":
    main()
