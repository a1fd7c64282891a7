"""`coach transcribe`: what a recording says, word for word, with times and confidences; nothing is judged."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli.listening import add_listener_options, open_wanted, read_sound
from coach.cli.result import AT_FAULT, result_first, tell
from coach.cli.screen import progress_bar
from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.words import TimedWords

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("transcribe", help="write down what a recording says, with times", description=__doc__)
    parser.add_argument("recording", help="sound (wav, mp3, m4a, ogg, flac, the sound of mp4, mov, webm)")
    add_listener_options(parser)
    parser.add_argument("--out", metavar="FILE", help="write a file in place of the screen (.txt, .words.json, .srt, .vtt)")
    parser.add_argument("--each-word", action="store_true", help="a line for each word: start, end, confidence, word")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Listen and write down."""
    from coach.report.transcript import render_screen, render_table

    write = None if args.out is None else _writer(args.out, args.recording)
    sound = read_sound(args.recording)
    listener = open_wanted(args.listener, args.model)
    with progress_bar() as progress:
        heard = listener.transcribe(sound.samples, lambda share: progress("listening", share))
    if not heard.words:
        raise CoachError(f"{args.recording}: no speech found; check that the microphone was on, and play the recording")
    if write is not None:
        try:
            write(heard)
        except CoachError as err:  # what was heard shall not be lost with the file
            tell(err)
            return max(AT_FAULT, result_first(render_screen(heard)))
        return 0
    return result_first(render_table(heard) if args.each_word else render_screen(heard))


def _writer(out: str, recording: str) -> Callable[[TimedWords], None]:
    """What writes that kind of file; anything wrong with the place is told before the long work."""
    from coach.listen.timed_words import write_srt, write_vtt, write_words_json
    from coach.report.files import check_place

    kinds = {".txt": _write_plain, ".json": write_words_json, ".srt": write_srt, ".vtt": write_vtt}
    path = Path(out)
    kind = kinds.get(path.suffix.lower())
    if kind is None:
        raise CoachError(f"{out}: cannot tell what kind of file to write; let it end in .txt, .words.json, .srt or .vtt")
    check_place(path)
    if os.path.exists(recording) and os.path.realpath(recording) == os.path.realpath(path):
        raise CoachError(f"{out}: is the recording itself; give the words a name of their own")
    return lambda words: kind(path, words)


def _write_plain(path: Path, words: TimedWords) -> None:
    from coach.audio.write import replace_file
    from coach.report.transcript import render_plain

    replace_file(path, render_plain(words).encode())
