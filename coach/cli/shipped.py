"""What `coach route` and `coach score` share: list, show, copy and check files of one kind, a club's beside the shipped ones."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from coach.errors import CoachError
from coach.knowledge.yaml_file import load_yaml

__all__ = ["Kind", "add_actions", "check_files"]

_OTHERS = ("bird", "breed-card", "card-sources", "route", "score-sheet", "questions", "question-sources", "question-words")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of file: its word, and what to do with one."""

    word: str  # the command's name
    noun: str  # "route", "score sheet"
    format: str  # what stands in its files after "format:"
    ids: Callable[[], Sequence[str]]
    find: Callable[[str], Path]
    describe: Callable[[str], str]  # id -> a line for the list
    show: Callable[[argparse.Namespace], Iterable[str]]
    problems: Callable[[Path], list[str]]


def add_actions(parser: argparse.ArgumentParser, kind: Kind) -> dict[str, argparse.ArgumentParser]:
    """Add list, show, copy and check to a command; returns their parsers by name."""
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    listing = actions.add_parser("list", help=f"the shipped {kind.noun}s")
    listing.set_defaults(run=lambda args: _print(f"{one:18} {kind.describe(one)}" for one in kind.ids()))
    showing = actions.add_parser("show", help=f"what a {kind.noun} asks for")
    showing.add_argument("name", metavar="ID|FILE")
    showing.set_defaults(run=lambda args: _print(kind.show(args)))
    copying = actions.add_parser("copy", help=f"a copy of a shipped {kind.noun}, with comments, to make your own")
    copying.add_argument("name", metavar="ID")
    copying.add_argument("file", metavar="FILE", help="the new file, such as our-club.yaml")
    copying.set_defaults(run=lambda args: _copy(kind, args.name, Path(args.file)))
    checking = actions.add_parser("check", help="all that is wrong with files or whole folders, with line and remedy")
    checking.add_argument("places", nargs="+", metavar="FILE|FOLDER")
    checking.set_defaults(run=lambda args: check_files(args.places, kind.problems, kind.noun, kind.format))
    return {"list": listing, "show": showing, "copy": copying, "check": checking}


def check_files(places: Sequence[str], problems: Callable[[Path], list[str]], noun: str, format_: str) -> int:
    """Print every problem of every file, a line each, and a sum; exit 0 when all is sound, else 2.

    In a folder, files of another kind (a bird among the cards) are passed over and counted.
    """
    files, passed = _files(places, format_)
    found = {path: problems(path) for path in files}
    _print(line for lines in found.values() for line in lines)
    if passed:
        print(f"{passed} file{'s' * (passed != 1)} of another kind passed over")
    bad = [lines for lines in found.values() if lines]
    if bad:
        n = sum(len(lines) for lines in bad)
        print(f"{n} thing{'s' * (n != 1)} to mend in {len(bad)} of {len(files)} file{'s' * (len(files) != 1)}")
        return 2
    print(f"{files[0]}: the {noun} is sound" if len(files) == 1 else f"all {len(files)} {noun}s are sound")
    return 0


def _files(places: Sequence[str], format_: str) -> tuple[list[Path], int]:
    """The files to check, and how many of a folder are of another kind.

    Raises:
        CoachError: a folder holds no file of this kind.
    """
    files, passed = [], 0
    for place in map(Path, places):
        if not os.path.isdir(place):
            files.append(place)
            continue
        inside = sorted(path for path in place.rglob("*") if path.suffix in (".yaml", ".yml") and os.path.isfile(path))
        mine = [path for path in inside if _may_be(path, format_)]
        if not mine:
            what = f"holds no .yaml file with 'format: {format_}'"
            raise CoachError(f"{place}: {what}; name the folder with your files, or one file")
        files += mine
        passed += len(inside) - len(mine)
    return files, passed


def _may_be(path: Path, format_: str) -> bool:
    """False when the file says that it is of another kind of ours."""
    try:
        said = load_yaml(path).entries.get("format")
    except CoachError:
        return True
    kind = said.text.split("/")[0] if said is not None else ""
    return kind == format_.split("/")[0] or kind not in _OTHERS


def _copy(kind: Kind, name: str, path: Path) -> int:
    from coach.cli.asking import new_file
    from coach.knowledge.copies import copied
    from coach.knowledge.new_file import id_from_name
    from coach.report.files import write_whole

    source = kind.find(name)
    if path.suffix not in (".yaml", ".yml"):
        raise CoachError(f"{path}: the coach knows its files by their ending; name it {path.stem or 'our-club'}.yaml")
    new_file(path, f"coach {kind.word} copy")
    text = copied(source.read_text(encoding="utf-8"), id_from_name(path.stem, "copy"), f"coach {kind.word} check {path.name}")
    write_whole(text, path)
    print(f"{path}: your copy of '{name}'. Edit it, then: coach {kind.word} check {path}")
    return 0


def _print(lines: Iterable[str]) -> int:
    for line in lines:
        print(line)
    return 0
