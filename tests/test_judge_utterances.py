"""Wordings written from the item list alone, by somebody who had not seen the matcher: the odd half is measured only."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from coach.judge.decide import decide
from coach.knowledge.birds import load_bird
from coach.knowledge.cards import breed_names, load_card
from coach.knowledge.routes import load_route
from coach.listen.timed_words import read_timed_words

ROUTE = load_route("head-to-tail")
DATA = yaml.safe_load((Path(__file__).parent / "utterances" / "wordings.yaml").read_text(encoding="utf-8"))


def _counts(rows: list[dict[str, Any]], folder: Path) -> tuple[int, int, int]:
    """Items told alike, told too much or otherwise, and missed, over all rows."""
    (folder / "cards").mkdir()
    cards, birds = {}, {}
    for name, card in DATA["cards"].items():
        path = folder / "cards" / f"{name}.yaml"
        path.write_text(yaml.safe_dump(card), encoding="utf-8")
        cards[name] = load_card(path)
    for name, bird in DATA["birds"].items():
        path = folder / f"{name}.yaml"
        path.write_text(yaml.safe_dump(bird), encoding="utf-8")
        birds[name] = load_bird(path, check_card=False)
    same = extra = missed = 0
    for row in rows:
        text = folder / "text.txt"
        text.write_text(row["text"], encoding="utf-8")
        bird = birds[row["bird"]]
        found = decide(read_timed_words(text), ROUTE, cards[bird.card], bird, breed_names())
        got = {v.id: v.status.value for v in found.verdicts if v.status.value != "skipped"}
        want = dict.fromkeys(row.get("said", ()), "said") | dict.fromkeys(row.get("wrong", {}), "wrong")
        want |= dict.fromkeys(row.get("misnamed", {}), "misnamed")
        for item in got.keys() | want.keys():
            same += got.get(item) == want.get(item)
            extra += item in got and got[item] != want.get(item)
            missed += item in want and got.get(item) != want[item]
    return same, extra, missed


@pytest.mark.parametrize("half", [0, 1])
def test_fresh_wordings_are_read(half: int, tmp_path: Path) -> None:
    """F1 over all told items of utterances nobody tuned on is at least 0.95 (invented sentences, no published source)."""
    same, extra, missed = _counts(DATA["utterances"][half::2], tmp_path)
    assert 2 * same / (2 * same + extra + missed) >= 0.95
