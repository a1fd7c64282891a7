"""`coach say`: how the listener expects a word to sound, and where it knows that from.

`--card` or `--bird` adds the card's own `sounds_like`; `--as "or ping ton"` tries a respelling before you write it down.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path

from coach.errors import CoachError
from coach.judge.sounds import Pronouncer
from coach.knowledge.respelling import respelled

__all__ = ["add_parser", "how_it_sounds"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("say", help="how the listener expects a word to sound", description=__doc__)
    parser.add_argument("words", nargs="+", metavar="WORD")
    parser.add_argument("--card", metavar="ID|FILE", help="with the respellings of this card")
    parser.add_argument("--bird", metavar="FILE", help="with the respellings of this bird's card")
    parser.add_argument("--as", dest="respelling", metavar="WORDS", help="try a respelling in everyday words for one word")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print one line a word, and what to do about a word that is only guessed."""
    words = [word for text in args.words for word in text.split()]
    if args.respelling and len(words) != 1:
        raise CoachError("--as tries a respelling for one word; name that word alone")
    own = _card_sounds(args)
    if args.respelling:
        own = {**own, words[0]: args.respelling}
    for word in words:
        for line in how_it_sounds(word, own, tried=bool(args.respelling)):
            print(line)
    return 0


def how_it_sounds(word: str, own: Mapping[str, str], *, tried: bool = False) -> list[str]:
    """Lines about one word.

    Args:
        own: the card's respellings, word -> everyday words.
        tried: the word's respelling is only being tried out.
    """
    from coach.knowledge.language import load_pronunciations

    plain = word.lower().strip(".,;:!?\"'")
    if not any("a" <= c <= "z" for c in plain):
        raise CoachError(f"'{word}' holds no letters from a to z; write numbers as words, as in 'nine'")
    lower = {key.lower(): value for key, value in own.items()}
    shipped = load_pronunciations()
    pronouncer = Pronouncer({**shipped, **lower})
    if plain in lower:
        source = f"{'your try' if tried else 'the card'}: {lower[plain]}"
        unknown = [part for part in lower[plain].lower().split() if not Pronouncer(shipped).knows(part)]
    elif plain in shipped:
        source, unknown = f"shipped with the coach: {shipped[plain]}", []
    else:
        source, unknown = ("the dictionary", []) if pronouncer.knows(plain) else ("guessed from its letters", [plain])
    phones = pronouncer.phones(plain)
    lines = [f"{word:16} {respelled(phones):24} {' '.join(phones)}  ({source})"]
    if tried and unknown:
        lines.append(f"{'':16} {join(unknown)} is in no dictionary and was read by its letters; better use everyday words")
    elif unknown and plain not in lower:
        lines.append(f"{'':16} Not right? Put on your card: sounds_like: {{{word}: everyday words that sound like it}}")
    return lines


def join(words: list[str]) -> str:
    """'a', 'b' and 'c' in quotes."""
    quoted = [f"'{word}'" for word in words]
    return " and ".join([", ".join(quoted[:-1]), quoted[-1]] if len(quoted) > 1 else quoted)


def _card_sounds(args: argparse.Namespace) -> Mapping[str, str]:
    from coach.knowledge.birds import load_bird
    from coach.knowledge.cards import find_card, load_card

    if args.card:
        return load_card(find_card(args.card)).sounds_like
    if args.bird:
        path = Path(args.bird)
        return load_card(find_card(load_bird(path).card, near=path)).sounds_like
    return {}
