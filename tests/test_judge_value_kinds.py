"""One table of values: what a route may ask is read in sentences, compared and shown; and nothing else may be asked."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from judging import BREEDS, spoken

from coach.judge.candidates import Known, periods, years_of
from coach.judge.decide import decide
from coach.judge.tokens import words_of_phrase
from coach.judge.value_kinds import KINDS, compare, find, in_line, show
from coach.judge.values import Match, accepted
from coach.judge.verdict import Verdict
from coach.knowledge.cards import COLORS, find_card, load_card
from coach.knowledge.language import load_language
from coach.knowledge.model import Bird, Card, Comb, Item, Kind, Origin, Region, Route
from coach.knowledge.routes import route_problems
from coach.knowledge.values import VALUE_PATHS, ValueKind, kind_of
from coach.sheet.content import study_sheet

ROOT = Path(__file__).resolve().parent.parent
CARD = Card(
    id="buff-orpington", species="chicken", breed="Orpington", variety="Buff", show_class="English",
    origin=Origin("England", "Kent", "1880s"), purpose=("eggs", "meat"), egg_color=("brown",), comb=Comb("single", 5),
    colors=dict.fromkeys(COLORS, ("red",)), toes=4, feathered_legs=False,
    weights_lb={"cock": 10, "hen": 8, "cockerel": 8.5, "pullet": 7},
    weights_bantam_oz={"cock": 38, "hen": 34, "cockerel": 32, "pullet": 30},
)  # fmt: skip
BANTAM = replace(CARD, weights_lb={})
BIRD = Bird("juniper", "Juniper", "buff-orpington", "pullet")
# path -> said rightly, said wrongly (None where nothing told is ever called wrong)
SAID: dict[str, tuple[str, str | None]] = {
    "breed": ("My bird is of the Orpington breed.", "My bird is of the Sussex breed."),
    "variety": ("The variety is Buff.", "The variety is Black."),
    "species": ("She is a chicken.", "She is a turkey."),
    "bird.sex_age": ("She is a pullet.", "She is a cockerel."),
    "class": ("The breed is in the English class.", "The breed is in the American class."),
    "origin": ("The breed comes from Kent in England.", "The breed comes from Italy."),
    "origin.country": ("The breed comes from England.", "The breed comes from Italy."),
    "origin.place": ("The breed was developed in Kent.", "The breed was developed in Cornwall."),
    "origin.period": ("The breed was developed in the 1880s.", "The breed was developed in the twelfth century."),
    "purpose": ("The breed is kept for eggs and meat.", None),
    "egg_color": ("They lay brown eggs.", "They lay green eggs."),
    "comb.type": ("She has a single comb.", "She has a rose comb."),
    "comb.points": ("The comb has five points.", "The comb has seven points."),
    "toes": ("There are four toes on each foot.", "There are five toes on each foot."),
    "feathered_legs": ("The breed is clean legged.", "The breed has feathered shanks."),
    **{
        f"colors.{part}": (f"The {part.replace('_', ' ')} is red.", f"The {part.replace('_', ' ')} is green.") for part in COLORS
    },
    "weights_lb.cock": ("A cock weighs ten pounds.", "A cock weighs six pounds."),
    "weights_lb.hen": ("A hen weighs eight pounds.", "A hen weighs twelve pounds."),
    "weights_lb.cockerel": ("A cockerel weighs eight and a half pounds.", "A cockerel weighs five pounds."),
    "weights_lb.pullet": ("A pullet weighs seven pounds.", "A pullet weighs four pounds."),
    "weights_bantam_oz.cock": ("A bantam cock weighs 38 ounces.", "A bantam cock weighs 42 ounces."),
    "weights_bantam_oz.hen": ("A bantam hen weighs two pounds two ounces.", "A bantam hen weighs three pounds."),
    "weights_bantam_oz.cockerel": ("A bantam cockerel weighs two pounds.", "A bantam cockerel weighs 20 ounces."),
    "weights_bantam_oz.pullet": ("A bantam pullet weighs thirty ounces.", "A bantam pullet weighs thirty six ounces."),
}


# path -> title and line, as a club would describe the item; colors and weights below
DESCRIBED = {
    "breed": ("breed", "My bird is of the {value} breed."), "variety": ("variety", "The variety is {value}."),
    "species": ("species", "My bird is a {value}."), "bird.sex_age": ("sex and age", "My bird is a {value}."),
    "class": ("class", "The breed belongs to the {value} class."), "origin": ("origin", "The breed comes from {value}."),
    "origin.country": ("country of origin", "The breed comes from {value}."),
    "origin.place": ("place of origin", "The breed was developed in {value}."),
    "origin.period": ("when the breed arose", "The breed was developed in the {value}."),
    "purpose": ("purpose", "The breed is kept for {value}."), "egg_color": ("egg color", "They lay {value} eggs."),
    "comb.type": ("comb type", "It is a {value} comb."), "comb.points": ("points of the comb", "The comb has {value} points."),
    "toes": ("number of toes", "There are {value} toes on each foot."),
    "feathered_legs": ("feathering of the legs", "The breed has {value}."),
}  # fmt: skip


def described(path: str) -> tuple[str, str]:
    """Title and line of the item that asks for the value."""
    kind, _, name = path.partition(".")
    name = name.replace("_", " ")
    if kind == "colors":
        return f"color of the {name}", f"The {name} should be {{value}}."
    if kind == "weights_lb":
        return f"weight of a {name}", f"A {name} weighs {{value}} pounds."
    if kind == "weights_bantam_oz":
        return f"weight of a bantam {name}", f"A bantam {name} weighs {{value}}."
    return DESCRIBED[path]


def route(*paths: str) -> Route:
    """A route that asks for these values, each color of its own part."""
    items: list[Item] = [Item("body.comb", Kind.PART, "comb", "This is the comb.", say=("comb",))]
    for path in paths:
        name = path.removeprefix("colors.")
        about = "body.comb" if path.startswith("comb.") else None
        if path.startswith("colors.") and name != "comb":
            items.append(Item(f"body.{name}", Kind.PART, name, "This is it.", say=(name.replace("_", " "),)))
        if path.startswith("colors."):
            about = f"body.{name}"
        title, line = described(path)
        items.append(Item(f"facts.{path.replace('.', '_')}", Kind.FACT, title, line, value=path, about=about))
    return Route("r", "Route", ("chicken",), (Region("body", "Body"),), tuple(items))


def verdicts(text: str, *paths: str, card: Card = CARD) -> dict[str, Verdict]:
    """The verdicts about these values, by path."""
    judgement = decide(spoken(*text.split("|")), route(*paths), card, BIRD, BREEDS)
    return {path: next(v for v in judgement.verdicts if v.id == f"facts.{path.replace('.', '_')}") for path in paths}


def statuses(text: str, *paths: str, card: Card = CARD) -> list[str]:
    return [v.status.value for v in verdicts(text, *paths, card=card).values()]


def test_every_path_has_its_sentences() -> None:
    """What follows is about all values that a route may ask for, not some."""
    assert set(SAID) == set(VALUE_PATHS) and set(KINDS) == set(ValueKind)


@pytest.mark.parametrize("path", VALUE_PATHS)
def test_what_may_be_asked_is_read_compared_and_shown(path: str) -> None:
    """Told rightly it is said, told wrongly it is wrong, left out it is skipped; the expected value has words."""
    right, wrong = SAID[path]
    assert statuses(right, path) == ["said"]
    assert wrong is None or statuses(wrong, path) == ["wrong"]
    silent = verdicts("Good evening.", path)[path]
    assert silent.status.value == "skipped" and silent.expected and "{" not in silent.line


@pytest.mark.parametrize("path", VALUE_PATHS)
def test_values_are_found_in_words_alone(path: str) -> None:
    """Without a sentence being read: the candidates of the kind hold the right value, with its place."""
    words, known = words_of_phrase(SAID[path][0].strip(".")), Known(card=CARD, language=load_language())
    found = find(path, words, known)
    values = accepted(Item("facts.x", Kind.FACT, "x", "x", value=path), CARD, BIRD)
    right = [c for c in found if compare(path, c, values, known) is Match.SAME]
    assert right and all(words[c.start : c.end] == tuple(c.text.split()) for c in found)


def test_a_kind_that_nobody_reads_does_not_load() -> None:
    """A new kind of value without its entry stops the program, so that no route can ask for it unread."""
    code = (
        "import coach.knowledge.values as v, enum\n"
        "names = {k.name: k.value for k in v.ValueKind} | {'SMELL': 'smell'}\n"
        "v.ValueKind = enum.Enum('ValueKind', names, type=str)\n"
        "import coach.judge.value_kinds\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert done.returncode != 0 and "nobody reads" in done.stderr and "smell" in done.stderr


ROUTE = """format: route/1
id: mine
title: Mine
species: [chicken]
regions: [{{id: head, title: Head, say: [head]}}]
items:
- {{id: head.comb, kind: part, title: comb, say: [comb], line: "This is the comb."}}
- {{id: facts.x, kind: fact, title: x, {about}value: {path}, line: "It is {{value}}."}}
"""


@pytest.mark.parametrize(
    "path", [*VALUE_PATHS, "history", "colors.smell", "weights_lb.chick", "weights_kg.cock", "comb", "origin.year"]
)
def test_a_route_may_ask_what_is_read_and_nothing_else(path: str, tmp_path: Path) -> None:
    """The check of a route and the readers go by the same table; a color or comb type needs the part it is told of."""
    file = tmp_path / "mine.yaml"
    file.write_text(ROUTE.format(path=path, about="about: head.comb, "))
    assert (route_problems(file) == []) is (path in VALUE_PATHS)
    file.write_text(ROUTE.format(path=path, about=""))
    problems = route_problems(file)
    if path in VALUE_PATHS and VALUE_PATHS[path].of_part:
        assert len(problems) == 1 and "is told of a part" in problems[0]


# --- bantams --------------------------------------------------------------------------------------------------------

OUNCES = tuple(f"weights_bantam_oz.{which}" for which in ("cock", "hen", "cockerel", "pullet"))
POUNDS = tuple(f"weights_lb.{which}" for which in ("cock", "hen", "cockerel", "pullet"))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("A cock weighs 38 ounces, a hen 34, a cockerel 32 and a pullet 30.", ["said"] * 4),
        ("A cock weighs two pounds six ounces and a hen two pounds and two ounces.", ["said", "said", "skipped", "skipped"]),
        ("A cock weighs thirty eight and a hen thirty four.", ["said", "said", "skipped", "skipped"]),
        ("A cock weighs 2.375 pounds.", ["said", "skipped", "skipped", "skipped"]),
        ("A cock weighs 1077 grams.", ["said", "skipped", "skipped", "skipped"]),
        ("A cock weighs 36 ounces.", ["wrong", "skipped", "skipped", "skipped"]),  # two ounces off is another bird's weight
        ("A cock weighs 34 ounces.", ["wrong", "skipped", "skipped", "skipped"]),
        ("A cock weighs three pounds.", ["wrong", "skipped", "skipped", "skipped"]),
    ],
)
def test_a_breed_that_is_a_bantam_alone(text: str, told: list[str]) -> None:
    """Its weights are told in ounces, in pounds and ounces, or bare, whichever way the route asks for them."""
    assert statuses(text, *OUNCES, card=BANTAM) == told
    assert statuses(text, *POUNDS, card=BANTAM) == told


def test_a_wrong_weight_names_the_bird_it_is_of() -> None:
    """The hen's ounces told of the cock."""
    assert verdicts("A cock weighs 34 ounces.", *OUNCES, card=BANTAM)[OUNCES[0]].note == "that is the weight of a hen"


@pytest.mark.parametrize(
    "text",
    [
        "A cock weighs ten pounds and a bantam cock weighs 38 ounces.",
        "A bantam cock weighs 38 ounces and a cock weighs ten pounds.",
        "A cock weighs ten pounds.|In bantams a cock weighs two pounds six ounces.",
        "A cock weighs ten pounds.|A cock weighs 38 ounces.",
        "Ten pounds for a cock, and 38 ounces for a bantam cock.",
    ],
)
def test_large_fowl_and_bantams_are_kept_apart(text: str) -> None:
    """Both weights of a breed are told in one breath; each goes to its own item, and neither to the other."""
    assert statuses(text, "weights_lb.cock", "weights_bantam_oz.cock") == ["said", "said"]
    assert statuses(text, "weights_bantam_oz.cock") == statuses(text, "weights_lb.cock") == ["said"]


def test_a_bantams_weight_is_not_held_against_the_large_fowl() -> None:
    """A route that asks for pounds alone hears the bantam's weight and blames nobody."""
    assert statuses("A bantam cock weighs 38 ounces.", "weights_lb.cock") == ["skipped"]
    assert statuses("A cock weighs ten pounds.", "weights_bantam_oz.cock") == ["skipped"]


def test_ounces_are_shown_as_ounces() -> None:
    """In the verdict, its line and the study sheet: "38 ounces", and no pounds after it."""
    item = Item("facts.weight", Kind.FACT, "weight of a cock", "A cock weighs {value} pounds.", value="weights_lb.cock")
    assert show(item, BANTAM, BIRD) == "38 ounces" and show(item, CARD, BIRD) == "ten"
    assert in_line(item.line, show(item, BANTAM, BIRD)) == "A cock weighs 38 ounces."
    assert in_line(item.line, show(item, CARD, BIRD)) == "A cock weighs ten pounds."
    bantam = replace(item, value="weights_bantam_oz.cock", line="A bantam cock weighs {value}.")
    assert show(bantam, CARD, BIRD) == "38 ounces" and kind_of("weights_lb.cock", BANTAM) is ValueKind.OUNCES
    made = replace(route(), items=(item,))
    judged = decide(spoken("Good evening."), made, BANTAM, BIRD, BREEDS)
    assert judged.verdicts[0].line == "A cock weighs 38 ounces." and judged.verdicts[0].expected == "38 ounces"
    assert [fact.value for fact in study_sheet(BIRD, BANTAM, made).facts] == ["38 ounces"]


def test_shipped_bantam_cards_have_no_pounds_of_ounces() -> None:
    """No line of a shipped card says "ounces pounds"."""
    card = load_card(find_card("golden-sebright"))
    assert not card.weights_lb and card.weights_bantam_oz
    item = Item("facts.weight", Kind.FACT, "weight of a hen", "A hen weighs {value} pounds.", value="weights_lb.hen")
    assert in_line(item.line, show(item, card, BIRD)) == f"A hen weighs {card.weights_bantam_oz['hen']:g} ounces."


# --- times, species, legs -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("1880s", (1880, 1889)), ("the eighteen eighties", (1880, 1889)), ("1886", (1886, 1886)),
        ("eighteen eighty six", (1886, 1886)), ("nineteen oh eight", (1908, 1908)), ("the nineteenth century", (1800, 1899)),
        ("the 19th century", (1800, 1899)),
        ("early 1800s", (1800, 1840)), ("late nineteenth century", (1859, 1899)), ("before 1850", (0, 1850)),
        ("about 1869", (1864, 1874)), ("1840s to 1870s", (1840, 1879)),
        ("ancient", (0, 1000)), ("eighteen hundred", (1800, 1800)),
        ("eighteen weeks", None), ("four toes", None),
    ],
)  # fmt: skip
def test_times_are_understood(text: str, years: tuple[int, int] | None) -> None:
    """In figures and words, as cards and members write them."""
    assert years_of(text) == years
    assert (list(periods(words_of_phrase(text))) == []) is (years is None)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("The breed was created in 1886.", "said"),
        ("The breed was developed in the nineteenth century.", "said"),
        ("They originated in the late eighteen hundreds.", "said"),
        ("The breed was created in 1893.", "unsure"),
        ("The breed was created in 1950.", "wrong"),
        ("She was hatched in 2024.", "skipped"),
        ("I got her at the fair in 1999.", "skipped"),
    ],
)
def test_when_the_breed_arose(text: str, told: str) -> None:
    """A time that overlaps the card's is right, one within ten years of it unsure; a bird's own life is no origin."""
    assert statuses(text, "origin.period") == [told]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("She has clean legs.", "skipped"),  # washed
        ("There are no feathers on the shanks.", "said"),
        ("The breed has unfeathered legs.", "said"),
        ("The shanks are not feathered.", "said"),
        ("It has feathers on its legs and toes.", "wrong"),
        ("This breed is feather legged.", "wrong"),
        ("The breed is in the Feather Legged class.", "skipped"),
    ],
)
def test_feathered_legs(text: str, told: str) -> None:
    """The legs of a clean legged breed, as members speak of them."""
    assert statuses(text, "feathered_legs") == [told]
    other = {"said": "wrong", "wrong": "said"}.get(told, told)
    assert statuses(text, "feathered_legs", card=replace(CARD, feathered_legs=True)) == [other]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("My species is chicken.", ["said"]),
        ("Geese are mean.", ["skipped"]),
        ("My brother has a turkey.", ["skipped"]),
        ("She is not a duck.", ["skipped"]),
    ],
)
def test_species(text: str, told: list[str]) -> None:
    """Where this bird is presented, or its species spoken of; not where others are."""
    assert statuses(text, "species") == told


def test_country_and_place_are_asked_apart() -> None:
    """Each goes to its own item, and neither is blamed for the other."""
    assert statuses("The breed comes from Kent in England.", "origin.country", "origin.place") == ["said", "said"]
    assert statuses("The breed comes from England.", "origin.country", "origin.place") == ["said", "skipped"]
    assert statuses("The breed comes from Kent.", "origin.country", "origin.place") == ["skipped", "said"]
