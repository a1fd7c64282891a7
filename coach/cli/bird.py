"""`coach bird`: your own bird. Write its file by answering questions, check files and folders."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from coach.errors import CoachError
from coach.knowledge.model import Card, Fault

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("bird", help="your own bird: new, check", description=__doc__)
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    new = actions.add_parser("new", help="write your bird's file by answering questions")
    new.add_argument("file", nargs="?", metavar="FILE", help="the new file (default: the bird's name, here)")
    new.add_argument("--card", metavar="ID|FILE", help="the breed card, when you know it")
    new.set_defaults(run=_new)
    checking = actions.add_parser("check", help="all that is wrong with files or whole folders, with line and remedy")
    checking.add_argument("places", nargs="+", metavar="FILE|FOLDER")
    checking.set_defaults(run=_check)


def _check(args: argparse.Namespace) -> int:
    from coach.cli.shipped import check_files
    from coach.knowledge.birds import FORMAT

    return check_files(args.places, _problems, "bird", FORMAT)


def _problems(path: Path) -> list[str]:
    """The bird's problems, its faults' regions held against its species' route, and those of a card of its own."""
    from coach.knowledge.birds import bird_problems, load_bird
    from coach.knowledge.cards import card_problems, find_card, load_card
    from coach.knowledge.routes import default_route, load_route

    found = bird_problems(path)
    if found:
        return found
    card = find_card(load_bird(path).card, near=path)
    of_card = card_problems(card)
    if of_card:
        return [f"{path}: its card is at fault: {line}" for line in of_card]
    regions = [region.id for region in load_route(default_route(load_card(card))).regions]
    return bird_problems(path, regions=regions)


def _new(args: argparse.Namespace) -> int:
    from coach.cli.asking import ask, new_file
    from coach.knowledge.new_bird import bird_text
    from coach.knowledge.new_file import id_from_name
    from coach.report.files import write_whole

    if args.file is not None and not args.file.endswith((".yaml", ".yml")):
        raise CoachError(f"{args.file}: a bird is a .yaml file; name it {args.file}.yaml")
    if args.file is not None:
        new_file(Path(args.file), "coach bird new")
    near = Path(args.file or "bird.yaml")
    print("A few questions about your bird. Enter keeps what stands in [brackets].\n", file=sys.stderr)
    name = ask("What is your bird called?", check=_needed)
    bird_id = id_from_name(name, "my-bird")
    if args.file is None:
        args.file = f"{bird_id}.yaml"
        new_file(Path(args.file), "coach bird new")
    card_name = _card_name(args.card, near)
    card = _load(card_name, near)
    sex_age = _sex_age(card)
    faults = _faults(card)
    path = Path(args.file)
    write_whole(bird_text(bird_id, name, card_name, sex_age, faults), path)
    for line in _problems(path):
        print(f"coach: {line}", file=sys.stderr)
    print(f"{path}: your bird. Rehearse aloud, then: coach review RECORDING --bird {path}")
    return 0


def _needed(answer: str) -> str | None:
    return None if answer else "This one is needed."


def _card_name(given: str | None, near: Path) -> str:
    """The id or path of a card that exists; a breed's name is taken for its only card or answered with its cards."""
    from coach.cli.asking import ask
    from coach.knowledge.cards import find_card

    if given is not None:
        find_card(given, near=near)
        return given
    question = "Which breed card? (its id, a breed such as 'buff orpington', or a file)"
    found = ask(question, check=lambda text: _no_card(text, near))
    return _card_of(found, near) or found


def _card_of(text: str, near: Path) -> str | None:
    """The card's id, from an id or path or from words such as "buff orpington"."""
    from coach.knowledge.cards import find_card

    for name in (text, "-".join(text.lower().split())):
        try:
            find_card(name, near=near)
        except CoachError:
            continue
        return name
    return None


def _no_card(text: str, near: Path) -> str | None:
    from coach.knowledge.cards import find_card, shipped_cards

    if not text:
        return "This one is needed; `coach card list` shows the shipped cards."
    if _card_of(text, near):
        return None
    words = text.lower().split()
    fitting = [card_id for card_id in shipped_cards() if all(word in card_id for word in words)]
    if fitting:
        return f"Which of these? {', '.join(fitting)}"
    try:
        find_card("-".join(words), near=near)
    except CoachError as err:
        return f"{err}. A breed that is not there: `coach card new` makes its card."
    return None


def _load(name: str, near: Path) -> Card:
    from coach.knowledge.cards import find_card, load_card

    return load_card(find_card(name, near=near))


def _sex_age(card: Card) -> str:
    from coach.cli.asking import ask_choice
    from coach.knowledge.species import sex_age_words

    words = [forms[0] for forms in sex_age_words(card.species).values()]
    return ask_choice("Which is it? Old ones are a year or more", words, words[-1])


def _faults(card: Card) -> list[Fault]:
    from coach.cli.asking import ask, ask_choice
    from coach.knowledge.new_bird import fault_id
    from coach.knowledge.routes import default_route, load_route

    regions = [region.id for region in load_route(default_route(card)).regions]
    found: list[Fault] = []
    question = "\nIs there an honest fault that you want to point out? Say it as you would (enter: none)"
    while say := ask(question):
        region = ask_choice("  Where is it seen?", regions, _guess(say, regions))
        also = _phrases(ask("  Other words for it, commas between (enter: none)"))
        plan = ask("  What do you plan to do about it? (enter: nothing)")
        words = _phrases(ask("  Which words of that show you told the plan? Commas between", plan)) if plan else ()
        found.append(Fault(fault_id(say, [fault.id for fault in found]), region, say, also, plan or None, words))
        question = "\nAnother fault? (enter: none)"
    return found


_PLACES = {"head": ("comb", "eye", "beak", "bill", "wattle", "earlobe", "sprig"), "legs": ("toe", "shank", "leg", "foot", "spur"),
           "wings": ("wing", "flight", "primary", "primaries"), "tail": ("tail", "sickle"), "breast": ("keel", "breast"),
           "back": ("back", "saddle", "undercolor"), "neck": ("neck", "hackle")}  # fmt: skip


def _guess(say: str, regions: Sequence[str]) -> str:
    """The region whose parts the words name, else the first after the opening."""
    named = [region for region, parts in _PLACES.items() if region in regions and any(part in say.lower() for part in parts)]
    return named[0] if named else regions[min(1, len(regions) - 1)]


def _phrases(text: str) -> tuple[str, ...]:
    tidy: Callable[[str], str] = lambda part: " ".join(part.split())  # noqa: E731
    return tuple(phrase for part in text.split(",") if (phrase := tidy(part)))
