"""Scoring an answer: which key points of the question the words cover, miss or get wrong. Pure.

In: a question and timed words. Out: a Score. The last word counts: "six, sorry, five" is five.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from coach.interview.amounts import Amount, amounts, is_comparable, is_right
from coach.interview.forms import find_forms, is_denied, parse_form, stem
from coach.interview.heads import stretches
from coach.interview.model import Kind, Mistake, PointStatus, PointVerdict, Score
from coach.judge.tokens import Sentence, sentences
from coach.knowledge.language import load_language
from coach.knowledge.questions import KeyPoint, Number, Question, WrongAnswer
from coach.words import TimedWords, Word

__all__ = ["score", "settle", "skipped", "with_rulings"]

TAKEN_BACK = 3  # a correction so many words after a value takes it back
PUT_RIGHT = 8  # when what is right comes so many words after the correction
FEW_WORDS = 4  # shorter answers are never off topic
_NOT_KNOWING = (
    *("i do not know", "i dont know", "dunno", "no idea", "not sure", "i forget", "i forgot", "can not remember"),
    *("do not remember", "no clue", "i am not sure", "have not learned", "pass on that", "do not have any idea"),
)
_EVERYDAY = frozenset(
    "i a the is are it and to of in that she he they you we my chicken bird hen egg one have has do not no yes so like what "
    "for with on when because think um uh would well her his them there can be this think know just really about".split()
)


@dataclass(frozen=True, slots=True)
class _Found:
    """Evidence in one sentence: tokens first to last (included), counted over the whole answer."""

    first: int
    last: int
    denied: bool = False


@dataclass(frozen=True, slots=True)
class _Said:
    """The answer as sentences, with the number of the first token of each, and all tokens in a row."""

    words: Sequence[Word]
    split: tuple[Sentence, ...]
    starts: tuple[int, ...]
    corrections: tuple[tuple[int, int], ...]

    def text(self, found: _Found) -> str:
        """The member's own words."""
        tokens = [t for s in self.split for t in s][found.first : found.last + 1]
        return " ".join(w.text for w in self.words[tokens[0].first : tokens[-1].last + 1])

    def times(self, found: _Found) -> tuple[float, float]:
        """Start and end in seconds."""
        tokens = [t for s in self.split for t in s][found.first : found.last + 1]
        return self.words[tokens[0].first].start_s, self.words[tokens[-1].last].end_s


def score(question: Question, heard: TimedWords) -> Score:
    """Hold an answer against its question."""
    said = _read(heard)
    wrongs = [_wrong_evidence(w, said) for w in question.wrong]
    covered = [_point_evidence(p, question, said) for p in question.points]
    numbers = _number_verdicts(question, said)
    mistakes: list[Mistake] = []
    for wrong, evidence in zip(question.wrong, wrongs, strict=True):
        stands = [e for e in evidence if not e.denied and not _taken_back(e, said, covered)]
        if stands and not _only_repeats(stands[0], covered):
            start_s, end_s = said.times(stands[0])
            mistakes.append(
                Mistake(heard=said.text(stands[0]), note=wrong.note, start_s=start_s, end_s=end_s, point=_place(wrong))
            )
    points = tuple(numbers[n] or _verdict(evidence, said, wrongs, mistakes, n) for n, evidence in enumerate(covered))
    points, mistakes = _blame(question, points, mistakes)
    kind = _kind(question, said, points, mistakes)
    if kind is not Kind.ANSWER:
        mistakes = []
    return Score(kind, points, tuple(mistakes), _out_of_order(question, points))


def skipped(question: Question) -> Score:
    """The score of a question that nobody answered."""
    return Score(Kind.SKIPPED, tuple(PointVerdict(PointStatus.MISSED) for _ in question.points))


def settle(strict: Score, generous: Score) -> Score:
    """The strict score, doubtful where a generous reading of the same sound says otherwise.

    A point that only the generous reading covers is unsure; a mistake that it does not share is dropped.
    """
    points = tuple(
        replace(g, status=PointStatus.UNSURE, note="perhaps said: listen to that second")
        if g.status is PointStatus.COVERED and s.status is not PointStatus.COVERED
        else s
        for s, g in zip(strict.points, generous.points, strict=True)
    )
    notes = {m.note for m in generous.mistakes}
    mistakes = tuple(m for m in strict.mistakes if m.note in notes)
    kind = strict.kind
    if any(p.status is PointStatus.UNSURE for p in points):
        kind = Kind.ANSWER
    return Score(kind, points, mistakes, strict.out_of_order)


def with_rulings(question: Question, score: Score, rulings: Mapping[int, PointStatus]) -> Score:
    """The score with the leader's word in the place of ours."""
    points = tuple(
        replace(p, status=rulings[n], ruled=True, note=None) if n in rulings else p for n, p in enumerate(score.points)
    )
    covered = {n for n, p in enumerate(points) if p.status is PointStatus.COVERED}
    mistakes = tuple(m for m in score.mistakes if m.point is None or m.point not in rulings or m.point not in covered)
    kind = Kind.ANSWER if rulings and score.kind is not Kind.SKIPPED else score.kind
    out = tuple(n for n in score.out_of_order if n not in rulings)
    return Score(kind, points, mistakes, out)


def _read(heard: TimedWords) -> _Said:
    split = sentences(heard)
    fillers = load_language().fillers
    split = tuple(s for s in (tuple(t for t in s if t.text not in fillers) for s in split) if s)
    starts, at = [], 0
    for sentence in split:
        starts.append(at)
        at += len(sentence)
    row = [t.text for s in split for t in s]
    firsts = set(starts)
    corrections = [
        (n, n + len(cue))
        for cue in _corrections()
        for n in range(1, len(row) - len(cue) + 1)
        if tuple(row[n : n + len(cue)]) == cue and (cue != ("no",) or n in firsts or _before_comma(split, n))
    ]
    return _Said(heard.words, split, tuple(starts), tuple(corrections))


def _before_comma(split: Sequence[Sentence], n: int) -> bool:
    """A "no" set off by marks takes back; one within a statement denies."""
    tokens = [t for s in split for t in s]
    return tokens[n - 1].comma or tokens[n].comma


def _corrections() -> list[tuple[str, ...]]:
    return [
        tuple(c.split()) for c in load_language().corrections if c not in ("actually", "wait", "excuse me", "not that", "no i")
    ]


def _point_evidence(point: KeyPoint, question: Question, said: _Said) -> list[_Found]:
    heads = [h for p in question.points for h in p.of]
    found: list[_Found] = []
    for start, part in _parts(point.of, heads, said):
        found += [_Found(start + m.first, start + m.last, m.denied) for m in find_forms(point.say, part)]
    return found


def _wrong_evidence(wrong: WrongAnswer, said: _Said) -> list[_Found]:
    found = []
    for start, sentence in zip(said.starts, said.split, strict=True):
        found += [_Found(start + m.first, start + m.last, m.denied) for m in find_forms(wrong.say, sentence)]
        if wrong.number is not None:
            for a in amounts([t.text for t in sentence]):
                if is_right(a, wrong.number) and (a.unit is not None or a.low != 1):
                    found.append(_Found(start + a.start, start + a.end - 1))
    return found


def _parts(of: Sequence[str], heads: Sequence[str], said: _Said) -> Iterable[tuple[int, Sentence]]:
    """The sentences, or only the stretches of them that speak of the words in of."""
    if not of:
        return list(zip(said.starts, said.split, strict=True))
    return stretches(of, heads, said.split, said.starts)


def _number_verdicts(question: Question, said: _Said) -> list[PointVerdict | None]:
    """The verdict of every point whose number decides it; None where words decide, or nothing was heard."""
    wanted = [p.number for p in question.points]
    out: list[PointVerdict | None] = []
    for point in question.points:
        if point.number is None:
            out.append(None)
            continue
        mine, others = point.number, [w for w in wanted if w is not None and w is not point.number]
        out.append(_number_verdict(point, mine, others if not point.of else [], question, said))
    return out


def _number_verdict(
    point: KeyPoint, wanted: Number, others: Sequence[Number], question: Question, said: _Said
) -> PointVerdict | None:
    heads = [h for p in question.points for h in p.of]
    found: list[tuple[_Found, Amount]] = []
    for start, part in _parts(point.of, heads, said):
        for a in amounts([t.text for t in part]):
            found.append((_Found(start + a.start, start + a.end - 1, is_denied(part, a.start)), a))
    found = [f for f in found if is_comparable(f[1], wanted)]
    standing = [f for n, f in enumerate(found) if not _replaced(f[0], [g[0] for g in found[n + 1 :]], said)]
    right = [f for f in standing if is_right(f[1], wanted)]
    if any(not f.denied for f, _ in right):
        return _seen(PointStatus.COVERED, next(f for f, _ in right if not f.denied), said)
    if right and not any(not f.denied for f, _ in standing):
        return replace(_seen(PointStatus.WRONG, right[0][0], said), note="you said the opposite")
    if point.say and any(not e.denied for e in _point_evidence(point, question, said)):
        return None
    blamed = [
        f for f in standing
        if not f[0].denied and (f[1].unit is not None or f[1].low != 1) and not any(is_right(f[1], o) for o in others)
    ]  # fmt: skip
    if not blamed or (len(others) and len(standing) < 2 and blamed[0][1].unit is None and not _only_number(question)):
        return None
    return replace(_seen(PointStatus.WRONG, blamed[-1][0], said), note=f"right is {point.tell}")


def _only_number(question: Question) -> bool:
    return sum(p.number is not None for p in question.points) == 1


def _replaced(found: _Found, later: Sequence[_Found], said: _Said) -> bool:
    return any(
        0 < start - found.last <= TAKEN_BACK and any(0 <= f.first - end <= PUT_RIGHT for f in later)
        for start, end in said.corrections
    )


def _verdict(
    evidence: Sequence[_Found], said: _Said, wrongs: Sequence[Sequence[_Found]], mistakes: Sequence[Mistake], n: int
) -> PointVerdict:
    said_so = [e for e in evidence if not e.denied]
    later = [w for found in wrongs for w in found if not w.denied]
    standing = [e for e in said_so if not (_replaced(e, later, said) and any(m.point in (n, None) for m in mistakes))]
    if standing:
        return _seen(PointStatus.COVERED, standing[0], said)
    denied = [e for e in evidence if e.denied]
    if denied:
        return replace(_seen(PointStatus.WRONG, denied[0], said), note="you said the opposite")
    return PointVerdict(PointStatus.MISSED)


def _seen(status: PointStatus, found: _Found, said: _Said) -> PointVerdict:
    start_s, end_s = said.times(found)
    return PointVerdict(status, said.text(found), start_s, end_s)


def _taken_back(found: _Found, said: _Said, covered: Sequence[Sequence[_Found]]) -> bool:
    right = [e for evidence in covered for e in evidence if not e.denied]
    cue = any(0 < start - found.last <= TAKEN_BACK for start, _ in said.corrections)
    return cue and (_replaced(found, right, said) or any(e.first > found.last for e in right) or not right)


def _only_repeats(found: _Found, covered: Sequence[Sequence[_Found]]) -> bool:
    """Whether the wrong words are no more than words of a right statement ("white eggs, not brown" is two)."""
    return any(
        not e.denied and e.first <= found.first and found.last <= e.last and e.last - e.first > found.last - found.first
        for evidence in covered for e in evidence
    )  # fmt: skip


def _place(wrong: WrongAnswer) -> int | None:
    return wrong.point - 1 if wrong.point else None


def _blame(
    question: Question, points: tuple[PointVerdict, ...], mistakes: list[Mistake]
) -> tuple[tuple[PointVerdict, ...], list[Mistake]]:
    """A point that a mistake speaks of and nothing covers is wrong; one point alone takes every mistake."""
    out = list(points)
    kept = []
    for mistake in mistakes:
        n = mistake.point if mistake.point is not None else (0 if len(points) == 1 else None)
        if n is not None and out[n].status is not PointStatus.COVERED:
            out[n] = PointVerdict(PointStatus.WRONG, mistake.heard, mistake.start_s, mistake.end_s, mistake.note)
        kept.append(replace(mistake, point=n))
    return tuple(out), kept


def _kind(question: Question, said: _Said, points: Sequence[PointVerdict], mistakes: Sequence[Mistake]) -> Kind:
    row = [t.text for s in said.split for t in s]
    if not row:
        return Kind.SILENT
    if any(p.status is not PointStatus.MISSED for p in points) or mistakes:
        return Kind.ANSWER
    text = " ".join(row)
    if any(cue in text for cue in _NOT_KNOWING):
        return Kind.DONT_KNOW
    if len(row) < FEW_WORDS:
        return Kind.ANSWER
    vocabulary = _vocabulary(question)
    on_topic = any(stem(w) in vocabulary for w in row if w not in _EVERYDAY)
    return Kind.ANSWER if on_topic else Kind.OFF_TOPIC


def _vocabulary(question: Question) -> frozenset[str]:
    """Stems of what the question and its answers speak of."""
    forms = [f for p in question.points for f in p.say] + [f for w in question.wrong for f in w.say]
    stems = {w for f in forms for slot in parse_form(f) for alternative in slot for w in alternative}
    told = " ".join((question.ask, *(p.tell for p in question.points))).lower().replace(":", " ").replace(",", " ")
    return frozenset(stems | {stem(w.strip(".?!'")) for w in told.split() if len(w) > 3}) - {stem(w) for w in _EVERYDAY}


def _out_of_order(question: Question, points: Sequence[PointVerdict]) -> tuple[int, ...]:
    """Covered points outside the longest run in the expected order."""
    if not question.in_order:
        return ()
    spoken = [n for n, p in enumerate(points) if p.status is PointStatus.COVERED and p.start_s is not None]
    best: dict[int, tuple[int, ...]] = {}
    for n in spoken:
        before = [best[k] for k in best if (points[k].start_s or 0.0) <= (points[n].start_s or 0.0)]
        best[n] = (*max(before, key=len, default=()), n)
    run = max(best.values(), key=len, default=())
    return tuple(n for n in spoken if n not in run)
