"""Tagged texts to Talks: what was said, and which items each stretch tells. The tags are explained in texts/README.md."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from coach.knowledge.cards import find_card, load_card
from coach.knowledge.model import Bird, Card, Fault
from coach.words import TimedWords, Word

__all__ = ["Tag", "Talk", "read_drills", "read_talk"]

HERE = Path(__file__).parent
_TAG = re.compile(r"\{([^}]*)\}")


@dataclass(frozen=True)
class Tag:
    """After word `after` (excluded end) of the talk the item was told; slip is "misnamed", "wrong" or "", value its words."""

    after: int
    item: str
    slip: str = ""
    value: str = ""


@dataclass(frozen=True)
class Talk:
    """One text: words as written, tags by place, and what it is held against."""

    name: str
    writer: str
    words: tuple[str, ...]
    tags: tuple[Tag, ...]
    card: Card | None = None
    bird: Bird | None = None
    whole: bool = True  # a whole rehearsal; else a short passage

    @property
    def heard(self) -> TimedWords:
        """The words without times, as a plain text would be read."""
        return TimedWords(tuple(Word(w, n * 0.4, n * 0.4 + 0.3) for n, w in enumerate(self.words)), 0.4 * len(self.words), False)


def split_tags(text: str) -> tuple[tuple[str, ...], tuple[Tag, ...]]:
    """The words of a tagged text and its tags."""
    words: list[str] = []
    tags: list[Tag] = []
    for part in re.split(r"(\{[^}]*\})", text):
        if part.startswith("{"):
            for tag in filter(None, map(str.strip, part[1:-1].split(","))):
                item, _, slip = tag.partition("!")
                kind, _, value = slip.partition(":")
                tags.append(Tag(len(words), item, kind, value))
        else:
            glued = words and part and not part[0].isspace()
            pieces = part.split()
            if glued and pieces:
                first = pieces.pop(0)
                words[-1] += first  # a mark or "'s" right after a tag
            words += pieces
    return tuple(words), tuple(tags)


def _bird(meta: dict[str, str], faults: list[list[str]], card: Card) -> Bird:
    built = tuple(
        Fault(f[0], f[1], f[2], (), f[3] if len(f) > 3 and f[3] else None, (f[3],) if len(f) > 3 and f[3] else ()) for f in faults
    )
    return Bird(re.sub(r"[^a-z0-9]+", "-", meta["bird"].lower()).strip("-"), meta["bird"], card.id, meta["sex_age"], built)


def read_talk(text: str, name: str, writer: str) -> Talk:
    """A whole rehearsal: head lines, a line of three hyphens, the tagged text."""
    head, _, body = text.partition("\n---\n")
    meta: dict[str, str] = {}
    faults: list[list[str]] = []
    for line in head.splitlines():
        key, _, value = line.partition(":")
        if key.strip() == "fault":
            faults.append([x.strip() for x in value.split("|")])
        elif key.strip():
            meta[key.strip()] = value.strip()
    card = load_card(find_card(meta["card"]))
    words, tags = split_tags(body)
    return Talk(name, writer, words, tags, card, _bird(meta, faults, card))


def read_drills(text: str, writer: str) -> list[Talk]:
    """Short passages, each under a line of equals signs and a head line."""
    out = []
    for n, block in enumerate(b.strip() for b in re.split(r"^===\s*$", text, flags=re.M)):
        head, _, body = block.partition("\n")
        meta = dict(map(str.strip, p.split(":", 1)) for p in head.split("|") if ":" in p)
        if not body.strip() or "card" not in meta:
            continue
        faults = []
        while body.startswith("fault:"):
            line, _, body = body.partition("\n")
            faults.append([x.strip() for x in line.removeprefix("fault:").split("|")])
        card = load_card(find_card(meta["card"]))
        words, tags = split_tags(body)
        out.append(Talk(f"{writer}-{n:03}", writer, words, tags, card, _bird(meta, faults, card), whole=False))
    return out
