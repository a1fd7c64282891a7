"""`coach keep`: how long recordings are kept; older ones are shown, and removed when you say yes."""

from __future__ import annotations

import argparse
from datetime import datetime

from coach.cli.asking import confirmed
from coach.cli.whose import days
from coach.errors import CoachError

__all__ = ["add_parser"]

SETTING = "recordings_days"
FOREVER = "forever"
SHOWN = 10


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("keep", help="how long recordings are kept", description=__doc__)
    parser.add_argument("--recordings", metavar="DAYS", help="keep sound this long: 30d, 8w, or forever (as it is at first)")
    parser.add_argument("--yes", action="store_true", help="remove what is older without asking")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Set what was asked, then show what is older and remove it if wanted."""
    from coach.history.folders import old_recordings, remove_recordings
    from coach.history.sentences import count, day
    from coach.history.store import history_file, open_store

    limit = _limit(args.recordings) if args.recordings is not None else None
    if args.recordings is None and not history_file().exists():
        print("Recordings are kept until you remove them. To change that: coach keep --recordings 30d")
        return 0
    with open_store() as store:
        if args.recordings is not None:
            store.set(SETTING, str(limit) if limit else None)
        kept = store.setting(SETTING)
    if kept is None:
        print("Recordings are kept until you remove them. To change that: coach keep --recordings 30d")
        return 0
    old = old_recordings(int(kept), datetime.now().astimezone())
    print(f"Recordings are kept for {count(int(kept), 'day')}. Older than that: {count(len(old), 'recording')}.")
    for recording in old[:SHOWN]:
        print(f"  {day(recording.made)}  {recording.n_bytes / 1e6:6.1f} MB  {recording.path}")
    if len(old) > SHOWN:
        print(f"  and {len(old) - SHOWN} more")
    if old and confirmed("Remove them? Reports and progress stay.", args.yes, "add --yes to remove them"):
        remove_recordings(old)
        print(f"Removed: {count(len(old), 'recording')}.")
    return 0


def _limit(text: str) -> int | None:
    """Days, or None for ever."""
    if text.strip().lower() == FOREVER:
        return None
    found = days(text)
    if not found:
        raise CoachError(f"not a length to keep recordings: {text!r}; write 30d, 8w or forever")
    return found
