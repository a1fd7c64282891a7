"""`coach card`: breed cards. List and show the shipped ones, make your own by answering questions, check files and folders."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from coach.errors import CoachError

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("card", help="breed cards: list, show, new, check", description=__doc__)
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    listing = actions.add_parser("list", help="the shipped cards")
    listing.add_argument("word", nargs="?", help="only cards with this word in breed, variety, class or species")
    listing.set_defaults(run=_list)
    showing = actions.add_parser("show", help="the facts of one card")
    showing.add_argument("name", metavar="ID|FILE")
    showing.set_defaults(run=_show)
    new = actions.add_parser("new", help="make a card of your own by answering questions")
    new.add_argument("file", nargs="?", metavar="FILE", help="the new file (default: variety-breed.yaml here)")
    new.add_argument("--from", dest="start", metavar="BREED", help="start from a near relative: a breed's name or a card's id")
    new.set_defaults(run=_new)
    checking = actions.add_parser("check", help="all that is wrong with files or whole folders, with line and remedy")
    checking.add_argument("places", nargs="+", metavar="FILE|FOLDER")
    checking.set_defaults(run=_check)


def _list(args: argparse.Namespace) -> int:
    from coach.knowledge.cards import load_card, shipped_cards
    from coach.places import breed_cards_dir

    n = 0
    for card_id in shipped_cards():
        card = load_card(breed_cards_dir() / f"{card_id}.yaml")
        row = f"{card_id:34} {' '.join(p for p in (card.variety, card.breed) if p):34} {card.show_class or card.species}"
        if args.word is None or args.word.lower() in f"{row} {card.species}".lower():
            print(row)
            n += 1
    if not n:
        raise CoachError(f"no card with '{args.word}'; `coach card list` shows them all, `coach card new` makes one")
    return 0


def _show(args: argparse.Namespace) -> int:
    from coach.knowledge.cards import find_card, load_card

    path = find_card(args.name)
    for line in _facts(load_card(path)):
        print(line)
    print("\nCheck these against the current standard before a show.")
    return 0


def _facts(card: Any) -> Iterator[str]:
    """The card's values in words, each with its source keys."""
    from coach.knowledge.new_card import QUESTIONS, answers_of, shown
    from coach.knowledge.species import sex_age_word

    yield " ".join(p for p in (card.variety, card.breed, f"({card.species})") if p)
    answers = answers_of(card) | {f"colors.{name}": list(phrases) for name, phrases in card.colors.items()}
    order = [q.key for q in QUESTIONS] + [key for key in answers if key.startswith("colors.")]
    for key in dict.fromkeys(order):
        if key in answers and key not in ("species", "breed", "variety"):
            group, _, name = key.partition(".")
            label = f"weight of {sex_age_word(card.species, name)}" if group == "weights_lb" else (name or key).replace("_", " ")
            unit = " pounds" if group == "weights_lb" else ""
            yield f"  {label:22} {shown(answers[key])}{unit}  [{', '.join(_sources(card, key, group))}]"
    for name, ounces in card.weights_bantam_oz.items():
        keys = ", ".join(_sources(card, "", "weights_bantam_oz"))
        yield f"  {'bantam ' + sex_age_word(card.species, name):22} {ounces:g} ounces  [{keys}]"
    if card.history:
        yield f"  {'history':22} {card.history}"


def _sources(card: Any, key: str, group: str) -> tuple[str, ...]:
    found: Mapping[str, tuple[str, ...]] = card.sources
    return found.get(key) or found.get(group) or found.get("*") or ("no source",)


def _check(args: argparse.Namespace) -> int:
    from coach.cli.shipped import check_files
    from coach.knowledge.cards import FORMAT, card_problems

    return check_files(args.places, card_problems, "card", FORMAT)


# --- a new card -----------------------------------------------------------------------------------------------------


def _new(args: argparse.Namespace) -> int:
    from coach.cli.asking import new_file
    from coach.knowledge.new_card import LEAVE_OUT, answers_of, card_id, card_text
    from coach.report.files import write_whole

    relative = _relative(args.start) if args.start else None
    start = answers_of(relative) if relative else {}
    if args.file is not None and not args.file.endswith((".yaml", ".yml")):
        raise CoachError(f"{args.file}: a card is a .yaml file; name it {args.file}.yaml")
    if args.file is not None:
        new_file(Path(args.file), "coach card new")
    _say("A few questions about your breed. Enter keeps what stands in [brackets];")
    _say(f"'{LEAVE_OUT}' leaves a value out, and nothing about it will be asked of you.\n")
    if relative:
        _say(f"Starting from {relative.id}.\n")
    answers = _questions(start)
    if args.file is None:
        args.file = f"{card_id(answers)}.yaml"
        new_file(Path(args.file), "coach card new")
    path = Path(args.file)
    text = card_text(path.stem, answers, _unknown_words(answers, relative), _where_read(relative))
    write_whole(text, path)
    print(f"{path}: your card. Look it over, then: coach card check {path}")
    return 0


def _relative(name: str) -> Any:
    """The shipped card of that id, or the first of that breed."""
    from coach.knowledge.cards import find_card, load_card, shipped_cards
    from coach.knowledge.yaml_file import is_path, nearest
    from coach.places import breed_cards_dir

    if is_path(name) or name.lower() in shipped_cards():
        return load_card(find_card(name if is_path(name) else name.lower()))
    cards = [load_card(breed_cards_dir() / f"{card_id}.yaml") for card_id in shipped_cards()]
    same = [card for card in cards if name.lower() in (card.breed.lower(), f"{card.variety} {card.breed}".lower())]
    if not same:
        close = nearest(name, sorted({card.breed for card in cards} | set(shipped_cards())))
        remedy = f"did you mean {' or '.join(close)}?" if close else "`coach card list` shows all"
        raise CoachError(f"no card of the breed '{name}' to start from; {remedy}")
    return same[0]


def _questions(start: Mapping[str, Any]) -> dict[str, Any]:
    from coach.cli.asking import ask
    from coach.knowledge.new_card import LEAVE_OUT, QUESTIONS, applies, asked, parse_answer, shown

    answers: dict[str, Any] = {}
    for question in QUESTIONS:
        species = answers.get("species", "chicken")
        if not applies(question, species):
            continue
        default = shown(start[question.key]) if question.key in start else LEAVE_OUT if not question.needed else ""
        if question.key == "species" and not default:
            default = "chicken"
        answer = ask(asked(question, species), default, lambda text, q=question: _wrong(q, text, answers))  # type: ignore[misc]
        if answer != LEAVE_OUT:
            answers[question.key] = parse_answer(question, answer)
    return answers


def _wrong(question: Any, answer: str, answers: Mapping[str, Any]) -> str | None:
    """What the card reader would say of the answer; None when it is fine."""
    from coach.knowledge.new_card import LEAVE_OUT, card_text, card_text_problems, parse_answer, problems_of_key

    if answer in ("", LEAVE_OUT):
        return "This one is needed." if question.needed else None
    try:
        value = parse_answer(question, answer)
    except ValueError as err:
        return str(err)
    text = card_text("my-card", {"species": "chicken", "breed": "x", **answers, question.key: value}, {}, [])
    found = problems_of_key(card_text_problems("my-card", text), question.key)
    return found[0] if found else None


def _unknown_words(answers: Mapping[str, Any], relative: Any) -> dict[str, str]:
    """How the words sound that no dictionary knows: from the relative's card, else asked one by one."""
    from coach.cli.asking import ask
    from coach.cli.say import how_it_sounds, join
    from coach.judge.sounds import Pronouncer
    from coach.knowledge.language import load_pronunciations
    from coach.knowledge.new_card import LEAVE_OUT, card_words

    known = Pronouncer(load_pronunciations())
    sounds: dict[str, str] = {}

    def check(text: str) -> str | None:
        strange = [part for part in text.split() if text != LEAVE_OUT and not known.knows(part.lower())]
        return f"I do not know {join(strange)} either; use everyday words, as in 'or ping ton'." if strange else None

    for word in card_words(answers):
        if known.knows(word):
            continue
        if relative and word in relative.sounds_like:
            sounds[word] = relative.sounds_like[word]
            continue
        _say(f"\nThe listener's dictionary lacks '{word}'. From its letters it expects:")
        _say(how_it_sounds(word, {})[0])
        sound = ask("How does it sound, in everyday words?", LEAVE_OUT, check)
        if sound != LEAVE_OUT:
            sounds[word] = sound
    return sounds


def _where_read(relative: Any) -> list[str]:
    from coach.cli.asking import ask

    default = f"card {relative.id}" if relative else "memory"
    answer = ask("\nWhere did you read these values? (book, page, person)", default)
    return [part.strip() for part in answer.split(",") if part.strip()]


def _say(text: str) -> None:
    print(text, file=sys.stderr)
