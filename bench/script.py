"""Invented rehearsals as text: which mistakes are planted, and the sentences that a member says.

In: a bird with its card and route, the phrases of phrases.yaml, a random generator. Out: a Script, its words and its truth
made together. No sound. Pure but for load_phrases.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

import yaml

from bench.cases import asked_of
from coach.judge.numbers import spoken
from coach.judge.values import accepted
from coach.knowledge.model import Fault, Item, Kind, Sex
from coach.review import Subject

HERE = Path(__file__).parent
MISTAKES = {"skip": 30, "misname": 25, "wrong": 30, "skip region": 5, "move region": 10}
SHARE_OPTIONAL, SHARE_PLANS, SHARE_EARLY_FACTS, SHARE_FAULTS_IN_PLACE = 0.4, 0.8, 0.4, 0.6
ATTEMPTS = 200
_SLOT = re.compile(r"\{(\w+(?:\.\w+)?)\}")
_PRONOUNS = {Sex.FEMALE: {"she": "she", "her": "her", "him": "her"}, Sex.MALE: {"she": "he", "her": "his", "him": "him"}}
_WITH_ARTICLE = ("United States", "Netherlands", "United Kingdom")


@dataclass(frozen=True, slots=True)
class Sentence:
    """A wording with its slots, the items it tells, and the part that must have been named right before it."""

    text: str
    tells: tuple[str, ...]
    after: str | None = None


@dataclass(frozen=True, slots=True)
class Phrases:
    """What phrases.yaml holds: sentences by region, words for parts (right and wrong), values to be wrong with, talk."""

    sentences: Mapping[str, Sequence[Sentence]]
    parts: Mapping[str, Sequence[str]]
    values: Mapping[str, Sequence[str]]
    near: Sequence[Sequence[str]]
    respell: Mapping[str, str]
    members: Sequence[str]
    greetings: Sequence[str]
    talk: Sequence[str]
    asides: Sequence[str]


@dataclass(frozen=True, slots=True)
class Line:
    """One sentence as spoken, its region (None for talk), the items it tells with their status, and whether it leans on the
    line before."""

    text: str
    region: str | None = None
    tells: Mapping[str, str] = field(default_factory=dict)
    leans: bool = False


@dataclass(frozen=True, slots=True)
class Script:
    """A rehearsal as text: its lines, the status of every item, what was said in place of the right word, and the order."""

    lines: tuple[Line, ...]
    told: Mapping[str, str]
    heard: Mapping[str, str]
    spoken: tuple[str, ...]
    out_of_order: tuple[str, ...]


class NoWords(Exception):
    """The plan cannot be said with these sentences."""


def load_phrases(path: Path = HERE / "phrases.yaml") -> Phrases:
    """The phrases of a file."""
    data: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    sentences = {region: [_sentence(text) for text in texts] for region, texts in data.pop("sentences").items()}
    del data["format"]
    return Phrases(sentences=sentences, **data)


def _sentence(text: str) -> Sentence:
    after, colon, rest = text.removeprefix("after ").partition(": ")
    leans = bool(colon) and text.startswith("after ")
    text = rest if leans else text
    return Sentence(text, tuple(s for s in _SLOT.findall(text) if "." in s), after if leans else None)


def write_script(rng: Random, subject: Subject, phrases: Phrases, mistakes: int, wordy: float) -> Script:
    """A rehearsal with so many planted mistakes (or fewer, where they would get in each other's way).

    Args:
        wordy: 0 says as much as it can in each sentence, 1 takes any sentence that fits and talks in between.
    """
    for _ in range(ATTEMPTS):
        try:
            return _Writer(rng, subject, phrases, _Plan(rng, subject, phrases, mistakes), wordy).write()
        except NoWords as err:
            last = err
    raise NoWords(f"{subject.bird.name}: no script in {ATTEMPTS} tries; {last}")


class _Plan:
    """The status of every item, and what is said at its place."""

    def __init__(self, rng: Random, subject: Subject, phrases: Phrases, mistakes: int) -> None:
        self.rng, self.subject, self.phrases = rng, subject, phrases
        self.items: dict[str, Item] = {i.id: i for i in subject.route.items}
        self.asked = asked_of(subject)
        self.status = dict.fromkeys(self.asked, "said")
        for item in (i for i, required in self.asked.items() if not required):
            if rng.random() > (SHARE_PLANS if item.endswith(".plan") else SHARE_OPTIONAL):
                self.status[item] = "skipped"
        self.words = {i: self._right(self.items[i]) for i in self.asked if i in self.items and self.items[i].kind is Kind.FACT}
        self.words |= {i: row[0] for i, row in phrases.parts.items() if row[0]}
        self.heard: dict[str, str] = {}
        self.touched: set[str] = set()
        self.order = [r.id for r in subject.route.regions]
        self.moved: list[str] = []
        acts = {"skip": self._skip, "misname": self._misname, "wrong": self._wrong, "skip region": self._skip_region,
                "move region": self._move}  # fmt: skip
        for act in rng.choices(list(acts), [MISTAKES[a] for a in acts], k=mistakes):
            acts[act]()

    def _right(self, item: Item) -> str:
        values = accepted(item, self.subject.card, self.subject.bird)
        if item.value == "purpose":
            return " and ".join(map(str, values))
        value = self.rng.choice(values)
        text = spoken(value) if isinstance(value, (int, float)) else value
        return f"the {text}" if text in _WITH_ARTICLE else text

    def _free(self, *kinds: Kind) -> list[str]:
        """Required items of these kinds that nothing was planted on, nor on what they are said of or what is said of them."""
        free = [i for i, item in self.items.items() if self.asked.get(i) and item.kind in kinds]
        return [i for i in free if not self.touched & {i, self.items[i].about, *self._said_of(i)}]

    def _said_of(self, part: str) -> list[str]:
        return [i for i in self.asked if i in self.items and self.items[i].about == part]

    def _plant(self, items: Sequence[str], status: str) -> None:
        self.status |= dict.fromkeys(items, status)
        self.touched |= set(items)

    def _skip(self) -> None:
        if free := self._free(Kind.PART, Kind.FACT, Kind.CONDITION):
            item = self.rng.choice(free)
            self._plant([item, *self._said_of(item)], "skipped")

    def _misname(self) -> None:
        names = {i: self.phrases.parts[i][1:] for i in (*self._free(Kind.PART, Kind.FACT),) if i in self.phrases.parts}
        if free := [i for i, wrong in names.items() if wrong]:
            item = self.rng.choice(free)
            self.words[item] = self.heard[item] = self.rng.choice(names[item])
            self._plant([item], "misnamed")

    def _wrong(self) -> None:
        if free := self._free(Kind.FACT):
            item = self.rng.choice(free)
            if wrong := self._wrong_values(self.items[item]):
                self.words[item] = self.heard[item] = self.rng.choice(wrong)
                self._plant([item], "wrong")

    def _wrong_values(self, item: Item) -> list[str]:
        """Values that share no word with a right one and are near none."""
        path, card = item.value or "", self.subject.card
        if path.startswith("weights_lb."):
            own = card.weights_lb[path.removeprefix("weights_lb.")]
            return [spoken(w) for w in sorted({*card.weights_lb.values(), own + 1, own - 1}) if w not in (own, own + 0.5)]
        if path == "bird.sex_age":
            pair = ("cock", "cockerel") if self.subject.bird.sex is Sex.MALE else ("hen", "pullet")
            return [w for w in pair if w != self.subject.bird.sex_age]
        pool = self.phrases.values.get("colors" if path.startswith("colors.") else path, ())
        rows = [spoken(v) if isinstance(v, (int, float)) else v for v in accepted(item, card, self.subject.bird)]
        taken = {form for row in rows for w in row.lower().split() for form in (w, re.sub(r"(?:d?ish|y)$", "", w))}
        taken |= {w for group in self.phrases.near if taken & set(group) for w in group}
        return [v for v in pool if not taken & set(v.lower().split())]

    def _skip_region(self) -> None:
        regions = [r for r in self.order[2:-1] if not self.touched & set(self._within(r)) and r not in self._of_faults()]
        if regions and not self.moved:
            self._plant(self._within(self.rng.choice(regions)), "skipped")

    def _within(self, region: str) -> list[str]:
        return [i for i in self.asked if i in self.items and self.items[i].region == region]

    def _of_faults(self) -> set[str]:
        return {fault.region for fault in self.subject.bird.faults}

    def _move(self) -> None:
        """Tell one region so far from its place that only it can be called out of order."""
        here = self.order[1:-1]
        if self.moved or any(self.status[i] == "skipped" and self.asked[i] for r in here for i in self._within(r)):
            return
        region = self.rng.choice(here)
        rest = [r for r in here if r != region]
        at = here.index(region)
        places = [n for n in range(len(rest) + 1) if abs(n - at) >= 2]
        place = self.rng.choice(places)
        self.order = [self.order[0], *rest[:place], region, *rest[place:], self.order[-1]]
        self.moved.append(region)
        self.touched |= set(self._within(region))


class _Writer:
    """Says a plan, sentence by sentence."""

    def __init__(self, rng: Random, subject: Subject, phrases: Phrases, plan: _Plan, wordy: float) -> None:
        self.rng, self.subject, self.phrases, self.plan, self.wordy = rng, subject, phrases, plan, wordy
        names = {"name": subject.bird.name, "member": rng.choice(phrases.members)}
        self.slots = {**_PRONOUNS[subject.bird.sex], **plan.words, **names}
        self.done: set[str] = set()
        self.focus: str | None = None

    def write(self) -> Script:
        """All lines and their truth."""
        plan, lines = self.plan, [Line(self._fill(self.rng.choice(self.phrases.greetings)), "opening")]
        early = self.rng.random() < SHARE_EARLY_FACTS
        late = [f for f in self.subject.bird.faults if self.rng.random() > SHARE_FAULTS_IN_PLACE or not self._todo(f.region)]
        for region in plan.order:
            if region == "closing":
                lines += [] if early else self._tell("facts")
                lines += [line for fault in late for line in self._own_fault(fault, None)]
            lines += self._tell(region)
            here = [f for f in self.subject.bird.faults if f.region == region and f not in late]
            lines += [line for fault in here for line in self._own_fault(fault, region)]
            lines += self._tell("facts") if region == "opening" and early else []
        spoken_order = tuple(dict.fromkeys(line.region for line in lines if line.region in plan.order and line.region))
        untold = {i for i, status in plan.status.items() if status != "skipped"} - self.done
        if untold:
            raise NoWords(f"not told: {', '.join(sorted(untold))}")
        return Script(tuple(self._with_talk(lines)), plan.status, plan.heard, spoken_order, tuple(plan.moved))

    def _todo(self, region: str) -> list[str]:
        return [i for i in self.plan._within(region) if self.plan.status[i] != "skipped"]

    def _tell(self, region: str) -> list[Line]:
        lines, self.focus = [], None
        while left := [i for i in self._todo(region) if i not in self.done]:
            fits = [s for s in self.phrases.sentences[region] if left[0] in s.tells and self._fits(s)]
            if not fits:
                raise NoWords(f"no sentence for {left[0]}")
            lines.append(self._say(self.rng.choices(fits, [self._gain(s) for s in fits])[0], region))
        return lines

    def _gain(self, sentence: Sentence) -> float:
        """The more new things it tells the likelier it is said (less so by the wordy); what was named is hardly named again."""
        new = len(set(sentence.tells) - self.done)
        return float(new ** (4 - 3.5 * self.wordy) * 0.4 ** (len(sentence.tells) - new))

    def _fits(self, sentence: Sentence) -> bool:
        """Whether the sentence is true to the plan here: a wrong name stands alone, nothing but a part is said twice."""
        if sentence.after not in (None, self.focus):
            return False
        for item in sentence.tells:
            status = self.plan.status.get(item, "skipped")
            again = item in self.done and (item not in self.phrases.parts or status == "misnamed")
            if status == "skipped" or again or (status == "misnamed" and len(sentence.tells) > 1 and item != "opening.sex_age"):
                return False
        wrong_names = {name for i in sentence.tells for name in self.phrases.parts.get(i, ())[1:]}
        literal = set(re.findall(r"\w+", _SLOT.sub("", sentence.text)))
        return not (wrong_names & literal and any(self.plan.status[i] != "said" for i in sentence.tells))

    def _say(self, sentence: Sentence, region: str) -> Line:
        self.done |= set(sentence.tells)
        if not sentence.after:
            parts = {i for i in sentence.tells if i in self.phrases.parts}
            self.focus = parts.pop() if len(parts) == 1 else None
        tells = {i: self.plan.status[i] for i in sentence.tells}
        return Line(self._fill(sentence.text), None if region == "facts" else region, tells, sentence.after is not None)

    def _own_fault(self, fault: Fault, region: str | None) -> list[Line]:
        lines, own = [], f"faults.{fault.id}"
        for slot, item in (("fault", own), ("fault.plan", f"{own}.plan")):
            if self.plan.status.get(item) == "said":
                text = self.rng.choice([s.text for s in self.phrases.sentences["faults"] if f"{{{slot}}}" in s.text])
                text = self._fill(text, say=fault.say, plan=fault.plan or "")
                lines.append(Line(text, region, {item: "said"}, slot != "fault"))
                self.done.add(item)
        return lines

    def _fill(self, text: str, **more: str) -> str:
        """The text with its slots filled; a tag behind a condition's words leaves nothing."""
        slots = {**self.slots, **more}

        def put(match: re.Match[str]) -> str:
            key = match.group(1)
            found = slots.get(key) or slots.get(key.lower(), "")
            return found.capitalize() if key[0].isupper() else found

        filled = re.sub(r"\b([Aa]) (?=[aeiouAEIOU])(?!uni|Uni|one\b)", r"\1n ", _SLOT.sub(put, text))
        return filled[0].upper() + filled[1:]

    def _with_talk(self, lines: Sequence[Line]) -> list[Line]:
        """Hesitations, words to the bird, and asides in between, more of them the wordier the member is."""
        asides = self.rng.sample(self.phrases.asides, round(3 * self.wordy * self.rng.random()))
        places = [n for n, line in enumerate(lines) if n and not line.leans]
        at = dict(zip(self.rng.sample(places, len(asides)), asides, strict=True))
        out: list[Line] = []
        for n, line in enumerate(lines):
            if n in at:
                out.append(Line(self._fill(at[n])))
            elif n in places and self.rng.random() < 0.15 * self.wordy:
                out.append(Line(self._fill(self.rng.choice(self.phrases.talk))))
            out.append(line)
        return out
