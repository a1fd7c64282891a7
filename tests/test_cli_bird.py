"""`coach bird`: a new bird made in a real terminal, and files checked."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from cli_files import BIRD, run
from test_cli_card import Talk

from coach.knowledge.birds import load_bird
from coach.knowledge.model import Fault

Capture = pytest.CaptureFixture[str]


def test_a_new_bird_with_a_fault(tmp_path: Path) -> None:
    """Breeds are offered by their words, the region is guessed from the fault's, and the file is sound."""
    talk = Talk(tmp_path, "bird", "new")
    talk.answer("What is your bird called?", "")
    talk.answer("This one is needed.", "Duchess")
    talk.answer("Which breed card?", "orpington")
    talk.answer("Which of these? black-orpington, blue-orpington, buff-orpington", "buff orpington")
    talk.answer("Old ones are a year or more", "pul")
    talk.answer("an honest fault", "bent toe on the left foot")
    talk.answer("Where is it seen?")
    talk.answer("Other words for it", "crooked toe, one toe is bent")
    talk.answer("What do you plan", "keep her for eggs")
    talk.answer("Which words of that", "for eggs")
    talk.answer("Another fault?")
    assert talk.end() == 0
    bird = load_bird(tmp_path / "duchess.yaml")
    assert (bird.name, bird.card, bird.sex_age) == ("Duchess", "buff-orpington", "pullet")
    told = ("bent toe on the left foot", ("crooked toe", "one toe is bent"), "keep her for eggs", ("for eggs",))
    assert bird.faults == (Fault("bent-toe-left", "legs", *told),)


def test_a_duck_is_asked_in_a_ducks_words(tmp_path: Path) -> None:
    """Old and young drakes and ducks, not cocks and hens."""
    talk = Talk(tmp_path, "bird", "new", "puddle.yaml", "--card", "white-pekin")
    talk.answer("What is your bird called?", "Puddle")
    talk.answer("(old drake, old duck, young drake, young duck)", "cock")
    talk.answer("Please answer one of", "young drake")
    talk.answer("an honest fault")
    assert talk.end() == 0
    assert "sex_age: young drake" in (tmp_path / "puddle.yaml").read_text()
    assert load_bird(tmp_path / "puddle.yaml").sex_age == "cockerel"


def test_check_knows_the_regions_of_the_species(capsys: Capture, tmp_path: Path) -> None:
    """A fault stands in a region of the bird's own route; a card of one's own is checked with the bird."""
    assert run(capsys, "bird", "check", BIRD).out.endswith("the bird is sound\n")
    path = tmp_path / "tom.yaml"
    head = "format: bird/1\nid: tom\nname: Tom\ncard: bronze-turkey\nsex_age: tom\n"
    path.write_text(f"{head}faults: [{{id: a, region: abdomen, say: b}}]\n")
    ran = run(capsys, "bird", "check", str(path))
    assert ran.code == 2 and "tom.yaml:6: key 'faults[1].region': the route has no region 'abdomen'" in ran.out
    (tmp_path / "own-card.yaml").write_text("format: breed-card/1\nid: own-card\nspecies: turkey\nbreed: X\ntoes: 9\n")
    path.write_text(head.replace("bronze-turkey", "own-card"))
    assert "its card is at fault: " in run(capsys, "bird", "check", str(path)).out


def test_answers_that_end_too_early_write_nothing(capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without anybody at the keyboard there is one line and no file."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO("Duchess\n"))
    ran = run(capsys, "bird", "new")
    assert ran.code == 2 and ran.err.endswith("coach: the answers ended too early; nothing was changed\n")
    assert list(tmp_path.iterdir()) == []
