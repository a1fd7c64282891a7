"""The page that tells where the breed cards' values come from: sources.yaml and the cards in, SOURCES.md out.

Run `python -m coach.knowledge.sources_page > breed_cards/SOURCES.md` after a change to a card or a source.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from coach.knowledge.cards import load_card, shipped_cards
from coach.knowledge.model import Card
from coach.knowledge.yaml_file import Fields, Problems, load_yaml
from coach.places import breed_cards_dir

__all__ = ["Source", "load_sources", "render_sources_page"]

FORMAT = "card-sources/1"
_HEAD = """# Where the values of the breed cards come from

Facts and figures were carried over from these publications; every sentence is our own. Most restate an edition of the
American standard, which was not at hand: check a card against the current standard before a show. `memory` marks what
was seen on no page. The cards name their sources group by group.

| key | title | publisher | year | cards |
| --- | --- | --- | --- | --- |
"""


@dataclass(frozen=True, slots=True)
class Source:
    """One publication. year is text, for it may be rough."""

    title: str
    publisher: str
    year: str


def load_sources(path: Path) -> dict[str, Source]:
    """Read sources.yaml; CoachError names the first line that is wrong."""
    problems = Problems(path)
    top = load_yaml(path)
    problems.check_format(top, FORMAT)
    keys = Fields(top, problems, ("format", "sources")).section("sources")
    sources: dict[str, Source] = {}
    for key in keys.node.entries if keys else ():
        part = keys.section(key, ("title", "publisher", "year")) if keys else None
        if part is not None:
            part.require_all(dict.fromkeys(("title", "publisher", "year"), "every source has one"))
            sources[key] = Source(*(part.text(name) or "" for name in ("title", "publisher", "year")))
    problems.raise_first()
    return sources


def render_sources_page(sources: Mapping[str, Source], cards: Iterable[Card]) -> str:
    """The page: a row for each source that a card uses, with those cards."""
    users: dict[str, list[str]] = {}
    for card in cards:
        for key in sorted({key for keys in card.sources.values() for key in keys}):
            users.setdefault(key, []).append(card.id)
    rows = [_row(key, sources[key], users[key]) for key in sorted(users)]
    return _HEAD + "".join(rows)


def _row(key: str, source: Source, cards: list[str]) -> str:
    cells = (f"`{key}`", source.title, source.publisher, source.year, ", ".join(cards))
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |\n"


if __name__ == "__main__":
    folder = breed_cards_dir()
    shipped = [load_card(folder / f"{card_id}.yaml") for card_id in shipped_cards()]
    sys.stdout.write(render_sources_page(load_sources(folder / "sources.yaml"), shipped))
