"""An interview in plain words, for the screen and the page alike. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from coach.interview.model import Answer, Interview, Kind, PointStatus, PointVerdict, Score
from coach.knowledge.questions import Bank
from coach.report.phrases import clock

__all__ = [
    "STATUS_WORDS",
    "PointLine",
    "first_lines",
    "heading",
    "in_short",
    "mean_first_word_s",
    "more_points",
    "point_lines",
    "points_told",
    "source_line",
    "timing_line",
    "verdict_line",
]

STATUS_WORDS = {
    PointStatus.COVERED: "told",
    PointStatus.MISSED: "left out",
    PointStatus.WRONG: "not right",
    PointStatus.UNSURE: "not sure",
}
PointLine = tuple[PointStatus, str, str, int | None]  # status, what was told or is missing, more of it, index of the point


def heading(interview: Interview) -> str:
    """What it was."""
    who = f"{interview.member}: " if interview.member else ""
    what = f"{interview.bird_name}, {interview.breed}" if interview.bird_name else "general questions"
    return f"{who}mock interview, {interview.level} ({what})"


def in_short(interview: Interview) -> list[str]:
    """The figures, a line each."""
    answers = interview.answers
    if not answers:
        return ["No question was answered."]
    told, need, full = points_told(interview)
    lines = [f"{told} of {need} points told; {full} of {len(answers)} questions answered in full"]
    first_s = mean_first_word_s(interview)
    if first_s is not None:
        lines.append(f"{clock(interview.seconds)} in all; the first word came after {first_s:.1f} s on average")
    unsure = sum(p.status is PointStatus.UNSURE for a in answers for p in a.ruled.points)
    if unsure:
        lines.append(f"{unsure} {'point is' if unsure == 1 else 'points are'} not sure: listen to that second before you decide")
    ruled = sum(len(a.rulings) for a in answers)
    if ruled:
        lines.append(f"{ruled} {'point was' if ruled == 1 else 'points were'} marked by hand")
    if interview.ended_early:
        lines.append(f"ended early: {interview.ended_early}")
    return lines


def points_told(interview: Interview) -> tuple[int, int, int]:
    """Points told of those that were needed, and questions answered in full."""
    scores = [(a.ruled, a.question) for a in interview.answers]
    told = sum(min(s.n_covered(), q.need) for s, q in scores)
    return told, sum(q.need for _, q in scores), sum(s.share(q) >= 1 for s, q in scores)


def mean_first_word_s(interview: Interview) -> float | None:
    """Seconds until the first word, on average; None when no answer was timed."""
    firsts = [a.timing.first_word_s for a in interview.answers if a.timing and a.timing.first_word_s is not None]
    return sum(firsts) / len(firsts) if firsts else None


def verdict_line(answer: Answer) -> str:
    """How the question went, in a few words."""
    score, question = answer.ruled, answer.question
    if score.kind is not Kind.ANSWER and score.n_covered() == 0:
        return {
            Kind.DONT_KNOW: "said honestly that the answer is not known",
            Kind.OFF_TOPIC: "spoke of something else",
            Kind.SILENT: "nothing was said",
            Kind.SKIPPED: "skipped",
        }.get(score.kind, "")
    told = min(score.n_covered(), question.need)
    return f"{told} of {question.need}" + (", in full" if told == question.need else "")


def point_lines(answer: Answer, *, every: bool = False) -> list[PointLine]:
    """Points told, wrong or unsure with what was heard, then what is missing (every: also where enough was told)."""
    score, question = answer.ruled, answer.question
    complete = score.share(question) >= 1 and not every
    lines: list[PointLine] = []
    for n, (point, verdict) in enumerate(zip(question.points, score.points, strict=True)):
        if verdict.status is PointStatus.WRONG and verdict.heard:
            lines.append((verdict.status, _heard(answer, verdict), _right(point.tell, verdict), n))
        elif verdict.status is not PointStatus.MISSED or not complete:
            lines.append((verdict.status, point.tell, _detail(answer, score, n), n))
    listed = {m.point for m in score.mistakes if m.point is not None and score.points[m.point].status is PointStatus.WRONG}
    return lines + [
        (PointStatus.WRONG, f"\u201c{_plain(m.heard)}\u201d", m.note, None) for m in score.mistakes if m.point not in listed
    ]


def _right(tell: str, verdict: PointVerdict) -> str:
    note = verdict.note or ""
    return note if note.startswith("right is") or not note else f"right is {tell}: {note}"


def more_points(answer: Answer) -> list[str]:
    """What else could have been said to a complete answer."""
    score, question = answer.ruled, answer.question
    if score.share(question) < 1:
        return []
    return [p.tell for p, v in zip(question.points, score.points, strict=True) if v.status is PointStatus.MISSED]


def timing_line(answer: Answer) -> str:
    """First word, length and silence; empty when nothing was timed."""
    timing = answer.timing
    if timing is None:
        return ""
    if timing.first_word_s is None:
        return f"no word in {timing.seconds:.0f} s"
    silence = f", {timing.silence_s:.1f} s of silence in it" if timing.silence_s >= 1 else ""
    return f"first word after {timing.first_word_s:.1f} s, {timing.seconds:.0f} s long{silence}"


def source_line(answer: Answer, bank: Bank) -> str:
    """Where the right answer comes from; the first source, and how many more."""
    lines = bank.source_lines(answer.question)
    if not lines:
        return ""
    first = "; ".join(p for p in lines[0].split("; ") if not p.startswith("http"))
    more = len(lines) - 1
    return first + (f" (and {more} more)" if more else "")


def _heard(answer: Answer, verdict: PointVerdict) -> str:
    """The member's words and when they came."""
    if not verdict.heard:
        return ""
    when = f" at {clock(verdict.start_s)}" if verdict.start_s is not None and answer.timing is not None else ""
    return f"\u201c{_plain(verdict.heard)}\u201d{when}"


def _detail(answer: Answer, score: Score, n: int) -> str:
    verdict = score.points[n]
    parts = [_heard(answer, verdict), verdict.note or ""]
    if n in score.out_of_order:
        parts.append("told out of order")
    if verdict.ruled:
        parts.append("marked by hand")
    return "; ".join(p for p in parts if p)


def _plain(text: str) -> str:
    return text.rstrip(".,;:?! ")


def first_lines(items: Sequence[str], most: int) -> str:
    """A few of them, and how many more."""
    more = len(items) - most
    return ", ".join(items[:most]) + (f" and {more} more" if more > 0 else "")
