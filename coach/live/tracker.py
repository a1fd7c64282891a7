"""Where the member is: from the words so far to the region spoken of now and how much of each region was heard.

Pure, and quick enough for every partial: only the last minute is judged again, what was told before stays told.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coach.judge.decide import decide
from coach.judge.verdict import Judgement, Status, Verdict
from coach.knowledge.cards import breed_names
from coach.words import TimedWords, Word

if TYPE_CHECKING:
    from coach.review import Subject

__all__ = ["LiveState", "RegionState", "next_region", "track"]

JUDGED_S = 60.0  # a minute of words (150) was judged in about 0.01 s on a small machine
SETTLED_S = 25.0  # words this old are final: a stretch ends after 12 s
LATEST_WORDS = 12
_EXTRA = {"facts": "Breed facts", "faults": "Own faults"}


@dataclass(frozen=True, slots=True)
class RegionState:
    """What was heard of a region's required items, or of the breed facts, or of the bird's own faults."""

    id: str
    title: str
    n_heard: int
    n_required: int

    @property
    def is_done(self) -> bool:
        """Whether everything required was heard."""
        return self.n_heard >= self.n_required


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveState:
    """The rehearsal at one moment; seconds is how much of the sound was listened to."""

    seconds: float
    now: str | None  # id of the region spoken of last
    regions: tuple[RegionState, ...]  # in expected order, then facts and own faults where there are any
    latest: tuple[str, ...]  # the last words heard
    last_word_s: float | None  # when the last word ended
    heard: frozenset[str] = frozenset()  # ids of items told
    settled: frozenset[str] = frozenset()  # those of them told so long ago that it stands


def track(heard: TimedWords, subject: Subject, before: LiveState | None = None) -> LiveState:
    """The state after these words.

    Args:
        heard: all words so far; the last ones may still change.
        before: the state after fewer words of the same rehearsal.
    """
    judgement = _judge(_last_words(heard, JUDGED_S), heard.seconds, subject)
    said = [v for v in judgement.verdicts if v.status is Status.SAID]
    stands = before.settled if before else frozenset()
    told = stands.union(v.id for v in said)
    settled = stands.union(v.id for v in said if v.end_s is not None and v.end_s < heard.seconds - SETTLED_S)
    return LiveState(
        seconds=heard.seconds,
        now=_now(judgement) or (before.now if before else None),
        regions=tuple(_regions(subject, judgement.verdicts, told)),
        latest=tuple(w.text for w in heard.words[-LATEST_WORDS:]),
        last_word_s=heard.words[-1].end_s if heard.words else None,
        heard=told,
        settled=settled,
    )


def next_region(state: LiveState) -> RegionState | None:
    """The region to go to from here: the first one after the present that is not done, else the first left behind."""
    ids = [r.id for r in state.regions]
    here = ids.index(state.now) + 1 if state.now in ids else 0
    return next((r for r in (*state.regions[here:], *state.regions[:here]) if not r.is_done and r.id != state.now), None)


def _judge(words: Sequence[Word], seconds: float, subject: Subject) -> Judgement:
    return decide(TimedWords(tuple(words), seconds), subject.route, subject.card, subject.bird, breed_names(subject.card.species))


def _last_words(heard: TimedWords, length_s: float) -> Sequence[Word]:
    """The words of the last seconds, from the beginning of a sentence where there is one."""
    words = heard.words
    first = next((n for n, w in enumerate(words) if w.start_s >= heard.seconds - length_s), len(words))
    ends = (n for n in range(first, len(words)) if n and words[n - 1].text[-1:] in (".", "?", "!"))
    return words[next(ends, first) if first else 0 :]


def _now(judgement: Judgement) -> str | None:
    visits = [(visit.end_s, region.id) for region in judgement.regions for visit in region.visits]
    return max(visits)[1] if visits else None


def _regions(subject: Subject, verdicts: Sequence[Verdict], told: frozenset[str]) -> Iterable[RegionState]:
    required = [v for v in verdicts if v.required]
    titles = {r.id: r.title for r in subject.route.regions} | _EXTRA
    for region, title in titles.items():
        mine = [v for v in required if region == ("faults" if v.kind == "fault" else v.region)]
        if mine:
            yield RegionState(region, title, sum(v.id in told for v in mine), len(mine))
