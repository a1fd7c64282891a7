"""Ordinary speech is not harmed: a minute of prose full of sound-alikes (training/prose.txt, our own) examines no bird."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.review import load_subject, review

ROOT = Path(__file__).parent.parent


@pytest.mark.listener
@pytest.mark.parametrize("name", ["prose-0", "prose-2"])
def test_a_minute_of_prose_is_no_rehearsal(name: str) -> None:
    """Words were heard, and still nothing is reported: neither praise nor blame."""
    pytest.importorskip("ctranslate2")
    subject = load_subject(str(ROOT / "recordings_demo" / "birds" / "checkers.yaml"))
    report = review(str(ROOT / "tests" / "sounds" / f"{name}.ogg"), subject).report
    assert len(report.words) > 150 and report.seconds > 55
    assert not report.judgement.is_rehearsal and report.fixes == ()
