"""Rehearsals whose truth is known: a folder of them read, and tagged texts made into such a folder.

python -m bench.cases OUT TEXT.txt...       writes CASE.truth.json, CASE.words.json, birds/ and cards/ for each tagged text

A case is CASE.truth.json (what was said, skipped, misnamed or told wrong, and when each region was spoken of), CASE.words.json
(the true words with times), the bird's and the card's files, and, where there is sound, CASE.ogg or CASE.wav.

A tagged text is lines "card: ID", "bird: NAME", "sex_age: hen" and up to two "fault: id | region | what it is | plan", a line
"---", and what is said, with tags behind the words that tell an item: {head.comb,head.comb_type} told rightly,
{legs.hocks!misnamed:knee} a wrong name, {facts.weight_hen!wrong:nine pounds} a wrong value. What the route asks of the bird
and no tag tells was skipped. The words are given times at an even pace; there is no sound.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from coach.errors import CoachError
from coach.judge.lexicon import item_applies, item_required
from coach.listen.timed_words import read_timed_words, write_words_json
from coach.places import breed_cards_dir
from coach.review import Subject, load_subject
from coach.words import TimedWords, Word

TRUTH = "rehearsal-truth/1"
_TAG = re.compile(r"\{([^}]*)\}")
_PAUSE_S = {**dict.fromkeys(".!?", 0.5), **dict.fromkeys(",;:", 0.2)}


@dataclass(frozen=True, slots=True)
class Case:
    """One rehearsal with its truth, a dictionary of the format rehearsal-truth/1."""

    name: str
    folder: Path
    truth: Mapping[str, Any]

    @property
    def words(self) -> Path:
        """The true words."""
        return self.folder / f"{self.name}.words.json"

    @property
    def heard(self) -> Path:
        """The words as a listener wrote them, kept so that judging can be measured without listening."""
        return self.folder / f"{self.name}.heard.words.json"

    @property
    def sound(self) -> Path:
        """The recording; CoachError when there is none."""
        found = next((p for end in ("ogg", "wav", "mp3") if (p := self.folder / f"{self.name}.{end}").is_file()), None)
        if found is None:
            raise CoachError(f"{self.folder}: {self.name} has no sound; score it with --from-words")
        return found

    def subject(self) -> Subject:
        """What the rehearsal is held against."""
        return load_subject(str(self.folder / self.truth["bird_file"]), str(self.folder / self.truth["card_file"]))

    def said(self) -> list[str]:
        """The true words, marks kept."""
        return [w.text for w in read_timed_words(self.words).words]


def load_cases(folder: Path, only: Collection[str] = ()) -> list[Case]:
    """The cases of a folder by name; CoachError when there are none."""
    found = [(path.name.removesuffix(".truth.json"), path) for path in sorted(folder.glob("*.truth.json"))]
    cases = [Case(name, folder, json.loads(path.read_text(encoding="utf-8"))) for name, path in found if not only or name in only]
    if not cases:
        raise CoachError(f"{folder}: there is no {'CASE' if not only else ' or '.join(sorted(only))}.truth.json")
    return cases


def tagged_texts(folder: Path) -> list[Path]:
    """The tagged texts of a folder; other talk, without a card, is none."""
    return [p for p in sorted(folder.glob("*.txt")) if p.read_text(encoding="utf-8").startswith("card:")]


def write_tagged(path: Path, out: Path) -> None:
    """Make a case of a tagged text.

    Raises:
        CoachError: a tag is unknown or does not apply to this bird, or what stands above the text is wrong.
    """
    head, _, text = path.read_text(encoding="utf-8").partition("\n---\n")
    rows = [(key.strip(), value.strip()) for key, _, value in (line.partition(":") for line in head.splitlines())]
    meta = dict(rows)
    if missing := {"card", "bird", "sex_age"} - set(meta):
        raise CoachError(f"{path}: above '---' there is no {' and no '.join(sorted(missing))}; add a line '{min(missing)}: ...'")
    faults = [_fault(*(part.strip() for part in value.split("|"))) for key, value in rows if key == "fault"]
    about = {"id": _kebab(meta["bird"]), "name": meta["bird"], "card": meta["card"], "sex_age": meta["sex_age"]}
    bird_file, card_file = f"birds/{path.stem}.yaml", f"cards/{meta['card']}.yaml"
    put_subject(out, bird_file, {**about, "faults": faults}, card_file)
    asked = asked_of(load_subject(str(out / bird_file), str(out / card_file)))
    told = dict.fromkeys(asked, "skipped")
    heard: dict[str, str] = {}
    for item, slip in _tags(text):
        if item not in asked:
            raise CoachError(f"{path}: {{{item}}} is not asked of this bird; see the ids in the route's file")
        status, _, value = slip.partition(":")
        told[item] = status or "said"
        heard |= {item: value} if value else {}
    words = _timed(_TAG.sub("", text))
    truth = {
        "format": TRUTH, "case": path.stem, "voice": f"writer {path.stem[0]}", "effects": ["none"], "seconds": words.seconds,
        "card_file": card_file, "bird_file": bird_file, **by_duty(told, asked), "heard": heard, "regions": [],
        "order": {"spoken": [], "out_of_order": []}, "sentences": [],
    }  # fmt: skip
    write_case(out, path.stem, truth, words)


def asked_of(subject: Subject) -> dict[str, bool]:
    """The items that the route asks of the bird, its own faults among them, and whether each is required."""
    asked = {i.id: item_required(i, subject.bird) for i in subject.route.items if item_applies(i, subject.card, subject.bird)}
    for fault in subject.bird.faults:
        asked |= {f"faults.{fault.id}": True} | ({f"faults.{fault.id}.plan": False} if fault.plan else {})
    return asked


def by_duty(told: Mapping[str, str], asked: Mapping[str, bool]) -> dict[str, dict[str, str]]:
    """The truth file's two groups: items that are asked for, and those that are a bonus."""
    items = {item: status for item, status in told.items() if asked[item]}
    return {"items": items, "optional_items": {item: status for item, status in told.items() if not asked[item]}}


def put_subject(out: Path, bird_file: str, bird: Mapping[str, Any], card_file: str) -> None:
    """The bird's file and a copy of its card: a card mended later would make the truth a lie."""
    for name in (bird_file, card_file):
        (out / name).parent.mkdir(parents=True, exist_ok=True)
    text = yaml.safe_dump({"format": "bird/1", **bird}, sort_keys=False, allow_unicode=True)
    (out / bird_file).write_text(text, encoding="utf-8")
    try:
        shutil.copy(breed_cards_dir() / f"{bird['card']}.yaml", out / card_file)
    except OSError as err:
        raise CoachError(f"there is no shipped card '{bird['card']}'; coach card list tells the ids") from err


def write_case(out: Path, name: str, truth: Mapping[str, Any], words: TimedWords) -> None:
    """Truth and true words of a case."""
    (out / f"{name}.truth.json").write_text(json.dumps(truth, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    write_words_json(out / f"{name}.words.json", words)


def _fault(name: str, region: str, say: str, plan: str = "") -> dict[str, Any]:
    return {"id": name, "region": region, "say": say, **({"plan": plan, "plan_words": [plan]} if plan else {})}


def _kebab(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def _tags(text: str) -> Iterator[tuple[str, str]]:
    """Items with their slips, "" where told rightly."""
    for tag in (t.strip() for group in _TAG.findall(text) for t in group.split(",")):
        if tag:
            item, _, slip = tag.partition("!")
            yield item, slip


def _timed(text: str) -> TimedWords:
    words, at = [], 0.5
    for word in text.split():
        end = at + 0.08 + 0.055 * len(word)
        words.append(Word(word, round(at, 3), round(end, 3)))
        at = end + _PAUSE_S.get(word[-1], 0.03)
    return TimedWords(tuple(words), round(at, 3))


def main() -> None:
    """Make cases of tagged texts."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("texts", type=Path, nargs="+", metavar="TEXT.txt")
    args = parser.parse_args()
    try:
        for path in args.texts:
            write_tagged(path, args.out)
    except (CoachError, OSError) as err:
        parser.exit(2, f"cases: {err}\n")


if __name__ == "__main__":
    main()
