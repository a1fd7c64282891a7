"""Levels and drills: routes cut to measure, and the route of a species."""

from __future__ import annotations

import pytest
from judging import BIRD, BREEDS, CARD, spoken

from coach.errors import CoachError
from coach.judge.decide import decide
from coach.knowledge.model import LEVELS, Card, Kind, Route
from coach.knowledge.route_views import at_level, only_regions
from coach.knowledge.routes import default_route, load_route, shipped_routes

ROUTE = load_route("head-to-tail")


def required(route: Route) -> set[str]:
    """Ids of what is not optional."""
    return {item.id for item in route.items if not item.optional}


@pytest.mark.parametrize("route_id", shipped_routes())
def test_each_level_asks_what_the_one_below_asks_and_more(route_id: str) -> None:
    """Nothing a junior is asked is spared a senior, and a senior is asked the whole route."""
    route = load_route(route_id)
    junior, intermediate, senior = (required(at_level(route, level)) for level in LEVELS)
    assert junior < intermediate < senior == required(route)


def test_a_junior_is_asked_about_ten_parts_a_senior_nearly_thirty() -> None:
    """K-State Extension's level I record book asks a beginner for ten external parts and says that about thirty exist."""

    def parts(level: str) -> int:
        named = [item for item in at_level(ROUTE, level).items if item.kind is Kind.PART and not item.optional]
        return len({"wing" if item.id in ("wings.left", "wings.right") else item.id for item in named})

    assert parts("junior") == 10
    assert sum(item.kind is Kind.PART for item in ROUTE.items) in range(27, 32)


def test_what_is_above_the_level_is_optional_not_gone() -> None:
    """A junior who calls the hock a knee still hears of it; one who says nothing of it misses nothing."""
    junior = at_level(ROUTE, "junior")
    assert [item.id for item in junior.items] == [item.id for item in ROUTE.items]
    heard = {v.id: v for v in decide(spoken("This is the knee."), junior, CARD, BIRD, BREEDS).verdicts}
    assert heard["legs.hocks"].status.value == "misnamed" and not heard["legs.hocks"].required
    assert heard["legs.thighs"].status.value == "skipped" and not heard["legs.thighs"].required


def test_an_unknown_level_names_the_nearest() -> None:
    """A misspelled level is one line."""
    with pytest.raises(CoachError, match="no level 'junor'; did you mean 'junior'?"):
        at_level(ROUTE, "junor")


def test_a_drill_keeps_only_its_regions_in_route_order() -> None:
    """Items, their parts and their other places stay within the drill."""
    drill = only_regions(ROUTE, ["wings", "back"])
    assert [region.id for region in drill.regions] == ["back", "wings"]
    assert {item.region for item in drill.items} == {"back", "wings"}
    mites = next(item for item in drill.items if item.id == "back.parasites")
    assert mites.also_regions == ("wings",)  # the vent is not drilled
    assert any(item.region == "facts" for item in only_regions(ROUTE, ["Head ", "facts"]).items)


@pytest.mark.parametrize(
    ("regions", "message"),
    [
        (["wing"], "the route 'head-to-tail' has no region 'wing'; did you mean 'wings'?"),
        ([], "no region named; name one or more of opening, head, "),
        ([" "], "no region named"),
    ],
)
def test_a_wrong_drill_is_one_line(regions: list[str], message: str) -> None:
    """An unknown region names the nearest; no region at all lists them."""
    with pytest.raises(CoachError) as caught:
        only_regions(ROUTE, regions)
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    ("species", "route_id"),
    [("chicken", "head-to-tail"), ("duck", "duck"), ("goose", "goose"), ("turkey", "turkey"), ("guinea", "head-to-tail")],
)
def test_the_route_follows_the_species(species: str, route_id: str) -> None:
    """Each species but the guinea has a shipped route that is made for it."""
    assert default_route(Card("x", species, "X")) == route_id
    assert species in load_route(route_id).species or species == "guinea"
