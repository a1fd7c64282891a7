"""Are the facts of every card found when they are told? Prints a table; judges nothing else. Run by hand, on an idle machine:

    python -m bench.facts_by_voice            the true words, all cards (seconds)
    python -m bench.facts_by_voice --sound    a synthetic voice reads them, the listener hears them (about a quarter of an hour)

For each card every fact that the route asks is told once, in the route's own line with the card's first accepted value; "found"
is what the review says was said. The voice is flite's, or espeak-ng's with --voice espeak; words that the card or the coach
respells are respelled for the voice too, for no synthesiser knows "Faverolles".
"""

from __future__ import annotations

import argparse
import math
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from coach.judge.lexicon import item_applies
from coach.judge.numbers import spoken
from coach.judge.value_kinds import in_line, show
from coach.judge.values import accepted
from coach.judge.verdict import Status
from coach.knowledge.cards import load_card, shipped_cards
from coach.knowledge.language import load_pronunciations
from coach.knowledge.model import Bird, Card, Item, Kind
from coach.knowledge.routes import default_route, load_route
from coach.knowledge.species import sex_age_word
from coach.places import breed_cards_dir
from coach.review import Subject, judge_words, open_listener
from coach.words import TimedWords, Word

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from coach.listen.listener import Listener

RATE_HZ = 16000
PAUSE_S = 0.5
PROGRESS = 10  # cards between two lines on how far it is
ROOM_DBFS = -55.0
WORD_S, STEP_S = 0.28, 0.33


@dataclass(frozen=True, slots=True)
class Told:
    """What came of one card: how many facts were told and found, and the others with status and what was heard."""

    card: str
    n: int
    found: int
    others: tuple[str, ...]


def main() -> None:
    """Print a line for each card that is not perfect, the items most often missed, and the share over all cards."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sound", action="store_true", help="let a synthetic voice read and the listener hear")
    parser.add_argument("--voice", default="slt", help="a voice of flite, or espeak")
    parser.add_argument("--listener", help="which listener hears")
    parser.add_argument("--cards", nargs="*", default=list(shipped_cards()), help="only these")
    parser.add_argument("--minutes", type=float, default=math.inf, help="stop after so long and report what was heard")
    args = parser.parse_args()
    ends_s = time.monotonic() + 60 * args.minutes
    listener = open_listener(args.listener) if args.sound else None
    results: list[Told] = []
    for card_id in one_of_each_breed_first(args.cards):
        if time.monotonic() > ends_s:
            break
        if results and len(results) % PROGRESS == 0:
            so_far = sum(r.found for r in results) / sum(r.n for r in results)
            print(f"... {len(results)} cards, {so_far:.1%} so far", file=sys.stderr, flush=True)
        results.append(tell(card_id, listener, args.voice))
        if results[-1].others:
            one = results[-1]
            print(f"{one.card:34} {one.found:2} of {one.n:2}   {'; '.join(one.others)}", flush=True)
    report(results)


def one_of_each_breed_first(card_ids: Sequence[str]) -> list[str]:
    """The cards, a breed's further varieties last: a run that is stopped has heard every breed it could."""
    breeds: dict[str, int] = {}
    order = []
    for n, card_id in enumerate(card_ids):
        breed = load_card(breed_cards_dir() / f"{card_id}.yaml").breed
        breeds[breed] = breeds.get(breed, 0) + 1
        order.append((breeds[breed], n, card_id))
    return [card_id for _, _, card_id in sorted(order)]


def report(results: Sequence[Told]) -> None:
    """The sums."""
    n, found = sum(r.n for r in results), sum(r.found for r in results)
    worst = min(results, key=lambda r: r.found / r.n)
    items = Counter(other.split(" ")[0] for r in results for other in r.others)
    print(f"\n{found} of {n} facts found on {len(results)} cards: {found / n:.1%}")
    print(f"worst card: {worst.card}, {worst.found} of {worst.n}")
    print("most often missed: " + (", ".join(f"{item} {times}" for item, times in items.most_common(8)) or "none"))


def tell(card_id: str, listener: Listener | None, voice: str) -> Told:
    """Tell the facts of one card and look for them."""
    card = load_card(breed_cards_dir() / f"{card_id}.yaml")
    bird = Bird("bench", "Bramble", card_id, "pullet")
    subject = Subject(bird, card, load_route(default_route(card)))
    facts = [item for item in subject.route.items if item.kind is Kind.FACT and item_applies(item, card, bird)]
    lines = [line(item, card, bird) for item in facts]
    heard = timed(lines) if listener is None else listener.transcribe(read_aloud(lines, card.sounds_like, voice))
    _, judgement = judge_words(heard, subject, listener)
    verdicts = {v.id: v for v in judgement.verdicts}
    others = [verdicts[item.id] for item in facts if verdicts[item.id].status is not Status.SAID]
    notes = tuple(f"{v.id} {v.status.value} ({v.expected}; heard {v.heard})" for v in others)
    return Told(card_id, len(facts), len(facts) - len(others), notes)


def line(item: Item, card: Card, bird: Bird) -> str:
    """The route's line with the first value the card accepts."""
    values = accepted(item, card, bird)
    if item.value == "bird.sex_age":
        value = sex_age_word(card.species, bird.sex_age)
    elif item.value in ("purpose", "origin"):
        value = show(item, card, bird)
    else:
        value = spoken(values[0]) if isinstance(values[0], (int, float)) else str(values[0])
    if item.value is not None and item.value.startswith("weights_lb.") and not card.weights_lb:
        return in_line(item.line, show(item, card, bird))
    return item.line.replace("{value}", value)


def timed(lines: Sequence[str]) -> TimedWords:
    """The lines as words at an even pace."""
    words, at_s = [], 0.5
    for text in lines:
        for word in text.split():
            words.append(Word(word, at_s, at_s + WORD_S))
            at_s += STEP_S
        at_s += PAUSE_S
    return TimedWords(tuple(words), at_s)


def read_aloud(lines: Sequence[str], sounds_like: Mapping[str, str], voice: str) -> NDArray[np.float32]:
    """The lines by a synthetic voice in a quiet room, float32 (n,) at 16 kHz."""
    parts = [np.zeros(RATE_HZ // 2, np.float32), *_spoken_parts(lines, sounds_like, voice)]
    sound = np.concatenate(parts)
    room = np.random.default_rng(0).normal(0, 10 ** (ROOM_DBFS / 20), len(sound))
    out: NDArray[np.float32] = (0.5 * sound / np.abs(sound).max() + room).astype(np.float32)
    return out


def _spoken_parts(lines: Sequence[str], sounds_like: Mapping[str, str], voice: str) -> Iterator[NDArray[np.float32]]:
    from coach.audio.read import read

    respelled = {**load_pronunciations(), **{key.lower(): value for key, value in sounds_like.items()}}
    for text in lines:
        plain = re.sub(r"[A-Za-z]+", lambda m: respelled.get(m[0].lower(), m[0]), text)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, "line.wav")
            command = ["espeak-ng", "-v", "en-us", "-w", str(path), plain] if voice == "espeak" else [
                *("flite", "-voice", voice, "-t", plain, "-o", str(path))
            ]  # fmt: skip
            subprocess.run(command, check=True)
            yield read(path).samples
        yield np.zeros(round(RATE_HZ * PAUSE_S), np.float32)


if __name__ == "__main__":
    main()
