"""`coach review`: one rehearsal, heard or given as words, against a bird; a report on the screen and in files."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterable
from pathlib import Path

from coach.cli.screen import color_wanted, progress_bar, width
from coach.errors import CoachError

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("review", help="review a recorded rehearsal", description=__doc__)
    parser.add_argument(
        "recording", nargs="?", help="sound (wav, mp3, m4a, ogg, flac, the sound of mp4, mov, webm) or words"
    )
    parser.add_argument("--bird", required=True, metavar="FILE", help="the member's bird (bird/1 YAML)")
    parser.add_argument("--card", metavar="ID|FILE", help="breed card in place of the bird's own")
    parser.add_argument("--route", metavar="ID|FILE", help="head-to-tail (default), wings-early, vent-late, or a file")
    parser.add_argument("--listener", metavar="NAME", choices=("whisper", "whisper-plain"), help="which listener hears")
    parser.add_argument("--words", metavar="FILE", help="words in place of listening (.words.json, .srt, .vtt, .txt)")
    parser.add_argument("--json", metavar="OUT", help="write the report as JSON")
    parser.add_argument("--page", metavar="OUT", help="write the report as one HTML page that plays the recording")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Review and print."""
    from coach.report.json_file import write_json
    from coach.report.terminal import render
    from coach.review import load_subject, review

    subject = load_subject(args.bird, args.card, args.route)
    inputs = (args.recording, args.words, args.bird, args.card, args.route)
    _check_places([out for out in (args.json, args.page) if out is not None], inputs)
    with progress_bar() as progress:
        done = review(args.recording, subject, words=args.words, listener=args.listener, progress=progress)
    if done.sound is not None and done.sound.truncated:
        print(f"coach: {args.recording}: breaks off or is damaged; this report is of what is left", file=sys.stderr)
    if args.json is not None:
        write_json(done.report, Path(args.json))
    if args.page is not None:
        _write_page(done, Path(args.page))
    sys.stdout.write(render(done.report, width=width(), color=color_wanted()))
    return 0


def _check_places(outputs: Iterable[str], inputs: Iterable[str | None]) -> None:
    """Stop before listening when a report could not be written, or would overwrite what it is made from."""
    from coach.report.files import check_place

    taken = {os.path.realpath(path) for path in inputs if path and os.path.isfile(path)}
    for output in outputs:
        check_place(Path(output))
        if os.path.realpath(output) in taken:
            raise CoachError(f"{output}: is named twice in this command; give the report a name of its own")
        taken.add(os.path.realpath(output))


def _write_page(done, path: Path) -> None:  # type: ignore[no-untyped-def]
    from coach.audio.write import encode_ogg
    from coach.report.page import write_page

    audio = encode_ogg(done.sound.samples, done.sound.rate_hz) if done.sound else None
    write_page(done.report, path, audio)
