"""`coach say`: how the listener expects a word to sound."""

from __future__ import annotations

import pytest
from cli_files import BIRD, run

Capture = pytest.CaptureFixture[str]


def test_a_dictionary_word_tells_its_phones(capsys: Capture) -> None:
    """Phones are those of the CMU Pronouncing Dictionary, without stress."""
    out = run(capsys, "say", "hock", "Wattle").out.splitlines()
    assert out[0].split() == ["hock", "hahk", "HH", "AA", "K", "(the", "dictionary)"]
    assert "W AA T AH L" in out[1] and "wah-tuhl" in out[1]


def test_where_a_word_is_known_from_is_told(capsys: Capture) -> None:
    """Shipped respelling, the card's own, or a guess with what to do about it."""
    assert "(shipped with the coach: under color)" in run(capsys, "say", "undercolor").out
    guessed = run(capsys, "say", "Faverolles").out
    assert "(guessed from its letters)" in guessed and "sounds_like: {Faverolles:" in guessed
    of_card = run(capsys, "say", "Faverolles", "--card", "salmon-faverolles").out
    assert "(the card: fav er all)" in of_card and "fa-ver-awl" in of_card and of_card.count("\n") == 1
    assert run(capsys, "say", "rock", "--bird", BIRD).out.startswith("rock ")


def test_a_respelling_can_be_tried(capsys: Capture) -> None:
    """Everyday words are taken; others are told to be guesses."""
    assert "or-ping-tuhn" in run(capsys, "say", "Orpington", "--as", "or ping ton").out
    assert "'zor' is in no dictionary" in run(capsys, "say", "Zorbull", "--as", "zor bull").out


@pytest.mark.parametrize(
    ("argv", "message"),
    [
        (("say", "9"), "coach: '9' holds no letters from a to z; write numbers as words, as in 'nine'"),
        (("say", "a", "b", "--as", "c"), "coach: --as tries a respelling for one word; name that word alone"),
        (("say", "a", "--card", "nowhere-at-all-xyz"), "coach: no breed card 'nowhere-at-all-xyz'"),
    ],
)
def test_mistakes_are_one_line(argv: tuple[str, ...], message: str, capsys: Capture) -> None:
    """Exit 2 and what to do."""
    assert run(capsys, *argv).line.startswith(message)
