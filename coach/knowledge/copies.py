"""A club's own copy of a shipped YAML file: the same text and comments under a new id, with a heading that says what to do.

Text in, text out; `id_from_name` makes an id from a file's name.
"""

from __future__ import annotations

import re

__all__ = ["copied", "id_from_name"]


def id_from_name(stem: str) -> str:
    """A kebab-case id from a file's stem: "Our Club (2026)" becomes "our-club-2026"; "copy" when nothing is left."""
    return "-".join(re.findall(r"[a-z0-9]+", stem.lower())) or "copy"


def copied(text: str, new_id: str, check_with: str) -> str:
    """The text with its first top-level `id:` replaced, under a heading for the person who edits it.

    Args:
        check_with: the command that checks the file, shown in the heading.
    """
    heading = f"# Your own copy: change what you like and leave the rest. Then check it: {check_with}\n#\n"
    return heading + re.sub(r"^id:.*$", f"id: {new_id}", text, count=1, flags=re.MULTILINE)
