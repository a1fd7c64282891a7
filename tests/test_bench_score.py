"""The scorer against reports written by hand, the tagged texts, the maker's scripts, and the runner of mutations."""

from __future__ import annotations

import re
from pathlib import Path
from random import Random
from typing import Any

import pytest

from bench import make, mutations
from bench import score as score_module
from bench.cases import load_cases, put_subject, write_tagged
from bench.make import deal
from bench.mutations import MUTATIONS, Mutation, fits, outcome
from bench.score import compare, plain_words, score, total
from bench.script import HERE, Script, load_phrases, write_script
from coach.errors import CoachError
from coach.review import Subject, load_subject

TRUTH: dict[str, Any] = {
    "seconds": 60.0, "voice": "none", "effects": ["none"],
    "items": {"head.beak": "said", "head.beak_color": "wrong", "head.comb": "said", "head.wattles": "misnamed",
              "neck.hackle": "skipped", "back.back": "said"},
    "optional_items": {"tail.color": "said"},
    "regions": [{"id": "head", "start": 5.0, "end": 25.0}, {"id": "back", "start": 26.0, "end": 40.0}],
    "order": {"spoken": ["head", "back"], "out_of_order": []},
    "sentences": [{"start": 5.0, "end": 25.0, "region": "head"}, {"start": 26.0, "end": 40.0, "region": "back"}],
}  # fmt: skip
WORDS = "this is the beak this is the back".split()


def report(**statuses: str) -> dict[str, Any]:
    """A report that is perfect but for these statuses; dots are written as two underscores."""
    items = {**TRUTH["items"], **TRUTH["optional_items"], **{k.replace("__", "."): v for k, v in statuses.items()}}
    return {
        "items": [{"id": i, "status": s, "required": True} for i, s in items.items()],
        "words": [{"text": w} for w in WORDS],
        "regions": [{"id": r["id"], "visits": [{"start": r["start"], "end": r["end"]}]} for r in TRUTH["regions"]],
        "order": {"spoken": ["head", "back"], "out_of_order": []},
    }


def figures(made: dict[str, Any] | None) -> dict[str, Any]:
    """The figures of one case."""
    return compare(TRUTH, WORDS, made)[0].figures()


def everything(status: str) -> dict[str, Any]:
    """A report that says this of every item."""
    return report(**{item.replace(".", "__"): status for item in TRUTH["items"]})


def test_a_perfect_report() -> None:
    """One everywhere, no alarm, no error."""
    got = figures(report())
    assert [got[k] for k in ("precision", "recall", "f1", "exact", "order", "time")] == [1.0] * 6
    assert [got[k] for k in ("alarms", "unsure", "soft", "start_median", "start_p90", "word_error")] == [0.0] * 6


def test_a_report_that_believes_or_blames_everything() -> None:
    """All said finds nothing; all skipped finds three of three with three alarms, one of them with the right word."""
    assert (figures(everything("said"))["recall"], figures(everything("said"))["f1"]) == (0.0, None)
    got = figures(everything("skipped"))
    assert (got["recall"], got["precision"], got["alarms"], got["exact"]) == (1.0, 0.5, 3.0, pytest.approx(1 / 3))
    assert got["f1"] == pytest.approx(2 / 3)


def test_unsure_neither_finds_nor_alarms() -> None:
    """It is counted by itself."""
    got = figures(everything("unsure"))
    assert (got["recall"], got["soft"], got["unsure"], got["alarms"]) == (0.0, 1.0, 1.0, 0.0)


def test_blame_for_what_is_never_asked_is_an_alarm() -> None:
    """A required item of the usual route that is not this bird's; an item that the usual route lacks is none."""
    assert figures(report(tail__sickles="skipped"))["alarms"] == 1.0
    assert figures(report(beak__bean="skipped"))["alarms"] == 0.0


def test_without_a_report_everything_is_missed() -> None:
    """It counts as a case all the same."""
    got = figures(None)
    assert (got["cases"], got["recall"], got["order"], got["time"], got["word_error"]) == (1, 0.0, 0.0, 0.0, 1.0)


def test_regions_and_order_and_words() -> None:
    """A region told seven seconds late, an order blamed without cause, a quarter of the words lost."""
    made = report()
    made["regions"][1]["visits"] = [{"start": 33.0, "end": 40.0}]
    made["order"]["out_of_order"] = ["back"]
    made["words"] = made["words"][:-2]
    got = figures(made)
    assert (got["order"], got["start_p90"], got["word_error"]) == (0.0, 7.0, 0.25)
    assert got["time"] == pytest.approx(27 / 34, abs=0.01)
    assert plain_words(["Um, under-color", "of the ear lobes."]) == ["undercolor", "of", "the", "earlobes"]


# --- tagged texts ---------------------------------------------------------------------------------------------------

TAGGED = """card: buff-orpington
bird: Old Fern
sex_age: hen
speaker: 12, plain
fault: bare-spot | neck | bare spot on her neck | let her molt
---
This hen{opening.sex_age} is Fern. Here's her beak{head.beak}, it's yellow{head.beak_color!wrong:yellow}. These are
her knees{legs.hocks!misnamed:knees} and the shanks{legs.shanks}. There's a bare spot on her neck{faults.bare-spot}.
"""


def test_a_tagged_text_becomes_a_case(tmp_path: Path) -> None:
    """Tags tell what was said and how, all else the bird is asked was skipped; the marks stay with their words."""
    text = tmp_path / "fern.txt"
    text.write_text(TAGGED, encoding="utf-8")
    write_tagged(text, tmp_path / "set")
    (case,) = load_cases(tmp_path / "set")
    told = {i: s for i, s in case.truth["items"].items() if s != "skipped"}
    assert told == {
        "opening.sex_age": "said", "head.beak": "said", "head.beak_color": "wrong", "legs.hocks": "misnamed",
        "legs.shanks": "said", "faults.bare-spot": "said",
    }  # fmt: skip
    assert "facts.class" in case.truth["items"] and "tail.sickles" not in case.truth["items"]
    assert case.truth["optional_items"]["faults.bare-spot.plan"] == "skipped"
    assert case.said()[:8] == ["This", "hen", "is", "Fern.", "Here's", "her", "beak,", "it's"]
    assert total(score([case], "words")).figures()["f1"] == 1.0


def test_a_tag_that_does_not_apply_is_refused(tmp_path: Path) -> None:
    """One line tells the tag and the file; a text without its card does too."""
    text = tmp_path / "fern.txt"
    text.write_text(TAGGED.replace("{legs.shanks}", "{tail.sickles}"), encoding="utf-8")
    with pytest.raises(CoachError, match=re.escape(f"{text}: {{tail.sickles}} is not asked of this bird")):
        write_tagged(text, tmp_path / "set")
    text.write_text(TAGGED.replace("bird: Old Fern\n", ""), encoding="utf-8")
    with pytest.raises(CoachError, match="there is no bird; add a line 'bird: ...'"):
        write_tagged(text, tmp_path / "set")


# --- the maker's scripts --------------------------------------------------------------------------------------------

PHRASES = load_phrases()


def scripts(folder: Path, count: int) -> list[tuple[Subject, Script]]:
    """So many rehearsals as text, of every bird."""
    out = []
    for order in deal(Random(5), count, ["none"], ["none"], None):
        put_subject(folder, "birds/one.yaml", order.bird, f"cards/{order.bird['card']}.yaml")
        subject = load_subject(str(folder / "birds/one.yaml"), str(folder / f"cards/{order.bird['card']}.yaml"))
        out.append((subject, write_script(Random(order.name), subject, PHRASES, order.mistakes, order.wordy)))
    return out


def test_text_and_truth_of_a_script_agree(tmp_path: Path) -> None:
    """What is told has its sentence and what is skipped has none, wrong words stand in the text, and every kind is planted."""
    planted = set()
    for subject, script in scripts(tmp_path, 40):
        text = " ".join(line.text for line in script.lines)
        told = {item: status for line in script.lines for item, status in line.tells.items()}
        assert told == {item: status for item, status in script.told.items() if status != "skipped"}
        assert "{" not in text and all(heard in text for heard in script.heard.values())
        terms = {i: PHRASES.parts[i][0] for i, s in script.told.items() if s in ("skipped", "misnamed") and i in PHRASES.parts}
        assert [i for i, term in terms.items() if term and re.search(rf"\b{term}\b", text)] == []
        regions = [r.id for r in subject.route.regions if r.id in script.spoken and r.id not in script.out_of_order]
        assert [r for r in script.spoken if r not in script.out_of_order] == regions
        planted |= {*script.told.values(), "moved" if script.out_of_order else "in order"}
    assert planted == {"said", "skipped", "misnamed", "wrong", "moved", "in order"}


def test_phrases_tell_what_their_slots_say() -> None:
    """No sentence names a part that it has no slot for, and the wrong names are those of the route."""
    route = load_subject(str(HERE / "rehearsals/birds/sorrel.yaml")).route
    said = {i.id: re.compile(rf"\b(?:{'|'.join(i.say)})\b") for i in route.items if i.kind.value == "part"}
    for region, sentences in PHRASES.sentences.items():
        for sentence in sentences:
            literal = re.sub(r"\{[\w.]+\}", "", sentence.text).lower()
            assert {i for i, words in said.items() if words.search(literal)} <= set(sentence.tells), (region, sentence.text)
    wrong = {i.id: set(i.wrong_names) for i in route.items}
    assert {i: set(row[1:]) - wrong[i] for i, row in PHRASES.parts.items() if set(row[1:]) - wrong[i]} == {}


def test_the_same_seed_says_the_same(tmp_path: Path) -> None:
    """Two runs, the same scripts."""
    assert [s for _, s in scripts(tmp_path, 6)] == [s for _, s in scripts(tmp_path, 6)]


# --- mutations ------------------------------------------------------------------------------------------------------


def test_every_mutation_still_fits_the_source() -> None:
    """Each piece of text stands there once, and the test that guards it exists."""
    assert [m.name for m in MUTATIONS if not fits(m)] == []
    source = "".join((mutations.ROOT / file).read_text(encoding="utf-8") for file in mutations.GUARDS)
    guards = set(re.findall(r"^def (test_\w+)", source, re.MULTILINE))
    assert {m.guard for m in MUTATIONS} <= guards and len(MUTATIONS) >= 50


def test_a_mutation_is_killed_survives_or_is_broken() -> None:
    """One that a test notices, one that changes nothing, and one that is no Python."""
    killed = next(m for m in MUTATIONS if m.name == "decide: _late off")
    assert outcome(killed)[0] == "killed"
    assert outcome(Mutation("nothing", "judge/settle.py", "BLAMED = (", "BLAMED = (  # ", ""))[0] == "broken"
    harmless = Mutation("a comment", "judge/settle.py", "BLAMED = (", "# nothing\nBLAMED = (", killed.guard)
    assert outcome(harmless) == ("survived", "")


def test_a_missing_program_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Without flite the maker says in one line what to install; so does the scorer of a folder without cases."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr("sys.argv", ["make", str(tmp_path / "out"), "--count", "1"])
    with pytest.raises(SystemExit, match="2"):
        make.main()
    assert capsys.readouterr().err == "make: flite is not installed; on Debian: apt-get install flite\n"
    monkeypatch.setattr("sys.argv", ["score", str(tmp_path)])
    with pytest.raises(SystemExit, match="2"):
        score_module.main()
    assert capsys.readouterr().err == f"score: {tmp_path}: there is no CASE.truth.json\n"
