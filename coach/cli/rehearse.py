"""`coach rehearse`: rehearse at the microphone, see where you are, get the report at the end; the take is never lost."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli.asking import ask_choice, ask_yes, can_ask
from coach.cli.listening import add_listener_options
from coach.cli.screen import color_wanted, progress_bar, seconds, width
from coach.cli.takes import mended, subject_of
from coach.errors import CoachError
from coach.knowledge.model import LEVELS

if TYPE_CHECKING:
    from coach.listen.choose import Chosen
    from coach.live.session import Outcome
    from coach.live.takes import Take
    from coach.report.model import Report
    from coach.review import Subject

__all__ = ["add_parser"]

def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("rehearse", help="rehearse at the microphone", description=__doc__)
    parser.add_argument("--bird", required=True, metavar="FILE", help="the member's bird (bird/1 YAML)")
    parser.add_argument("--card", metavar="ID|FILE", help="breed card in place of the bird's own")
    parser.add_argument("--route", metavar="ID|FILE", help="the order to keep: see 'coach route'; default by species")
    parser.add_argument("--level", choices=LEVELS, help="ask only what is asked at this level (default: everything)")
    parser.add_argument("--only", metavar="REGIONS", help="drill these regions only, as in wings,legs")
    parser.add_argument("--member", metavar="NAME", help="who rehearses: kept in the history, and heard with their voice check")
    parser.add_argument("--limit", metavar="TIME", type=seconds, help="stop after this time, as in 4m, 90s or 4:30")
    parser.add_argument("--device", metavar="NAME|NUMBER", help="which microphone (see 'coach devices')")
    parser.add_argument("--big", action="store_true", help="big letters, readable from two metres")
    parser.add_argument("--prompt", action="store_true", help="name the next region after some seconds of silence")
    parser.add_argument("--no-keep", action="store_true", help="keep the report only, not the sound")
    add_listener_options(parser)
    parser.add_argument("--json", metavar="OUT", help="write the report as JSON as well")
    parser.add_argument("--page", metavar="OUT", help="write the report as one HTML page that plays the recording")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Rehearse and print the report."""
    from coach.listen.choose import choose
    from coach.live.drill import drilled
    from coach.voice.profile import load_profile

    subject = drilled(args.bird, args.card, args.route, args.level, args.only)
    chosen = choose(args.listener, args.model)
    if args.member is not None:
        load_profile(args.member)  # one that cannot be read is told now, not after the rehearsal
    _check_places(args)
    if args.listener or args.model:
        print(f"coach: {chosen.why}", file=sys.stderr)
    _offer_interrupted()
    _check_input(args.device)
    return _rehearse(args, subject, chosen)


def _rehearse(args: argparse.Namespace, subject: Subject, chosen: Chosen) -> int:
    from coach.cli.result import keep_report, result_first, usual_times
    from coach.live.takes import finish_take, new_take
    from coach.report.json_file import to_dict, write_json

    usual_s = usual_times(args.member)
    take = new_take(
        args.bird, args.route or subject.route.id, member=args.member, card=args.card, level=args.level, only=args.only
    )
    try:
        outcome = _record(args, subject, chosen, take)
        report = _report(outcome, subject, take, args, usual_s)
    except (KeyboardInterrupt, CoachError):
        _leave(take, keep_sound=not args.no_keep)
        raise
    after: list[Callable[[], object]] = []
    if args.json is not None:
        after.append(partial(write_json, report, Path(args.json)))
    if args.page is not None:
        after.append(partial(_write_page, take, report, Path(args.page)))
    after.append(partial(finish_take, take, to_dict(report), keep_sound=not args.no_keep))
    if args.member is not None and args.only is None:  # a drill would look like a rehearsal with much left out
        after.append(partial(keep_report, report, args.member, "rehearsal"))
    status = result_first(render_report(report), *after)
    if args.no_keep and take.wav.exists():  # its report found no room
        print(f"coach: the sound is still there; remove it with: coach takes delete {take.id}", file=sys.stderr)
    if not args.no_keep:
        print(f"\nThis take is kept: coach takes play, or coach takes delete {take.id}")
    return status


def render_report(report: Report) -> str:
    """The same as `coach review` prints."""
    from coach.report.terminal import render

    return render(report, width=width(), color=color_wanted())


def _record(args: argparse.Namespace, subject: Subject, chosen: Chosen, take: Take) -> Outcome:
    from coach.live.capture import open_capture
    from coach.live.devices import quiet_libraries
    from coach.live.keys import Keys
    from coach.live.screen import open_screen
    from coach.live.session import Plan, rehearse

    plan = Plan(
        subject=subject,
        wav=take.wav,
        open_listener=chosen.open,
        start=partial(open_capture, args.device, take.wav),
        limit_s=args.limit,
        prompts=args.prompt,
        member=args.member,
    )
    with quiet_libraries(), open_screen(args.big) as screen, Keys() as keys:
        return rehearse(plan, screen, keys)


def _report(
    outcome: Outcome, subject: Subject, take: Take, args: argparse.Namespace, usual_s: Mapping[str, float] | None
) -> Report:
    """The report of what was heard on the way, or of the take heard again where listening broke off."""
    from coach.listen.choose import choose
    from coach.report.build import build_report
    from coach.review import review

    if outcome.problem:
        print(f"coach: {outcome.problem}", file=sys.stderr)
    if outcome.unseen:
        print(f"coach: {outcome.unseen}; the recording is whole", file=sys.stderr)
    if outcome.lost_s:
        print(
            f"coach: this computer was too busy to take in all sound; about {max(0.1, outcome.lost_s):.1f} s are missing. "
            "Close other programs",
            file=sys.stderr,
        )
    if outcome.failed is not None and outcome.failed.is_final:
        raise CoachError(outcome.failed.why)
    if outcome.done is None:
        print(f"coach: {outcome.failed.why if outcome.failed else 'listening broke off'}; listening again", file=sys.stderr)
        with progress_bar() as progress:
            return review(str(take.wav), subject, chosen=choose(args.listener, args.model), progress=progress).report
    return build_report(
        outcome.done.words,
        outcome.done.judgement,
        file=take.wav.name,
        listener=outcome.done.listener,
        listener_s=round(outcome.after_s, 3),
        route=subject.route.id,
        card=subject.card.id,
        bird=subject.bird.id,
        bird_name=subject.bird.name,
        breed=" ".join(p for p in (subject.card.variety, subject.card.breed) if p),
        limit_s=args.limit,
        usual_s=usual_s,
    )


def _leave(take: Take, keep_sound: bool) -> None:
    """Something stopped it: a take with sound stays and says how to go on, an empty or unwanted one goes."""
    from coach.live.takes import finish_take

    has_sound = keep_sound and bool(take.seconds())
    finish_take(take, None, keep_sound=has_sound)
    if has_sound:
        print(f"coach: the sound is kept: coach takes review {take.id}", file=sys.stderr)


def _write_page(take: Take, report: Report, path: Path) -> None:
    from coach.audio.read import read
    from coach.audio.write import encode_ogg
    from coach.report.page import write_page

    sound = read(take.wav)
    write_page(report, path, encode_ogg(sound.samples, sound.rate_hz))


def _check_places(args: argparse.Namespace) -> None:
    from coach.report.files import check_place

    for out in (args.json, args.page):
        if out is not None:
            check_place(Path(out))


# --- before it begins -----------------------------------------------------------------------------------------------


def _offer_interrupted() -> None:
    """Takes that a crash or a power cut left behind: review, delete or leave each of them."""
    from coach.cli.result import result_first, tell
    from coach.live.takes import delete_take, finish_take, interrupted
    from coach.report.json_file import to_dict
    from coach.report.phrases import clock
    from coach.review import review

    for take in interrupted():
        what = f"{take.id}: a rehearsal of {clock(take.seconds() or 0.0)} was broken off, its sound is kept"
        if not can_ask():
            print(f"coach: {what}; coach takes review {take.id}", file=sys.stderr)
            continue
        print(what, file=sys.stderr)
        answer = ask_choice("Review it now, delete it, or leave it for later?", ("review", "delete", "later"), "later")
        if answer == "delete":
            delete_take(take.id)
        elif answer == "review":
            try:
                mended(take)
                with progress_bar() as progress:
                    found = review(str(take.wav), subject_of(take), progress=progress)
            except CoachError as err:  # it is still there for another try; today's rehearsal goes on
                tell(err)
                continue
            result_first(render_report(found.report), partial(finish_take, take, to_dict(found.report)))


def _check_input(device: str | None) -> None:
    """Two seconds of the microphone; what is wrong with it is told, and asked about when somebody can answer."""
    from coach.live.check import check_input
    from coach.live.devices import quiet_libraries

    print("Checking the microphone for two seconds: say something ...", file=sys.stderr, flush=True)
    with quiet_libraries():
        found = check_input(device)
    print(f"{found.device}: {found.advice}", file=sys.stderr)
    if not found.is_good and can_ask() and not ask_yes("Begin all the same?", default=True):
        raise CoachError("not begun; try the microphone with: coach devices")
