"""The voice check: the passage as a member read it goes in, what is to be remembered of this voice comes out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coach.audio.levels import Levels, levels
from coach.errors import CoachError
from coach.judge.delivery import speaking_rate
from coach.voice.fit import MARGIN, SPEEDS, best_speed, slowed
from coach.voice.measure import Reading, measure
from coach.voice.passage import Passage
from coach.voice.profile import VoiceProfile
from coach.words import TimedWords

if TYPE_CHECKING:
    from coach.audio.read import Sound
    from coach.listen.listener import Listener

__all__ = ["LEAST_SHARE", "Checked", "check_voice"]

# With less of the passage than this something else was read, or nobody could hear it: the scripts of the demo rehearsals,
# full of the same words, come to 0.29 to 0.33; the worst reading measured, over a telephone, to 0.37.
LEAST_SHARE = 0.35
_LEAST_WORDS = 20  # ... but where so few words were heard, it was the hearing


@dataclass(frozen=True, slots=True)
class Checked:
    """A voice check: what to remember, what was heard at the chosen speed, the recording's levels, words a minute."""

    profile: VoiceProfile
    hearing: Reading
    levels: Levels
    words_per_minute: float | None


def check_voice(
    member: str,
    sound: Sound,
    listener: Listener,
    passage: Passage,
    date: str,
    progress: Callable[[float], None] | None = None,
) -> Checked:
    """Hear the passage, at other speeds too where that could win, and measure.

    Args:
        member: the member's name.
        sound: the member reading the passage.
        listener: whoever is to hear the member later.
        date: today, YYYY-MM-DD.
        progress: told the share done, 0..1.
    Raises:
        CoachError: what was read is not the passage, or hardly anything was heard.
    """
    tell = progress or (lambda share: None)
    heard = {1.0: listener.transcribe(sound.samples, lambda share: tell(share / len(SPEEDS)))}
    found = {1.0: measure(passage, heard[1.0])}
    _check_read(found[1.0], heard[1.0])
    if found[1.0].share_heard < 1 - MARGIN:  # else nothing can win clearly
        for n, speed in enumerate(SPEEDS[1:], 1):
            slow = slowed(sound.samples, speed)
            heard[speed] = listener.transcribe(slow, lambda share, n=n: tell((n + share) / len(SPEEDS)))  # type: ignore[misc]
            found[speed] = measure(passage, heard[speed])
    speed = best_speed({speed: hearing.share_heard for speed, hearing in found.items()})
    hearing, loud = found[speed], levels(sound.samples, sound.rate_hz)
    profile = VoiceProfile(
        member=member,
        date=date,
        listener=listener.name,
        share_heard=round(hearing.share_heard, 3),
        misheard=tuple((m.term, m.heard) for m in hearing.misheard),
        speed=speed,
        level_dbfs=round(loud.rms_dbfs, 1),
        snr_db=None if loud.snr_db is None else round(loud.snr_db, 1),
        clipped_share=round(loud.clipped_share, 5),
    )
    words = heard[1.0].words
    return Checked(profile, hearing, loud, speaking_rate(len(words), words[-1].end_s - words[0].start_s))


def _check_read(hearing: Reading, heard: TimedWords) -> None:
    if hearing.share_heard >= LEAST_SHARE:
        return
    if len(heard.words) < _LEAST_WORDS:
        raise CoachError(
            f"only {len(heard.words)} words were heard; check that the right microphone is on and near, then read the passage "
            "again"
        )
    raise CoachError(
        f"only {hearing.share_heard:.0%} of the passage was heard; read the passage that 'coach voice-check --show' prints, "
        "all of it and nothing else"
    )
