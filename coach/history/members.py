"""Members by nickname: which names are fine, and the folder name ("slug") that stands for one.

Two names with the same slug are the same member: "Ada B." and "ada b" are one person.
"""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from coach.errors import CoachError
from coach.places import home_dir

__all__ = ["MAX_NAME", "member_folder", "member_name", "member_slug"]

MAX_NAME = 40  # characters; a nickname, not a life story
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)")  # names Windows keeps for devices (Microsoft, "Naming Files")


def member_name(name: str) -> str:
    """The name as shown: spaces tidied, composed letters.

    Raises:
        CoachError: it is empty, too long, has unprintable characters, or has no letter or digit.
    """
    tidy = " ".join(unicodedata.normalize("NFKC", name).split())
    if not tidy.isprintable() or len(tidy) > MAX_NAME:
        raise CoachError(f"member {tidy[:MAX_NAME]!r}: not a name I can keep; use at most {MAX_NAME} plain characters")
    if not any(c.isalnum() for c in tidy):
        raise CoachError(f"member {tidy!r}: has no letter or digit; a nickname such as 'robin' is enough")
    return tidy


def member_slug(name: str) -> str:
    """The folder name for a member: small letters and digits of any script, single hyphens; errors as member_name."""
    small = unicodedata.normalize("NFKC", member_name(name).casefold())
    slug = "-".join("".join(c if _is_written(c) else " " for c in small).split())
    return f"{slug}-" if _RESERVED.fullmatch(slug) else slug


def member_folder(name: str, home: Path | None = None) -> Path:
    """Where a member's own files lie (a voice profile, say); not made here."""
    return (home or home_dir()) / "members" / member_slug(name)


def _is_written(character: str) -> bool:
    """A letter, a digit, or a mark that belongs to a letter (vowel signs of many scripts)."""
    return character.isalnum() or unicodedata.category(character).startswith("M")
