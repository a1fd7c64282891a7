"""What the commands about the past share: which member, and since when."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.history.store import Store

__all__ = ["add_member_option", "chosen_member", "days", "kept_history", "parse_since"]

_HOW_TO_START = "coach review RECORDING --bird BIRD.yaml --member NAME"
NAMED = 8  # members in a message
_DAYS = re.compile(r"(\d{1,4})\s*(d|days?|w|weeks?)?")


def add_member_option(parser: argparse.ArgumentParser) -> None:
    """Add --member."""
    parser.add_argument("--member", metavar="NAME", help="whose practice; may be left out when there is only one member")


@contextmanager
def kept_history() -> Iterator[Store]:
    """The history, which must be there already: looking makes none."""
    from coach.history.store import history_file, open_store

    if not history_file().exists():
        raise CoachError(f"nothing is kept yet; practise first with: {_HOW_TO_START}")
    with open_store() as store:
        yield store


def chosen_member(store: Store, name: str | None) -> str | None:
    """The member as kept; without a name whoever gave none, or the only member. None is whoever gave no name.

    Raises:
        CoachError: there is nobody of that name, or it is not clear who is meant.
    """
    from coach.history.members import member_slug
    from coach.knowledge.yaml_file import nearest

    known = store.members()
    named = {member_slug(n): n for n in known if n}
    if name is not None:
        if member_slug(name) in named:
            return named[member_slug(name)]
        close = nearest(name, list(named.values())) or tuple(named.values())
        raise CoachError(f"no member '{name}' in the history; {_named(close) if close else 'nobody gave a name yet'}")
    if not known:
        raise CoachError(f"nothing is kept yet; practise first with: {_HOW_TO_START}")
    if "" in known:
        return None
    if len(known) > 1:
        raise CoachError(f"whose practice? choose one with --member NAME; {_named(known)}")
    return known[0]


def _named(names: Sequence[str]) -> str:
    more = len(names) - NAMED
    return f"known: {', '.join(names[:NAMED])}{f' and {more} more' if more > 0 else ''}"


def parse_since(text: str) -> datetime:
    """A day as 2026-03-01, or so long ago as 30d or 4w; local time."""
    try:
        return datetime.strptime(text, "%Y-%m-%d").astimezone()
    except ValueError:
        found = days(text)
    if found is None:
        raise argparse.ArgumentTypeError(f"not a day: {text!r}; write 2026-03-01, 30d or 4w")
    return datetime.now().astimezone() - timedelta(days=found)


def days(text: str) -> int | None:
    """So many days: "30", "30d", "4 weeks"; None when it is none of that."""
    found = _DAYS.fullmatch(text.strip().lower())
    return int(found[1]) * (7 if (found[2] or "").startswith("w") else 1) if found else None
