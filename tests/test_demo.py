"""The shipped demos: from the script every planted mistake and nothing else; by ear most of them, words and times near.

The scripts tell what is said, the truth files what was planted. Bounds on what is heard are our own: they hold for
these synthetic voices and say nothing about other speakers.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import cli_files as files
import jiwer
import numpy as np
import pytest
from cli_files import run

from coach.demo import Demo, compare, list_demos, load_demo
from coach.judge.verdict import Status
from coach.knowledge.routes import load_route
from coach.places import recordings_demo_dir
from coach.report.model import Report
from coach.review import load_subject, review

DEMOS = tuple(demo.id for demo in list_demos())
LEAST_FOUND = 0.8  # share of the planted mistakes to be found by ear
MOST_ERRORS = 0.25  # word error rate against the script, over all demos
NEAREST_S = 1.5  # between where a region's first word was heard and where the region begins in the report,
LEAST_NEAR = 0.9  # ... for this share of the regions: a region whose first sentence is misheard begins with its second


# From the scripts -----------------------------------------------------------------------------------------------------


def from_script(name: str, folder: Path) -> Report:
    """The report of the script's own words."""
    words = files.words_file(folder / "said.words.json", files.script_words(name))
    return review(None, load_subject(str(load_demo(name).bird)), words=words).report


@pytest.mark.parametrize("name", DEMOS)
def test_every_planted_mistake_is_found_in_the_script(name: str, tmp_path: Path) -> None:
    """With the very status that the truth file gives it, and the region out of order."""
    demo, report = load_demo(name), from_script(name, tmp_path)
    status = {v.id: v.status.value for v in report.judgement.verdicts}
    assert {p.item: status.get(p.item) for p in demo.planted} == {p.item: p.status for p in demo.planted}
    assert report.judgement.out_of_order == demo.out_of_order


@pytest.mark.parametrize("name", DEMOS)
def test_nothing_else_is_blamed_in_the_script(name: str, tmp_path: Path) -> None:
    """Everything the script tells is said, and no other required item is doubted."""
    demo, report = load_demo(name), from_script(name, tmp_path)
    planted = {p.item for p in demo.planted}
    others = [v for v in report.judgement.verdicts if v.required and v.id not in planted]
    assert {v.id: v.status.value for v in others if v.status is not Status.SAID} == {}
    told = {item for sentence in files.script(name)["sentences"] for item in sentence.get("tells", ())}
    status = {v.id: v.status.value for v in report.judgement.verdicts}
    assert {item: status.get(item) for item in told if status.get(item) != "said"} == {}


@pytest.mark.parametrize("name", DEMOS)
def test_the_truth_file_is_that_of_the_script(name: str) -> None:
    """Recording, bird and truth belong together, and every planted item is one of the usual route or the bird's own."""
    script, demo = files.script(name), load_demo(name)
    truth = json.loads((recordings_demo_dir() / f"{name}.truth.json").read_text(encoding="utf-8"))
    assert (truth["format"], truth["title"], truth["planted"], truth["out_of_order"]) == (
        "demo-truth/1", script["title"], script["planted"], script["out_of_order"],
    )  # fmt: skip
    assert demo.recording.stat().st_size < 300_000
    bird = load_subject(str(demo.bird)).bird
    known = {item.id for item in load_route("head-to-tail").items} | {f"faults.{fault.id}" for fault in bird.faults}
    assert {p.item for p in demo.planted} <= known


@pytest.mark.parametrize("name", DEMOS)
def test_asides_and_fillers_of_the_script_are_no_mistakes(name: str, tmp_path: Path) -> None:
    """Every "um" and "uh" is counted once; words to the bird are blamed for nothing."""
    said = " ".join(sentence["say"] for sentence in files.script(name)["sentences"])
    report = from_script(name, tmp_path)
    assert report.judgement.delivery.fillers == len(re.findall(r"\b(?:um|uh)\b", said.lower()))


# By ear ---------------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def heard() -> dict[str, tuple[Demo, Report]]:
    """Each demo through the real recogniser, once."""
    pytest.importorskip("ctranslate2")
    return {demo.id: (demo, files.hear(demo.id).report) for demo in list_demos()}


def plain(text: str) -> str:
    """Words alone, in small letters, fillers left out: the recogniser writes none."""
    words = re.sub(r"[^a-z' ]", " ", text.lower().replace("-", " ")).split()
    return " ".join(word for word in words if word not in ("um", "uh"))


@pytest.mark.listener
def test_most_planted_mistakes_are_heard(heard: dict[str, tuple[Demo, Report]]) -> None:
    """At least four in five of them, over each demo in which any were planted."""
    for name, (demo, report) in heard.items():
        found, _ = compare(demo, report)
        assert sum(hit for _, hit in found) >= LEAST_FOUND * len(found), (name, found)


@pytest.mark.listener
def test_little_is_blamed_without_cause(heard: dict[str, tuple[Demo, Report]]) -> None:
    """A mishearing may cost an item, never more than one in five of all required ones."""
    for name, (demo, report) in heard.items():
        _, blamed = compare(demo, report)
        required = sum(v.required for v in report.judgement.verdicts)
        assert len(blamed) <= required / 5, (name, blamed)


@pytest.mark.listener
def test_the_words_are_heard(heard: dict[str, tuple[Demo, Report]]) -> None:
    """Word error rate against the scripts, by jiwer."""
    said = [plain(" ".join(s["say"] for s in files.script(name)["sentences"])) for name in heard]
    got = [plain(" ".join(w.text for w in report.words)) for _, report in heard.values()]
    assert jiwer.wer(said, got) <= MOST_ERRORS


@pytest.mark.listener
def test_regions_begin_where_their_words_were_heard(heard: dict[str, tuple[Demo, Report]]) -> None:
    """The script's sentences, aligned with the words heard by jiwer, tell when each region was entered."""
    apart_s = {}
    for name, (_, report) in heard.items():
        begins = _first_heard(files.script(name)["sentences"], report)
        for region in report.judgement.regions:
            if region.visits and region.id in begins:
                apart_s[name, region.id] = abs(min(v.start_s for v in region.visits) - begins[region.id])
    far = {place: s for place, s in apart_s.items() if s > NEAREST_S}
    assert len(apart_s) >= 30 and len(far) <= (1 - LEAST_NEAR) * len(apart_s), far


@pytest.mark.listener
def test_times_rise_and_stay_in_the_recording(heard: dict[str, tuple[Demo, Report]]) -> None:
    """Every word and every piece of evidence lies within the recording."""
    for _, report in heard.values():
        starts = [w.start_s for w in report.words]
        assert starts == sorted(starts) and report.words[-1].end_s <= report.seconds
        for verdict in report.judgement.verdicts:
            if verdict.status is not Status.SKIPPED:
                assert verdict.start_s is not None and verdict.end_s is not None and verdict.heard
                assert 0 <= verdict.start_s <= verdict.end_s <= report.seconds


@pytest.mark.listener
def test_the_planted_order_is_heard(heard: dict[str, tuple[Demo, Report]]) -> None:
    """The one demo with a region out of order shows it, the others show none."""
    assert {name: report.judgement.out_of_order for name, (_, report) in heard.items()} == {
        name: demo.out_of_order for name, (demo, _) in heard.items()
    }


@pytest.mark.listener
def test_noise_is_no_speech(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Noise in which nobody speaks gives one clear line."""
    pytest.importorskip("ctranslate2")
    noise = np.random.default_rng(5).normal(0, 0.05, 16000 * 5).astype(np.float32)
    path = files.wav(tmp_path / "noise.wav", noise)
    assert run(capsys, "review", path, "--bird", files.BIRD).line == (
        f"coach: {path}: no speech found; check that the microphone was on, and play the recording"
    )


@pytest.mark.listener
def test_a_broken_off_recording_says_so(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """What is left is reviewed, and both the screen and the report tell that some is missing."""
    pytest.importorskip("ctranslate2")
    from coach.audio.read import read

    path = Path(files.wav(tmp_path / "half.wav", read(load_demo("tansy").recording).samples[: 16000 * 30]))
    path.write_bytes(path.read_bytes()[: 16000 * 2 * 20])
    ran = run(capsys, "review", str(path), "--bird", str(load_demo("tansy").bird))
    assert ran.code == 0 and ran.err == f"coach: {path}: breaks off or is damaged; this report is of what is left\n"
    assert "The recording breaks off or is damaged" in ran.out and "“pinkish white”" in ran.out


@pytest.mark.listener
def test_the_demo_command_tells_what_was_found(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, heard: dict[str, tuple[Demo, Report]]
) -> None:
    """After the report: what was planted, what of it was found, and what was blamed without cause."""
    demo, _ = heard["checkers"]
    monkeypatch.setattr("coach.review.review", lambda *_, **__: files.hear("checkers"))
    ran = run(capsys, "demo")
    assert ran.code == 0 and "This was the demo 'checkers', spoken by a synthetic voice" in ran.out
    assert f"Planted on purpose: {len(demo.planted)}; found: " in ran.out and "The hocks are called knees." in ran.out
    assert "Blamed without cause: " in ran.out


def _first_heard(sentences: list[dict[str, str]], report: Report) -> dict[str, float]:
    """The second at which the first word of each region's first sentence was heard, where it was heard right."""
    said = [(s["region"], word) for s in sentences for word in plain(s["say"]).split()]
    firsts: dict[str, int] = {}
    for n, (region, _) in enumerate(said):
        firsts.setdefault(region, n)
    got = [(piece, w.start_s) for w in report.words for piece in plain(w.text).split()]
    aligned = jiwer.process_words(" ".join(w for _, w in said), " ".join(w for w, _ in got)).alignments[0]
    times: dict[int, float] = {}
    for chunk in aligned:
        if chunk.type == "equal":
            for k in range(chunk.ref_end_idx - chunk.ref_start_idx):
                times[chunk.ref_start_idx + k] = got[chunk.hyp_start_idx + k][1]
    return {region: times[n] for region, n in firsts.items() if n in times}
