"""`coach takes`: the rehearsals recorded with `coach rehearse`: list, play, review again, delete."""

from __future__ import annotations

import argparse
import os
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli.asking import ask_yes
from coach.cli.listening import add_listener_options
from coach.cli.screen import color_wanted, progress_bar, width
from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.live.takes import Take
    from coach.review import Subject

__all__ = ["add_parser", "mended", "subject_of"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its own commands."""
    parser = commands.add_parser("takes", help="list, play, review again, delete recorded rehearsals", description=__doc__)
    parser.set_defaults(run=_list)
    actions = parser.add_subparsers(dest="action", metavar="ACTION")
    actions.add_parser("list", help="show all takes (the same as no action)").set_defaults(run=_list)
    play = actions.add_parser("play", help="play a take's sound")
    play.set_defaults(run=_play)
    review = actions.add_parser("review", help="listen to a take again and store its report, also one that was broken off")
    review.add_argument("--bird", metavar="FILE", help="the bird, where its file has moved")
    add_listener_options(review)
    review.set_defaults(run=_review)
    for action in (play, review):
        action.add_argument("id", nargs="?", default="last", metavar="ID", help="which take; without it the last one")
    delete = actions.add_parser("delete", help="remove takes with their sound and reports for good")
    delete.add_argument("ids", nargs="*", metavar="ID", help="which takes; 'last' is the newest")
    delete.add_argument("--all", action="store_true", dest="is_all", help="all takes")
    delete.add_argument("--yes", action="store_true", help="do not ask")
    delete.set_defaults(run=_delete)


def _list(_args: argparse.Namespace) -> int:
    from coach.live.takes import TakeState, list_takes, takes_dir

    takes = list_takes()
    if not takes:
        print("No takes yet. Record one with: coach rehearse --bird FILE")
        return 0
    rows = [("take", "length", "told", "member", "state"), *(_row(take) for take in takes)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        print("  ".join(cell.ljust(n) for cell, n in zip(row, widths, strict=True)).rstrip())
    print(f"Kept in {takes_dir()}")
    for take in takes:
        if take.state is TakeState.INTERRUPTED and take.seconds():
            print(f"{take.id} was broken off; its sound is kept: coach takes review {take.id}")
    return 0


def _row(take: Take) -> tuple[str, str, str, str, str]:
    member = "".join(c for c in take.member or "-" if c.isprintable())
    return take.id, _length(take), _told(take), member, take.state.value


def _length(take: Take) -> str:
    from coach.report.phrases import clock

    seconds = take.seconds()
    return "no sound" if seconds is None else clock(seconds)


def _told(take: Take) -> str:
    """Required items said, of how many; - without a report."""
    from coach.judge.verdict import Status
    from coach.report.json_file import read_json

    try:
        verdicts = read_json(take.report).judgement.verdicts
    except CoachError:
        return "-"
    required = [v for v in verdicts if v.required]
    return f"{sum(v.status is Status.SAID for v in required)} of {len(required)}"


def _play(args: argparse.Namespace) -> int:
    from coach.audio.read import read
    from coach.live.devices import load_sounddevice, quiet_libraries
    from coach.live.takes import find_take

    take = find_take(args.id)
    if take.seconds() is None:
        raise CoachError(f"{take.id}: its sound was not kept; read its report with: coach takes review {take.id}")
    sound = read(take.wav)
    with quiet_libraries():
        sounddevice = load_sounddevice()
        print(f"{take.id}, {_length(take)}; Ctrl-C stops", file=sys.stderr)
        try:
            sounddevice.play(sound.samples, sound.rate_hz)
            sounddevice.wait()
        except sounddevice.PortAudioError as err:
            raise CoachError(
                f"{take.id}: no loudspeaker can be used ({str(err).splitlines()[0]}); play this file in any player: {take.wav}"
            ) from err
    return 0


def _review(args: argparse.Namespace) -> int:
    from coach.cli.result import result_first
    from coach.listen.choose import choose
    from coach.live.takes import TakeState, find_take, finish_take
    from coach.report.json_file import read_json, to_dict
    from coach.report.terminal import render
    from coach.review import review

    take = find_take(args.id)
    if take.state is TakeState.RECORDING:
        raise CoachError(f"{take.id}: is being recorded now; stop it first")
    if take.seconds() is None:
        if not take.report.exists():
            raise CoachError(f"{take.id}: holds neither sound nor report; remove it with: coach takes delete {take.id}")
        print(f"coach: {take.id}: its sound was not kept; this is its stored report", file=sys.stderr)
        report, after = read_json(take.report), []
    else:
        subject = subject_of(take, args.bird)
        if take.state is not TakeState.DONE:
            mended(take)
        if args.bird:
            bird = os.path.abspath(args.bird)
            take = replace(take, bird=bird, bird_id=subject.bird.id, card=subject.bird.card, route=subject.route.id)
        with progress_bar() as progress:
            report = review(str(take.wav), subject, chosen=choose(args.listener, args.model), progress=progress).report
        after = [partial(finish_take, take, to_dict(report))]
    return result_first(render(report, width=width(), color=color_wanted()), *after)


def mended(take: Take) -> None:
    """Try to make the last half second readable; where the disk takes nothing, the rest is reviewed all the same."""
    from coach.cli.result import tell
    from coach.live.takes import recover

    try:
        recover(take)
    except CoachError as err:
        tell(err)


def subject_of(take: Take, bird: str | None = None) -> Subject:
    """What a take is about, with its level and drill; bird: the file's new place.

    Raises:
        CoachError: it is not there any more, or wrong.
    """
    from coach.live.drill import drilled

    if bird is None and not Path(take.bird).is_file():
        what = f"its bird {take.bird} is not there any more" if take.bird else "its record is damaged"
        raise CoachError(f"{take.id}: {what}; say which bird with --bird FILE")
    return drilled(bird or take.bird, None if bird else take.card, take.route or None, take.level, take.only)


def _delete(args: argparse.Namespace) -> int:
    from coach.live.takes import TakeState, delete_take, find_take, list_takes

    if bool(args.ids) == args.is_all:
        raise CoachError("takes delete: say which takes (coach takes lists them), or --all")
    takes = list({take.id: take for take in map(find_take, args.ids)}.values())
    for take in takes:
        if take.state is TakeState.RECORDING:
            raise CoachError(f"{take.id}: is being recorded now; stop it first")
    if args.is_all:
        takes = [take for take in list_takes() if take.state is not TakeState.RECORDING]
    if not takes:
        print("No takes to delete.")
        return 0
    if not args.yes and not _confirmed(takes):
        print("Nothing was deleted.")
        return 0
    for take in takes:
        held = ", ".join(_held(take)) or "nothing in it"
        delete_take(take.id)
        print(f"Deleted {take.id} ({held})")
    return 0


def _confirmed(takes: list[Take]) -> bool:
    if not sys.stdin.isatty():
        raise CoachError("takes delete: nobody is there to ask; add --yes")
    for take in takes:
        print(f"  {take.id}  {', '.join(_held(take))}", file=sys.stderr)
    what = "this take" if len(takes) == 1 else f"these {len(takes)} takes"
    return ask_yes(f"Delete {what} for good?")


def _held(take: Take) -> list[str]:
    """What a take holds, in words."""
    sound = [f"sound {_length(take)}"] if take.seconds() is not None else []
    return sound + (["report"] if take.report.exists() else [])
