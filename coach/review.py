"""The straight way: a recording (or timed words) and a bird go in, a Report comes out.

recording -> audio.read -> listener.transcribe -> judge.spot -> listener.weigh -> judge.repair -> decide -> Report.
The only module beside the commands that knows all rooms; the commands call it with plain values.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from coach.errors import CoachError
from coach.judge.decide import decide
from coach.judge.lexicon import build_lexicon
from coach.judge.repair import Calibration, repair
from coach.judge.settle import settle
from coach.judge.sounds import Pronouncer
from coach.judge.spot import Doubt, spot
from coach.judge.verdict import Judgement
from coach.knowledge.birds import load_bird
from coach.knowledge.calibration import load_calibration
from coach.knowledge.cards import breed_names, find_card, load_card
from coach.knowledge.language import load_language, load_pronunciations
from coach.knowledge.model import Bird, Card, Route
from coach.knowledge.routes import DEFAULT_ROUTE, load_route
from coach.listen.timed_words import WORD_FILES, read_timed_words
from coach.report.build import build_report
from coach.report.model import Report
from coach.words import TimedWords

if TYPE_CHECKING:
    from coach.audio.read import Sound
    from coach.listen.whisper import WhisperListener

__all__ = ["Review", "Subject", "judge_words", "load_subject", "open_listener", "review", "spot_doubts"]

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Subject:
    """What a rehearsal is held against."""

    bird: Bird
    card: Card
    route: Route


@dataclass(frozen=True, slots=True)
class Review:
    """A report, and the sound it was made from (None when words were given)."""

    report: Report
    sound: Sound | None


def load_subject(bird: str, card: str | None = None, route: str | None = None) -> Subject:
    """Bird, card and route by path or id; a card given here takes the place of the bird's own.

    Raises:
        CoachError: any of them cannot be read or is wrong.
    """
    bird_path = Path(bird)
    the_route = load_route(route or DEFAULT_ROUTE)
    regions = [r.id for r in the_route.regions]
    the_bird = load_bird(bird_path, regions=None if route else regions, check_card=card is None)
    return Subject(the_bird, load_card(find_card(card or the_bird.card, near=bird_path)), the_route)


def review(
    recording: str | None,
    subject: Subject,
    *,
    words: str | None = None,
    listener: str | None = None,
    progress: Progress | None = None,
) -> Review:
    """Hear and judge one rehearsal.

    Args:
        recording: path of sound, or of words (.words.json, .srt, .vtt, .txt).
        words: path of timed words in place of listening.
        listener: which listener hears; None for the best that is there.
        progress: told what is going on and the share done, 0..1.
    """
    began = time.monotonic()
    source = words or recording
    if source is None:
        raise CoachError("nothing to review: give a recording, or words with --words FILE.words.json")
    path = Path(source)
    if words or path.suffix.lower() in WORD_FILES:
        sound, name = None, "words"
        heard, judgement = judge_words(read_timed_words(path), subject)
    else:
        sound, name, heard, judgement = _listen(path, subject, listener, progress)
    report = build_report(
        heard,
        judgement,
        file=path.name,
        listener=name,
        listener_s=round(time.monotonic() - began, 3),
        route=subject.route.id,
        card=subject.card.id,
        bird=subject.bird.id,
        bird_name=subject.bird.name,
        breed=" ".join(p for p in (subject.card.variety, subject.card.breed) if p),
        broken_off=sound is not None and sound.truncated,
    )
    return Review(report, sound)


def judge_words(
    heard: TimedWords, subject: Subject, listener: WhisperListener | None = None
) -> tuple[TimedWords, Judgement]:
    """The words as understood, and their judgement.

    Doubtful words are put to the listener that heard them, or without one to how they sound. Read twice: strictly, taking
    only what is likely, and generously, taking what is possible; where only the generous reading excuses, the verdict is unsure.
    """
    doubts = spot_doubts(heard, subject, asks=listener is not None)
    weights = dict(load_calibration(listener.name if listener else "words"))
    bias, accept, possible = (weights.pop(key) for key in ("bias", "accept", "possible"))
    weighed = listener.weigh([d.question for d in doubts]) if listener else None
    strict = repair(heard, doubts, weighed, Calibration(weights, bias, accept))
    generous = repair(heard, doubts, weighed, Calibration(weights, bias, possible))
    judgement = _decide(strict, subject)
    return strict, judgement if generous == strict else settle(judgement, _decide(generous, subject))


def _decide(heard: TimedWords, subject: Subject) -> Judgement:
    return decide(heard, subject.route, subject.card, subject.bird, breed_names())


def spot_doubts(heard: TimedWords, subject: Subject, *, asks: bool) -> tuple[Doubt, ...]:
    """The doubtful places of a rehearsal; asks: there is sound that can be asked."""
    language = load_language()
    lexicon = build_lexicon(subject.route, subject.card, subject.bird, language, breed_names())
    pronouncer = Pronouncer({**load_pronunciations(), **subject.card.sounds_like})
    return spot(heard, lexicon, language, pronouncer, asks=asks)


def open_listener(name: str | None = None) -> WhisperListener:
    """The listener of that name, or the best that is there.

    Raises:
        CoachError: there is none, or it cannot be loaded.
    """
    from coach.listen.whisper import WhisperListener

    return WhisperListener(name)


def _listen(
    path: Path, subject: Subject, listener_name: str | None, progress: Progress | None
) -> tuple[Sound, str, TimedWords, Judgement]:
    from coach.audio.read import read

    sound = read(path)
    listener = open_listener(listener_name)
    heard = listener.transcribe(sound.samples, (lambda share: progress("listening", share)) if progress else None)
    if not heard.words:
        raise CoachError(f"{path}: no speech found; check that the microphone was on, and play the recording")
    return sound, listener.name, *judge_words(heard, subject, listener)
