"""`coach card`: list, show, check, and a new card made in a real terminal."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pexpect
import pytest
from cli_files import run

from coach.knowledge.cards import card_problems, load_card, shipped_cards
from coach.knowledge.new_card import QUESTIONS, applies

Capture = pytest.CaptureFixture[str]


class Talk:
    """A command in a terminal of its own: wait for a question, answer it."""

    def __init__(self, folder: Path, *argv: str) -> None:
        self.child = pexpect.spawn(
            sys.executable, ["-m", "coach", *argv], cwd=str(folder), encoding="utf-8", timeout=60, dimensions=(50, 200),
            env={"PYTHONPATH": str(Path(__file__).parent.parent), "PATH": "/usr/bin:/bin", "TERM": "dumb"},
        )  # fmt: skip

    def answer(self, question: str, text: str = "") -> None:
        """Wait for the question, then type the answer."""
        self.child.expect_exact(question)
        self.child.sendline(text)

    def end(self) -> int:
        """All that is left to read, and how the command ended."""
        self.child.expect(pexpect.EOF)
        self.child.close()
        return int(self.child.exitstatus or 0)


def test_list_and_show(capsys: Capture) -> None:
    """Every card is listed; a word narrows the list; show tells values with their sources."""
    assert len(run(capsys, "card", "list").out.splitlines()) == len(shipped_cards())
    assert {line.split()[0] for line in run(capsys, "card", "list", "turkey").out.splitlines()} >= {"bronze-turkey"}
    out = run(capsys, "card", "show", "white-pekin").out
    assert "weight of old drake    9 pounds  [lamon_slocum_ducks, platt_ducks]" in out and "[memory]" in out
    assert "Check these against the current standard" in out
    assert run(capsys, "card", "list", "zebra").line.startswith("coach: no card with 'zebra'")


def test_check_reads_a_whole_folder(capsys: Capture, tmp_path: Path) -> None:
    """All problems of all cards, with their lines."""
    (tmp_path / "cards").mkdir()
    (tmp_path / "cards" / "a.yaml").write_text("format: breed-card/1\nid: b\nspecies: chick\nbreed: X\ntoes: 9\n")
    (tmp_path / "c.yaml").write_text("format: breed-card/1\nid: c\nspecies: duck\nbreed: X\n")
    ran = run(capsys, "card", "check", str(tmp_path))
    assert ran.code == 2
    lines = ran.out.splitlines()
    assert [line.split("'")[1] for line in lines[:-1]] == ["species", "id", "toes", "toes"]
    assert lines[-1] == "4 things to mend in 1 of 2 files"


def test_a_new_card_from_a_near_relative(tmp_path: Path) -> None:
    """Enter keeps, a dash leaves out, wrong answers are asked again, and the file is sound."""
    talk = Talk(tmp_path, "card", "new", "--from", "orpington")
    talk.answer("What kind of bird is it?", "hen")
    talk.answer("'hen' is none of chicken, duck", "")
    talk.answer("Which breed? [Orpington]")
    talk.answer("Which variety? [Black]", "Lavender")
    for question in ("class", "country", "place", "arise", "kept for", "its eggs"):
        talk.answer(question)
    talk.answer("Which type of comb? [single]")
    talk.answer("How many points", "-")
    for question in ("beak", "eyes", "earlobes"):
        talk.answer(f"the {question}?" if question == "beak" else question)
    talk.answer("hackle", "lavender, pale gray")
    for question in ("undercolor", "tail", "shanks", "skin"):
        talk.answer(question)
    talk.answer("toes", "nine")
    talk.answer("'nine' is no whole number")
    talk.answer("feathered")
    talk.answer("What should a cock weigh? [10]", "4.5 kg")
    talk.answer("a hen weigh?", "80")
    talk.answer("80 pounds cannot be right", "8")
    talk.answer("a cockerel weigh?")
    talk.answer("a pullet weigh?")
    talk.answer("disqualifies")
    talk.answer("Where did you read these values?", "the club's book")
    assert talk.end() == 0
    path = tmp_path / "lavender-orpington.yaml"
    assert card_problems(path) == []
    card = load_card(path)
    assert (card.variety, card.colors["hackle"]) == ("Lavender", ("lavender", "pale gray"))
    assert card.comb is not None and card.comb.points is None
    assert card.weights_lb["cock"] == pytest.approx(9.92) and card.sources["*"] == ("the club's book",)
    assert card.sounds_like == {"Orpington": "or ping ton"} and "# points:" in path.read_text()


def test_only_unknown_words_are_asked_for(capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A word that the dictionary has is not asked for; a respelling in unknown words is asked again."""
    monkeypatch.chdir(tmp_path)
    skipped = [""] * (sum(applies(question, "goose") for question in QUESTIONS) - 3)
    answers = ["goose", "", "Zorblatt", "White", *skipped, "zorr blatt", "sore black", ""]
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(answers) + "\n"))
    ran = run(capsys, "card", "new", "own.yaml")
    assert ran.code == 0, ran.err
    assert "This one is needed." in ran.err and "I do not know 'zorr' either" in ran.err
    assert ran.err.count("dictionary lacks") == 1
    card = load_card(tmp_path / "own.yaml")
    assert card.sounds_like == {"Zorblatt": "sore black"} and card.sources["*"] == ("memory",)


def test_a_card_that_is_there_is_replaced_only_when_told_so(tmp_path: Path) -> None:
    """No keeps the file; the answers are not asked for in vain."""
    path = tmp_path / "own.yaml"
    path.write_text("mine")
    talk = Talk(tmp_path, "card", "new", "own.yaml")
    talk.answer("own.yaml is there already. Replace it?", "no")
    assert talk.end() == 2 and path.read_text() == "mine"


@pytest.mark.parametrize(
    ("argv", "message"),
    [
        (("card", "new", "--from", "Orpingtn"), "no card of the breed 'Orpingtn' to start from; did you mean Orpington"),
        (("card", "new", "x.txt"), "x.txt: a card is a .yaml file; name it x.txt.yaml"),
        (("card", "show", "buf-orpington"), "no breed card 'buf-orpington'; nearest: buff-orpington"),
    ],
)
def test_mistakes_are_one_line(argv: tuple[str, ...], message: str, capsys: Capture) -> None:
    """Exit 2 and what to do."""
    assert run(capsys, *argv).line.startswith(f"coach: {message}")
