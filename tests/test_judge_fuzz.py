"""Judging anything: any words at any times, against any valid card, gives a report that fits the schema, or one clear line."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from judging import BIRD, BREEDS, CARD

from coach.errors import CoachError
from coach.judge.decide import decide
from coach.knowledge.cards import find_card, load_card, shipped_cards
from coach.knowledge.model import Bird, Card, Fault
from coach.knowledge.routes import default_route, load_route
from coach.listen.timed_words import read_timed_words
from coach.report.build import build_report
from coach.report.explain import explain
from coach.report.json_file import from_dict, to_dict
from coach.report.model import Report
from coach.report.page import render_page
from coach.report.schema import schema
from coach.report.terminal import render
from coach.words import TimedWords, Word

QUICK = (Phase.explicit, Phase.reuse, Phase.generate)  # no shrinking: it takes minutes, and the failing words are shown whole
VALIDATOR = jsonschema.Draft202012Validator(schema())
# Words the judge knows, so that its rules meet in every order, beside text of any kind.
TRADE = (
    "the her a and or comb comb, beak eyes earlobe. lobes wattles shanks toes toe points point red bay white black rose single "
    "five 5 six four 9.5 1/2 half stone stones pounds ounces kilo grams hundred cock hen pullet weighs is are so both all not no "
    "sorry mean wait rooster would Leghorn Orpington Buff breed class English from Italy eggs lay brown other bird my your she "
    "he they it knee hocks left right wing um like like, you know side sprig breed clean left 's Juniper count yep that makes "
    "in front behind back lice without hackle undercolor tail 999999999999999999999999 . .5 \u00bd"
).split()
WORD = st.one_of(st.sampled_from(TRADE), st.sampled_from(TRADE), st.text(max_size=12), st.integers().map(str))
TEXTS = st.lists(WORD, max_size=60)


def _judged(texts: list[str], times: list[tuple[float, float]], card: Card, bird: Bird, limit_s: float | None) -> Report:
    words = tuple(Word(t, a, a + d) for t, (a, d) in zip(texts, sorted(times), strict=True))  # TimedWords rise by start
    heard = TimedWords(words, max((w.end_s for w in words), default=0.0))
    judgement = decide(heard, load_route(default_route(card)), card, bird, BREEDS)
    return build_report(
        heard, judgement, file="a.wav", listener="words", listener_s=0.0, route="r", card=card.id, bird=bird.id,
        bird_name=bird.name, breed=card.breed, limit_s=limit_s,
    )  # fmt: skip


def _check(report: Report) -> None:
    """The report fits its schema, reads back, and every face of it can be shown."""
    data = json.loads(json.dumps(to_dict(report), allow_nan=False))
    VALIDATOR.validate(data)
    once = from_dict(data)  # a sum of rounded times may differ from the rounded sum: compared from here on
    assert from_dict(json.loads(json.dumps(to_dict(once)))) == once
    render(report, width=80, color=False)
    render_page(report)
    for verdict in report.judgement.verdicts[:5]:
        explain(report, verdict.id)


@settings(max_examples=60, deadline=None, phases=QUICK, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_any_words_at_any_times_give_a_valid_report(data: st.DataObject) -> None:
    """Any text in any order, at times that repeat, overlap, leave hours out or last no time at all."""
    texts = data.draw(TEXTS)
    span = st.tuples(st.floats(0, 90000, allow_nan=False), st.floats(0, 60, allow_nan=False))
    times = data.draw(st.lists(span, min_size=len(texts), max_size=len(texts)))
    _check(_judged(texts, times, CARD, BIRD, data.draw(st.none() | st.floats(1, 10000))))


@settings(max_examples=25, deadline=None, phases=QUICK, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(shipped_cards()), st.sampled_from(("cock", "hen", "cockerel", "pullet")), TEXTS)
def test_any_shipped_card_and_bird_give_a_valid_report(card_id: str, sex_age: str, texts: list[str]) -> None:
    """Every species' route and every sex, with a fault of the bird's own."""
    card = load_card(find_card(card_id))
    region = load_route(default_route(card)).regions[0].id
    bird = Bird("b", "Juniper", card_id, sex_age, (Fault("f", region, "bent toe", (), "keep it as a pet"),))
    _check(_judged(texts, [(0.3 * n, 0.25) for n in range(len(texts))], card, bird, None))


VALUE: st.SearchStrategy[Any] = st.one_of(
    st.floats(allow_nan=True), st.integers(), st.none(), st.text(max_size=5), st.sampled_from((-1.0, math.nan, math.inf, 1e308))
)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.fixed_dictionaries({"text": st.text(max_size=8), "start": VALUE, "end": VALUE}), max_size=6))
def test_a_words_file_with_any_times_is_read_or_told_in_one_line(rows: list[dict[str, Any]], tmp_path: Path) -> None:
    """Negative, missing, endless or no numbers at all are refused in one line that names the file; the rest is valid."""
    path = tmp_path / "fuzz.words.json"
    path.write_text(json.dumps({"format": "timed-words/1", "words": rows}), encoding="utf-8")
    try:
        heard = read_timed_words(path)
    except CoachError as err:
        assert "fuzz.words.json" in str(err) and "\n" not in str(err)
        return
    assert all(0 <= w.start_s <= w.end_s < math.inf for w in heard.words)
    assert [w.start_s for w in heard.words] == sorted(w.start_s for w in heard.words)


@pytest.mark.parametrize("texts", [[], ["um"], ["9" * 400 + " points"], ["comb"] * 3000, ["\u0000"], ["\U0001f414" * 50]])
def test_extremes_give_a_valid_report(texts: list[str]) -> None:
    """Nothing, one sound, a number beyond counting, one word three thousand times, control characters, pictures."""
    words = [w for t in texts for w in t.split()]
    _check(_judged(words, [(0.3 * n, 0.25) for n in range(len(words))], CARD, BIRD, 60.0))
