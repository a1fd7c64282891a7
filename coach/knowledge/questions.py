"""Questions a judge may ask: from files `questions/1` to frozen values, checked with line numbers.

The shipped bank is the folder `data/questions`; a club's file adds questions and replaces those of the same id.
How a spoken form (`say`) is written stands in `data/questions/words.yaml`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from coach.errors import CoachError
from coach.knowledge.cards import KEBAB
from coach.knowledge.model import LEVELS
from coach.knowledge.yaml_file import Fields, Problems, hint, load_yaml
from coach.places import knowledge_data_dir

__all__ = [
    "CAUTIONS",
    "LEVELS",
    "TOPICS",
    "UNITS",
    "Bank",
    "KeyPoint",
    "Number",
    "Question",
    "SpokenWords",
    "WrongAnswer",
    "load_bank",
    "load_spoken_words",
    "question_problems",
]

FORMAT = "questions/1"
TOPICS = (
    *("anatomy", "terms", "breeds", "production", "eggs", "hatching", "feeding", "health", "parasites"),
    *("biosecurity", "housing", "selection", "showing", "market", "my card", "my bird"),
)
# What a number may be counted in: names that pint knows, and things that are only counted.
MEASURES = (
    *("degF", "degC", "day", "week", "month", "year", "hour", "minute"),
    *("inch", "foot", "foot^2", "cm", "mm", "ounce", "pound", "gram", "kilogram", "percent"),
)
COUNTS = ("feathers", "eggs", "hens", "fingers", "toes", "points", "times")
UNITS = (*MEASURES, *COUNTS)
CAUTIONS = {
    "vet": "Knowledge for a show, no treatment advice: ask a veterinarian about a sick bird; follow the label and local rules.",
    "med": "Medicines: ask a veterinarian first, follow the label and its waiting time for eggs and meat, and local rules.",
    "zoonosis": "Wash your hands after birds. If you get ill after touching poultry ask a doctor; for birds ask a veterinarian.",
    "report": "Suspected bird flu must be reported: move nothing and call a veterinarian or the animal health authority at once.",
    "rules": "Rules differ between shows, standards and countries: your own show's rules decide.",
}
_QUESTION_KEYS = ("id", "topic", "level", "ask", "points", "any", "in_order", "wrong", "sources", "caution")
_REMEDIES = {
    "id": "give the question a short name, as in 'hatch-days'",
    "topic": "name one, as in 'eggs'",
    "level": f"one of {', '.join(LEVELS)}",
    "ask": "write the question as the judge asks it",
    "points": "list what a good answer tells",
    "sources": "name where it comes from, or 'practice' or 'memory'",
}


@dataclass(frozen=True, slots=True)
class Number:
    """A right or wrong figure: value plus or minus within, in a unit of UNITS."""

    value: float
    unit: str
    within: float = 0.0


@dataclass(frozen=True, slots=True)
class KeyPoint:
    """One thing a good answer tells, by a spoken form or a number. of: words it must be said of ("pullet")."""

    tell: str
    say: tuple[str, ...] = ()
    number: Number | None = None
    of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WrongAnswer:
    """A common wrong answer and what is right instead; point counts from 1, None when it belongs to no one point."""

    note: str
    say: tuple[str, ...] = ()
    number: Number | None = None
    point: int | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """One question; need is how many points make a complete answer, in_order that their order counts."""

    id: str
    topic: str
    level: str
    ask: str
    points: tuple[KeyPoint, ...]
    need: int
    in_order: bool = False
    wrong: tuple[WrongAnswer, ...] = ()
    sources: tuple[str, ...] = ()
    caution: str | None = None  # a key of CAUTIONS


@dataclass(frozen=True, slots=True)
class Bank:
    """Questions by id in file order, and a line for every source key."""

    questions: Mapping[str, Question]
    sources: Mapping[str, str]

    def with_questions(self, more: Iterable[Question]) -> Bank:
        """The bank with further questions, those of the same id replaced."""
        return Bank({**self.questions, **{q.id: q for q in more}}, self.sources)

    def source_lines(self, question: Question) -> tuple[str, ...]:
        """Where the question's answer comes from, a line each."""
        return tuple(self.sources.get(key, key) for key in question.sources)


@dataclass(frozen=True, slots=True)
class SpokenWords:
    """groups: word -> everyday words that count as it; sounds: trade word -> respelling."""

    groups: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    sounds: Mapping[str, str] = field(default_factory=dict)


def load_bank(extra: Sequence[Path] = ()) -> Bank:
    """The shipped questions and those of a club's files, later ones replacing earlier ones of the same id.

    Raises:
        CoachError: a file cannot be read or is wrong; the message names file, line and remedy.
    """
    bank = _shipped()
    for path in extra:
        problems = Problems(path)
        found = _read(path, problems)
        problems.raise_first()
        bank = bank.with_questions(found)
    return bank


def question_problems(paths: Sequence[Path]) -> list[str]:
    """All that is wrong with some question files, a line each with its place; ids may not stand twice among them."""
    lines: list[str] = []
    seen: dict[str, Path] = {}
    for path in paths:
        problems = Problems(path)
        try:
            found = _read(path, problems)
        except CoachError as err:
            lines.append(str(err))
            continue
        lines += problems.lines
        for question in found:
            if question.id in seen and question.id:
                lines.append(f"{path}: question '{question.id}' stands in {seen[question.id]} too; give it another id")
            seen.setdefault(question.id, path)
    return lines


@lru_cache(maxsize=1)
def load_spoken_words() -> SpokenWords:
    """Groups of everyday words, and how the bank's trade words sound."""
    path = _folder() / "words.yaml"
    problems = Problems(path)
    top = load_yaml(path)
    problems.check_format(top, "question-words/1")
    fields = Fields(top, problems, ("format", "groups", "sounds"))
    groups, sounds = fields.section("groups"), fields.section("sounds")
    words = SpokenWords(
        {name: groups.phrases(name) for name in groups.node.entries} if groups else {},
        {name: sounds.text(name) or "" for name in sounds.node.entries} if sounds else {},
    )
    problems.raise_first()
    return words


def _folder() -> Path:
    return knowledge_data_dir() / "questions"


@lru_cache(maxsize=1)
def _shipped() -> Bank:
    bank = Bank({}, _sources())
    for path in sorted(_folder().glob("*.yaml")):
        if path.name not in ("sources.yaml", "words.yaml"):
            problems = Problems(path)
            bank = bank.with_questions(_read(path, problems))
            problems.raise_first()
    return bank


def _sources() -> dict[str, str]:
    path = _folder() / "sources.yaml"
    problems = Problems(path)
    section = Fields(load_yaml(path), problems, ("format", "sources")).section("sources")
    lines: dict[str, str] = {}
    for key in section.node.entries if section else ():
        one = section.section(key, ("title", "publisher", "year", "address")) if section else None
        if one:
            lines[key] = "; ".join(p for p in (one.text(k) for k in ("title", "publisher", "year", "address")) if p)
    problems.raise_first()
    return lines


def _read(path: Path, problems: Problems) -> list[Question]:
    top = load_yaml(path)
    problems.check_format(top, FORMAT)
    fields = Fields(top, problems, ("format", "questions"))
    fields.require("questions", "list at least one")
    found: dict[str, Question] = {}
    lines: dict[str, int] = {}
    for part in fields.sections("questions", _QUESTION_KEYS):
        question = _question(part)
        if question.id in found:
            part.problem("id", f"'{question.id}' stands twice, first on line {lines[question.id]}; give each its own id")
        elif question.id:
            found[question.id] = question
            lines[question.id] = part.node.entries["id"].line
    return list(found.values())


def _question(part: Fields) -> Question:
    part.require_all(_REMEDIES)
    points = tuple(_point(one) for one in part.sections("points", ("tell", "say", "number", "of")))
    if part.has("points") and not points:
        part.problem("points", "an empty list; add what a good answer tells, each with 'tell' and 'say'")
    need = part.whole("any", 1, max(1, len(points))) if part.has("any") else None
    return Question(
        id=part.matching("id", KEBAB, "use small letters, digits and single hyphens, as in 'hatch-days'") or "",
        topic=part.choice("topic", TOPICS) or "",
        level=part.choice("level", LEVELS) or "",
        ask=part.text("ask") or "",
        points=points,
        need=need or len(points),
        in_order=part.flag("in_order") or False,
        wrong=tuple(_wrong(one, len(points)) for one in part.sections("wrong", ("say", "number", "note", "point"))),
        sources=part.phrases("sources"),
        caution=part.choice("caution", CAUTIONS),
    )


def _point(part: Fields) -> KeyPoint:
    part.require("tell", "write the point as you would tell it")
    if not part.has("say") and not part.has("number"):
        part.problem("tell", "has no spoken form; add 'say:' with words that tell it, or 'number:'", part.node.line)
    return KeyPoint(part.text("tell") or "", _forms(part, "say"), _number(part), _forms(part, "of"))


def _wrong(part: Fields, n_points: int) -> WrongAnswer:
    part.require("note", "tell what is right instead")
    if not part.has("say") and not part.has("number"):
        part.problem("note", "has no spoken form; add 'say:' with words that show it, or 'number:'", part.node.line)
    point = part.whole("point", 1, max(1, n_points)) if part.has("point") else None
    return WrongAnswer(part.text("note") or "", _forms(part, "say"), _number(part), point)


def _forms(part: Fields, name: str) -> tuple[str, ...]:
    forms = part.phrases(name)
    for form in forms:
        if not re.search(r"[A-Za-z0-9]", form):
            part.problem(name, f"'{form}' holds no word; write words that can be heard")
    return forms


def _number(part: Fields) -> Number | None:
    section = part.section("number", ("value", "unit", "within"))
    if section is None:
        return None
    section.require("value", "write the figure, as in 21")
    unit = None
    if section.require("unit", f"tell what is counted, as in 'day' ({hint('', UNITS)})"):
        unit = section.choice("unit", UNITS)
    value = section.number("value", 0, 100_000, unit or "units")
    within = section.number("within", 0, 100_000, unit or "units")
    return Number(value or 0.0, unit or COUNTS[0], within or 0.0)
