"""What an interview asks from: the bank, a club's files, and questions made from the card and the bird."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path

from coach.errors import CoachError
from coach.interview.choose import suitable
from coach.interview.own_bird import bird_questions, card_questions
from coach.knowledge.language import load_language
from coach.knowledge.model import Bird, Card
from coach.knowledge.questions import LEVELS, TOPICS, Bank, Question, load_bank
from coach.knowledge.yaml_file import hint, nearest

__all__ = ["Pool", "open_pool", "parse_topics", "read_asked"]


@dataclass(frozen=True, slots=True)
class Pool:
    """All questions that may be asked, and whom about."""

    bank: Bank
    bird: Bird | None
    card: Card | None

    def fitting(self, level: str, topics: Collection[str] = ()) -> tuple[Question, ...]:
        """Questions of the level and below, of the topics."""
        return suitable(self.bank.questions.values(), level, topics)

    def named(self, ids: Sequence[str], where: str) -> tuple[Question, ...]:
        """The questions of these ids, in this order.

        Raises:
            CoachError: one of them is not known.
        """
        for number, one in enumerate(ids, 1):
            if one not in self.bank.questions:
                raise CoachError(f"{where}: question {number}, {one!r}, is not known; {_near(one, self.bank)}")
        return tuple(self.bank.questions[one] for one in ids)


def open_pool(bird: str | None, card: str | None = None, files: Sequence[str] = ()) -> Pool:
    """The bank with a club's files, and the questions of a bird and its card.

    Raises:
        CoachError: a file cannot be read or is wrong.
    """
    bank = load_bank([Path(f) for f in files])
    if bird is None:
        return Pool(bank, None, None)
    from coach.review import load_subject

    subject = load_subject(bird, card)
    made = (*card_questions(subject.card, load_language()), *bird_questions(subject.bird, subject.card))
    sources = dict(bank.sources) | _card_sources()
    return Pool(Bank(bank.with_questions(made).questions, sources), subject.bird, subject.card)


def parse_topics(text: str | None) -> tuple[str, ...]:
    """Topics divided by commas; none for None.

    Raises:
        CoachError: one of them is not known.
    """
    found = tuple(" ".join(t.split()).lower() for t in (text or "").split(",") if t.strip())
    for topic in found:
        if topic not in TOPICS:
            raise CoachError(f"--topics: {topic!r} is not known; {hint(topic, TOPICS)}")
    return found


def read_asked(path: Path) -> tuple[str, ...]:
    """Question ids in the order in which they were asked, one a line; # begins a remark.

    Raises:
        CoachError: the file cannot be read or names no question.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as err:
        raise CoachError(f"{path}: no such file; write the ids of the questions in it, one a line") from err
    except (OSError, UnicodeDecodeError) as err:
        raise CoachError(
            f"{path}: cannot be read ({getattr(err, 'strerror', None) or 'not UTF-8 text'}); save it as plain text"
        ) from err
    ids = tuple(line.split("#", 1)[0].strip() for line in text.splitlines())
    found = tuple(i for i in ids if i)
    if not found:
        raise CoachError(f"{path}: names no question; write their ids, one a line (coach questions list shows them)")
    return found


def _near(one: str, bank: Bank) -> str:
    close = nearest(one, bank.questions)
    return f"did you mean {close[0]!r}?" if close else f"levels: {', '.join(LEVELS)}; see them with: coach questions list"


def _card_sources() -> dict[str, str]:
    """A line for every source key of the breed cards."""
    from coach.knowledge.sources_page import load_sources
    from coach.places import breed_cards_dir

    found = load_sources(breed_cards_dir() / "sources.yaml")
    return {key: "; ".join(p for p in (s.title, s.publisher, s.year) if p) for key, s in found.items()}
