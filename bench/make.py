"""Make rehearsals with planted mistakes: synthetic voices, a room, a phone, a child's pitch; a truth file with each.

python -m bench.make OUT --count 24 --seed 1                        three voices of flite
python -m bench.make OUT --voices flite:slt,espeak-ng:en-us --effects none,phone --wordy 0.2

Into OUT go cases as bench.cases describes them, sound as Opus. The same seed makes the same cases with the same
versions of the programs. Needs the programs flite (or festival, espeak-ng) and sox, and nothing of the listener.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import yaml

from bench.cases import TRUTH, asked_of, by_duty, put_subject, write_case
from bench.script import HERE, Line, NoWords, Phrases, Script, load_phrases, write_script
from bench.voices import EFFECTS, RATE_HZ, Spoken, effect, say
from coach.audio.write import OGG_BITS_PER_S, encode_ogg, replace_file
from coach.errors import CoachError
from coach.review import load_subject
from coach.words import TimedWords, Word

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

VOICES = ("flite:slt", "flite:rms", "flite:kal16")
PERFECT_EVERY = 6  # so often a rehearsal is without mistakes
MOST_MISTAKES = 7
HISS_DBFS = -66.0


@dataclass(frozen=True, slots=True)
class Order:
    """What one case is made of."""

    name: str
    voice: str
    effects: tuple[str, ...]
    bird: Mapping[str, Any]
    mistakes: int
    wordy: float


def deal(rng: Random, count: int, voices: Sequence[str], effects: Sequence[str], wordy: float | None) -> list[Order]:
    """Voices, effects and birds dealt evenly; "a+b" is two effects one after the other."""
    birds = yaml.safe_load((HERE / "birds.yaml").read_text(encoding="utf-8"))["birds"]

    def deck(cards: Sequence[Any]) -> list[Any]:
        return [card for _ in range(-(-count // len(cards))) for card in rng.sample(cards, len(cards))][:count]

    mistakes = [0 if n % PERFECT_EVERY == PERFECT_EVERY - 1 else rng.randint(2, MOST_MISTAKES) for n in range(count)]
    rows = zip(deck(voices), deck(effects), deck(birds), rng.sample(mistakes, count), strict=True)
    talk = [rng.random() if wordy is None else wordy for _ in range(count)]
    return [Order(f"case-{n:02d}", v, tuple(e.split("+")), b, m, talk[n - 1]) for n, (v, e, b, m) in enumerate(rows, 1)]


def make(order: Order, seed: int, phrases: Phrases, out: Path, bits_per_s: int = OGG_BITS_PER_S) -> tuple[Script, float]:
    """Write one case; its script and its seconds."""
    rng = Random(f"{seed}/{order.name}")
    bird_file, card_file = f"birds/{order.bird['id']}.yaml", f"cards/{order.bird['card']}.yaml"
    put_subject(out, bird_file, order.bird, card_file)
    subject = load_subject(str(out / bird_file), str(out / card_file))
    script = write_script(rng, subject, phrases, order.mistakes, order.wordy)
    spoken = _perform(rng, script.lines, order.voice, phrases.respell)
    for name in order.effects:
        spoken = effect(name, spoken, rng)
    seconds = len(spoken.samples) / RATE_HZ
    regions = {r.id for r in subject.route.regions}
    truth = {
        "format": TRUTH, "case": order.name, "voice": order.voice, "effects": list(order.effects), "seconds": round(seconds, 3),
        "card_file": card_file, "bird_file": bird_file, **by_duty(script.told, asked_of(subject)), "heard": dict(script.heard),
        "regions": [b for b in _stays(script.lines, spoken.times_s) if b["id"] in regions],
        "order": {"spoken": list(script.spoken), "out_of_order": list(script.out_of_order)},
        "sentences": [
            {"text": line.text, "start": round(start, 3), "end": round(end, 3), "region": line.region, "tells": dict(line.tells)}
            for line, (start, end) in zip(script.lines, spoken.times_s, strict=True)
        ],
    }  # fmt: skip
    replace_file(out / f"{order.name}.ogg", encode_ogg(spoken.samples, RATE_HZ, bits_per_s))
    write_case(out, order.name, truth, _timed_words(script.lines, spoken.times_s, seconds))
    return script, seconds


def _perform(rng: Random, lines: Sequence[Line], voice: str, respell: Mapping[str, str]) -> Spoken:
    """All lines with pauses between them over a faint hiss."""
    parts: list[Samples] = []
    times: list[tuple[float, float]] = []
    length, before = 0, Line("")
    with tempfile.TemporaryDirectory() as folder:
        for line in lines:
            pause = np.zeros(round(RATE_HZ * _pause_s(rng, before, line)), np.float32)
            sound = say(voice, line.text, respell, Path(folder))
            times.append(((length + len(pause)) / RATE_HZ, (length + len(pause) + len(sound)) / RATE_HZ))
            parts += [pause, sound]
            length, before = length + len(pause) + len(sound), line
    parts.append(np.zeros(RATE_HZ // 2, np.float32))
    voice_alone = np.concatenate(parts)
    hiss = np.random.default_rng(rng.randrange(1 << 30)).normal(0, 10 ** (HISS_DBFS / 20), len(voice_alone))
    return Spoken((voice_alone + hiss).astype(np.float32), tuple(times))


def _pause_s(rng: Random, before: Line, line: Line) -> float:
    if line.leans:
        return rng.uniform(0.2, 0.4)
    return rng.uniform(0.5, 1.2) if before.region != line.region else rng.uniform(0.3, 0.7)


def _stays(lines: Sequence[Line], times_s: Sequence[tuple[float, float]]) -> list[dict[str, Any]]:
    """One span for each unbroken stay in a region; talk in between breaks none."""
    out: list[dict[str, Any]] = []
    last: str | None = None
    for line, (start, end) in zip(lines, times_s, strict=True):
        if not line.tells and line.region is None:
            continue
        if line.region and line.region == last:
            out[-1]["end"] = round(end, 3)
        elif line.region:
            out.append({"id": line.region, "start": round(start, 3), "end": round(end, 3)})
        last = line.region
    return out


def _timed_words(lines: Sequence[Line], times_s: Sequence[tuple[float, float]], seconds: float) -> TimedWords:
    """The true words, spread over the time of their sentence by their letters."""
    words = []
    for line, (start, end) in zip(lines, times_s, strict=True):
        texts = line.text.split()
        step, at = (end - start) / sum(map(len, texts)), start
        for text in texts:
            words.append(Word(text, round(at, 3), round(at + step * len(text), 3)))
            at += step * len(text)
    return TimedWords(tuple(words), seconds)


def main() -> None:
    """Make the cases and tell what is in them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("--count", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--voices", default=",".join(VOICES), help="PROGRAM:VOICE with commas between (default: %(default)s)")
    parser.add_argument("--effects", default=",".join(EFFECTS), help="with commas between; a+b for both (default: all singly)")
    parser.add_argument("--wordy", type=float, help="0 to 1; drawn for each case when left out")
    parser.add_argument("--bits", type=int, default=OGG_BITS_PER_S, help="a second of sound (default: %(default)s)")
    args = parser.parse_args()
    phrases = load_phrases()
    args.out.mkdir(parents=True, exist_ok=True)
    try:
        for order in deal(Random(args.seed), args.count, args.voices.split(","), args.effects.split(","), args.wordy):
            script, seconds = make(order, args.seed, phrases, args.out, args.bits)
            planted = {i: s for i, s in script.told.items() if s in ("misnamed", "wrong")}
            row = f"{order.name} {seconds:6.1f} s  {order.voice:24} {'+'.join(order.effects):14} {order.bird['id']:11}"
            print(row, planted, flush=True)
    except (CoachError, NoWords, OSError) as err:
        parser.exit(2, f"make: {err}\n")


if __name__ == "__main__":
    main()
