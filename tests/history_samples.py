"""Made-up sessions for the history's tests and figures: the shipped route's own items, invented nicknames, fixed seeds."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterable
from datetime import datetime, timedelta, timezone
from functools import cache

from coach.history.model import AnswerRow, DeliveryResult, ItemResult, RegionResult, Session
from coach.judge.verdict import Status
from coach.knowledge.model import Item, Route, Sex
from coach.knowledge.routes import load_route

__all__ = ["START", "interview", "practised", "rehearsal"]

START = datetime(2026, 3, 2, 16, 0, tzinfo=timezone.utc)
TOPICS = ("feeding", "breeds", "health", "eggs")


@cache
def route() -> Route:
    return load_route("head-to-tail")


@cache
def items() -> tuple[Item, ...]:
    return tuple(i for i in route().items if i.sex is not Sex.MALE)


def rehearsal(
    when: datetime = START,
    *,
    missed: Iterable[str] = (),
    wrong: Iterable[str] = (),
    unsure: Iterable[str] = (),
    mended: Iterable[str] = (),
    only: Iterable[str] = (),
    kind: str = "rehearsal",
    bird: str = "juniper",
    card: str = "buff-orpington",
    region_s: float = 8.0,
    pace: float | None = 120.0,
    fillers: int = 3,
) -> Session:
    """A rehearsal in which everything is said but what is named; only: the regions of a drill."""
    status = {
        **dict.fromkeys(missed, Status.SKIPPED),
        **dict.fromkeys(wrong, Status.WRONG),
        **dict.fromkeys(unsure, Status.UNSURE),
    }
    assert set(status) <= {i.id for i in items()}, status
    regions = [r for r in route().regions if not only or r.id in only]
    told = [i for i in items() if not only or i.region in only]
    verdicts = tuple(_verdict(i, status.get(i.id, Status.SAID), i.id in set(mended)) for i in told)
    return Session(
        kind=kind,
        when=when,
        route="head-to-tail",
        card=card,
        bird=bird,
        bird_name=bird.title(),
        breed="Buff Orpington",
        file=f"{bird}.ogg",
        seconds=round(region_s * len(regions), 2),
        timed=True,
        listener="whisper",
        digest=hashlib.sha256(repr((when, status, region_s, pace, bird, kind)).encode()).hexdigest(),
        items=verdicts,
        regions=tuple(_region(r.id, r.title, n, verdicts, region_s) for n, r in enumerate(regions, start=1)),
        delivery=DeliveryResult(words_per_minute=pace, fillers=fillers, long_pauses=1, speaking_s=region_s * len(regions) * 0.8),
    )


def interview(when: datetime = START, shares: Iterable[float] = (1.0, 0.5), level: str = "junior") -> Session:
    """An interview with one answer for each share."""
    answers = tuple(
        AnswerRow(
            question_id=f"question-{n}",
            topic=TOPICS[n % len(TOPICS)],
            level=level,
            share=share,
            covered=("first point",),
            missed=("second point",),
            wrong=(),
            first_word_s=1.2,
            seconds=9.0,
        )
        for n, share in enumerate(shares)
    )
    return Session(
        kind="interview",
        when=when,
        route="",
        card="buff-orpington",
        bird="juniper",
        bird_name="Juniper",
        breed="Buff Orpington",
        file="",
        seconds=60.0,
        timed=True,
        listener="whisper",
        digest=hashlib.sha256(repr((when, answers)).encode()).hexdigest(),
        answers=answers,
    )


def practised(n_sessions: int, seed: int = 1, start: datetime = START) -> list[Session]:
    """A member who gets better: every fourth session an interview, the rest rehearsals, two or three days apart."""
    chance = random.Random(seed)
    sessions = []
    when = start
    for n in range(n_sessions):
        when += timedelta(days=chance.choice((2, 3)), minutes=chance.randrange(90))
        skill = 0.5 + 0.45 * n / max(n_sessions - 1, 1)
        if n % 4 == 3:
            sessions.append(interview(when, [round(min(1.0, skill + chance.uniform(-0.3, 0.2)), 2) for _ in range(8)]))
            continue
        slipped = [i.id for i in items() if chance.random() > skill]
        third = len(slipped) // 3
        sessions.append(
            rehearsal(
                when,
                missed=slipped[third:],
                wrong=slipped[:third],
                region_s=round(chance.uniform(5, 12), 2),
                pace=round(100 + 30 * skill + chance.uniform(-8, 8), 1),
                fillers=chance.randrange(2, 9),
            )
        )
    return sessions


def _verdict(item: Item, status: Status, mended: bool) -> ItemResult:
    heard = {Status.SAID: item.title, Status.WRONG: "something else", Status.UNSURE: "a sound"}.get(status)
    return ItemResult(
        item=item.id,
        region=item.region,
        kind=item.kind.value,
        title=item.title,
        required=not item.optional,
        status=status,
        expected="buff" if item.value else item.title,
        line=item.line.format(value="buff"),
        heard=heard,
        start_s=4.0 if heard else None,
        mended=mended,
    )


def _region(region: str, title: str, place: int, verdicts: tuple[ItemResult, ...], seconds: float) -> RegionResult:
    asked = [v for v in verdicts if v.region == region and v.required]
    told = sum(v.status is Status.SAID for v in asked)
    status = "covered" if told == len(asked) else "partial"
    return RegionResult(
        region=region, title=title, place=place, seconds=seconds + place % 3, status=status, n_told=told, n_required=len(asked)
    )
