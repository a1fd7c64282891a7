"""Fit the calibration of a listener on made rehearsals and show how far it can be believed.

python -m bench.calibrate FOLDER --every 2            fit on every second case, show the reliability table on the others
python -m bench.calibrate FOLDER --listener whisper   which listener hears

FOLDER holds CASE.wav, CASE.words.json (the true words with times) and CASE.truth.json (with card_file and bird_file). Every
doubt of every case is put to the sound; a rival counts as right when the true words around it say it oftener than what was
heard. Prints weights to copy into coach/knowledge/data/calibration.yaml.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from coach.audio.read import read
from coach.judge.doubts import Doubt
from coach.judge.own_name import restore_name
from coach.judge.repair import features
from coach.judge.sounds import Pronouncer
from coach.judge.tokens import sentences, singular
from coach.knowledge.language import load_pronunciations
from coach.listen.timed_words import read_timed_words
from coach.review import hear_again, load_subject, open_listener, spot_doubts
from coach.words import TimedWords, Word

AROUND_S = 1.2  # true times are spread over each sentence by letters, so a word may stand so far off
RIDGE = 1.0
Rows = list[tuple[dict[str, float], float]]


def rows(folder: Path, cases: Sequence[str], listener_name: str) -> Rows:
    """Features and label of every rival of every doubt."""
    listener = open_listener(listener_name)
    out: Rows = []
    for case in cases:
        truth = json.loads((folder / f"{case}.truth.json").read_text(encoding="utf-8"))
        subject = load_subject(str(folder / truth["bird_file"]), str(folder / truth["card_file"]))
        heard = listener.transcribe(read(folder / f"{case}.wav").samples)
        heard = restore_name(heard, subject.bird.name, Pronouncer(load_pronunciations()))
        doubts = (*spot_doubts(heard, subject, asks=True), *hear_again(heard, subject, listener))
        answers = listener.weigh([d.question for d in doubts])
        true = read_timed_words(folder / f"{case}.words.json")
        for doubt, answer in zip(doubts, answers, strict=True):
            labels = _labels(doubt, heard, true)
            out += [(features(doubt, answer, n), label) for n, label in enumerate(labels)]
        print(case, len(doubts), flush=True)
    return out


def _labels(doubt: Doubt, heard: TimedWords, true: TimedWords) -> Iterator[float]:
    start, end = heard.words[doubt.first].start_s - AROUND_S, heard.words[doubt.last].end_s + AROUND_S
    said, written = (_plain(w for w in words.words if w.end_s > start and w.start_s < end) for words in (true, heard))
    span = _plain(heard.words[doubt.first : doubt.last + 1])
    for rival in doubt.rivals:
        wording = _plain([Word(rival.text, 0.0, 0.0)])
        right = said.count(wording) > written.count(wording)
        yield float(right and not (span in said and len(span.split()) >= len(wording.split())))


def _plain(words: Sequence[Word] | Iterator[Word]) -> str:
    tokens = [singular(t.text) for s in sentences(TimedWords(tuple(words), 0.0, timed=False)) for t in s]
    return f" {' '.join(tokens)} "


def fit(data: Rows, names: Sequence[str]) -> tuple[NDArray[np.float64], float]:
    """Weights and bias of a ridge-penalised logistic regression, by Newton's method."""
    raw = np.array([[row[n] for n in names] for row, _ in data])
    y = np.array([label for _, label in data])
    mean, scale = raw.mean(0), raw.std(0) + 1e-9
    x = np.c_[(raw - mean) / scale, np.ones(len(raw))]
    w = np.zeros(x.shape[1])
    penalty = np.diag(np.r_[np.full(len(names), RIDGE), 1e-9])
    for _ in range(60):
        p = 1 / (1 + np.exp(-x @ w))
        w -= np.linalg.solve((x.T * (p * (1 - p))) @ x + penalty, x.T @ (p - y) + penalty @ w)
    return w[:-1] / scale, float(w[-1] - (w[:-1] * mean / scale).sum())


def reliability(data: Rows, names: Sequence[str], weights: NDArray[np.float64], bias: float) -> str:
    """A table: of the rivals given a probability in each tenth, how many were truly said."""
    p = 1 / (1 + np.exp(-(np.array([[row[n] for n in names] for row, _ in data]) @ weights + bias)))
    y = np.array([label for _, label in data])
    lines = ["probability  rivals  said"]
    for low in np.arange(0, 1, 0.1):
        here = (p >= low) & (p < low + 0.1)
        if here.any():
            lines.append(f"{low:.1f} to {low + 0.1:.1f}   {here.sum():6d}  {y[here].mean():.2f}")
    return "\n".join(lines)


def main() -> None:
    """Fit, and print weights and tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=2, help="fit on every such case, check on the others")
    parser.add_argument("--listener", default="whisper")
    args = parser.parse_args()
    cases = sorted(p.name.removesuffix(".truth.json") for p in args.folder.glob("*.truth.json"))
    fitted = rows(args.folder, cases[:: args.every], args.listener)
    kept = rows(args.folder, [c for c in cases if c not in cases[:: args.every]], args.listener)
    names = list(fitted[0][0])
    weights, bias = fit(fitted, names)
    print("weights:", {"bias": round(bias, 3)} | {n: round(float(w), 3) for n, w in zip(names, weights, strict=True)})
    print(reliability(kept or fitted, names, weights, bias))


if __name__ == "__main__":
    main()
