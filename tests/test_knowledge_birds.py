"""Birds: reading, checking, and the card that must be there."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import CoachError
from coach.knowledge.birds import bird_problems, check_regions, load_bird
from coach.knowledge.model import Fault, Sex

BIRD = """format: bird/1
id: marigold
name: Marigold
card: buff-orpington
sex_age: pullet
faults:
  - id: side-sprig
    region: head
    say: side sprig on the comb
    also: [extra point on the side of the comb]
    plan: breed her to a male with a clean comb
    plan_words: [breed, clean comb]
"""


@pytest.fixture
def bird(tmp_path: Path) -> Path:
    """A sound bird."""
    path = tmp_path / "marigold.yaml"
    path.write_text(BIRD)
    return path


def test_a_bird_is_read_whole(bird: Path) -> None:
    """Every key of the file arrives in the value."""
    read = load_bird(bird, regions=["head", "neck"])
    assert (read.id, read.name, read.card, read.sex_age) == ("marigold", "Marigold", "buff-orpington", "pullet")
    assert read.sex is Sex.FEMALE
    assert read.faults == (
        Fault(
            "side-sprig",
            "head",
            "side sprig on the comb",
            ("extra point on the side of the comb",),
            "breed her to a male with a clean comb",
            ("breed", "clean comb"),
        ),
    )


@pytest.mark.parametrize("faults", ["", "faults: []\n"])
def test_a_bird_may_have_no_faults(bird: Path, faults: str) -> None:
    """The list may be empty or missing."""
    bird.write_text(BIRD[: BIRD.index("faults:")] + faults)
    assert load_bird(bird).faults == ()


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("bird/1", "breed-card/1", "1: key 'format': 'breed-card/1' is not known here; write 'format: bird/1'"),
        ("id: marigold\n", "", "1: key 'id': missing; add 'id: marigold'"),
        ("name: Marigold\n", "", "1: key 'name': missing; add the bird's name"),
        (
            "pullet",
            "pullit",
            "5: key 'sex_age': 'pullit' is none of cock, hen, cockerel, pullet; did you mean 'pullet'?",
        ),
        ("sex_age: pullet", "sex: hen", "5: key 'sex': not known here; did you mean 'sex_age'?"),
        ("    region: head\n", "", "7: key 'faults[1].region': missing; name the region it is seen in, as in 'head'"),
        (
            "region: head",
            "region: haed",
            "8: key 'faults[1].region': the route has no region 'haed'; did you mean 'head'?",
        ),
        ("    say: side sprig on the comb\n", "", "7: key 'faults[1].say': missing; add the phrase that tells it"),
        (
            "    plan: breed her to a male with a clean comb\n",
            "",
            ("11: key 'faults[1].plan_words': there is no plan they could show; add 'plan'"),
        ),
        (
            "- id: side-sprig",
            "- id: side sprig",
            (
                "7: key 'faults[1].id': 'side sprig' has the wrong shape; use letters, "
                "digits and single hyphens, as in 'side-sprig'"
            ),
        ),
        (
            "clean comb]\n",
            "clean comb]\n  - {id: side-sprig, region: neck, say: a}\n",
            ("13: key 'faults[2].id': 'side-sprig' stands twice; give each fault its own id"),
        ),
        (
            "faults:\n",
            "faults:\n  - a word\n",
            ("7: key 'faults[1]': 'a word' stands where keys are expected; write 'key: value' lines"),
        ),
    ],
)
def test_each_mistake_has_its_line_and_remedy(bird: Path, old: str, new: str, message: str) -> None:
    """A wrong value is told by file, line, key and what to do."""
    assert old in BIRD
    bird.write_text(BIRD.replace(old, new, 1))
    problems = bird_problems(bird, regions=["head", "neck"])
    assert f"{bird}:{message}" in problems
    with pytest.raises(CoachError):
        load_bird(bird, regions=["head", "neck"])


def test_a_fault_where_the_route_never_goes(bird: Path) -> None:
    """A bird that was read is held against a route chosen later: silent where it fits, else the line of the fault."""
    read = load_bird(bird)
    check_regions(read, bird, ["head", "neck"])
    with pytest.raises(CoachError, match=r":\d+: key 'faults\[1\]\.region': the route has no region 'head'"):
        check_regions(read, bird, ["neck"])


def test_a_card_that_is_not_there_is_one_line_with_the_nearest(bird: Path) -> None:
    """The bird's file, the line and the ids that look alike."""
    bird.write_text(BIRD.replace("buff-orpington", "buf-orpington"))
    with pytest.raises(CoachError) as caught:
        load_bird(bird)
    start = f"{bird}:4: key 'card': no breed card 'buf-orpington'; nearest: buff-orpington, "
    assert str(caught.value).startswith(start)


def test_another_card_may_take_the_place_of_a_missing_one(bird: Path) -> None:
    """With a card named on the command line the bird's own need not exist."""
    bird.write_text(BIRD.replace("buff-orpington", "my-lost-card"))
    assert load_bird(bird, check_card=False).card == "my-lost-card"


def test_an_unreadable_bird_is_one_problem(tmp_path: Path) -> None:
    """A missing file is a problem in the list too."""
    path = tmp_path / "x.yaml"
    assert bird_problems(path) == [f"{path}: no such file; check the name and the folder"]
