"""What a later review makes of a voice check: where hearing is known to be poor, weak evidence becomes `unsure`, never blame.

In: a VoiceProfile. Out: a Caution. Pure. A voice that is heard well changes nothing.
"""

from __future__ import annotations

from coach.judge.caution import Caution
from coach.judge.tokens import singular, words_of_phrase
from coach.voice.profile import VoiceProfile

__all__ = ["FAIR_SHARE", "GOOD_SHARE", "POOR_SHARE", "caution"]

# Shares of the passage heard, from the tables that bench/voice_check.py prints.
GOOD_SHARE = 0.90  # clear voices without noise: nothing to be careful about beyond single words
FAIR_SHARE = 0.75  # noise: words go missing here and there
POOR_SHARE = 0.50  # most of what is said is lost: nobody can be blamed for anything


def caution(profile: VoiceProfile | None, faint: float = 0.0) -> Caution:
    """The care that this voice needs, and that any voice needs with a listener whose faint words are below this confidence."""
    if profile is None:
        return Caution(sure=faint)
    share = profile.share_heard
    terms = {tuple(singular(word) for word in words_of_phrase(term)): heard for term, heard in profile.misheard}
    factor, sure = (1.0, 0.0) if share >= GOOD_SHARE else (0.5, 0.5) if share >= FAIR_SHARE else (0.25, 0.7)
    return Caution(possible_share=factor, sure=max(sure, faint), blame=share >= POOR_SHARE, poor_terms=terms)
