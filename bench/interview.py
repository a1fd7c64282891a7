"""How well answers to interview questions are judged: from their words, and heard from synthetic voices.

    python -m bench.interview [--rounds 1] [--half 0|1] [--words]      needs flite, espeak-ng and festival

Every answer of tests/interview_answers is spoken by one voice a round, the voices taking turns, and goes through the real
recogniser. Key points are counted over all answers: F1 weighs those found against those left out or credited without cause.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from interview_answers import AnswerCase, Tally, compare, load_answers

from coach.interview.hear import Ear, judge_answer, make_ear
from coach.interview.model import Score
from coach.knowledge.questions import Bank, load_bank
from coach.words import TimedWords, Word

VOICES = ("flite slt", "flite rms", "flite kal16", "espeak-ng en-us", "espeak-ng en-gb", "festival")


def speak(text: str, voice: str, path: Path) -> None:
    """Write the text as sound."""
    engine, _, name = voice.partition(" ")
    if engine == "flite":
        command = ["flite", "-voice", name, "-t", text, "-o", str(path)]
    elif engine == "espeak-ng":
        command = ["espeak-ng", "-v", name, "-s", "150", "-w", str(path), text]
    else:
        command = ["text2wave", "-o", str(path)]
    given = text.encode() if engine == "festival" else None
    subprocess.run(command, input=given, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def from_words(case: AnswerCase, bank: Bank, ear: Ear) -> Score:
    """The score of the written answer, without times."""
    words = tuple(Word(w, n * 0.3, n * 0.3 + 0.25) for n, w in enumerate(case.text.split()))
    return judge_answer(bank.questions[case.question], TimedWords(words, len(words) * 0.3, False), ear)[1]


def main() -> None:
    """Measure and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--half", type=int, choices=(0, 1))
    parser.add_argument("--words", action="store_true", help="from words only")
    args = parser.parse_args()
    bank = load_bank()
    ear, cases = make_ear(bank), load_answers(args.half)
    rows: dict[str, list[tuple[AnswerCase, Score]]] = {"words": [(c, from_words(c, bank, ear)) for c in cases]}
    if not args.words:
        rows |= _heard(cases, bank, ear, args.rounds)
    print(f"{len(cases)} answers to {len({c.question for c in cases})} questions")
    print(f"{'':18}{'answers':>8}{'points F1':>11}{'lost':>6}{'extra':>7}{'unsure':>8}{'wrong F1':>10}")
    for name, pairs in rows.items():
        print(_row(name, *compare(pairs), len(pairs)))
    heard = [p for name, pairs in rows.items() if name != "words" for p in pairs]
    if heard:
        print(_row("all heard", *compare(heard), len(heard)))
        for half, name in ((0, "  may be tuned on"), (1, "  measuring only")):
            pairs = [p for p in heard if p[0].half == half]
            print(_row(name, *compare(pairs), len(pairs)))
        for kind in ("right", "partial", "wrong", "unknown", "off"):
            pairs = [p for p in heard if p[0].kind == kind]
            print(_row(f"  {kind}", *compare(pairs), len(pairs)))


def _row(name: str, points: Tally, wrongs: Tally, n: int) -> str:
    return f"{name:18}{n:8}{points.f1:11.3f}{points.lost:6}{points.extra:7}{points.unsure:8}{wrongs.f1:10.3f}"


def _heard(cases: list[AnswerCase], bank: Bank, ear: Ear, rounds: int) -> dict[str, list[tuple[AnswerCase, Score]]]:
    from coach.audio.read import read
    from coach.review import open_listener

    listener = open_listener()
    rows: dict[str, list[tuple[AnswerCase, Score]]] = defaultdict(list)
    with tempfile.TemporaryDirectory() as folder:
        for turn in range(rounds):
            for n, case in enumerate(cases):
                voice, path = VOICES[(n + turn) % len(VOICES)], Path(folder) / "answer.wav"
                speak(case.text, voice, path)
                heard = listener.transcribe(read(path).samples)
                words, score = judge_answer(bank.questions[case.question], heard, ear, listener)
                rows[voice].append((case, score))
                _tell(case, voice, words, score)
    return dict(sorted(rows.items()))


def _tell(case: AnswerCase, voice: str, words: TimedWords, score: Score) -> None:
    """What went wrong, on stderr; answers that are for measuring only are not shown."""
    points, wrongs = compare([(case, score)])
    if case.half == 0 and (points.lost or points.extra or wrongs.lost or wrongs.extra):
        heard = " ".join(f"{w.text}<{w.written}>" if w.written else w.text for w in words.words)
        verdicts = " ".join(f"{p.status.value}:{p.heard}" for p in score.points)
        print(f"{case.question} [{voice}] {case.text}\n  heard: {heard}\n  {verdicts}", file=sys.stderr)


if __name__ == "__main__":
    main()
