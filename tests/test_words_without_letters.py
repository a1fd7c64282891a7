"""Tokens without a Latin letter, as listeners and subtitles write them: note signs, dots, another script, nothing at all."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from cli_files import BIRD, run, words_file

from coach.interview.hear import judge_answer, make_ear
from coach.interview.model import Kind
from coach.interview.prepare import open_pool
from coach.interview.timing import timing
from coach.judge.verdict import Status
from coach.review import judge_words, load_subject
from coach.words import Hearing, Question, TimedWords, Weighed, Word

ODD = ("\u266a", "...", "\u0413\u0440\u0435\u0431\u0435\u043d\u044c", "\u9d8f\u3002", "", "-", "'s", "\U0001f414")
TEXTS = (*((text,) for text in ODD), ODD, ("\u266a", "\u266a"))


class Scripted:
    """A listener that hears such tokens again and prefers them."""

    name = "whisper"

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> tuple[Weighed, ...]:
        return tuple(Weighed(q, tuple(float(n) for n in range(len(q.wordings)))) for q in questions)

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        return [(Hearing("\u266a comb ...", -1.0), Hearing(" ".join(ODD), -1.0), Hearing("", -2.0)) for _ in spans]


def heard(*texts: str, sure: float | None = 0.3) -> TimedWords:
    words = tuple(Word(text, 0.5 * n, 0.5 * n + 0.4, sure) for n, text in enumerate(texts))
    return TimedWords(words, 0.5 * len(words) + 1)


@pytest.mark.parametrize("listener", [None, Scripted()], ids=["words", "sound"])
@pytest.mark.parametrize("texts", TEXTS)
def test_a_review_of_nothing_else_is_no_rehearsal(texts: tuple[str, ...], listener: Scripted | None) -> None:
    """Nothing counts as said, nothing crashes, from words and by sound."""
    _, judgement = judge_words(heard(*texts), load_subject(BIRD), listener)  # type: ignore[arg-type]
    assert not judgement.is_rehearsal and {v.status for v in judgement.verdicts} <= {Status.SKIPPED, Status.UNSURE}


@pytest.mark.parametrize("listener", [None, Scripted()], ids=["words", "sound"])
def test_between_trade_words_they_change_nothing(listener: Scripted | None) -> None:
    """What is told around them is told all the same."""
    plain = "This is the beak. These are the wattles.".split()
    mixed = [text for word in plain for text in (*ODD, word)]
    found = [judge_words(heard(*texts, sure=0.99), load_subject(BIRD), listener)[1] for texts in (plain, mixed)]  # type: ignore[arg-type]
    told = [{v.id for v in judgement.verdicts if v.status is Status.SAID} for judgement in found]
    assert told[0] == told[1] >= {"head.beak", "head.wattles"}


def test_marks_are_no_words_for_the_pace() -> None:
    """A rehearsal with a note sign after every word is no faster than without."""
    words = [f"word{n}" for n in range(40)]
    marked = TimedWords(
        tuple(Word(t, 0.5 * n + d, 0.5 * n + d + 0.1) for n, w in enumerate(words) for d, t in ((0.0, w), (0.2, "\u266a"))), 25.0
    )
    pace, none = (judge_words(h, load_subject(BIRD))[1].delivery.words_per_minute for h in (marked, heard(*words)))
    assert pace is not None and none is not None and abs(pace - none) < 3


def test_a_subtitle_of_music_is_reviewed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """`coach review` of a subtitle that holds nothing but a note sign: a report on the screen, as JSON and as a page."""
    subtitle = tmp_path / "music.srt"
    subtitle.write_text("1\n00:00:01,000 --> 00:00:09,000\n\u266a\n", encoding="utf-8")
    out, page = tmp_path / "out.json", tmp_path / "page.html"
    ran = run(capsys, "review", str(subtitle), "--bird", BIRD, "--json", str(out), "--page", str(page))
    assert ran.code == 0 and ran.out and not json.loads(out.read_text())["is_rehearsal"]
    words = words_file(tmp_path / "odd.words.json", [{"text": ODD[2], "start": 0, "end": 1}])
    assert run(capsys, "review", words, "--bird", BIRD, "--explain", "head.beak").code == 0


@pytest.mark.parametrize("texts", TEXTS)
def test_an_answer_of_nothing_else_says_nothing(texts: tuple[str, ...]) -> None:
    """In an interview such an answer counts as nothing said, and a note sign is no first word."""
    pool = open_pool(BIRD, None, [])
    question = next(iter(pool.bank.questions.values()))
    if texts != ("'s",) and texts != ODD:
        assert judge_answer(question, heard(*texts), make_ear(pool.bank), Scripted())[1].kind is Kind.SILENT  # type: ignore[arg-type]
    found = timing(heard("\u266a", *texts, "hen"))
    assert found is not None and found.first_word_s != 0.0
