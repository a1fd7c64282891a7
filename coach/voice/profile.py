"""What is remembered about a member's voice, and its one JSON file in the member's own folder.

`home_dir()/members/<slug>/voice.json`, 0600 in a folder of 0700. No sound is kept, only the figures of one voice check.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from coach.audio.write import replace_file
from coach.errors import CoachError
from coach.history.folders import private_files
from coach.history.members import member_folder, member_name

__all__ = ["FORMAT", "VoiceProfile", "forget_profile", "load_profile", "profile_for", "profile_path", "save_profile"]

FORMAT = "voice-profile/1"
_FILE = "voice.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceProfile:
    """How well one listener heard one member, once.

    misheard: pairs of a trade word and what was written for it ("" for nothing). speed: the share of its speed at which this
    voice is heard best, 1.0 as it is. clipped_share: 0..1. snr_db: voice above noise, None when it could not be told.
    """

    member: str
    date: str  # YYYY-MM-DD
    listener: str
    share_heard: float  # 0..1
    misheard: tuple[tuple[str, str], ...]
    speed: float
    level_dbfs: float
    snr_db: float | None
    clipped_share: float

    def __post_init__(self) -> None:
        if not (0 <= self.share_heard <= 1 and 0 <= self.clipped_share <= 1 and 0.5 <= self.speed <= 2):
            raise ValueError("shares lie between 0 and 1, the speed between 0.5 and 2")


def profile_path(member: str) -> Path:
    """Where the member's profile lies, whether it is there or not."""
    return member_folder(member) / _FILE


def save_profile(profile: VoiceProfile) -> Path:
    """Write it down in place of an older one; return its path.

    Raises:
        CoachError: the folder cannot be made or written to.
    """
    path = profile_path(profile.member)
    with private_files():
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as err:
            raise CoachError(f"{path.parent}: cannot be made ({err.strerror}); set COACH_HOME to a folder of yours") from err
        replace_file(path, (json.dumps(_to_json(profile), ensure_ascii=False, indent=1) + "\n").encode())
    return path


def load_profile(member: str) -> VoiceProfile | None:
    """What is remembered about the member, None when there was no voice check.

    Raises:
        CoachError: there is a profile and it cannot be read.
    """
    path = profile_path(member)
    try:
        return _from_json(json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError) as err:
        raise CoachError(
            f"{path}: is no voice profile that can be read; make it anew: coach voice-check --member {member_name(member)!r}"
        ) from err


def profile_for(member: str | None, listener: str) -> VoiceProfile | None:
    """What is remembered of how this listener hears the member; None for nobody, or when another listener was checked.

    Raises:
        CoachError: as load_profile.
    """
    profile = load_profile(member) if member else None
    return profile if profile and profile.listener == listener else None


def forget_profile(member: str) -> bool:
    """Delete it; say whether there was one.

    Raises:
        CoachError: it may not be deleted.
    """
    path = profile_path(member)
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    except OSError as err:
        raise CoachError(f"{path}: cannot be deleted ({err.strerror}); check that it is yours") from err
    return True


def _to_json(profile: VoiceProfile) -> dict[str, Any]:
    data = asdict(profile)
    misheard = [{"term": term, "heard": heard} for term, heard in profile.misheard]
    return {"format": FORMAT, **data, "misheard": misheard}


def _from_json(data: dict[str, Any]) -> VoiceProfile:
    if data.pop("format") != FORMAT:
        raise ValueError("another format")
    misheard = tuple((str(row["term"]), str(row["heard"])) for row in data.pop("misheard"))
    return VoiceProfile(**data, misheard=misheard)
