"""`coach review`: one rehearsal, heard or given as words, against a bird; a report on the screen and in files."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

from coach.cli.asking import check_outputs
from coach.cli.listening import add_listener_options
from coach.cli.screen import color_wanted, progress_bar, seconds, width
from coach.knowledge.model import LEVELS

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("review", help="review a recorded rehearsal", description=__doc__)
    parser.add_argument(
        "recording", nargs="?", help="sound (wav, mp3, m4a, ogg, flac, the sound of mp4, mov, webm) or words"
    )
    parser.add_argument("--bird", required=True, metavar="FILE", help="the member's bird (bird/1 YAML)")
    parser.add_argument("--card", metavar="ID|FILE", help="breed card in place of the bird's own")
    parser.add_argument("--route", metavar="ID|FILE", help="the order to keep: see 'coach route'; default by species")
    parser.add_argument("--level", choices=LEVELS, help="ask only what is asked at this level (default: everything)")
    parser.add_argument("--limit", metavar="TIME", type=seconds, help="the time allowed, as in 4m, 90s or 4:30")
    parser.add_argument("--member", metavar="NAME", help="who rehearsed: kept in the history, and heard with their voice check")
    add_listener_options(parser)
    parser.add_argument("--words", metavar="FILE", help="words in place of listening (.words.json, .srt, .vtt, .txt)")
    parser.add_argument("--json", metavar="OUT", help="write the report as JSON")
    parser.add_argument("--explain", metavar="ITEM", help="tell why one item (such as head.comb_type) was judged as it was")
    parser.add_argument("--score", metavar="SHEET", help="count practice points by a score sheet (see 'coach score')")
    parser.add_argument("--page", metavar="OUT", help="write the report as one HTML page that plays the recording")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Review and print."""
    from coach.cli.result import keep_report, result_first, usual_times
    from coach.judge.score import score
    from coach.knowledge.score_sheets import load_sheet
    from coach.listen.choose import choose
    from coach.report.explain import explain
    from coach.report.json_file import write_json
    from coach.report.score_lines import score_lines
    from coach.report.terminal import render
    from coach.review import load_subject, review

    subject = load_subject(args.bird, args.card, args.route, args.level)
    sheet = load_sheet(args.score, subject.route) if args.score else None
    chosen = None if args.words or _is_words(args.recording) else choose(args.listener, args.model)
    inputs = (args.recording, args.words, args.bird, args.card, args.route)
    check_outputs([out for out in (args.json, args.page) if out is not None], inputs)
    if chosen and (args.listener or args.model):
        print(f"coach: {chosen.why}", file=sys.stderr)
    usual_s = usual_times(args.member)
    with progress_bar() as progress:
        done = review(
            args.recording, subject, words=args.words, chosen=chosen, member=args.member, limit_s=args.limit, usual_s=usual_s,
            progress=progress,
        )  # fmt: skip
    explained = explain(done.report, args.explain) if args.explain else ()
    if done.sound is not None and done.sound.truncated:
        print(f"coach: {args.recording}: breaks off or is damaged; this report is of what is left", file=sys.stderr)
    text = "\n".join((*explained, "")) if explained else render(done.report, width=width(), color=color_wanted())
    if sheet:
        text += "\n".join(("", *score_lines(score(done.report.judgement, sheet), width()), ""))
    after: list[Callable[[], object]] = []
    if args.json is not None:
        after.append(partial(write_json, done.report, Path(args.json)))
    if args.page is not None:
        after.append(partial(_write_page, done, Path(args.page)))
    if args.member is not None:
        after.append(partial(keep_report, done.report, args.member, "review"))
    return result_first(text, *after)


def _is_words(recording: str | None) -> bool:
    from coach.listen.timed_words import WORD_FILES

    return recording is not None and Path(recording).suffix.lower() in WORD_FILES


def _write_page(done, path: Path) -> None:  # type: ignore[no-untyped-def]
    from coach.audio.write import encode_ogg
    from coach.report.page import write_page

    audio = encode_ogg(done.sound.samples, done.sound.rate_hz) if done.sound else None
    write_page(done.report, path, audio)
