"""Build a tiny Vosk model from nothing: python -m training.tiny_vosk.build SENTENCES.json WORK OUT [options]

SENTENCES.json comes from training/sentences.py. The flite voices read the sentences, a network learns the phones from flite's
own labels, and the model folder is written: am, conf, graph. What the sentences hold is the model's whole vocabulary.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
from pathlib import Path

import numpy as np

from training.tiny_vosk.graph import write_graph
from training.tiny_vosk.model_file import model_bytes
from training.tiny_vosk.network import train
from training.tiny_vosk.sounds import GRAPH_PHONES, output_of, pronunciations, words_of, write_lexicon
from training.tiny_vosk.speech import MFCC_CONF, Utterance, speak

GARBAGE_FRAMES = 10.0
MODEL_CONF = """--min-active=200
--max-active=3000
--beam=13.0
--lattice-beam=6.0
--acoustic-scale=0.7
--frame-subsampling-factor=3
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.5
--endpoint.rule3.min-trailing-silence=0.75
--endpoint.rule4.min-trailing-silence=1.0
"""


def _speak(job: tuple[int, str, str]) -> Utterance:
    number, spoken, work = job
    return speak(number, spoken, Path(work) / f"{os.getpid()}.wav")


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description="Build a tiny Vosk model.")
    parser.add_argument("sentences", type=Path)
    parser.add_argument("work", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--width", type=int, default=400)
    parser.add_argument("--epochs", type=int, default=24)
    parser.add_argument("--times", type=int, default=3, help="readings of every sentence")
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    made = json.loads(args.sentences.read_text(encoding="utf-8"))
    args.work.mkdir(parents=True, exist_ok=True)
    jobs = [(n, s["spoken"], str(args.work)) for n, s in enumerate(made * args.times)]
    with multiprocessing.Pool(args.processes) as pool:
        utterances = pool.map(_speak, jobs, 8)
    print(f"{len(utterances)} readings, {sum(len(u.classes) for u in utterances) / 360_000:.2f} hours", flush=True)
    trained = train(utterances, args.width, args.epochs)
    frames = np.append(trained.lengths, GARBAGE_FRAMES)
    stay = [float(np.clip(1 - 1 / frames[output_of(n)], 0.2, 0.95).round(4)) for n in range(1, len(GRAPH_PHONES) + 1)]
    for folder in ("am", "conf"):
        (args.out / folder).mkdir(parents=True, exist_ok=True)
    (args.out / "am" / "final.mdl").write_bytes(model_bytes(trained, stay))
    (args.out / "conf" / "mfcc.conf").write_text(MFCC_CONF, encoding="utf-8")
    (args.out / "conf" / "model.conf").write_text(MODEL_CONF, encoding="utf-8")
    respelled = {}
    for sentence in made:
        texts, heard = words_of(sentence["text"]), words_of(sentence["spoken"])
        if len(texts) == len(heard):
            respelled |= {text: said for text, said in zip(texts, heard, strict=True) if text != said}
    lexicon = pronunciations(sorted({w for s in made for w in words_of(s["text"])}), respelled)
    write_lexicon(lexicon, args.work / "lexicon.txt")
    write_graph(args.out / "graph", lexicon, [s["text"] for s in made], stay)
    print(f"{len(lexicon)} words, {sum(p.stat().st_size for p in args.out.rglob('*') if p.is_file())} bytes")


if __name__ == "__main__":
    main()
