"""Write sentences to learn from: python sentences.py COUNT SEED OUT.json

In: templates.yaml, the default route, language.yaml, every breed card. Out: a list of {kind, part, text, spoken}, where
part is train or held (whole templates are held back) and spoken is what a synthesiser reads.
Every value and name is drawn alike, right or wrong, so that words are learnt and not answers.
"""

from __future__ import annotations

import json
import random
import re
import sys
import zlib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import yaml

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent
DATA = ROOT / "coach" / "knowledge" / "data"
TRADE_SHARES = {
    "part": 24,
    "color": 15,
    "comb": 6,
    "intro": 10,
    "facts": 14,
    "condition": 9,
    "interview": 5,
    "correct": 7,
    "hesitate": 7,
    "aside": 3,
}
EVERYDAY_SHARES = {"sound_alikes": 35, "frame": 40, "near": 25}
SHARE_TRADE = 0.48
SHARE_NEAR = 0.3
MOST_COMMON = 12_000  # token numbers rise as words get rarer
UNWANTED = {"jew", "jews", "sex", "hell", "rape", "damn", "nude"}
TRADE_SLOTS = ("part", "comb", "sex", "breed")
SHARE_HELD = 0.08
GROUP = re.compile(r"\[([^\[\]]*)\]")
SLOT = re.compile(r"\{(\w+)\}")
MORE_PARTS = [
    "beard",
    "muff",
    "crest",
    "quill",
    "web",
    "shaft",
    "shoulder",
    "cape",
    "wing bow",
    "wing bar",
    "throat",
    "nostrils",
    "saddle",
    "skin",
    "ball of the foot",
    "back toe",
    "sprig",
    "blade",
    "rump",
    "fluff",
]
SEXES = ["hen", "pullet", "cock", "cockerel", "hen", "pullet", "cock", "cockerel", "rooster", "chicken", "chick"]
MORE_PURPOSES = ["dual purpose", "meat and eggs", "eggs and meat", "exhibition", "show", "egg laying"]
NUMBERS = "two three four five six seven eight nine ten eleven twelve".split()
POUNDS = "one two three four five six seven eight nine ten eleven twelve thirteen".split()
PARTS_OF_POUND = ["", "", "", " and a half", " and a half", " and a half", " and a quarter", " and three quarters"]
SPELLINGS = {  # for synthesisers only, beside the cards' and the dictionary's own
    "pullet": "pull it",
    "pullets": "pull its",
    "coverts": "cuv erts",
    "covert": "cuv ert",
    "undercolor": "under color",
    "undercolour": "under color",
    "earlobe": "ear lobe",
    "earlobes": "ear lobes",
    "cockerel": "cock er ell",
    "cockerels": "cock er ells",
    "bumblefoot": "bumble foot",
    "footpad": "foot pad",
    "footpads": "foot pads",
    "mites": "might s",
    "hocks": "hox",
    "axial": "axe ee al",
    "axials": "axe ee als",
}


class Writer:
    """Fills templates."""

    def __init__(self, seed: int) -> None:
        """Read templates and words."""
        self.random = random.Random(seed)
        self.templates = _read(HERE / "templates.yaml")
        self.fill: dict[str, list[str]] = self.templates["fill"]
        self.fill.update(trade_words())
        self.fill["near"] = near_words(self.fill)
        self._plural = False

    def text(self, template: str) -> str:
        """One sentence of the template."""
        found = ""
        while template:
            group, slot = GROUP.match(template), SLOT.match(template)
            if group:
                choices = group.group(1).split("|")
                agree = set(choices) in ({"is", "are"}, {"joins", "join"}, {"meets", "meet"})
                chosen = ("are" if self._plural else "is") if agree else self.random.choice(choices)
                template = chosen + template[group.end() :]
            elif slot:
                found += self._word(slot.group(1))
                template = template[slot.end() :]
            else:
                found, template = found + template[0], template[1:]
        found = re.sub(r"\s+", " ", found).strip()
        found = re.sub(r" ([,.?;])", r"\1", found)
        found = re.sub(r"\b([Aa]) (?=[aeiouAEIOU])(?!uni|Uni|one)", r"\1n ", found)
        return found[0].upper() + found[1:]

    def _word(self, slot: str) -> str:
        name = slot.lower()
        if name == "poss":
            word = self.random.choice(["her", "his", "its", "the"])
        elif name == "pron_obj":
            word = self.random.choice(["her", "him", "it"])
        elif name == "num":
            word = self.random.choice(NUMBERS)
        elif name == "weight":
            word = self.random.choice(POUNDS) + self.random.choice(PARTS_OF_POUND)
        elif name == "color" and self.random.random() < 0.4:
            word = f"{self.random.choice(self.fill['modifier'])} {self.random.choice(self.fill['plain'])}"
        elif name == "part":
            word = self.random.choice(self.fill["wrong_name" if self.random.random() < 0.3 else "part"])
            self._plural = word.endswith("s") and not word.endswith("ss")
        else:
            sounding_near = name in ("noun", "verb", "adj") and self.random.random() < SHARE_NEAR
            word = self.random.choice(self.fill["near" if sounding_near else name])
            if name == "noun":
                self._plural = False
        return word[0].upper() + word[1:] if slot[0].isupper() else word

    def sentence(self) -> dict[str, str]:
        """One sentence with its kind."""
        kind = "trade" if self.random.random() < SHARE_TRADE else "everyday"
        shares = TRADE_SHARES if kind == "trade" else EVERYDAY_SHARES
        group = self.random.choices(list(shares), list(shares.values()))[0]
        template = self.random.choice(self.templates[kind][group])
        held = zlib.crc32(template.encode()) % 1000 < SHARE_HELD * 1000
        self._plural = False
        return {"kind": kind, "part": "held" if held else "train", "text": self.text(template)}


def trade_words() -> dict[str, list[str]]:
    """What the slots of trade sentences are filled with."""
    route, language = _read(DATA / "routes" / "head-to-tail.yaml"), _read(DATA / "language.yaml")
    cards = [_read(p) for p in sorted((ROOT / "breed_cards").glob("*.yaml"))]
    cards = [c for c in cards if str(c.get("format", "")).startswith("breed-card")]
    items = route["items"]
    parts = [t for i in items if i["kind"] == "part" for t in i.get("say", ())]
    colors = [c for card in cards for value in card["colors"].values() for c in _listed(value)]
    return {
        "part": [*parts, *parts, *MORE_PARTS],
        "wrong_name": [t for i in items for t in i.get("wrong_names", ()) if t not in ("rooster", "chicken")],
        "cond": _unique(t for i in items for t in [*i.get("cues", ()), *i.get("cues_of_part", ())]),
        "color": _unique([*colors, *colors, *language["colors"]]),
        "modifier": language["color_modifiers"],
        "plain": _unique(language["colors"]),
        "comb": _unique(t for forms in language["comb_types"].values() for t in forms),
        "class": [*language["classes"], *language["classes"], "Asian", "feathered leg"],
        "country": [*language["countries"], *(p.title() for p in language["places"])],
        "purpose": [*(p for forms in language["purposes"].values() for p in forms), *MORE_PURPOSES],
        "egg": _unique([*(c for card in cards for c in _listed(card["egg_color"])), *language["colors"][:14]]),
        "breed": _unique(card["breed"] for card in cards),
        "variety": _unique(card.get("variety", "White") for card in cards),
        "sex": SEXES,
    }


def near_words(fill: dict[str, list[str]]) -> list[str]:
    """Common words (one token of the recogniser) that are one sound away from a word of the trade, or sound the same."""
    from tokenizers import Tokenizer

    from coach.judge.sounds import dictionary
    from coach.listen.weights import find_weights

    trade = {w for name in TRADE_SLOTS for phrase in fill[name] for w in phrase.lower().split()}
    phones = {word: tuple(said.split()) for word, said in dictionary().items() if word.isalpha()}
    holes: dict[tuple[str, ...], list[str]] = {}
    for word in sorted(w for w in trade if w in phones and len(w) > 2):
        for hole in _holes(phones[word]):
            holes.setdefault(hole, []).append(word)
    vocabulary = Tokenizer.from_file(str(find_weights("whisper-plain")[1] / "tokenizer.json")).get_vocab()
    common = [t[1:] for t, n in vocabulary.items() if n < MOST_COMMON and re.fullmatch("\u0120[a-z]{3,}", t)]
    return sorted(w for w in common if w in phones and w not in trade | UNWANTED and any(h in holes for h in _holes(phones[w])))


def _holes(phones: tuple[str, ...]) -> list[tuple[str, ...]]:
    """The sounds, and the sounds with one left out or open: two words that share one are at most one sound apart."""
    return [
        phones,
        *((*phones[:n], "_", *phones[n + 1 :]) for n in range(len(phones))),
        *((*phones[:n], "_", *phones[n:]) for n in range(len(phones) + 1)),
    ]


def spellings() -> dict[str, str]:
    """How synthesisers have to be told to say a word."""
    found = dict(_read(DATA / "pronunciations.yaml")["sounds_like"])
    for path in sorted((ROOT / "breed_cards").glob("*.yaml")):
        found.update(_read(path).get("sounds_like") or {})
    return {w.lower(): str(s) for w, s in {**found, **SPELLINGS}.items()}


def spoken(text: str, spelt: dict[str, str]) -> str:
    """The text as a synthesiser reads it."""
    return re.sub(r"[A-Za-z]+", lambda m: spelt.get(m.group().lower(), m.group()), text)


def _read(path: Path) -> Any:
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def _listed(value: Any) -> list[str]:
    return [str(v) for v in value] if isinstance(value, list) else [str(value)]


def _unique(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(words))


def main(count: int, seed: int, out: Path) -> None:
    """Write the sentences, no text twice."""
    writer, spelt, seen = Writer(seed), spellings(), set()
    made = []
    for _ in range(count * 3):
        sentence = writer.sentence()
        if sentence["text"] in seen or re.search(r"\d", sentence["text"]):
            continue
        seen.add(sentence["text"])
        made.append({**sentence, "spoken": spoken(sentence["text"], spelt)})
        if len(made) == count:
            break
    out.write_text(json.dumps(made))
    print(len(made), "sentences;", sum(s["kind"] == "trade" for s in made), "of the trade")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]))
