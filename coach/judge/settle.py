"""Two readings of one rehearsal made into one judgement: where a generous reading would excuse, the member is asked to listen.

In: a strict judgement (words repaired only where the sound is clear) and a generous one (repaired wherever it is possible).
Out: the strict one, with `unsure` wherever it blames and the generous one does not. Pure.
"""

from __future__ import annotations

from dataclasses import replace

from coach.judge.verdict import Basis, Judgement, Status, Verdict

__all__ = ["BLAMED", "settle", "unsure"]

BLAMED = (Status.SKIPPED, Status.MISNAMED, Status.WRONG)


def settle(strict: Judgement, generous: Judgement) -> Judgement:
    """The strict judgement, softened to unsure where evidence is too weak either way."""
    other = {v.id: v for v in generous.verdicts}
    verdicts = tuple(_soften(v, other.get(v.id)) for v in strict.verdicts)
    return replace(strict, verdicts=verdicts)


def _soften(strict: Verdict, generous: Verdict | None) -> Verdict:
    if generous is None or strict.status not in BLAMED or generous.status is not Status.SAID:
        return strict
    return unsure(strict, generous.heard, generous.start_s, generous.end_s, generous.confidence, generous.basis)


def unsure(
    verdict: Verdict, heard: str | None, start_s: float | None, end_s: float | None, confidence: float | None, basis: Basis
) -> Verdict:
    """The verdict left open: the member is asked to listen to what may have told the item."""
    return replace(
        verdict,
        status=Status.UNSURE,
        heard=heard,
        start_s=start_s,
        end_s=end_s,
        confidence=confidence,
        basis=basis,
        place_s=None,
        note=None,
    )
