"""What the history keeps of one session, as frozen values: a rehearsal's verdicts and times, or an interview's answers.

No files and no database here. Times are seconds; `when` always carries a time zone. The words that were spoken are not
kept, only what was heard for each item.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from coach.judge.verdict import Status

__all__ = [
    "KINDS",
    "AnswerRow",
    "DeliveryResult",
    "InterviewSession",
    "ItemResult",
    "Overruling",
    "RegionResult",
    "Session",
]

KINDS = ("review", "rehearsal", "interview", "import")


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemResult:
    """One item of one rehearsal. mended: said wrong first and put right at once (it counts as said)."""

    item: str
    region: str
    kind: str
    title: str
    required: bool
    status: Status
    expected: str
    line: str
    heard: str | None = None
    start_s: float | None = None
    mended: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionResult:
    """One body region of one rehearsal; place counts from 1; status is covered, partial or skipped."""

    region: str
    title: str
    place: int
    seconds: float
    status: str
    n_told: int
    n_required: int
    out_of_order: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryResult:
    """How one rehearsal was spoken; words_per_minute is None when too little was said."""

    words_per_minute: float | None
    fillers: int
    long_pauses: int
    speaking_s: float

    @property
    def fillers_per_minute(self) -> float | None:
        """Fillers in a minute of speaking; None when nothing was spoken."""
        return 60 * self.fillers / self.speaking_s if self.speaking_s > 0 else None


@dataclass(frozen=True, slots=True)
class Overruling:
    """A leader's word that stands over the listener's: about what, what the listener had decided, what is true."""

    about: str
    was: str
    now: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerRow:
    """One answer of an interview, with the leader's overrulings already in it.

    share is how much of the answer was there, 0..1; covered, missed and wrong name key points.
    first_word_s is the silence before the first word, None when nothing was said.
    """

    question_id: str
    topic: str
    level: str
    share: float
    covered: tuple[str, ...] = ()
    missed: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    first_word_s: float | None = None
    seconds: float | None = None
    overrulings: tuple[Overruling, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.share <= 1:  # this form also refuses NaN
            raise ValueError(f"answer {self.question_id!r} needs a share from 0 to 1, got {self.share}")


@dataclass(frozen=True, slots=True)
class InterviewSession:
    """One interview of one member, as the interview hands it over. file and seconds are of the recording, if any."""

    when: datetime
    answers: tuple[AnswerRow, ...]
    bird: str = ""
    bird_name: str = ""
    card: str = ""
    breed: str = ""
    file: str = ""
    seconds: float = 0.0
    listener: str = ""


@dataclass(frozen=True, slots=True)
class Session:
    """One session as the store keeps it. digest is the same for the same content; number is the store's, 0 before.

    bird is the bird's id, empty when the session was about none. items, regions and delivery belong to rehearsals,
    answers to interviews.
    """

    kind: str
    when: datetime
    route: str
    card: str
    bird: str
    bird_name: str
    breed: str
    file: str
    seconds: float
    timed: bool
    listener: str
    digest: str
    items: tuple[ItemResult, ...] = ()
    regions: tuple[RegionResult, ...] = ()
    delivery: DeliveryResult | None = None
    answers: tuple[AnswerRow, ...] = ()
    number: int = field(default=0, compare=False)

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"no kind of session {self.kind!r}; one of {', '.join(KINDS)}")
        if self.when.tzinfo is None:
            raise ValueError("a session's date needs a time zone")
        if len({r.place for r in self.regions}) < len(self.regions):
            raise ValueError("two regions of a session have the same place")

    @property
    def asked(self) -> tuple[ItemResult, ...]:
        """The items that had to be told."""
        return tuple(i for i in self.items if i.required)

    @property
    def n_told(self) -> int:
        """How many of the items that had to be told were told."""
        return sum(i.status is Status.SAID for i in self.asked)

    @property
    def n_unsure(self) -> int:
        """How many of them the listener could not decide."""
        return sum(i.status is Status.UNSURE for i in self.asked)

    @property
    def told_share(self) -> float | None:
        """n_told of all asked, as the report counts; None without items."""
        return self.n_told / len(self.asked) if self.asked else None
