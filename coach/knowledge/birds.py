"""The member's own bird: from a file `bird/1` to a Bird whose card is known to exist."""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import Path

from coach.errors import CoachError
from coach.knowledge.cards import SEX_AGES, find_card
from coach.knowledge.model import Bird, Fault
from coach.knowledge.species import WORDS, key_of
from coach.knowledge.yaml_file import Fields, Problems, hint, load_yaml, nearest

__all__ = ["bird_problems", "check_regions", "load_bird"]

FORMAT = "bird/1"
_NAME = re.compile(r"[A-Za-z0-9]+([_-][A-Za-z0-9]+)*")
_REMEDIES = {
    "id": "give the bird a short name",
    "name": "add the bird's name",
    "card": "add the id of its breed card",
    "sex_age": f"one of {', '.join(SEX_AGES)}",
}
_FAULT_REMEDIES = {
    "id": "give the fault a short name, as in 'side-sprig'",
    "region": "name the region it is seen in, as in 'head'",
    "say": "add the phrase that tells it",
}
_SHAPE = "use letters, digits and single hyphens, as in 'side-sprig'"


def load_bird(path: Path, *, regions: Collection[str] | None = None, check_card: bool = True) -> Bird:
    """Read a bird and check it.

    Args:
        path: the bird's file; its card is looked for near it too.
        regions: the route's region ids, when each fault must stand in one of them.
        check_card: False when another card takes the place of the bird's own.
    Raises:
        CoachError: the file cannot be read or a value is wrong; the message names file, line, key and remedy.
    """
    bird, problems = _read(path, regions, check_card)
    problems.raise_first()
    return bird


def check_regions(bird: Bird, path: Path, regions: Collection[str]) -> None:
    """See that each fault of a bird that was read stands in a region of the route.

    Raises:
        CoachError: one does not; only then the file is read once more, for the line it stands on.
    """
    if any(fault.region not in regions for fault in bird.faults):
        load_bird(path, regions=regions, check_card=False)


def bird_problems(path: Path, *, regions: Collection[str] | None = None) -> list[str]:
    """All that is wrong with a bird's file, a line each; empty when it is sound."""
    try:
        return _read(path, regions, True)[1].lines
    except CoachError as err:
        return [str(err)]


def _read(path: Path, regions: Collection[str] | None, check_card: bool) -> tuple[Bird, Problems]:
    problems = Problems(path)
    top = load_yaml(path)
    problems.check_format(top, FORMAT)
    fields = Fields(top, problems, ("format", "id", "name", "card", "sex_age", "faults"))
    fields.require_all(_REMEDIES | {"id": f"add 'id: {path.stem}'"})
    bird = Bird(
        id=fields.matching("id", _NAME, _SHAPE) or "",
        name=fields.text("name") or "",
        card=_card(fields, path, check_card) or "",
        sex_age=_sex_age(fields) or "",
        faults=_faults(fields, regions),
    )
    return bird, problems


def _sex_age(fields: Fields) -> str | None:
    """The key of the bird's sex and age, from the chickens' words or those of its own species ("young drake")."""
    word = fields.text("sex_age")
    if word is None:
        return None
    key = key_of(word)
    if key is None:
        known = [form for words in WORDS.values() for forms in words.values() for form in forms]
        close = nearest(word, known)
        remedy = f"did you mean '{close[0]}'?" if close else "a duck is an 'old duck', 'young drake', ..., a turkey a 'tom', ..."
        fields.problem("sex_age", f"'{word}' is none of {', '.join(SEX_AGES)}; {remedy}")
    return key


def _card(fields: Fields, path: Path, check: bool) -> str | None:
    card = fields.text("card")
    if card is not None and check:
        try:
            find_card(card, near=path)
        except CoachError as err:
            fields.problem("card", str(err))
    return card


def _faults(fields: Fields, regions: Collection[str] | None) -> tuple[Fault, ...]:
    faults: dict[str, Fault] = {}
    for part in fields.sections("faults", ("id", "region", "say", "also", "plan", "plan_words")):
        fault = _fault(part, regions)
        if fault.id in faults:
            part.problem("id", f"'{fault.id}' stands twice; give each fault its own id")
        elif fault.id:
            faults[fault.id] = fault
    return tuple(faults.values())


def _fault(part: Fields, regions: Collection[str] | None) -> Fault:
    part.require_all(_FAULT_REMEDIES)
    region = part.text("region") or ""
    if region and regions is not None and region not in regions:
        part.problem("region", f"the route has no region '{region}'; {hint(region, regions)}")
    if part.has("plan_words") and not part.has("plan"):
        part.problem("plan_words", "there is no plan they could show; add 'plan'")
    return Fault(
        id=part.matching("id", _NAME, _SHAPE) or "",
        region=region,
        say=part.text("say") or "",
        also=part.phrases("also"),
        plan=part.text("plan"),
        plan_words=part.phrases("plan_words"),
    )
