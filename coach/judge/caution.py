"""What cannot accuse anybody: words that the listener hardly believes itself, or that it is known to mishear of this voice.

In: a Caution, a Judgement and the words it was made from. Out: the same Judgement with blame that rests on such words made
unsure. Pure. Nothing is ever credited here: `unsure` asks the member to listen.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from coach.judge.settle import BLAMED, unsure
from coach.judge.tokens import singular, words_of_phrase
from coach.judge.verdict import Basis, Judgement, Status, Verdict
from coach.words import TimedWords, Word

__all__ = ["Caution", "soften"]

_SHORTEST = 3  # letters
_LINKS = frozenset(
    "the and her his she has had was are for all not but its one can now see this that these those they them then there here "
    "have with from over also very just".split()
)
_NEAR_S = 8.0  # a skipped item may have been said so far from where its region was spoken of


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """How to judge with a listener, and a member, whose hearing is known.

    possible_share: of the probability from which a wording excuses (see Calibration) so much; the poorer the hearing, the less.
    sure: a word heard with less confidence than this accuses nobody. blame: False when hearing is too poor for any blame.
    poor_terms: trade words this voice is misheard on, in the singular, each with what was written for it ("" for nothing).
    """

    possible_share: float = 1.0
    sure: float = 0.0
    blame: bool = True
    poor_terms: Mapping[tuple[str, ...], str] = field(default_factory=dict)


def soften(judgement: Judgement, care: Caution, heard: TimedWords) -> Judgement:
    """The judgement with blame that rests on what is known to be misheard made unsure.

    A doubtful word may have been one item, not several: it excuses the first that asks for it. Bonuses are nobody's blame.
    """
    used: set[float] = set()
    verdicts = []
    for verdict in judgement.verdicts:
        softened = _softened(verdict, care, judgement, heard, used) if verdict.required and verdict.status in BLAMED else verdict
        if softened is not verdict and softened.start_s is not None:
            used.add(softened.start_s)
        verdicts.append(softened)
    return replace(judgement, verdicts=tuple(verdicts))


def _softened(verdict: Verdict, care: Caution, judgement: Judgement, heard: TimedWords, used: Collection[float]) -> Verdict:
    forms = [form for term, form in care.poor_terms.items() if _is_asked(term, verdict)]
    if verdict.status is not Status.SKIPPED:
        weak = verdict.confidence is not None and verdict.confidence < (max(care.sure, 0.8) if forms else care.sure)
        known = any(form and _plain(form) == _plain(verdict.heard or "") for form in forms)
        return _unsure(verdict) if weak or known or not care.blame else verdict
    word = next((w for w in _candidates(verdict, care, forms, judgement, heard) if w.start_s not in used), None)
    if word is not None:
        return _unsure(verdict, word)
    return verdict if care.blame else _unsure(verdict)


def _candidates(verdict: Verdict, care: Caution, forms: Iterable[str], judgement: Judgement, heard: TimedWords) -> Iterator[Word]:
    """Words that may have been the item: near its region, and what its term is written as for this voice, or faint."""
    written = {word for form in forms for word in _plain(form) if _tells(word)}
    spans = [(v.start_s, v.end_s) for region in judgement.regions if region.id == verdict.region for v in region.visits]
    if verdict.place_s is not None:
        spans.append((verdict.place_s - _NEAR_S, verdict.place_s + _NEAR_S))
    inside = [w for w in heard.words if any(start_s <= w.start_s <= end_s for start_s, end_s in spans) and w.written is None]
    yield from (w for w in inside if written & set(_plain(w.text)))
    faint = (w for w in inside if w.confidence is not None and w.confidence < care.sure)
    yield from (w for w in faint if any(_tells(word) for word in _plain(w.text)))


def _tells(word: str) -> bool:
    """Whether the word is more than a link between others: an item is hardly ever written as "the" or "this"."""
    return len(word) >= _SHORTEST and word not in _LINKS


def _unsure(verdict: Verdict, word: Word | None = None) -> Verdict:
    if word is None:
        return replace(verdict, status=Status.UNSURE, note=None)
    return unsure(verdict, word.text, word.start_s, word.end_s, word.confidence, Basis.SOUNDS_LIKE)


def _is_asked(term: tuple[str, ...], verdict: Verdict) -> bool:
    """Whether the item asks for the term: its words stand in what was expected."""
    return set(term) <= set(_plain(verdict.expected)) | set(_plain(verdict.title))


def _plain(phrase: str) -> tuple[str, ...]:
    return tuple(singular(word) for word in words_of_phrase(phrase))
