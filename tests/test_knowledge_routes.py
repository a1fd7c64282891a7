"""Routes: reading, extending, checking; every shipped route is sound."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import CoachError
from coach.knowledge.model import Item, Kind, Region, Sex
from coach.knowledge.routes import load_route, route_problems, shipped_routes
from coach.places import knowledge_data_dir

BASE = """format: route/1
id: base
title: Base
species: [chicken]
source: our own
regions:
  - {id: head, title: Head, say: [head, face]}
  - {id: neck, title: Neck}
  - {id: legs, title: Legs}
items:
  - id: head.comb
    kind: part
    title: comb
    line: This is the comb.
    say: [comb]
    wrong_names: [crown]
  - id: head.comb_type
    kind: fact
    title: comb type
    line: It is a {value} comb.
    about: head.comb
    value: comb.type
  - {id: neck.hackle, kind: part, title: hackle, line: These are the hackle feathers., say: hackle, sex: f}
  - id: legs.mites
    kind: condition
    title: mites
    line: There are no mites.
    about: neck.hackle
    cues: [no mites]
    cues_of_part: [clean]
    also_regions: [neck, head]
    optional: true
  - {id: facts.class, kind: fact, title: class, line: This is its class., value: class}
"""
HEADING = "format: route/1\nid: own\ntitle: Own\nextends: base\n"


@pytest.fixture
def base(tmp_path: Path) -> Path:
    """A sound route."""
    path = tmp_path / "base.yaml"
    path.write_text(BASE)
    return path


@pytest.fixture
def own(base: Path) -> Path:
    """The place of a route that extends the sound one."""
    return base.parent / "own.yaml"


def test_a_route_is_read_whole(base: Path) -> None:
    """Every key of the file arrives in the value."""
    route = load_route(str(base))
    assert (route.id, route.title, route.species, route.source) == ("base", "Base", ("chicken",), "our own")
    assert route.regions[:2] == (Region("head", "Head", ("head", "face")), Region("neck", "Neck"))
    assert [item.id for item in route.items] == [
        "head.comb",
        "head.comb_type",
        "neck.hackle",
        "legs.mites",
        "facts.class",
    ]
    assert route.items[0] == Item("head.comb", Kind.PART, "comb", "This is the comb.", ("comb",), ("crown",))
    assert (route.items[1].about, route.items[1].value) == ("head.comb", "comb.type")
    assert route.items[2].sex is Sex.FEMALE
    assert route.items[3] == Item(
        "legs.mites",
        Kind.CONDITION,
        "mites",
        "There are no mites.",
        about="neck.hackle",
        cues=("no mites",),
        cues_of_part=("clean",),
        also_regions=("neck", "head"),
        optional=True,
    )


def test_an_item_may_carry_a_level(base: Path) -> None:
    """Without one it is asked of everybody."""
    base.write_text(BASE.replace("    optional: true\n", "    level: senior\n"))
    levels = {item.id: item.level for item in load_route(str(base)).items}
    assert (levels["legs.mites"], levels["head.comb"]) == ("senior", "junior")


def test_one_broken_item_is_told_whole_and_breaks_no_other(base: Path) -> None:
    """All that is wrong with an item is told at once, and an item that speaks of it is not blamed too."""
    base.write_text(BASE.replace("    kind: part\n    title: comb\n", "    kind: prt\n    titel: comb\n", 1))
    assert [line.removeprefix(f"{base}:") for line in route_problems(base)] == [
        "13: key 'items[1].titel': not known here; did you mean 'title'?",
        "11: key 'items[1].title': missing; add what it is called",
        "12: key 'items[1].kind': 'prt' is none of part, fact, condition; did you mean 'part'?",
    ]


def test_an_extending_route_takes_over_everything(own: Path) -> None:
    """Without a word of its own it differs in name only, and the base's source is not claimed for it."""
    own.write_text(HEADING)
    route, base = load_route(str(own)), load_route(str(own.parent / "base.yaml"))
    assert (route.id, route.source) == ("own", None)
    assert (route.species, route.regions, route.items) == (base.species, base.regions, base.items)


def test_a_new_order_drops_what_it_does_not_list(own: Path) -> None:
    """Items follow their region, facts stay, and nothing points to a part or a region that went."""
    own.write_text(HEADING + "regions: [legs, head]\n")
    route = load_route(str(own))
    assert [region.id for region in route.regions] == ["legs", "head"]
    assert [item.id for item in route.items] == ["head.comb", "head.comb_type", "legs.mites", "facts.class"]
    assert (route.items[2].about, route.items[2].also_regions) == (None, ("head",))


def test_own_items_replace_or_join_those_taken_over(own: Path) -> None:
    """The same id replaces in place, a new one comes last; a new region is written out."""
    own.write_text(
        HEADING + "regions: [head, {id: tail, title: Tail}]\nitems:\n"
        "  - {id: head.comb, kind: part, title: comb, line: See the comb., say: [comb, red comb]}\n"
        "  - {id: tail.coverts, kind: part, title: coverts, line: See the coverts., say: coverts}\n"
    )
    route = load_route(str(own))
    assert [item.id for item in route.items] == ["head.comb", "head.comb_type", "facts.class", "tail.coverts"]
    assert route.items[0].say == ("comb", "red comb")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("route/1", "route/9", "1: key 'format': 'route/9' is not known here; write 'format: route/1'"),
        ("title: Base\n", "", "1: key 'title': missing; add a title for people"),
        ("species: [chicken]\n", "", "1: key 'species': missing; a route that extends none needs it"),
        ("regions:", "region:", "6: key 'region': not known here; did you mean 'regions'?"),
        (
            "{id: neck, title: Neck}",
            "{id: head, title: Neck}",
            "8: key 'regions[2]': 'head' stands twice; keep one of them",
        ),
        (
            "{id: neck, title: Neck}",
            "neck",
            ("8: key 'regions[2]': no region 'neck' to take over; write {id: ..., title: ..., say: [...]}"),
        ),
        ("{id: neck, title: Neck}", "{id: neck}", "8: key 'regions[2].title': missing; add a title for people"),
        (
            "{id: neck, title: Neck}",
            "{id: facts, title: Neck}",
            ("8: key 'regions[2].id': 'facts' is kept for items told anywhere; choose another name"),
        ),
        (
            "id: head.comb\n",
            "id: haed.comb\n",
            "11: key 'items[1].id': the route has no region 'haed'; did you mean 'head'?",
        ),
        (
            "id: head.comb\n",
            "id: comb\n",
            ("11: key 'items[1].id': 'comb' has the wrong shape; write region.name, as in 'head.comb'"),
        ),
        (
            "kind: part\n",
            "kind: parts\n",
            ("12: key 'items[1].kind': 'parts' is none of part, fact, condition; did you mean 'part'?"),
        ),
        ("    say: [comb]\n", "", "11: key 'items[1].say': missing; a part needs the words that name it"),
        ("    line: This is the comb.\n", "", "11: key 'items[1].line': missing; add a sentence that tells it"),
        ("wrong_names:", "wrong_name:", "16: key 'items[1].wrong_name': not known here; did you mean 'wrong_names'?"),
        ("id: head.comb_type", "id: head.comb", "17: key 'items[2].id': 'head.comb' stands twice; keep one of them"),
        (
            "about: head.comb",
            "about: head.crop",
            ("21: key 'items[2].about': no part item 'head.crop'; did you mean 'head.comb'?"),
        ),
        (
            "value: comb.type",
            "value: comb.typ",
            "22: key 'items[2].value': no value 'comb.typ'; did you mean 'comb.type'?",
        ),
        (
            "    value: comb.type\n",
            "",
            ("17: key 'items[2].value': missing; a fact needs the card's value, as in 'value: comb.type'"),
        ),
        (
            "    say: [comb]\n",
            "    say: [comb]\n    value: toes\n",
            ("16: key 'items[1].value': only a fact has a value; write 'kind: fact' or leave it out"),
        ),
        ("sex: f", "sex: hen", "23: key 'items[3].sex': 'hen' is none of f, m; choose one of them"),
        (
            "    cues: [no mites]\n    cues_of_part: [clean]\n",
            "",
            ("24: key 'items[4].cues': missing; a condition needs phrases that tell it"),
        ),
        (
            "    about: neck.hackle\n",
            "",
            ("29: key 'items[4].cues_of_part': they count only when said of a part; name it with 'about' or 'say'"),
        ),
        (
            "[neck, head]",
            "[nek, head]",
            ("31: key 'items[4].also_regions': the route has no region 'nek'; did you mean 'neck'?"),
        ),
        (
            "optional: true",
            "optional: often",
            ("32: key 'items[4].optional': 'often' is neither true nor false; write one of the two, without quotes"),
        ),
        (
            "    optional: true\n",
            "    level: junor\n",
            ("32: key 'items[4].level': 'junor' is none of junior, intermediate, senior; did you mean 'junior'?"),
        ),
    ],
)
def test_each_mistake_has_its_line_and_remedy(base: Path, old: str, new: str, message: str) -> None:
    """A wrong value is told by file, line, key and what to do."""
    assert old in BASE
    base.write_text(BASE.replace(old, new, 1))
    assert f"{base}:{message}" in route_problems(base)
    with pytest.raises(CoachError):
        load_route(str(base))


def test_an_unknown_region_to_take_over_names_the_nearest(own: Path) -> None:
    """A misspelled id in the new order gets a suggestion."""
    own.write_text(HEADING + "regions: [haed, legs]\n")
    assert route_problems(own) == [f"{own}:5: key 'regions[1]': no region 'haed' to take over; did you mean 'head'?"]


def test_an_unknown_base_is_one_line(own: Path) -> None:
    """A route that extends nothing known says where."""
    own.write_text(HEADING.replace("extends: base", "extends: nothing.yaml"))
    assert route_problems(own) == [f"{own}:4: key 'extends': no route file 'nothing.yaml'; check the path"]


def test_a_circle_of_routes_is_refused(base: Path, own: Path) -> None:
    """Two routes that extend each other do not run forever."""
    own.write_text(HEADING)
    base.write_text(BASE.replace("species:", "extends: own\nspecies:"))
    circle = "key 'extends': 'own' extends this route in turn; break the circle"
    assert route_problems(own) == [f"{own}:4: key 'extends': {base}:4: {circle}"]


def test_a_wrong_base_is_told_with_both_places(base: Path, own: Path) -> None:
    """The message leads from the extending file to the mistake."""
    own.write_text(HEADING)
    base.write_text(BASE.replace("    say: [comb]\n", ""))
    assert route_problems(own) == [
        f"{own}:4: key 'extends': {base}:11: key 'items[1].say': missing; a part needs the words that name it"
    ]


def test_a_route_that_is_not_there_is_named() -> None:
    """An unknown id is told in one line."""
    with pytest.raises(CoachError, match=r"^no route 'nowhere'; shipped: "):
        load_route("nowhere")


@pytest.mark.parametrize("route_id", shipped_routes())
def test_shipped_routes_are_sound(route_id: str) -> None:
    """Every route that comes with the coach loads without a problem, under its own name."""
    assert route_problems(knowledge_data_dir() / "routes" / f"{route_id}.yaml") == []
    assert load_route(route_id).id == route_id
