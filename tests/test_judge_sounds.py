"""Sounds of words and how alike they are."""

from __future__ import annotations

import itertools

import pytest

from coach.judge.sounds import Pronouncer, distance
from coach.knowledge.language import load_pronunciations
from coach.knowledge.routes import load_route

SAY = Pronouncer(load_pronunciations())


@pytest.mark.parametrize(
    ("heard", "meant"),
    [("hawk", "hock"), ("axle", "axial"), ("waddle", "wattle"), ("covers", "coverts"), ("bay", "bey"), ("heckle", "hackle"),
     ("pull it", "pullet"), ("why and dot", "wyandotte"), ("kill", "keel")],
)  # fmt: skip
def test_the_listeners_slips_sound_alike(heard: str, meant: str) -> None:
    """What recognisers write for trade words stays close in sound."""
    say = Pronouncer({**load_pronunciations(), "wyandotte": "why an dot", "bey": "bay"})
    assert distance(say.phones(heard), say.phones(meant)) <= 0.15


@pytest.mark.parametrize(("one", "other"), [("knee", "hock"), ("chin", "wattle"), ("five", "six"), ("rose", "single")])
def test_wrong_names_do_not_sound_alike(one: str, other: str) -> None:
    """A wrong name or value is far in sound from the right one."""
    assert distance(SAY.phones(one), SAY.phones(other)) > 0.3


def test_distance_is_a_distance() -> None:
    """Zero only for the same sounds, the same both ways, at most about one."""
    words = ["comb", "wattle", "keel", "axial", "primaries", "undercolor", "hen"]
    for a, b in itertools.product(words, words):
        d = distance(SAY.phones(a), SAY.phones(b))
        assert d == distance(SAY.phones(b), SAY.phones(a))
        assert (d == 0) == (a == b)
        assert d <= 1.0


def test_every_word_of_the_routes_is_known() -> None:
    """Dictionary or respelling covers every word the route listens for; none is guessed from letters."""
    phrases = [p for i in load_route("head-to-tail").items for p in (*i.say, *i.wrong_names, *i.cues, *i.cues_of_part)]
    unknown = {w for p in phrases for w in p.lower().split() if not SAY.knows(w)}
    assert unknown <= {"undercolour", "undercoloring", "colour"}  # spellings that are normalised before
