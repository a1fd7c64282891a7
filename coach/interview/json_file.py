"""An interview as JSON (`interview/1`), and as the history takes it. Pure."""

from __future__ import annotations

from typing import Any

from coach.history.model import AnswerRow, InterviewSession, Overruling
from coach.interview.model import Answer, Interview, Kind, PointStatus, Score
from coach.knowledge.questions import CAUTIONS, Bank

__all__ = ["FORMAT", "PRACTICE_ONLY", "cautions", "to_dict", "to_history"]

FORMAT = "interview/1"
PRACTICE_ONLY = "Practice only: your show's own rules, the breed standard and the judge decide."
_UNKEPT = (Kind.SKIPPED,)


def cautions(interview: Interview) -> tuple[str, ...]:
    """What has to be said with the answers, each once."""
    keys = dict.fromkeys(a.question.caution for a in interview.answers if a.question.caution)
    return (*(CAUTIONS[key] for key in keys if key), PRACTICE_ONLY)


def to_dict(interview: Interview, bank: Bank) -> dict[str, Any]:
    """Everything, with what was heard and what the leader ruled side by side."""
    return {
        "format": FORMAT,
        "when": interview.when.isoformat(timespec="seconds"),
        "member": interview.member,
        "bird": interview.bird,
        "bird_name": interview.bird_name,
        "card": interview.card,
        "breed": interview.breed,
        "level": interview.level,
        "listener": interview.listener,
        "seed": interview.seed,
        "asked": interview.asked,
        "seconds": round(interview.seconds, 2),
        "file": interview.file,
        "ended_early": interview.ended_early,
        "answers": [_answer(a, bank) for a in interview.answers],
        "cautions": list(cautions(interview)),
    }


def to_history(interview: Interview) -> InterviewSession:
    """What the history keeps: no words, the leader's rulings as the truth."""
    return InterviewSession(
        when=interview.when,
        answers=tuple(_row(a) for a in interview.answers if a.score.kind not in _UNKEPT),
        bird=interview.bird,
        bird_name=interview.bird_name,
        card=interview.card,
        breed=interview.breed,
        file=interview.file,
        seconds=interview.seconds,
        listener=interview.listener,
    )


def _row(answer: Answer) -> AnswerRow:
    question, score, heard = answer.question, answer.ruled, answer.score
    timing = answer.timing
    return AnswerRow(
        question_id=question.id,
        topic=question.topic,
        level=question.level,
        share=round(score.share(question), 3),
        covered=_told(answer, score, PointStatus.COVERED),
        missed=_told(answer, score, PointStatus.MISSED),
        wrong=_told(answer, score, PointStatus.WRONG),
        first_word_s=timing.first_word_s if timing else None,
        seconds=timing.seconds if timing else None,
        overrulings=tuple(
            Overruling(question.points[n].tell, heard.points[n].status.value, status.value)
            for n, status in sorted(answer.rulings.items())
        ),
    )


def _told(answer: Answer, score: Score, status: PointStatus) -> tuple[str, ...]:
    return tuple(p.tell for p, v in zip(answer.question.points, score.points, strict=True) if v.status is status)


def _answer(answer: Answer, bank: Bank) -> dict[str, Any]:
    question, score, timing = answer.question, answer.ruled, answer.timing
    return {
        "question": question.id,
        "topic": question.topic,
        "level": question.level,
        "ask": question.ask,
        "kind": score.kind.value,
        "share": round(score.share(question), 3),
        "need": question.need,
        "points": [
            {
                "tell": point.tell,
                "status": verdict.status.value,
                "heard_as": heard.status.value,
                "ruled": verdict.ruled,
                "heard": verdict.heard,
                "start": verdict.start_s,
                "end": verdict.end_s,
                "note": verdict.note,
            }
            for point, verdict, heard in zip(question.points, score.points, answer.score.points, strict=True)
        ],
        "mistakes": [{"heard": m.heard, "right": m.note, "start": m.start_s, "end": m.end_s} for m in score.mistakes],
        "out_of_order": [question.points[n].tell for n in score.out_of_order],
        "asked_at": round(answer.asked_s, 2),
        "first_word": timing.first_word_s if timing else None,
        "seconds": timing.seconds if timing else None,
        "silence": timing.silence_s if timing else None,
        "typed": answer.typed,
        "take": answer.take,
        "note": answer.note,
        "words": [{"text": w.text, "start": w.start_s, "end": w.end_s, "confidence": w.confidence} for w in answer.words],
        "sources": list(bank.source_lines(question)),
        "caution": question.caution,
    }
