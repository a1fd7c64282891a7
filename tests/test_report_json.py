"""The report file: the stable fields, reading back, the shipped schema, and writing whole or not at all."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import report_samples as samples

from coach.errors import CoachError
from coach.report.json_file import from_dict, read_json, to_dict, write_json
from coach.report.schema import SCHEMA_FILE, render_schema, schema

NAMES = tuple(samples.GOLDEN)


def plain(name: str) -> Any:
    """The report as a program in another language would see it."""
    return json.loads(json.dumps(to_dict(samples.GOLDEN[name]())))


def test_the_stable_fields_are_there() -> None:
    """The fields other programs rely on keep their names and meanings."""
    data = plain("weak")
    assert data["format"] == "rehearsal-report/1"
    assert data["recording"]["file"] == "juniper-3.ogg"
    assert data["listener"] == {"name": "whisper", "seconds": 4.21}
    assert (data["route"], data["card"], data["bird"]) == ("head-to-tail", "buff-example", "juniper")
    assert data["words"][0].items() >= {"text": "Hello,", "start": 0.4, "end": 0.7, "confidence": 0.95}.items()
    assert data["order"]["out_of_order"] == ["tail"]
    assert data["delivery"]["words_per_minute"] == 141.3
    assert data["delivery"]["long_pauses"] == [{"start": 20.0, "end": 24.6}]
    assert data["caution"] == " ".join(data["cautions"])


def test_an_item_has_evidence_and_a_skipped_one_has_none() -> None:
    """A wrong value names its words and seconds; a skipped item has null instead."""
    items = {item["id"]: item for item in plain("weak")["items"]}
    comb = items["head.comb_type"]
    assert (comb["status"], comb["expected"], comb["heard"]) == ("wrong", "single", "rose")
    assert comb["start"] < comb["end"]
    wing = items["wings.left"]
    assert (wing["status"], wing["heard"], wing["start"], wing["end"]) == ("skipped", None, None, None)


def test_a_region_has_visits_and_places() -> None:
    """Places count from 1; a region not visited has no spoken place."""
    regions = {region["id"]: region for region in plain("weak")["regions"]}
    assert regions["head"]["visits"][0]["start"] == 5.2
    assert (regions["tail"]["expected_place"], regions["tail"]["spoken_place"]) == (5, 3)
    assert (regions["wings"]["status"], regions["wings"]["spoken_place"], regions["wings"]["visits"]) == (
        "skipped",
        None,
        [],
    )


@pytest.mark.parametrize("name", NAMES)
def test_reading_back_gives_the_same_report(name: str) -> None:
    """What was written is what is read, the rounding apart."""
    once = from_dict(plain(name))
    assert from_dict(json.loads(json.dumps(to_dict(once)))) == once
    assert to_dict(once) == to_dict(samples.GOLDEN[name]())


@pytest.mark.parametrize("name", NAMES)
def test_every_report_fits_the_schema(name: str) -> None:
    """Real reports validate."""
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(plain(name), schema(), cls=jsonschema.Draft202012Validator)


def test_the_shipped_schema_is_the_one_the_code_makes() -> None:
    """Renew it with `python -m coach.report.schema`."""
    shipped = resources.files("coach.report").joinpath(SCHEMA_FILE).read_text(encoding="utf-8")
    assert shipped == render_schema()


def test_the_schema_refuses_what_is_no_report() -> None:
    """A status that does not exist does not pass."""
    data = plain("weak")
    data["items"][0]["status"] = "perfect"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema())


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        (("format",), "rehearsal-report/9", "report.format: unexpected value 'rehearsal-report/9'"),
        (("items", 0, "status"), "perfect", "report.items[0].status"),
        (("words", 1, "start"), "soon", "report.words[1].start"),
        (("words", 1, "end"), -1, "report.words[1].end"),
        (("regions",), {}, "report.regions: expected a list"),
        (("order",), [], "report.order: expected a mapping"),
        (("fixes", 0, "item"), "no.such", "no.such"),
        (("words", 1, "end"), 0, "needs 0 <= start <= end"),
    ],
)
def test_a_damaged_report_names_the_place(path: tuple[Any, ...], value: object, says: str) -> None:
    """The message says where the file departs from a report."""
    data = plain("weak")
    inner = data
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    with pytest.raises(CoachError) as caught:
        from_dict(data)
    assert says in str(caught.value)


def test_a_missing_field_is_named() -> None:
    """Other people's JSON is refused in one line."""
    with pytest.raises(CoachError, match="'format' is missing"):
        from_dict({})


def test_writing_and_reading_a_file(tmp_path: Path) -> None:
    """The file holds the report; words outside ASCII stay readable."""
    path = tmp_path / "out.json"
    write_json(samples.with_text("Zoë"), path)
    assert "Zoë" in path.read_text(encoding="utf-8")
    assert read_json(path).bird_name == "Zoë"
    assert [p.name for p in tmp_path.iterdir()] == ["out.json"]


def test_an_unwritable_place_leaves_nothing_behind(tmp_path: Path) -> None:
    """A folder as target is told in one line, and no half file stays."""
    target = tmp_path / "taken"
    target.mkdir()
    with pytest.raises(CoachError, match="cannot write the report"):
        write_json(samples.weak(), target)
    assert [p.name for p in tmp_path.iterdir()] == ["taken"]
    with pytest.raises(CoachError, match="missing"):
        write_json(samples.weak(), tmp_path / "missing" / "out.json")


def test_the_old_file_stays_when_writing_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A failed move keeps what was there."""
    path = tmp_path / "out.json"
    path.write_text("old")

    def refuse(source: object, target: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("coach.report.files.os.replace", refuse)
    with pytest.raises(CoachError, match="Permission denied"):
        write_json(samples.weak(), path)
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["out.json"]


def test_an_unreadable_report_is_told(tmp_path: Path) -> None:
    """Missing and broken files name the file."""
    broken = tmp_path / "broken.json"
    broken.write_text("{")
    for path in (broken, tmp_path / "none.json"):
        with pytest.raises(CoachError, match=path.name):
            read_json(path)


def test_time_lateness_and_fillers_are_in_the_file() -> None:
    """Shares of the limit by region, the late item, repeats and filler words; null where the words have no times."""
    data = plain("limited")
    legs = next(r for r in data["timing"]["regions"] if r["id"] == "legs")
    things = {r["id"]: r["required"] for r in data["regions"]}
    share = 45 * things["legs"] / sum(things.values())
    assert (data["timing"]["limit"], legs["usual"], legs["budget"]) == (45.0, 7.0, pytest.approx(share, abs=0.001))
    assert [i["id"] for i in data["items"] if i["late"]] == ["head.beak_color"]
    assert (data["delivery"]["filler_words"], data["delivery"]["repeats"]) == (3, 2)
    assert next(r for r in data["regions"] if r["id"] == "head")["words_per_minute"] == 122.0
    assert plain("untimed")["timing"] is None


def test_a_damaged_timing_names_the_place() -> None:
    """A mapping that may be null is checked inside."""
    data = plain("limited")
    data["timing"]["regions"][0]["even"] = "long"
    with pytest.raises(CoachError, match=r"report.timing.regions\[0\].even"):
        from_dict(data)
