"""The straight way: a recording (or timed words) and a bird go in, a Report comes out.

recording -> audio.read -> listener.transcribe -> judge.spot -> listener.weigh -> judge.repair -> decide -> Report.
The only module beside the commands that knows all rooms; the commands call it with plain values.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from coach.errors import CoachError
from coach.judge.again import second_doubts, span_of, unclear_breaths
from coach.judge.caution import soften
from coach.judge.decide import decide
from coach.judge.doubts import Doubt
from coach.judge.lexicon import Lexicon, build_lexicon
from coach.judge.own_name import restore_name
from coach.judge.reading import read
from coach.judge.repair import likely, possible, repair
from coach.judge.settle import BLAMED, settle
from coach.judge.sounds import Pronouncer
from coach.judge.spot import spot
from coach.judge.verdict import Judgement
from coach.knowledge.birds import check_regions, load_bird
from coach.knowledge.calibration import load_calibration
from coach.knowledge.cards import breed_names, find_card, load_card
from coach.knowledge.language import Language, load_language, load_pronunciations
from coach.knowledge.model import Bird, Card, Route
from coach.knowledge.route_views import at_level
from coach.knowledge.routes import default_route, load_route
from coach.listen.choose import Chosen, choose
from coach.listen.timed_words import WORD_FILES, read_timed_words
from coach.reader.model import load_reader
from coach.report.build import build_report
from coach.report.model import Report
from coach.voice.caution import caution
from coach.voice.fit import FittedListener
from coach.voice.profile import VoiceProfile, profile_for
from coach.words import TimedWords, Weighed

if TYPE_CHECKING:
    from coach.audio.read import Sound
    from coach.listen.listener import Listener

__all__ = ["Review", "Subject", "hear_again", "judge_words", "load_subject", "open_listener", "review", "spot_doubts"]

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


def load_subject(bird: str, card: str | None = None, route: str | None = None, level: str | None = None) -> Subject:
    """Bird, card and route by path or id; a card given here takes the place of the bird's own.

    Without a route it is the card's species that chooses; a level asks less than everything.

    Raises:
        CoachError: any of them cannot be read or is wrong.
    """
    bird_path = Path(bird)
    the_bird = load_bird(bird_path, check_card=card is None)
    the_card = load_card(find_card(card or the_bird.card, near=bird_path))
    the_route = load_route(route or default_route(the_card))
    if route is None:  # a fault's region can only be checked against the route the bird goes by
        check_regions(the_bird, bird_path, [r.id for r in the_route.regions])
    return Subject(the_bird, the_card, at_level(the_route, level) if level else the_route)


def review(
    recording: str | None,
    subject: Subject,
    *,
    words: str | None = None,
    chosen: Chosen | None = None,
    member: str | None = None,
    limit_s: float | None = None,
    usual_s: Mapping[str, float] | None = None,
    progress: Progress | None = None,
) -> Review:
    """Hear and judge one rehearsal.

    Args:
        recording: path of sound, or of words (.words.json, .srt, .vtt, .txt).
        words: path of timed words in place of listening.
        chosen: which listener hears; None for the best that is there.
        member: whose voice it is; what their voice check found is then minded.
        limit_s, usual_s: see build_report.
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
        sound, name, heard, judgement = _listen(path, subject, chosen or choose(), member, progress)
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
        limit_s=limit_s,
        usual_s=usual_s,
    )
    return Review(report, sound)


def judge_words(
    heard: TimedWords,
    subject: Subject,
    listener: Listener | None = None,
    profile: VoiceProfile | None = None,
    progress: Progress | None = None,
) -> tuple[TimedWords, Judgement]:
    """The words as understood, and their judgement.

    Doubtful words are put to the listener that heard them, or without one to how they sound. Where something is still
    blamed, the unclear breaths are heard a second time. Read twice: strictly, taking only what is likely, and generously,
    taking what is possible; where only the generous reading excuses, the verdict is unsure. A profile tells how well the
    listener hears this voice; where that is poor, weak evidence accuses nobody.
    """
    tell = partial(progress, "weighing") if progress else None
    if listener is not None:
        heard = restore_name(heard, subject.bird.name, Pronouncer(load_pronunciations()))
    belief = load_calibration(listener.name if listener else "words")
    care = caution(profile, belief.faint)
    doubts = spot_doubts(heard, subject, asks=listener is not None)
    answers = listener.weigh([d.question for d in doubts], tell) if listener else None
    strict, judgement = _judge_repaired(heard, doubts, answers, subject, listener, care.possible_share)
    if listener and answers is not None and any(v.status in BLAMED and v.required for v in judgement.verdicts):
        more = hear_again(heard, subject, listener)
        if more:
            answers += listener.weigh([d.question for d in more], tell)
            strict, judgement = _judge_repaired(heard, (*doubts, *more), answers, subject, listener, care.possible_share)
    return strict, soften(judgement, care, strict)


def _judge_repaired(
    heard: TimedWords,
    doubts: Sequence[Doubt],
    answers: Sequence[Weighed] | None,
    subject: Subject,
    listener: Listener | None,
    possible_share: float,
) -> tuple[TimedWords, Judgement]:
    name = listener.name if listener else "words"
    belief, by_sound = load_calibration(name), load_calibration(f"{name}-by-sound")
    strict = repair(heard, doubts, answers, likely(belief), likely(by_sound))
    generous = repair(heard, doubts, answers, possible(belief, possible_share), possible(by_sound, possible_share))
    judgement = _decide(strict, subject)
    if generous != strict:
        judgement = settle(judgement, _decide(generous, subject))
    return strict, judgement


def hear_again(heard: TimedWords, subject: Subject, listener: Listener) -> tuple[Doubt, ...]:
    """Doubts from hearing the unclear breaths a second time."""
    unclear = unclear_breaths(heard)
    hearings = listener.hear_again([span_of(heard, breath) for breath in unclear])
    knowledge = _knowledge(subject)
    return second_doubts(heard, unclear, hearings, *knowledge, _told(heard, knowledge))


def _knowledge(subject: Subject) -> tuple[Lexicon, Language, Pronouncer]:
    language = load_language()
    lexicon = build_lexicon(subject.route, subject.card, subject.bird, language, breed_names(subject.card.species))
    return lexicon, language, Pronouncer({**load_pronunciations(), **subject.card.sounds_like})


def _decide(heard: TimedWords, subject: Subject) -> Judgement:
    return decide(heard, subject.route, subject.card, subject.bird, breed_names(subject.card.species))


def spot_doubts(heard: TimedWords, subject: Subject, *, asks: bool) -> tuple[Doubt, ...]:
    """The doubtful places of a rehearsal; asks: there is sound that can be asked."""
    knowledge = _knowledge(subject)
    return spot(heard, *knowledge, _told(heard, knowledge), asks=asks)


def _told(heard: TimedWords, knowledge: tuple[Lexicon, Language, Pronouncer]) -> frozenset[str]:
    lexicon, language, _ = knowledge
    return read(heard, lexicon, language, load_reader()).told


def open_listener(name: str | None = None, model: str | None = None) -> Listener:
    """The listener of that name with that model, or the best that is there.

    Raises:
        CoachError: there is none, or it cannot be loaded.
    """
    return choose(name, model).open()


def _listen(
    path: Path, subject: Subject, chosen: Chosen, member: str | None, progress: Progress | None
) -> tuple[Sound, str, TimedWords, Judgement]:
    from coach.audio.read import read

    sound = read(path)
    listener = chosen.open()
    profile = profile_for(member, listener.name)
    if profile and profile.speed != 1.0:
        listener = FittedListener(listener, profile.speed)
    heard = listener.transcribe(sound.samples, (lambda share: progress("listening", share)) if progress else None)
    if not any(w.is_spoken for w in heard.words):
        raise CoachError(f"{path}: no speech found; check that the microphone was on, and play the recording")
    return sound, listener.name, *judge_words(heard, subject, listener, profile, progress)
