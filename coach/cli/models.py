"""`coach models`: which speech models are here, what each is good for; fetch one from its publisher, remove one again."""

from __future__ import annotations

import argparse
import os
import shlex
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from coach.cli.screen import width
from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.listen.catalogue import Found, Model
    from coach.listen.choose import Chosen

__all__ = ["add_parser"]

MB = 1_000_000
_PLACES = {"shipped": "comes with coach", "fetched": "fetched", "found": "found"}


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("models", help="speech models: what is here, fetch or remove one", description=__doc__)
    parser.set_defaults(run=run, what="list")
    what = parser.add_subparsers(metavar="WHAT")
    get = what.add_parser("get", help="fetch a model from its publisher over the internet")
    get.add_argument("name", metavar="NAME", help="its name in the list")
    get.set_defaults(what="get")
    remove = what.add_parser("remove", help="remove a fetched model, or what an unfinished fetch left")
    remove.add_argument("name", metavar="NAME", help="its name in the list")
    remove.set_defaults(what="remove")


def run(args: argparse.Namespace) -> int:
    """List, fetch or remove."""
    if args.what == "get":
        return _get(args.name)
    if args.what == "remove":
        return _remove(args.name)
    from coach.listen.catalogue import find_models, load_catalogue, load_test_set

    found = {f.model.name: f for f in find_models()}
    lines = _render_list(load_catalogue().values(), found, _chosen_by_auto(), load_test_set())
    print("\n".join(lines))
    return 0


def _render_list(models: Iterable[Model], found: dict[str, Found], chosen: Chosen | None, test_set: str) -> Iterator[str]:
    models = list(models)
    yield "On this machine:"
    for model in models:
        if model.name in found:
            yield from _render(model, found[model.name], chosen is not None and found[model.name].folder == chosen.folder)
    if chosen is not None and chosen.folder not in {f.folder for f in found.values()}:
        yield from textwrap.wrap(f"'auto' takes {chosen.model} in {chosen.folder}", width(), initial_indent="  ")
    yield ""
    yield "To be had over the internet, with 'coach models get NAME':"
    for model in models:
        if model.name not in found and model.files:
            yield from _render(model, None, False)
    yield ""
    yield from textwrap.wrap(
        f"Errors: words in a hundred that it gets wrong ({test_set}: adults reading books aloud), as published. Children in "
        "a barn are harder, and only the taught model knows the trade's words.",
        width(),
    )


def _render(model: Model, found: Found | None, chosen: bool) -> Iterator[str]:
    from coach.listen.fetch import under_way

    wer = model.wer()
    errors = "not published" if wer is None else f"{wer:g}" + (" before it was taught" if model.taught else "")
    facts = [f"{model.size_mb:,.0f} MB", f"licence {model.licence}", f"errors {errors}"]
    yield f"  {model.name}" + ("   <- 'auto' takes this one" if chosen else "")
    yield from _indented(f"{model.title}. Good for: {model.good_for}.")
    yield from _indented(", ".join(facts))
    if found:
        yield f"      {_PLACES[found.place]}: {found.folder}"
    elif (kept := under_way(model)) > 0:
        yield from _indented(f"begun: {kept / MB:,.1f} MB are here; 'coach models get {model.name}' goes on")


def _indented(text: str) -> list[str]:
    return textwrap.wrap(text, width(), initial_indent=" " * 6, subsequent_indent=" " * 6)


def _chosen_by_auto() -> Chosen | None:
    from coach.listen.choose import choose

    try:
        return choose("auto")
    except CoachError:  # nothing here can listen, as the list shows
        return None


def _named(name: str) -> Model:
    from coach.knowledge.yaml_file import hint
    from coach.listen.catalogue import load_catalogue

    catalogue = load_catalogue()
    if name not in catalogue:
        raise CoachError(f"{name}: there is no model of that name; {hint(name, list(catalogue))}")
    return catalogue[name]


def _get(name: str) -> int:
    from coach.listen.fetch import download_bytes, fetch, under_way

    model = _named(name)
    if model.files:
        kept = under_way(model)
        print(f"{model.name}: {model.title}, licence {model.licence}", file=sys.stderr)
        print(f"fetching {download_bytes(model) / MB:,.1f} MB from", file=sys.stderr)
        for file in model.files:
            print(f"  {file.url}", file=sys.stderr)
        if kept:
            print(f"going on with the {kept / MB:,.1f} MB that are here", file=sys.stderr)
    try:
        with _bar() as tell:
            folder = fetch(model, tell)
    except KeyboardInterrupt:
        again = shlex.join(["coach", "models", "get", name])
        print(f"what came so far is kept; '{again}' goes on from there", file=sys.stderr)
        raise
    for file in model.files:
        print(f"checked: {file.name} SHA-256 {file.sha256}", file=sys.stderr)
    print(folder)
    return 0


def _remove(name: str) -> int:
    from coach.listen.fetch import remove

    freed = remove(_named(name))
    print(f"{name}: removed, {freed / MB:,.1f} MB freed")
    return 0


@contextmanager
def _bar() -> Iterator[Callable[[str, int, int], None]]:
    """A progress bar on stderr while it is a terminal; nothing otherwise."""
    from rich.console import Console
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TimeRemainingColumn, TransferSpeedColumn

    console = Console(stderr=True, no_color=bool(os.environ.get("NO_COLOR")))
    columns = (TextColumn("{task.description}"), BarColumn(), DownloadColumn(), TransferSpeedColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as progress:
        tasks = {}

        def tell(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = progress.add_task(what, total=total)
            progress.update(tasks[what], completed=done, total=total)

        yield tell
