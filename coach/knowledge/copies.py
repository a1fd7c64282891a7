"""A club's own copy of a shipped YAML file: the same text and comments under a new id, with a heading that says what to do.

Text in, text out.
"""

from __future__ import annotations

import re

__all__ = ["copied"]


def copied(text: str, new_id: str, check_with: str) -> str:
    """The text with its first top-level `id:` replaced, under a heading for the person who edits it.

    Args:
        check_with: the command that checks the file, shown in the heading.
    """
    heading = f"# Your own copy: change what you like and leave the rest. Then check it: {check_with}\n#\n"
    return heading + re.sub(r"^id:.*$", f"id: {new_id}", text, count=1, flags=re.MULTILINE)
