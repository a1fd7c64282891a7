"""What a voice check comes to, in words: how well this voice is heard, what is in the way, what would help. Pure."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from coach.audio.levels import Levels
from coach.voice.caution import FAIR_SHARE, GOOD_SHARE, POOR_SHARE
from coach.voice.measure import Reading
from coach.voice.profile import VoiceProfile

__all__ = ["FASTEST_WPM", "advice", "render_check"]

# Common practice, no source: speech is recorded at -30 to -12 dBFS; clipping is heard from one sample in a thousand.
QUIET_DBFS = -35.0
CLIPPED_SHARE = 0.001
LOW_SNR_DB = 15.0
FASTEST_WPM = 190.0
_VERDICTS = ((GOOD_SHARE, "good"), (FAIR_SHARE, "fair"), (POOR_SHARE, "poor"), (0.0, "too poor to go by"))


def advice(profile: VoiceProfile, words_per_minute: float | None) -> tuple[str, ...]:
    """What would help, the surest first; nothing when all is well."""
    return tuple(_advice(profile, words_per_minute))


def _advice(profile: VoiceProfile, words_per_minute: float | None) -> Iterator[str]:
    if profile.clipped_share >= CLIPPED_SHARE:
        yield "The recording is too loud in places: turn the microphone down, or go a little farther from it."
    elif profile.level_dbfs < QUIET_DBFS:
        yield "The recording is quiet: go closer to the microphone (a hand's width or two), or turn it up."
    if profile.snr_db is not None and profile.snr_db < LOW_SNR_DB:
        yield "There is noise around: go closer to the microphone, or to a quieter place (fans, doors, other birds)."
    if words_per_minute is not None and words_per_minute > FASTEST_WPM:
        yield "You read fast: a slower pace is easier to hear, for a judge too."
    if profile.share_heard < GOOD_SHARE:
        yield "A larger speech model may hear you better: see 'coach models'."
    if profile.misheard:
        yield (
            "Say the words above slowly, one by one, when you practise. Until they are heard, a review says 'not sure' "
            "about them sooner than it blames you."
        )


def render_check(profile: VoiceProfile, hearing: Reading, found: Levels, helps: tuple[str, ...], columns: int) -> str:
    """The whole answer for the screen."""
    share = profile.share_heard
    verdict = next(word for least, word in _VERDICTS if share >= least)
    lines = [f"{profile.member}: {hearing.n_right} of {hearing.n_words} words heard right ({share:.0%}): {verdict}."]
    if profile.misheard:
        lines.append("Trade words heard as something else:")
        lines += [f"  {term}: {heard or '(nothing)'}" for term, heard in profile.misheard]
    else:
        lines.append("Every trade word was heard right.")
    if hearing.gaps:
        lines.append("Not heard at all (left out, or lost):")
        lines += [f"  ... {gap} ..." for gap in hearing.gaps]
    snr = "not known" if found.snr_db is None else f"{found.snr_db:.0f} dB over the noise"
    lines.append(f"Level {found.rms_dbfs:.0f} dBFS, {snr}, {_clipping(found.clipped_share)}.")
    if profile.speed != 1.0:
        lines.append(f"This voice is heard better at {profile.speed:g} of its speed; later reviews listen that way.")
    if helps:
        lines.append("What would help:")
        lines += [textwrap.fill(line, columns, initial_indent="  - ", subsequent_indent="    ") for line in helps]
    return "\n".join(lines) + "\n"


def _clipping(share: float) -> str:
    return "no clipping" if share < CLIPPED_SHARE else f"{share:.1%} of it clipped"
