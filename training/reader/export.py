"""export.py TEXTS BASE OUT [--heard FOLDER] [--measure W,W] [--made FILE]: all texts as numbers for train.py.

TEXTS holds writer-NN.txt (rehearsals), writer-NN.answers.yaml, writer-NN.other.txt and drills-*.txt. Writers under --measure are
read, never learnt from.
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path

import numpy as np
import yaml

from coach.judge.tokens import sentences, words_of_phrase
from coach.knowledge.model import Item
from coach.knowledge.questions import Question, load_bank
from coach.knowledge.routes import load_route, shipped_routes
from coach.reader.labels import describe, describe_point
from coach.reader.passage import passage, spelled
from coach.words import TimedWords, Word
from training.reader.corpus import Tag, Talk, read_drills, read_talk
from training.reader.examples import Example, example
from training.reader.mutate import mutated

MUTATED = 3  # times each rehearsal is told with other values and names
KEPT_FIRST = 14_000  # the vocabulary is sorted by frequency: so many of it are kept whatever our texts hold
CONTEXT = "Pepper barred plymouth rock hen"
SPECIAL = ("[CLS]", "[SEP]", "[UNK]", "[PAD]")


def heard_as(text: str) -> TimedWords:
    """A text as words without times."""
    words = text.split()
    return TimedWords(tuple(Word(w, n * 0.4, n * 0.4 + 0.3) for n, w in enumerate(words)), 0.4 * len(words), False)


def talks_of(path: Path) -> Iterator[Talk]:
    """The rehearsals of a writer's file."""
    writer = path.stem
    for n, block in enumerate(b for b in re.split(r"^=====\s*$", path.read_text(encoding="utf-8"), flags=re.M) if b.strip()):
        yield read_talk(block.strip("\n"), f"{writer}-{n + 1:02}", writer)


def plain(name: str, writer: str, text: str, context: str, labels: list[str], told: list[int]) -> Example:
    """An answer or other talk: one piece, all labels asked of the whole."""
    split = sentences(heard_as(text))
    p = passage(split, words_of_phrase(context))
    made = Example(name, writer, p.words, p.owners, p.n_tokens, p.n_context, [(0, p.n_tokens)], labels, [(0, k) for k in told])
    return made


def answers_of(path: Path, questions: Mapping[str, Question]) -> Iterator[Example]:
    """A writer's answers, each asked for its question's points."""
    for n, row in enumerate(yaml.safe_load(path.read_text(encoding="utf-8"))):
        q = questions.get(row["question"])
        if q is None or not str(row["answer"]).strip():
            continue
        labels = [describe_point(p.tell) for p in q.points]
        writer = path.name.split(".")[0]
        yield plain(f"{writer}-a{n:03}", writer, row["answer"], q.ask, labels, [t - 1 for t in row["told"]])


def _worded(item: Item) -> list[str]:
    """Other ways to describe an item, as a club might."""
    line = " ".join(item.line.replace("{value}", "").split())
    said = ", ".join((*item.say, *item.cues, *item.cues_of_part)[:6])
    return [item.title, line, f"{item.title}: {line}", *([f"{item.title}: {said}"] if said else [])]


def _short(description: str) -> list[str]:
    return [description.split(": ", 1)[-1]]


def main() -> None:
    """Write OUT/examples.json.gz and OUT/base.npz."""
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("texts", type=Path)
    p.add_argument("base", type=Path, help="folder of the published encoder: model.safetensors, tokenizer.json")
    p.add_argument("out", type=Path)
    p.add_argument("--heard", type=Path)
    p.add_argument("--made", type=Path, help="tagged text made from templates")
    p.add_argument("--measure", default="")
    a = p.parse_args()
    measure = set(a.measure.split(","))
    questions = load_bank().questions
    rows: list[tuple[str, Example, str, bool]] = []  # kind, example, base, heard
    whole = [t for path in sorted(a.texts.glob("writer-??.txt")) for t in talks_of(path)]
    for t in whole:
        rows.append(("talk", example(t), t.name, False))
        for path in sorted(a.heard.glob(f"{t.name}.*.json")) if a.heard else ():
            got = json.loads(path.read_text())
            words = tuple(Word(w["text"], w["start"], w["end"], w.get("confidence")) for w in got["words"])
            tags = [Tag(**x) for x in got["tags"]]
            e = example(t, TimedWords(words, words[-1].end_s), tags)
            e.name = path.stem
            rows.append(("talk", e, t.name, True))
    for t in whole:
        for n in range(MUTATED if t.writer not in measure else 0):
            e = example(mutated(t, random.Random(f"{t.name}/{n}")))
            e.name = f"{t.name}~{n}"
            rows.append(("talk", e, t.name, False))
    if a.made:
        rows += [("made", example(t), t.name, False) for t in talks_of(a.made)]
    for path in sorted(a.texts.glob("drills-*.txt")):
        rows += [("drill", example(t), t.name, False) for t in read_drills(path.read_text(encoding="utf-8"), path.stem)]
    for path in sorted(a.texts.glob("*.answers.yaml")):
        rows += [("answer", e, e.name, False) for e in answers_of(path, questions)]
    everything = sorted({describe(i, load_route(r)) for r in shipped_routes() for i in load_route(r).items})
    chicken = [describe(i, load_route("head-to-tail")) for i in load_route("head-to-tail").items]
    for path in sorted(a.texts.glob("writer-??.other.txt")):
        for n, block in enumerate(b for b in re.split(r"^=====\s*$", path.read_text(encoding="utf-8"), flags=re.M) if b.strip()):
            e = plain(f"{path.name[:9]}-o{n}", path.name[:9], block, "", chicken, [])
            rows.append(("other", e, e.name, False))
            for k, sentence in enumerate(re.findall(r"[^.?!]+[.?!]*", block)):  # alone, too, it tells nothing
                if len(sentence.split()) > 3:
                    e = plain(f"{path.name[:9]}-o{n}-{k}", path.name[:9], sentence, CONTEXT, chicken, [])
                    rows.append(("nothing", e, e.name, False))
    names = list(everything)
    names += sorted({x for _, e, _, _ in rows for x in e.labels} - set(names))
    number = {w: n for n, w in enumerate(names)}

    from safetensors.numpy import load_file
    from tokenizers import Tokenizer

    big = Tokenizer.from_file(str(a.base / "tokenizer.json"))
    big.no_padding()
    big.no_truncation()
    vocabulary = big.get_vocab()
    texts = {w for _, e, _, _ in rows for w in e.words} | {w for n in names for w in words_of(n)}
    used = {i for w in texts for i in big.encode(w, add_special_tokens=False).ids}
    used |= {i for i in vocabulary.values() if i < KEPT_FIRST}
    used |= {i for w, i in vocabulary.items() if len(w.removeprefix("##")) == 1 and w.isascii()}
    used -= {i for w, i in vocabulary.items() if (w.startswith("[") and len(w) > 1) or not w.isascii()}
    by_id = {i: w for w, i in vocabulary.items()}
    kept = [*SPECIAL, *(by_id[i] for i in sorted(used))]
    from tokenizers.models import WordPiece

    small = Tokenizer(WordPiece({w: n for n, w in enumerate(kept)}, unk_token="[UNK]"))
    cache: dict[str, list[int]] = {}

    def ids(word: str) -> list[int]:
        if word not in cache:
            cache[word] = small.encode(word).ids or [2]
        return cache[word]

    a.out.mkdir(parents=True, exist_ok=True)
    base = load_file(a.base / "model.safetensors")
    base = {k: v for k, v in base.items() if "position_ids" not in k and "pooler" not in k}
    base["embeddings.word_embeddings.weight"] = base["embeddings.word_embeddings.weight"][[vocabulary[w] for w in kept]]
    np.savez(a.out / "base.npz", **{k: v.astype(np.float16) for k, v in base.items()})
    talks = []
    for kind, e, root, was_heard in rows:
        row = asdict(e)
        row["labels"] = [number[x] for x in e.labels]
        row["told"] = [(n, number[e.labels[k]]) for n, k in e.told]
        row["groups"] = [(number[e.labels[k]], toks, c, y) for k, toks, c, y in e.groups]
        row["ids"] = [ids(w) for w in e.words]
        talks.append({**row, "kind": kind, "base": root, "heard": was_heard, "measure": e.writer in measure})
    variants = {describe(i, load_route(r)): _worded(i) for r in shipped_routes() for i in load_route(r).items}
    data = {
        "variants": [[[i for w in words_of(v) for i in ids(w)] for v in variants.get(n, _short(n))] for n in names],
        "names": names, "n_known": len(everything),
        "descriptions": [[i for w in words_of(n) for i in ids(w)] for n in names], "talks": talks,
    }
    with gzip.open(a.out / "examples.json.gz", "wt") as file:
        json.dump(data, file)
    (a.out / "vocabulary.json").write_text(json.dumps(kept))
    unknown = [w for w, x in cache.items() if 2 in x]
    kinds = {k: sum(t["kind"] == k for t in talks) for k in ("talk", "made", "drill", "answer", "other", "nothing")}
    print(len(kept), "pieces;", len(names), "labels;", kinds, "unknown words", len(unknown), unknown[:20])


def words_of(text: str) -> list[str]:
    """A description in the encoder's spelling."""
    return list(spelled(text.lower()))


if __name__ == "__main__":
    main()
