"""What the other rooms call: keep a report or an interview, and ask what a member did before.

record_report(report, member="robin", kind="review", when=datetime.now(timezone.utc)) -> the session's number
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime

from coach.history.model import AnswerRow, DeliveryResult, InterviewSession, ItemResult, RegionResult, Session
from coach.history.progress import region_spreads
from coach.history.store import history_file, open_store
from coach.report.model import Report

__all__ = [
    "PastAnswer",
    "past_answers",
    "record_interview",
    "record_report",
    "session_from_interview",
    "session_from_report",
    "usual_region_seconds",
]

USUAL_OF = 10  # the last sessions that tell what is usual
USUAL_MIN = 3  # with fewer visits nothing is usual yet


@dataclass(frozen=True, slots=True)
class PastAnswer:
    """An answer of an earlier interview, and when it was given."""

    when: datetime
    answer: AnswerRow


def record_report(report: Report, *, member: str | None, kind: str, when: datetime) -> int | None:
    """Keep one rehearsal; the same report again is not doubled.

    Args:
        report: as made by review or rehearse.
        member: nickname; None for whoever gives no name.
        kind: review, rehearsal or import.
        when: when it was spoken, with a time zone.
    Returns:
        The session's number, or None for what is no rehearsal: nothing is then kept.
    Raises:
        CoachError: the name is not fine, or the store cannot be written.
    """
    if not report.judgement.is_rehearsal:
        return None
    with open_store() as store:
        return store.add(session_from_report(report, kind=kind, when=when), member)[0]


def record_interview(interview: InterviewSession, *, member: str | None) -> int | None:
    """Keep one member's interview; None when nothing was answered. Errors as record_report."""
    if not interview.answers:
        return None
    with open_store() as store:
        return store.add(session_from_interview(interview), member)[0]


def past_answers(member: str | None, *, last: int | None = None) -> tuple[PastAnswer, ...]:
    """All answers of a member's (last few) sessions, the oldest first; empty when there are none."""
    if not history_file().exists():
        return ()
    with open_store() as store:
        return tuple(PastAnswer(s.when, a) for s in store.sessions(member, last=last) for a in s.answers)


def usual_region_seconds(member: str | None) -> dict[str, float]:
    """Region id -> median seconds over the member's last ten timed sessions; only regions visited in at least three."""
    if not history_file().exists():
        return {}
    with open_store() as store:
        sessions = [s for s in store.sessions(member) if s.timed and s.regions][-USUAL_OF:]
    return {spread.region: spread.median_s for spread in region_spreads(sessions) if spread.n >= USUAL_MIN}


def session_from_report(report: Report, *, kind: str, when: datetime) -> Session:
    """What the history keeps of a report: everything but the words."""
    judgement = report.judgement
    slips = {s.item for s in judgement.slips}
    return Session(
        kind=kind,
        when=when,
        route=report.route,
        card=report.card,
        bird=report.bird,
        bird_name=report.bird_name,
        breed=report.breed,
        file=report.file,
        seconds=round(report.seconds, 2),
        timed=report.timed,
        listener=report.listener,
        digest=_report_digest(report),
        items=tuple(
            ItemResult(
                item=v.id,
                region=v.region,
                kind=v.kind,
                title=v.title,
                required=v.required,
                status=v.status,
                expected=v.expected,
                line=v.line,
                heard=v.heard,
                start_s=v.start_s if report.timed else None,
                mended=v.id in slips,
            )
            for v in judgement.verdicts
        ),
        regions=tuple(
            RegionResult(
                region=r.id,
                title=r.title,
                place=r.expected_place,
                seconds=round(r.seconds, 2),
                status=r.status,
                n_told=r.n_told,
                n_required=r.n_required,
                out_of_order=r.id in judgement.out_of_order,
            )
            for r in judgement.regions
        ),
        delivery=DeliveryResult(
            words_per_minute=judgement.delivery.words_per_minute,
            fillers=judgement.delivery.fillers,
            long_pauses=len(judgement.delivery.long_pauses),
            speaking_s=judgement.delivery.speaking_s if report.timed else 0.0,
        ),
    )


def session_from_interview(interview: InterviewSession) -> Session:
    """An interview as the history keeps it; its date belongs to what it is, for it has no recording to be known by."""
    content = [interview.when.isoformat(), interview.bird, interview.file, [_plain(a) for a in interview.answers]]
    return Session(
        kind="interview",
        when=interview.when,
        route="",
        card=interview.card,
        bird=interview.bird,
        bird_name=interview.bird_name,
        breed=interview.breed,
        file=interview.file,
        seconds=interview.seconds,
        timed=interview.seconds > 0,
        listener=interview.listener,
        digest=_digest(content),
        answers=interview.answers,
    )


def _report_digest(report: Report) -> str:
    """The same for the same words and verdicts, whatever the file is called, how long the listening took, and what else
    a report tells: its remarks on the member's usual times would differ each time.
    """
    words = [[w.text, round(w.start_s, 3), round(w.end_s, 3)] for w in report.words]
    verdicts = [[v.id, v.status.value, v.heard, v.expected] for v in report.judgement.verdicts]
    about = [report.route, report.card, report.bird, report.listener, round(report.seconds, 2)]
    return _digest([about, words, verdicts])


def _plain(answer: AnswerRow) -> list[object]:
    return [answer.question_id, answer.share, answer.covered, answer.missed, answer.wrong, answer.seconds]


def _digest(content: object) -> str:
    text = json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
