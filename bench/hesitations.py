"""Can hesitations be counted? Prints, for several ways of finding "um" and "uh", how many were right, false and missed.

python -m bench.hesitations FOLDER [--choose-on 0::3] [--check-on 1::3]

FOLDER and cases as for bench.hearing. Ways: as the listener writes them; in short windows heard once more, one after the
other; voiced sound that no word covers, on top of what is written; the tiny Vosk model, which knows synthetic voices only.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from bench.hearing import SETTINGS, Case, Ear, Setting, hear, make_parser, parts, plain
from coach.audio.read import read
from coach.listen.speech import Stretch, find_speech
from coach.words import TimedWords

FILLERS = frozenset("um umm uh uhh er erm hm hmm".split())
NEAR_S = 1.2  # true times are spread over each sentence by letters, so a word may stand so far off
TINY_VOSK = Path(__file__).resolve().parent.parent / "models" / "tiny-synthetic"
Times = list[float]
SHORT_WINDOWS = Setting("3 s windows", constants={"MAX_STRETCH_S": 3.0, "WINDOW_FRAMES": 700, "BEAM": 1, "CHAIN": 1})


def written(words: TimedWords) -> Times:
    """Where "um" and its like stand."""
    return [w.start_s for w in words.words if plain([w]) in FILLERS]


def voiced_alone(speech_found: Sequence[Stretch], heard: TimedWords, shortest_s: float, longest_s: float) -> Times:
    """Short voiced stretches of which words cover less than half."""
    return [
        s.start_s
        for s in speech_found
        if shortest_s <= s.seconds <= longest_s
        and sum(max(0.0, min(w.end_s, s.end_s) - max(w.start_s, s.start_s)) for w in heard.words) < s.seconds / 2
    ]


def voiced_left(speech_found: Sequence[Stretch], heard: TimedWords, shortest_s: float, longest_s: float) -> Times:
    """What is left of the voiced stretches once the words are cut out."""
    out = []
    for stretch in speech_found:
        at = stretch.start_s
        for start, end in [*((w.start_s, w.end_s) for w in heard.words), (stretch.end_s, stretch.end_s)]:
            if shortest_s <= min(start, stretch.end_s) - at <= longest_s:
                out.append(at)
            at = max(at, end)
    return out


def joined(first: Times, second: Times) -> Times:
    """Both, one that stands in both lists once."""
    return sorted([*first, *(at for at in second if all(abs(at - other) > NEAR_S for other in first))])


def matched(true: Times, found: Times) -> int:
    """How many of the true ones have a found one near, each found one used once."""
    free, n = sorted(found), 0
    for at in sorted(true):
        near = next((other for other in free if abs(other - at) <= NEAR_S), None)
        if near is not None:
            free.remove(near)
            n += 1
    return n


def measure_hesitations(cases: Sequence[Case]) -> dict[str, Counter[str]]:
    """By way of counting: true, found, right, and count error (sum over cases of how far the count is off)."""
    from coach.listen.vosk import VoskListener

    listener, vosk = Ear(), VoskListener(TINY_VOSK)
    out: dict[str, Counter[str]] = {}
    for case in cases:
        samples, true = read(case.sound).samples, written(case.words)
        listener.forget()
        first, again = (hear(listener, s, samples) for s in (SETTINGS[0], SHORT_WINDOWS))
        voiced = find_speech(samples)
        now = written(first)
        ways = {"never any": [], "written": now, "written in 3 s windows": written(again)}
        ways["written in either"] = joined(now, written(again))
        for lengths in ((0.2, 0.8), (0.2, 0.4), (0.4, 0.8)):
            name = "{:g} to {:g} s".format(*lengths)
            ways[f"and voiced alone, {name}"] = joined(now, voiced_alone(voiced, first, *lengths))
            ways[f"and voiced left, {name}"] = joined(now, voiced_left(voiced, first, *lengths))
        ways["tiny Vosk model *"] = written(vosk.transcribe(samples))
        for way, found in ways.items():
            row = {"true": len(true), "found": len(found), "right": matched(true, found), "off": abs(len(found) - len(true))}
            out.setdefault(way, Counter()).update(row)
        print(case.name, *case.effects, len(true), *(len(found) for found in ways.values()), flush=True)
    return out


def print_hesitations(rows: Mapping[str, Counter[str]]) -> None:
    """One line for each way of counting."""
    print(f"{'':32}" + "".join(f"{name:>8}" for name in ("true", "found", "right", "false", "off")))
    for way, row in rows.items():
        cells = (row["true"], row["found"], row["right"], row["found"] - row["right"], row["off"])
        print(f"{way:32}" + "".join(f"{cell:8}" for cell in cells))
    print("off: how far each count is off, summed over the cases. * knows synthetic voices only")


def main() -> None:
    """Measure the cases for choosing and those for checking; print one table for each."""
    for name, cases in parts(make_parser(__doc__).parse_args()).items():
        print(f"\n{name}: {len(cases)} cases")
        print_hesitations(measure_hesitations(cases))


if __name__ == "__main__":
    main()
