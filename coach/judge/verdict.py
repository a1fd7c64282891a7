"""What the judge decides, as frozen values: one Verdict per item, one Visit list per region, and delivery figures.

A verdict is evidence with a time: whatever is not skipped names its words and when they were said.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["Basis", "Delivery", "Finding", "Judgement", "LongPause", "RegionTime", "Slip", "Status", "Verdict", "Visit"]


class Status(str, Enum):
    """The outcome for one item."""

    SAID = "said"
    SKIPPED = "skipped"
    MISNAMED = "misnamed"
    WRONG = "wrong"
    UNSURE = "unsure"


class Basis(str, Enum):
    """How the words were compared with what was expected."""

    EXACT = "exact"
    SYNONYM = "synonym"
    SOUNDS_LIKE = "sounds like"
    VALUE = "value"
    NOTHING = "nothing heard"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The outcome for one item; heard, start_s and end_s are None only when nothing was heard.

    place_s is where a skipped item should have come: when its region was visited, or the region before it ended.
    line is a sentence the member can say to tell the item; note is a plain remark ("the hen's weight, not the cock's").
    written is what the listener first wrote where the sound decided for other words. late: told only after its region was
    left, in another one.
    """

    id: str
    region: str
    kind: str
    title: str
    required: bool
    status: Status
    expected: str
    heard: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    confidence: float | None = None
    basis: Basis = Basis.NOTHING
    place_s: float | None = None
    line: str = ""
    note: str | None = None
    written: str | None = None
    late: bool = False


@dataclass(frozen=True, slots=True)
class Visit:
    """One unbroken stay in a region."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionTime:
    """How a region went. status is covered, partial or skipped; places count from 1, None when not visited."""

    id: str
    title: str
    status: str
    visits: tuple[Visit, ...]
    expected_place: int
    spoken_place: int | None
    n_told: int
    n_required: int
    words_per_minute: float | None = None  # None where too little was said

    @property
    def seconds(self) -> float:
        """Time spent in the region over all visits."""
        return sum(v.end_s - v.start_s for v in self.visits)


@dataclass(frozen=True, slots=True)
class LongPause:
    """A silence longer than the limit inside the rehearsal."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Slip:
    """A wrong name or value that the member put right at once: told right, worth knowing."""

    item: str
    heard: str
    start_s: float


@dataclass(frozen=True, slots=True)
class Finding:
    """Words to the bird or the judge: counted apart, never a mistake."""

    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """How it was spoken. Rates are None under 15 words or 6 seconds (too little to say).

    fillers are sounds ("um"), filler_words real words that only hold the floor ("like", set apart from the sentence);
    repeats are words or pairs of words said twice at once ("her, her comb").
    """

    words_per_minute: float | None
    articulation_wpm: float | None  # pauses over 0.25 s taken out
    fillers: int
    long_pauses: tuple[LongPause, ...]
    asides: tuple[Finding, ...]
    speaking_s: float
    pace_note: str
    filler_words: int = 0
    repeats: int = 0


@dataclass(frozen=True, slots=True)
class Judgement:
    """Everything the judge says of one rehearsal. is_rehearsal is False for speech that examines no bird."""

    verdicts: tuple[Verdict, ...]
    regions: tuple[RegionTime, ...]
    spoken_order: tuple[str, ...]
    out_of_order: tuple[str, ...]
    delivery: Delivery
    slips: tuple[Slip, ...]
    is_rehearsal: bool
