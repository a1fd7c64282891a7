"""What judge tests share: a card, a bird, and the judgement of a few spoken sentences."""

from __future__ import annotations

from coach.judge.decide import decide
from coach.judge.verdict import Judgement, Verdict
from coach.knowledge.model import Bird, Card, Comb, Fault, Origin
from coach.knowledge.routes import load_route
from coach.words import TimedWords, Word

BREEDS = {
    "Orpington": frozenset({"Buff", "Black"}),
    "Wyandotte": frozenset({"Silver Laced"}),
    "Sussex": frozenset({"Light"}),
    "Rhode Island Red": frozenset({"Rose Comb"}),
}
CARD = Card(
    id="buff-orpington", species="chicken", breed="Orpington", variety="Buff", show_class="English",
    origin=Origin("England", "Kent", "1880s"), purpose=("eggs", "meat"), egg_color=("brown",), comb=Comb("single", 5),
    colors={
        "beak": ("white", "pinkish white"), "eye": ("reddish bay",), "earlobe": ("red",), "shank": ("white",),
        "undercolor": ("buff",), "hackle": ("buff",), "tail": ("buff",),
    },
    toes=4, weights_lb={"cock": 10, "hen": 8, "cockerel": 8.5, "pullet": 7},
)  # fmt: skip
BIRD = Bird(
    "juniper", "Juniper", "buff-orpington", "pullet",
    (Fault("side-sprig", "head", "side sprig on the comb", ("extra point on the side of the comb",),
           "breed her to a male with a clean comb", ("breed her", "clean comb")),),
)  # fmt: skip
COCKEREL = Bird("moss", "Moss", "buff-orpington", "cockerel")


def spoken(*sentences: str, pause_s: float = 0.6) -> TimedWords:
    """The sentences as timed words: 0.3 s a word, a pause after each sentence."""
    words, at = [], 0.5
    for sentence in sentences:
        for text in sentence.split():
            words.append(Word(text, round(at, 3), round(at + 0.28, 3)))
            at += 0.3
        at += pause_s
    return TimedWords(tuple(words), at)


def judged(*sentences: str, bird: Bird = BIRD, card: Card = CARD, route: str = "head-to-tail") -> Judgement:
    """The judgement of these sentences."""
    return decide(spoken(*sentences), load_route(route), card, bird, BREEDS)


def verdicts(*sentences: str, bird: Bird = BIRD) -> dict[str, Verdict]:
    """Verdicts by item id."""
    return {v.id: v for v in judged(*sentences, bird=bird).verdicts}


def told(*sentences: str, bird: Bird = BIRD) -> dict[str, str]:
    """Statuses of all items that are not skipped."""
    return {v.id: v.status.value for v in judged(*sentences, bird=bird).verdicts if v.status.value != "skipped"}
