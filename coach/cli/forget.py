"""`coach forget`: remove everything about a member: sessions, recordings, voice profile, interviews."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from coach.cli.asking import confirmed
from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.history.folders import MemberFiles

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("forget", help="remove everything about a member", description=__doc__)
    parser.add_argument("member", nargs="?", metavar="MEMBER", help="whom to forget")
    parser.add_argument("--no-name", action="store_true", help="forget all that was recorded without a name")
    parser.add_argument("--yes", action="store_true", help="do not ask")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Say what there is, ask, remove, say what was removed."""
    from coach.history.folders import find_files, remove_files
    from coach.history.members import member_name
    from coach.history.store import history_file, open_store

    if (args.member is None) != args.no_name:
        raise CoachError("forget whom? name one member, or use --no-name for what was recorded without a name")
    member = None if args.no_name else member_name(args.member)
    files = find_files(member)
    if not history_file().exists() and not files.folders:
        print("Nothing is kept, so there is nothing to remove.")
        return 0
    with open_store() as store:
        n_sessions = len(store.sessions(member))
        name = member or "whoever gave no name"
        print(f"About {name} there is: {_told(n_sessions, files)}.")
        if (n_sessions or files.folders) and not confirmed("Remove all of it for good?", args.yes, "add --yes to remove it"):
            print("Nothing was removed.")
            return 0
        remove_files(files)
        store.forget(member)
        if not store.wipe_traces():  # also when nothing was found: an earlier try may have been cut short here
            raise CoachError("another coach is using the history; close it and run this again to clear the last traces")
    print(f"Removed: {_told(n_sessions, files)}. Files that you exported, or pages you wrote, are where you put them.")
    return 0


def _told(n_sessions: int, files: MemberFiles) -> str:
    from coach.history.sentences import count
    from coach.report.phrases import join_words

    parts = [
        count(n_sessions, "session"),
        count(len(files.takes), "recorded take"),
        count(len(files.interviews), "recorded interview"),
        "a folder of their own (voice profile)" if files.own else "",
    ]
    found = [p for p in parts if p and not p.startswith("0 ")]
    return join_words(found) if found else "nothing"
