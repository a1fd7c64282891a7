"""Asking the sound on the way: doubts about what is final are put to the listener while the member goes on.

A WeighsEarly stands in for its listener when the rehearsal is judged: what was asked before is answered from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypeVar

from coach.words import Hearing, Question, TimedWords, Weighed

if TYPE_CHECKING:
    from numpy import float32
    from numpy.typing import NDArray

    from coach.listen.listener import Listener, Stream
    from coach.review import Subject

__all__ = ["Over", "WeighsEarly"]

Asked = TypeVar("Asked")

SPOTTED_S = 60.0  # doubts are looked for in so much of the last final words; what lies further back was asked before


class Over(Exception):
    """Asking ahead has no more use."""


class WeighsEarly:
    """A listener that remembers its answers; see coach.listen.listener.Listener. Answers are about one recording."""

    def __init__(self, listener: Listener) -> None:
        self._listener = listener
        self._weighed: dict[Question, Weighed] = {}
        self._heard_again: dict[tuple[float, float], tuple[Hearing, ...]] = {}
        self._is_on_the_way = False
        self._is_over = False

    @property
    def name(self) -> str:
        """The listener's name."""
        return self._listener.name

    def transcribe(self, samples: NDArray[float32], progress: Callable[[float], None] | None = None) -> TimedWords:
        """As the listener's own; nothing is remembered of what was heard before."""
        self._weighed, self._heard_again = {}, {}
        return self._listener.transcribe(samples, progress)

    def stream(self) -> Stream:
        """As the listener's own; nothing is remembered of what was heard before."""
        self._weighed, self._heard_again = {}, {}
        return self._listener.stream()

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        """As the listener's own; only what was never asked is put to the sound."""
        new = list(dict.fromkeys(q for q in questions if q not in self._weighed))
        for batch in self._batches(new, lambda q: (q.from_s, q.to_s)):
            self._check_over()
            self._weighed.update(zip(batch, self._listener.weigh(batch), strict=True))
        return [self._weighed[q] for q in questions]

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        """As the listener's own; only what was never heard again is."""
        new = list(dict.fromkeys(span for span in spans if span not in self._heard_again))
        for batch in self._batches(new, lambda span: span):
            self._check_over()
            self._heard_again.update(zip(batch, self._listener.hear_again(batch), strict=True))
        return [self._heard_again[span] for span in spans]

    def hurry(self) -> None:
        """The rehearsal is over: what is being asked ahead stops at once, what is left is asked by the judge, all together."""
        self._is_over = True

    def _check_over(self) -> None:
        if self._is_over and self._is_on_the_way:
            raise Over

    def _batches(self, asked: Sequence[Asked], window: Callable[[Asked], tuple[float, float]]) -> list[list[Asked]]:
        """What to ask at once: on the way one window after the other, so that a guess of what is said meanwhile never
        waits for long."""
        if not self._is_on_the_way:
            return [list(asked)] if asked else []
        windows: dict[tuple[float, float], list[Asked]] = {}
        for one in asked:
            windows.setdefault(window(one), []).append(one)
        return list(windows.values())

    def ahead(self, final: TimedWords, subject: Subject) -> TimedWords:
        """Ask about the words that are final; the words of the last minute of them as the sound would have them.

        Args:
            final: seconds is how far they reach.
        Raises:
            Over: the rehearsal ended meanwhile.
        """
        from coach.judge.repair import likely, repair
        from coach.knowledge.calibration import load_calibration
        from coach.review import hear_again, spot_doubts

        last = TimedWords(tuple(w for w in final.words if w.start_s >= final.seconds - SPOTTED_S), final.seconds)
        self._is_on_the_way = True
        try:
            doubts = spot_doubts(last, subject, asks=True)
            answers = self.weigh([d.question for d in doubts])
            more = hear_again(last, subject, self)
            answers += self.weigh([d.question for d in more])
        finally:
            self._is_on_the_way = False
        return repair(last, (*doubts, *more), answers, likely(load_calibration(self.name)))
