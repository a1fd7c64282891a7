"""Study sheets: what stands on them, that they are one printed page, and that they load nothing."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from headless_browser import CHROMIUM, Browser

from coach.judge.lexicon import item_applies
from coach.knowledge.cards import load_card
from coach.knowledge.model import LEVELS, Bird, Card, Fault, Kind
from coach.knowledge.route_views import at_level
from coach.knowledge.routes import default_route, load_route
from coach.places import breed_cards_dir
from coach.sheet.content import CAUTIONS, StudySheet, study_sheet
from coach.sheet.drawing import drawing
from coach.sheet.page import render_sheet
from coach.sheet.pdf import find_converter, write_pdf

CARDS = (
    *("buff-orpington", "salmon-faverolles", "white-crested-black-polish"),
    *("white-pekin", "brown-african", "bourbon-red-turkey"),
)
PLAN = "keep her for eggs and not for breeding this year"
FAULTS = tuple(Fault(f"f{n}", "legs", "one bent toe on the left foot", (), PLAN) for n in range(4))


def card_of(card_id: str) -> Card:
    """A shipped card."""
    return load_card(breed_cards_dir() / f"{card_id}.yaml")


def sheet_of(card_id: str, level: str = "senior", sex_age: str = "pullet", faults: tuple[Fault, ...] = ()) -> StudySheet:
    """The sheet of an invented bird."""
    card = card_of(card_id)
    return study_sheet(Bird("x", "Buttercup", card_id, sex_age, faults), card, load_route(default_route(card)), level)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("card_id", CARDS)
def test_everything_that_is_asked_stands_on_the_sheet(card_id: str, level: str) -> None:
    """Each required item of the level: parts by name, conditions and values by their line, facts by their value."""
    card, bird = card_of(card_id), Bird("x", "Buttercup", card_id, "cock")
    route = load_route(default_route(card))
    sheet = study_sheet(bird, card, route, level)
    names = [part.name for station in sheet.stations for part in station.parts]
    checks = [check.line for station in sheet.stations for check in station.checks]
    says = " ".join(line for station in sheet.stations for line in station.says)
    facts = [fact.name for fact in sheet.facts]
    for item in at_level(route, level).items:
        if item.optional or not item_applies(item, card, bird):
            continue
        if item.kind is Kind.PART:
            assert item.title in names
        elif item.kind is Kind.CONDITION:
            assert item.line in checks
        elif item.region == "facts":
            assert item.title in facts
        else:
            assert item.line.partition("{value}")[0] in says


def test_the_levels_differ_in_density() -> None:
    """A junior's sheet holds about ten parts, a senior's all; only the senior's has extras."""

    def parts(level: str) -> int:
        return sum(len(station.parts) for station in sheet_of("buff-orpington", level).stations)

    assert parts("junior") == 11 < parts("intermediate") < parts("senior") <= 30  # two wings are one of the ten parts
    extras = [part.extra for station in sheet_of("buff-orpington", "intermediate").stations for part in station.parts]
    assert not any(extras)


def test_the_birds_own_faults_and_plans_are_there() -> None:
    """A fault stands at its region and with its plan at the head; one without a plan asks for one."""
    page = render_sheet(sheet_of("buff-orpington", faults=(FAULTS[0], Fault("s", "head", "side sprig"))))
    assert page.count("one bent toe on the left foot") == 2 and "Plan: keep her for eggs" in page
    assert "No plan yet: what will you do about it?" in page


def test_the_species_words_are_used() -> None:
    """A duck's sheet knows no comb, no beak and no cockerel."""
    page = render_sheet(sheet_of("white-pekin", sex_age="cockerel"))
    assert "young drake" in page and "sex feathers" in page and "cockerel" not in page
    text = re.sub(r"\(not [^)]*\)", "", page)
    assert "beak" not in text and "comb" not in text


def test_what_a_person_wrote_is_only_text() -> None:
    """Markup in a name or a fault is shown, not obeyed."""
    card = card_of("buff-orpington")
    bird = Bird("x", "<script>alert(1)</script>", "buff-orpington", "hen", (Fault("a", "head", "<b>&"),))
    page = render_sheet(study_sheet(bird, card, load_route("head-to-tail")))
    assert "<script" not in page and "&lt;script&gt;" in page and "&lt;b&gt;&amp;" in page


def test_every_sheet_carries_the_cautions() -> None:
    """Practice only, clean hands, never upside down, a veterinarian."""
    for large in (False, True):
        page = render_sheet(sheet_of("buff-orpington", "junior"), large=large)
        assert all(caution.replace("'", "&#x27;") in page for caution in CAUTIONS)


@pytest.mark.parametrize("species", ["chicken", "duck", "goose", "turkey", "guinea"])
def test_the_drawing_numbers_the_regions_of_the_route(species: str) -> None:
    """Every number is drawn once, inside the picture, and no two disks cover each other."""
    route = load_route(default_route(Card("x", species, "X")))
    numbers = {region.id: n for n, region in enumerate(route.regions, 1) if region.id not in ("opening", "closing")}
    disks = re.findall(r'<circle cx="(\d+)" cy="(\d+)" r="15".*?>(\d+)</text>', drawing(species, True, numbers))
    assert sorted(int(n) for _, _, n in disks) == sorted(numbers.values())
    places = [(int(x), int(y)) for x, y, _ in disks]
    assert all(15 <= x <= 385 and 15 <= y <= 315 for x, y in places)
    assert all((a - c) ** 2 + (b - d) ** 2 > 30**2 for n, (a, b) in enumerate(places) for c, d in places[:n])


def test_male_and_female_are_drawn_apart() -> None:
    """Sickles, sex feathers, a beard: the male has something the female lacks."""
    for species in ("chicken", "duck", "turkey"):
        assert drawing(species, True, {}) != drawing(species, False, {})
    assert drawing("goose", True, {}) == drawing("goose", False, {})  # only drakes have the curl


@pytest.mark.browser
@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")
def test_everything_stands_on_one_page_that_fits_both_papers() -> None:
    """Every level, plain and large, bare and with four faults: nothing runs over the foot or the edge, nothing is loaded."""
    browser = Browser()
    try:
        where = Path(browser._profile) / "sheet.html"
        for card_id in CARDS:
            for faults in ((), FAULTS):
                for level in LEVELS:
                    for large in (False, True):
                        where.write_text(render_sheet(sheet_of(card_id, level, "cock", faults), large=large), encoding="utf-8")
                        browser.open(where, width=1000)
                        over, wide, shown = browser.value(_MEASURE)
                        assert over <= 0 and wide <= 0 and shown, (card_id, level, large, len(faults))
        assert browser.messages == []
    finally:
        browser.close()


_MEASURE = """(() => {
  const main = document.querySelector('main').getBoundingClientRect();
  const foot = document.querySelector('footer').getBoundingClientRect();
  const blocks = [...document.querySelectorAll('section, header')].map(e => e.getBoundingClientRect());
  return [Math.max(...blocks.map(b => b.bottom)) - foot.top + Math.max(0, foot.bottom - main.bottom),
          Math.max(...blocks.map(b => b.right)) - main.right - 0.5,
          main.width <= 190 / 25.4 * 96 + 1 && main.height <= 257 / 25.4 * 96 + 1];
})()"""


@pytest.mark.browser
@pytest.mark.skipif(find_converter() is None, reason="needs a converter to PDF")
@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_the_pdf_is_one_page(paper: str, size: tuple[int, int], tmp_path: Path) -> None:
    """A4 is 210 by 297 mm (ISO 216), Letter 8.5 by 11 inches; a point is 1/72 inch."""
    path = tmp_path / "sheet.pdf"
    write_pdf(render_sheet(sheet_of("buff-orpington", faults=FAULTS), paper=paper), path)
    data = path.read_bytes()
    assert data.startswith(b"%PDF-") and len(re.findall(rb"/Type\s*/Page\b", data)) == 1
    box = [float(n) for n in re.search(rb"/MediaBox\s*\[([^]]*)\]", data)[1].split()]  # type: ignore[index]
    assert (round(box[2]), round(box[3])) == pytest.approx(size, abs=1)
