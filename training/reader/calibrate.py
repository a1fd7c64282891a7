"""calibrate.py TEXTS OUT.json SCORES.npz... [--never W,W] [--untaught SCORES TITLES]: the chances that the reader's answers mean.

SCORES are logits of rehearsals whose writers the reader had not seen (train.py --hold). Fits a multinomial logistic model for
each kind of item, shows its reliability and what follows, each writer judged by a model fitted on the other writers. Fitted on
the texts as written: what the listener lost or misheard is the business of weighing the sound, not of reading; what it wrote
is only judged.
"""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import yaml
from numpy.typing import NDArray

from coach.interview.model import PointStatus
from coach.interview.reading import OPEN as LEFT_OPEN
from coach.interview.reading import point_features
from coach.interview.score import score
from coach.judge.belief import Logistic, features, verdict_of
from coach.judge.evidence import Evidence, Find, fault_evidence, gather
from coach.judge.lexicon import build_lexicon, item_applies, item_required
from coach.judge.mentions import mentions
from coach.judge.tokens import sentences, words_of_phrase
from coach.judge.verdict import Status
from coach.knowledge.cards import breed_names
from coach.knowledge.language import load_language
from coach.knowledge.model import Kind
from coach.knowledge.questions import load_bank
from coach.knowledge.routes import default_route, load_route, shipped_routes
from coach.reader.labels import context_of, describe_fault, describe_plan
from coach.reader.model import load_reader
from coach.reader.passage import passage
from coach.words import TimedWords, Word
from training.reader.corpus import Tag, Talk, read_talk
from training.reader.examples import labels_of
from training.reader.export import heard_as, talks_of

CLASSES = ("said", "slip", "skipped")
BLAMED = (Status.SKIPPED, Status.MISNAMED, Status.WRONG)


@dataclass(frozen=True)
class Row:
    """One item of one rehearsal: what speaks for it, and what is true."""

    writer: str
    talk: str
    item: str
    kind: Kind
    required: bool
    true: str
    evidence: Evidence
    text: tuple[str, ...]


def rows_of(
    talk: Talk, heard: TimedWords | None, tags: list[Tag], logits: NDArray[np.float32], untaught: frozenset[str] = frozenset()
) -> Iterator[Row]:
    """Every item of a rehearsal; untaught: titles of items that the reader was not taught."""
    assert talk.card and talk.bird
    route, language = load_route(default_route(talk.card)), load_language()
    lexicon = build_lexicon(route, talk.card, talk.bird, language, breed_names(talk.card.species))
    split = sentences(heard or talk.heard)
    order = list(labels_of(route, talk.card, talk.bird))
    items = [i for i in route.items if item_applies(i, talk.card, talk.bird)]
    found = [mentions(s, lexicon) for s in split]
    columns = [order.index(i.id) for i in items]
    taught = [i.title not in untaught for i in items]
    evidence = gather(logits[:, columns], items, split, found, lexicon, language, taught)
    phrases = {}
    for f in talk.bird.faults:
        phrases[f"faults.{f.id}"] = (f.say, *f.also)
        if f.plan:
            phrases[f"faults.{f.id}.plan"] = (f.plan, *f.plan_words)
    own = fault_evidence(logits[:, [order.index(i) for i in phrases]], list(phrases.items()), split)
    true = {t.item: "slip" if t.slip else "said" for t in tags}
    text = tuple(t.text for s in split for t in s)
    kinds = {i.id: i for i in items}
    for e in (*evidence, *own):
        item = kinds.get(e.item)
        kind, required = (item.kind, item_required(item, talk.bird)) if item else (Kind.FAULT, not e.item.endswith(".plan"))
        yield Row(talk.writer, talk.name, e.item, kind, required, true.get(e.item, "skipped"), e, text)


def fit(x: NDArray[np.float64], y: NDArray[np.int64], decay: float = 2e-4) -> Logistic:
    """Multinomial logistic regression by gradient descent on the mean loss, weights held small."""
    mean, scale = x.mean(0), x.std(0) + 1e-6
    z = np.hstack([(x - mean) / scale, np.ones((len(x), 1))])
    w = np.zeros((z.shape[1], 3))
    onehot = np.eye(3)[y]
    m, v = np.zeros_like(w), np.zeros_like(w)
    for n in range(1, 1501):
        p = np.exp(z @ w - (z @ w).max(1, keepdims=True))
        p /= p.sum(1, keepdims=True)
        g = z.T @ (p - onehot) / len(z) + decay * np.vstack([w[:-1], np.zeros((1, 3))])
        m, v = 0.9 * m + 0.1 * g, 0.999 * v + 0.001 * g**2
        w -= 0.03 * (m / (1 - 0.9**n)) / (np.sqrt(v / (1 - 0.999**n)) + 1e-8)
    weights = w[:-1] / scale[:, None]
    bias = w[-1] - mean @ weights
    return Logistic(tuple(map(tuple, weights.T.tolist())), tuple(bias.tolist()))


def fit_points(texts: Path, logits: dict[str, NDArray[np.int8]], without: set[str]) -> Logistic:
    """The model of an interview's key points: the reader's logit beside what the spoken forms found; its figures printed."""
    questions = load_bank().questions
    x, y, who, rule = [], [], [], []
    for path in sorted(texts.glob("writer-??.answers.yaml")):
        writer = path.name.split(".")[0]
        for n, row in enumerate(yaml.safe_load(path.read_text(encoding="utf-8"))):
            name = f"{writer}-a{n:03}"
            if writer in without or name not in logits:
                continue
            found = score(questions[row["question"]], heard_as(str(row["answer"])))
            for k, point in enumerate(found.points):
                x.append(point_features(float(logits[name][:, k, 0].max()) / 8, point.status))
                y.append(0 if k + 1 in row["told"] else 2)
                who.append(writer)
                rule.append(point.status is PointStatus.COVERED)
    xs, ys, ws, covered = np.array(x), np.array(y), np.array(who), np.array(rule)
    chance = np.zeros(len(xs))
    for w in sorted(set(who)):
        model = fit(xs[ws != w], ys[ws != w])
        chance[ws == w] = [model.chances(v).said for v in xs[ws == w]]
    missed, told = ~covered, ys == 0
    opened = missed & (chance >= LEFT_OPEN)
    print(
        f"key points: {len(xs)}, told {told.sum()}; "
        f"spoken forms: covered {covered.sum()}, of them told {(covered & told).sum()}; "
        f"missed though told {(missed & told).sum()}, of them left open {(opened & told).sum()}; "
        f"untold left open {(opened & ~told).sum()}"
    )
    return fit(xs, ys)


def _faults(rows: Sequence[Row], strange: Path) -> Logistic:
    """The model of own faults and plans: told ones from rows, untold ones from rehearsals asked for another bird's faults."""
    talks = [read_talk(p.read_text(encoding="utf-8"), p.stem, p.stem) for p in sorted(strange.glob("*.txt"))]
    mine = list(rows)
    for talk in talks:
        assert talk.bird and talk.card
        alien = tuple(f for t in talks if t.bird and t is not talk for f in t.bird.faults)
        own = {w for f in talk.bird.faults for w in f.say.split() if len(w) > 3}
        alien = tuple(f for f in alien if not own & set(f.say.split()))
        texts = [(f"faults.{n}{s}", p, d) for n, f in enumerate(alien) for s, p, d in
                 (("", (f.say,), describe_fault(f)), (".plan", (f.plan or f.say,), describe_plan(f)))]  # fmt: skip
        split = sentences(talk.heard)
        told = passage(split, words_of_phrase(context_of(talk.card, talk.bird)))
        logits = load_reader().logits(told, [d for _, _, d in texts])
        row = tuple(t.text for s in split for t in s)
        for e in fault_evidence(logits, [(i, p) for i, p, _ in texts], split):
            mine.append(Row(talk.writer, talk.name, e.item, Kind.FAULT, True, "skipped", e, row))
    x = np.array([features(r.evidence, Kind.FAULT) for r in mine])
    y = np.array([CLASSES.index(r.true) for r in mine])
    model = fit(x, y)
    judged = [(r, verdict_of(model.chances(v), Kind.FAULT)) for r, v in zip(mine, x, strict=True)]
    print("faults and plans, others' among them", len(mine), {k: round(v, 3) for k, v in figures(judged).items()})
    return model


def _untaught(
    texts: Path, logits: dict[str, NDArray[np.int8]], titles: frozenset[str], without: set[str]
) -> dict[str, Logistic]:
    """The models for items known by description alone; their figures printed."""
    ids = {i.id for r in shipped_routes() for i in load_route(r).items if i.title in titles}
    rows = [
        row
        for path in sorted(texts.glob("writer-??.txt")) if path.stem not in without
        for talk in talks_of(path) if talk.name in logits
        for row in rows_of(talk, None, list(talk.tags), logits[talk.name].astype(np.float32) / 8, titles) if row.item in ids
    ]  # fmt: skip
    out = {}
    for kind in (Kind.PART, Kind.FACT, Kind.CONDITION):
        mine = [r for r in rows if r.kind is kind]
        x, y = np.array([features(r.evidence, kind) for r in mine]), np.array([CLASSES.index(r.true) for r in mine])
        who, judged = np.array([r.writer for r in mine]), []
        for w in sorted(set(who)):
            model = fit(x[who != w], y[who != w])
            judged += [(mine[n], verdict_of(model.chances(x[n]), kind)) for n in np.flatnonzero(who == w)]
        print(f"untaught {kind.value}", {k: round(v, 3) for k, v in figures(judged).items()})
        out[f"untaught {kind.value}"] = fit(x, y)
    return out


def figures(judged: list[tuple[Row, Status]]) -> dict[str, float]:
    """What the scorer would say: F1 of planted mistakes among required items, false alarms a rehearsal, recall."""
    asked = [(r, s) for r, s in judged if r.required]
    caught = sum(r.true != "said" and s in BLAMED for r, s in asked)
    planted = sum(r.true != "said" for r, _ in asked)
    alarms = sum(r.true == "said" and s in BLAMED for r, s in asked)
    unsure = sum(s is Status.UNSURE for _, s in asked)
    n = len({r.talk for r, _ in asked})
    return {
        "F1": 2 * caught / max(1, caught + alarms + planted), "alarms": alarms / n, "recall": caught / max(1, planted),
        "unsure": unsure / len(asked), "rehearsals": n, "planted": planted,
        "credited": sum(r.true != "said" and s is Status.SAID for r, s in asked),
    }  # fmt: skip


def _shown(text: tuple[str, ...], find: Find) -> str:
    before, inside, after = text[max(0, find.start - 7) : find.start], text[find.start : find.end], text[find.end : find.end + 5]
    return f"{' '.join(before)} [{' '.join(inside)}] {' '.join(after)}"


def main() -> None:
    """Fit, show, write."""
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("texts", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("scores", type=Path, nargs="+")
    p.add_argument("--heard", type=Path)
    p.add_argument("--measure", default="", help="writers that are only judged, in the end")
    p.add_argument("--never", default="", help="writers that are not even judged")
    p.add_argument("--untaught", nargs=2, help="SCORES.npz of a reader that was not taught the items titled in TITLES.json")
    p.add_argument("--strange", type=Path, help="tagged rehearsals that nobody taught: each is asked for the others' faults")
    p.add_argument("--show", action="store_true")
    a = p.parse_args()
    logits: dict[str, NDArray[np.int8]] = {}
    for path in a.scores:
        logits |= dict(np.load(path))
    measure, never = set(filter(None, a.measure.split(","))), set(filter(None, a.never.split(",")))
    rows: list[Row] = []
    for path in sorted(a.texts.glob("*.txt")):
        if not re.fullmatch(r"writer-..", path.stem) or path.stem in never:
            continue
        for talk in talks_of(path):
            if talk.name in logits:
                rows += rows_of(talk, None, list(talk.tags), logits[talk.name].astype(np.float32) / 8)
            for file in sorted(a.heard.glob(f"{talk.name}.*.json")) if a.heard else ():
                if file.stem in logits:
                    got = json.loads(file.read_text())
                    words = tuple(Word(w["text"], w["start"], w["end"], w.get("confidence")) for w in got["words"])
                    tags = [Tag(**t) for t in got["tags"]]
                    heard = TimedWords(words, words[-1].end_s)
                    here = rows_of(talk, heard, tags, logits[file.stem].astype(np.float32) / 8)
                    rows += [Row(r.writer, file.stem, r.item, r.kind, r.required, r.true, r.evidence, r.text) for r in here]
    learn = [r for r in rows if r.writer not in measure]
    writers = sorted({r.writer for r in learn})
    models, judged, chances = {}, [], []
    for kind in Kind:
        mine = [r for r in rows if r.kind is kind]
        x = np.array([features(r.evidence, kind) for r in mine])
        y = np.array([CLASSES.index(r.true) for r in mine])
        known = np.array([r.writer not in measure and "." not in r.talk for r in mine])
        models[kind] = fit(x[known], y[known])
        for w in [*writers, *measure]:
            here = np.array([r.writer == w for r in mine])
            if not here.any():
                continue
            model = models[kind] if w in measure else fit(x[known & ~here], y[known & ~here])
            for n in np.flatnonzero(here):
                c = model.chances(features(mine[n].evidence, kind))
                judged.append((mine[n], verdict_of(c, kind)))
                chances.append((mine[n], c))
    for name, inside in (("other writers, as written", lambda r: r.writer not in measure and "." not in r.talk),
                         ("other writers, as heard", lambda r: r.writer not in measure and "." in r.talk),
                         ("measured", lambda r: r.writer in measure)):  # fmt: skip
        some = [(r, s) for r, s in judged if inside(r)]
        if some:
            print(name, {k: round(v, 3) for k, v in figures(some).items()})
            for kind in Kind:
                mine_of = [(r, s) for r, s in some if r.kind is kind]
                print("   ", kind.value, {k: round(v, 3) for k, v in figures(mine_of).items()})
    chances = [(r, c) for r, c in chances if "." not in r.talk]
    print("chance of having been told rightly -> how many, how often true")
    for low, high in ((0, 0.02), (0.02, 0.08), (0.08, 0.3), (0.3, 0.6), (0.6, 0.9), (0.9, 0.98), (0.98, 1.01)):
        some2 = [(r.true == "said") for r, c in chances if low <= c.said < high]
        print(f"  {low:.2f}-{min(high, 1):.2f}  {len(some2):6d}  {np.mean(some2) if some2 else float('nan'):.3f}")
    if a.show:
        for r, s in judged:
            wrong = r.required and ((r.true == "said") != (s is Status.SAID)) and not (s is Status.UNSURE and r.true != "said")
            if wrong and r.writer not in measure:
                c = next(c for q, c in chances if q is r)
                finds = (("any", r.evidence.anywhere), ("exact", r.evidence.exact), ("wrong", r.evidence.wrong))
                spots = " | ".join(f"{n} {f.logit:.1f} {_shown(r.text, f)}" for n, f in finds if f.logit > -8)
                print(r.talk, r.item, "TRUE", r.true, "GOT", s.value, f"{c.said:.2f}", spots)
    if a.strange:
        models[Kind.FAULT] = _faults([r for r in learn if r.kind is Kind.FAULT], a.strange)
    if a.untaught:
        titles = frozenset(json.loads(Path(a.untaught[1]).read_text()))
        models |= _untaught(a.texts, dict(np.load(a.untaught[0])), titles, measure | never)
    found = {k if isinstance(k, str) else k.value: m for k, m in models.items()}
    found["point"] = fit_points(a.texts, logits, measure | never)
    a.out.write_text(json.dumps({k: {"weights": m.weights, "bias": m.bias} for k, m in found.items()}, indent=1) + "\n")


if __name__ == "__main__":
    main()
