"""The tracker: where the member is and what was heard so far, from timed words alone."""

from __future__ import annotations

import pytest
from cli_files import script_words
from judging import BIRD, CARD, spoken

from coach.errors import CoachError
from coach.judge.decide import decide
from coach.judge.verdict import Status
from coach.knowledge.cards import breed_names
from coach.knowledge.routes import load_route
from coach.live.drill import drill
from coach.live.tracker import LiveState, RegionState, next_region, track
from coach.places import recordings_demo_dir
from coach.review import Subject, load_subject
from coach.words import TimedWords, Word

SUBJECT = Subject(BIRD, CARD, load_route("head-to-tail"))
HEAD = ("This is the beak. It is pinkish white.", "She has a single comb with five points.")
WINGS = ("This is the left wing.", "Here are the primaries and the secondaries.")


def counts(state: LiveState) -> dict[str, int]:
    """Items heard by region."""
    return {region.id: region.n_heard for region in state.regions}


def test_before_the_first_word_nothing_is_heard() -> None:
    """All regions, the facts and the own faults are there with a count of nothing."""
    state = track(TimedWords((), 0.0), SUBJECT)
    assert [r.id for r in state.regions][:2] == ["opening", "head"] and {"facts", "faults"} <= counts(state).keys()
    assert set(counts(state).values()) == {0} and state.now is None and state.latest == ()


def test_the_region_spoken_of_last_is_now() -> None:
    """First the head, then the wings; each counts what was told there."""
    head, both = track(spoken(*HEAD), SUBJECT), track(spoken(*HEAD, *WINGS), SUBJECT)
    assert (head.now, both.now) == ("head", "wings")
    assert counts(head)["head"] == counts(both)["head"] >= 4 and counts(head)["wings"] == 0 < counts(both)["wings"]
    assert both.latest[-1] == "secondaries." and both.last_word_s == pytest.approx(both.seconds - 0.62)


def test_silence_keeps_the_region() -> None:
    """Words that tell nothing do not move the member."""
    before = track(spoken(*HEAD), SUBJECT)
    assert track(spoken(*HEAD, "Hm, easy girl."), SUBJECT, before).now == "head"


def test_a_guess_that_is_taken_back_is_taken_off_the_count() -> None:
    """A word that was only guessed and changes again does not stay told."""
    guessed = track(spoken(*HEAD, "This is the left wing."), SUBJECT)
    mended = track(spoken(*HEAD, "This is the left thing."), SUBJECT, guessed)
    assert counts(guessed)["wings"] == 1 and counts(mended)["wings"] == 0


def test_the_tracker_counts_as_the_judge_does_at_the_end() -> None:
    """A whole rehearsal of some minutes, given word by word, ends with the told items of one judgement of all words."""
    rows = script_words("checkers", "checkers")  # over the tracker's minute
    words = tuple(Word(r["text"], r["start"], r["end"]) for r in rows)
    subject = load_subject(str(recordings_demo_dir() / "birds" / "checkers.yaml"))
    state = None
    for n in range(10, len(words) + 1, 10):
        state = track(TimedWords(words[:n], words[n - 1].end_s), subject, state)
    state = track(TimedWords(words, words[-1].end_s), subject, state)
    judgement = decide(TimedWords(words, words[-1].end_s), subject.route, subject.card, subject.bird, breed_names())
    assert words[-1].end_s > 100
    assert state.heard == {v.id for v in judgement.verdicts if v.status is Status.SAID}


def test_the_next_region_follows_the_present_one() -> None:
    """First the opening; after the head the neck; from the end of the route what was left behind; after all, nothing."""

    def following(now: str | None, *done: str) -> str | None:
        regions = tuple(RegionState(r, r.title(), int(r in done), 1) for r in ("opening", "head", "neck", "wings"))
        found = next_region(LiveState(seconds=9.0, now=now, regions=regions, latest=(), last_word_s=None))
        return found.id if found else None

    assert following(None) == "opening"
    assert following("head", "opening", "head") == "neck"
    assert following("head", "opening", "neck") == "wings"
    assert following("wings", "opening", "head", "wings") == "neck"
    assert following("wings", "opening", "head", "neck", "wings") is None


# --- drilling a few regions -----------------------------------------------------------------------------------------


def test_a_drill_asks_for_its_regions_only() -> None:
    """Wings and legs in the route's order, no facts, and only faults that lie there."""
    only = drill(SUBJECT, "legs, wings")
    assert [r.id for r in only.route.regions] == ["wings", "legs"]
    assert {item.region for item in only.route.items} == {"wings", "legs"} and only.bird.faults == ()
    assert {r.id for r in track(spoken(*HEAD, *WINGS), only).regions} == {"wings", "legs"}


def test_a_drill_keeps_what_belongs_to_its_regions() -> None:
    """The head keeps its fault, and conditions keep the part they are said of."""
    only = drill(SUBJECT, "head")
    assert [f.id for f in only.bird.faults] == ["side-sprig"]
    ids = {item.id for item in only.route.items}
    assert all(item.about is None or item.about in ids for item in only.route.items)
    assert {"facts", "head"} == {item.region for item in drill(SUBJECT, "facts,head").route.items}


@pytest.mark.parametrize(
    ("names", "message"),
    [
        ("wing", "did you mean 'wings'"),
        ("liver", "no region 'liver'; regions: opening, head"),
        (" ,", "needs one region"),
        ("facts", "needs one region"),
    ],
)
def test_a_drill_of_nothing_known_is_refused(names: str, message: str) -> None:
    """The message tells the regions, or the one that was meant."""
    with pytest.raises(CoachError, match=message):
        drill(SUBJECT, names)
