"""train.py DATA OUT [--hold W,W] [--without TITLES.json] [--steps N] [--keep] ...: teaches the reader, reads what was held back.

DATA is what export.py wrote. OUT.npz gets the weights in half precision (with --keep), OUT.scores.npz the logits of every
token and label of the talks held back, as eighths in int8.
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
import time
from collections.abc import Iterator, Sequence, Set
from pathlib import Path
from typing import Any

import numpy as np
import torch
from network import CHANNELS, Reader
from torch import Tensor
from torch.nn import functional as F
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

LONGEST = 500  # word pieces in a window
CLS, SEP = 0, 1
SHORT = ("drill", "answer", "part", "nothing")


Data = dict[str, Any]  # what export.py wrote
Talk = dict[str, Any]  # one example in it
View = tuple[Any, ...]  # one roughened example
Batch = tuple[list[Tensor], int, int]  # tensors, most pieces in one example, most tokens in one


def load(folder: Path) -> tuple[Data, dict[str, Tensor]]:
    """The examples, and the base encoder's arrays."""
    data = json.loads(gzip.decompress((folder / "examples.json.gz").read_bytes()))
    base = np.load(folder / "base.npz")
    return data, {k: torch.from_numpy(base[k]) for k in base.files}


class Views(IterableDataset):
    """Batches of roughened examples without end."""

    def __init__(
        self, data: Data, talks: Sequence[Talk], steps: int, seed: int, without: Set[int], sizes: dict[str, int]
    ) -> None:
        self.data, self.talks, self.steps, self.seed, self.without, self.sizes = data, talks, steps, seed, without, sizes

    def __iter__(self) -> Iterator[list[Batch]]:
        info = get_worker_info()
        rng = random.Random(self.seed * 1000 + (info.id if info else 0))
        pools = {}
        for t in self.talks:
            pools.setdefault(t["kind"], {}).setdefault(t["base"], []).append(t)  # base: one text, several hearings
        pools = {k: list(v.values()) for k, v in pools.items()}
        pools["part"] = pools["talk"]  # a few sentences of a rehearsal
        n = self.steps // (info.num_workers if info else 1) + 1
        for _ in range(n):
            long, short = [], []
            for kind, size in self.sizes.items():
                if pools.get(kind):
                    for texts in (rng.choice(pools[kind]) for _ in range(size)):
                        clean = [t for t in texts if not t["heard"]]
                        heard = [t for t in texts if t["heard"]]
                        t = rng.choice(heard) if heard and rng.random() < 0.5 else rng.choice(clean or heard)
                        (short if kind in SHORT else long).append(view(t, rng, self.without, kind == "part"))
            yield [collate(batch, self.data, rng) for batch in (long, short) if batch]  # alike in length


def view(t: Talk, rng: random.Random, without: Set[int], part: bool) -> View:
    """One roughened example: (ids, word_of, n_words, piece_of_word, labels, dense targets, groups)."""
    n_tok = t["n_tokens"]
    pieces = [tuple(p) for p in t["pieces"]]
    piece_of = np.full(n_tok, -1)
    for n, (a, b) in enumerate(pieces):
        piece_of[a:b] = n
    labels = [k for k in t["labels"] if k not in without]
    place = {k: n for n, k in enumerate(labels)}
    dense = np.zeros((len(pieces), len(labels), CHANNELS), np.int8)
    if t.get("ignore"):  # labels nothing is known of
        for k in t["ignore"]:
            if k in place:
                dense[:, place[k]] = -1
    groups = [g for g in t["groups"] if g[0] in place]
    own = {(k, c) for k, _, c, y in groups if y == 1}
    for n, k in t["told"]:
        if k in place:
            dense[n + 1 :, place[k], 0] = -1
            dense[n, place[k], 0] = -1 if (k, 0) in own else 1
    for k, toks, c, y in groups:
        if c == 1 and y == 1:
            for n in {piece_of[x] for x in toks}:
                dense[n, place[k], 1] = -1
    drop = set()
    if t["kind"] == "talk" and rng.random() < 0.5:
        share = rng.choice((0.06, 0.12, 0.25))
        drop = {n for n in range(len(pieces)) if rng.random() < share}
    if part:
        size = rng.randint(2, 12)
        start = rng.randrange(max(1, len(pieces) - size))
        drop |= set(range(len(pieces))) - set(range(start, start + size))
    for n in drop:  # told there: afterwards nobody knows
        for m, k in t["told"]:
            if m == n and k in place:
                dense[n:, place[k], 0] = -1
    groups = [g for g in groups if not any(piece_of[x] in drop for x in g[1])]
    marks = rng.random() < 0.5
    some = 0.15 if rng.random() < 0.5 else 0.0
    lose = 0.02 if rng.random() < 0.5 else 0.0
    context = rng.random() < 0.85
    keep = []
    for i, o in enumerate(t["owners"]):
        if i < t["n_context"]:
            if context:
                keep.append(i)
        elif o < 0:
            if marks and rng.random() >= some:
                keep.append(i)
        elif piece_of[o] not in drop and rng.random() >= lose:
            keep.append(i)
    ids, owner = [CLS], [-1]
    for i in keep:
        for x in t["ids"][i]:
            ids.append(x)
            owner.append(t["owners"][i])
    if len(ids) > LONGEST:
        start = rng.randrange(1, len(ids) - LONGEST + 1) if rng.random() < 0.7 else 1
        ids = [CLS, *ids[start : start + LONGEST]]
        owner = [-1, *owner[start : start + LONGEST]]
    ids.append(SEP)
    owner.append(-1)
    there = {o for o in owner if o >= 0}
    groups = [(place[k], [x for x in toks if x in there], c, y) for k, toks, c, y in groups]
    groups = [g for g in groups if g[1]]
    seen = {piece_of[o] for o in there}
    whole = {n for n, (a, b) in enumerate(pieces) if n in seen}
    for n, k in t["told"]:  # a positive piece that was cut through cannot be asked
        if k in place and n in whole:
            a, b = pieces[n]
            if sum(x in there for x in range(a, b)) < 0.6 * (b - a):
                dense[n, place[k], 0] = -1
    owners = np.array(owner)
    if part and there:  # only the tokens that are left
        first, last = min(there), max(there) + 1
        owners = np.where(owners < 0, -1, owners - first)
        piece_of, n_tok = piece_of[first:last], last - first
        groups = [(k, [x - first for x in toks], c, y) for k, toks, c, y in groups]
    return np.array(ids), owners, n_tok, piece_of, labels, dense, groups, len(pieces)


def collate(batch: Sequence[View], data: Data, rng: random.Random) -> Batch:
    """Tensors of a batch; labels are joined, everyone is asked only its own."""
    names = sorted({k for b in batch for k in b[4]})
    at = {k: n for n, k in enumerate(names)}
    L, W, P = max(len(b[0]) for b in batch), max(b[2] for b in batch), max(b[7] for b in batch)
    B, N = len(batch), len(names)
    ids = np.zeros((B, L), np.int64)
    mask = np.zeros((B, L), np.int64)
    word_of = np.full((B, L), W)
    piece_of = np.full((B, W), P)
    dense = np.full((B, P, N, CHANNELS), -1, np.int8)
    rows, words, labels, channels, answers = [], [], [], [], []
    for n, (i, o, n_tok, pieces, own, d, groups, n_pieces) in enumerate(batch):
        ids[n, : len(i)] = i
        mask[n, : len(i)] = 1
        word_of[n, : len(i)] = np.where(o < 0, W, o)
        there = np.zeros(n_tok, bool)
        there[o[o >= 0]] = True
        piece_of[n, :n_tok] = np.where(there & (pieces >= 0), pieces, P)
        cols = [at[k] for k in own]
        dense[n, :n_pieces, cols] = d.transpose(1, 0, 2)
        for k, toks, c, y in groups:
            rows.append(n)
            words.append((toks * 8)[:8])
            labels.append(cols[k])
            channels.append(c)
            answers.append(y)
    other = [rng.random() < 0.4 for _ in names]  # described in other words, and then not known
    texts = [rng.choice(data["variants"][k]) if o else data["descriptions"][k] for k, o in zip(names, other, strict=True)]
    T = max(len(x) for x in texts) + 2
    lids, lmask = np.zeros((N, T), np.int64), np.zeros((N, T), np.int64)
    for n, x in enumerate(texts):
        row = [CLS, *x, SEP]
        lids[n, : len(row)] = row
        lmask[n, : len(row)] = 1
    known = np.array([k if k < data["n_known"] and not o else -1 for k, o in zip(names, other, strict=True)])
    g = tuple(np.array(x, np.int64) for x in (rows, words, labels, channels, answers))
    return [torch.from_numpy(x) for x in (ids, mask, word_of, piece_of, dense, lids, lmask, known, *g)], P, W


def loss_of(model: Reader, batch: Sequence[Tensor], P: int, W: int, positive: Tensor) -> Tensor:
    """Cross entropy over what is asked: each piece's largest answer, and each group's; right ones weigh `positive` times."""
    ids, mask, word_of, piece_of, dense, lids, lmask, known, rows, words, labels, channels, answers = batch
    v = model.labels(lids, lmask, known, 0.3)
    s = model.scores(model.words(ids, mask, word_of, W), v).float()  # B W N C
    B, _, N, C = s.shape
    top = s.new_full((B, P + 1, N, C), -30.0).scatter_reduce(
        1, piece_of[:, :, None, None].expand(-1, -1, N, C), s, "amax", include_self=True)[:, :P]
    asked = (dense >= 0) & (top > -29)
    y = dense.float()
    weight = torch.where(y > 0.5, positive, 1.0)
    each = F.binary_cross_entropy_with_logits(top, y.clamp(min=0), reduction="none") * weight
    out = each[asked].sum()
    n = (y[asked] > 0.5).sum() + 1.0
    if len(rows):
        m = s[rows[:, None], words, labels[:, None], channels[:, None]].amax(1)
        z = answers.float()
        w = torch.where(z > 0.5, positive, 1.0) * torch.where(channels == 1, 2.0, 1.0)
        out = out + (F.binary_cross_entropy_with_logits(m, z, reduction="none") * w).sum()
        n = n + (z > 0.5).sum()
    return out / n


@torch.no_grad()
def read(model: Reader, data: Data, talks: Sequence[Talk], device: str) -> dict[str, np.ndarray]:
    """Logits of every token and label of each talk: windows of LONGEST pieces, the larger context wins."""
    model.eval()
    out = {}
    for t in talks:
        names = t["labels"]
        texts = [data["descriptions"][k] for k in names]
        T = max(len(x) for x in texts) + 2
        lids, lmask = torch.zeros(len(names), T, dtype=torch.long), torch.zeros(len(names), T, dtype=torch.long)
        for n, x in enumerate(texts):
            row = torch.tensor([CLS, *x, SEP])
            lids[n, : len(row)] = row
            lmask[n, : len(row)] = 1
        known = torch.tensor([k if k < data["n_known"] else -1 for k in names])
        v = model.labels(lids.to(device), lmask.to(device), known.to(device), 0.0)
        n_context = t["n_context"]
        head = [x for i in range(n_context) for x in t["ids"][i]]
        flat = [(x, t["owners"][i]) for i in range(n_context, len(t["ids"])) for x in t["ids"][i]]
        size = LONGEST - len(head) - 2
        step = size - 100
        scores = torch.full((t["n_tokens"], len(names), CHANNELS), -15.9)
        weight = torch.full((t["n_tokens"],), -1.0)
        for start in range(0, max(1, len(flat) - 100), step):
            part = flat[start : start + size]
            ids = torch.tensor([[CLS, *head, *(x for x, _ in part), SEP]])
            owner = torch.tensor([[-1] * (1 + len(head)) + [o for _, o in part] + [-1]])
            W = t["n_tokens"]
            word_of = torch.where(owner < 0, W, owner).to(device)
            s = model.scores(model.words(ids.to(device), torch.ones_like(ids).to(device), word_of, W), v)[0].float().cpu()
            for k, o in sorted({o: i for i, (_, o) in enumerate(part) if o >= 0}.items()):
                room = min(o + (0 if start else 10**6), len(part) - 1 - o + (0 if start + size < len(flat) else 10**6))
                if room > weight[k]:
                    weight[k] = room
                    scores[k] = s[k]
        out[t["name"]] = (scores.clamp(-15.9, 15.9) * 8).round().to(torch.int8).numpy()
    model.train()
    return out


def main() -> None:
    """Teach, read the talks held back, write."""
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("data", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("--hold", default="", help="writers that are read afterwards, not learnt from")
    p.add_argument("--only", default="", help="learn from these writers alone")
    p.add_argument("--without", default="", help="file with a list of titles of items that are never learnt from")
    p.add_argument("--steps", type=int, default=1500)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--rate", type=float, default=1e-4)
    p.add_argument("--positive", type=float, default=3.0)
    p.add_argument("--keep", action="store_true")
    p.add_argument("--workers", type=int, default=4)
    a = p.parse_args()
    torch.manual_seed(a.seed)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    data, base = load(a.data)
    hold = set(filter(None, a.hold.split(",")))
    only = set(filter(None, a.only.split(",")))
    known_ids = {w: n for n, w in enumerate(data["names"])}
    titles = set(json.loads(Path(a.without).read_text())) if a.without else set()
    without = {n for w, n in known_ids.items() if any(f": {title}: " in w for title in titles)}
    talks = [t for t in data["talks"] if t["writer"] not in hold and not t["measure"] and (not only or t["writer"] in only)]
    held = [t for t in data["talks"] if (t["writer"] in hold or t["measure"]) and "~" not in t["name"]]
    model = Reader(base, data["n_known"]).to(device)
    heads = [q for n, q in model.named_parameters() if not n.startswith("encoder")]
    rates = [{"params": model.encoder.parameters(), "lr": a.rate}, {"params": heads, "lr": 10 * a.rate}]
    opt = torch.optim.AdamW(rates, weight_decay=0.01)
    warm = max(1, a.steps // 16)
    plan = torch.optim.lr_scheduler.LambdaLR(opt, lambda n: min((n + 1) / warm, max(0.0, (a.steps - n) / (a.steps - warm))))
    sizes = {"talk": 12, "made": 3, "other": 2, "drill": 24, "answer": 20, "part": 12, "nothing": 8}
    views = Views(data, talks, a.steps + 8, a.seed, without, sizes)
    loader = iter(DataLoader(views, batch_size=None, num_workers=a.workers, prefetch_factor=4 if a.workers else None))
    mean = [q.detach().clone() for q in model.parameters()]  # the weights' running mean is what is kept
    began, total = time.time(), 0.0
    for step in range(a.steps):
        loss = torch.zeros((), device=device)
        for batch, P, W in next(loader):
            batch = [x.to(device, non_blocking=True) for x in batch]
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                loss = loss + loss_of(model, batch, P, W, torch.tensor(a.positive, device=device))
        opt.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        opt.step()
        plan.step()
        with torch.no_grad():
            keep = min(0.997, (1 + step) / (10 + step))
            for mine, q in zip(mean, model.parameters(), strict=True):
                mine.lerp_(q, 1 - keep)
        total += loss.item()
        if step % 100 == 99:
            print(f"{a.out.name} {step + 1} loss {total / 100:.3f} {time.time() - began:.0f} s", flush=True)
            total = 0.0
    with torch.no_grad():
        for mine, q in zip(mean, model.parameters(), strict=True):
            q.copy_(mine)
    scores = read(model, data, held, device)
    np.savez_compressed(f"{a.out}.scores.npz", **scores)
    if a.keep:
        np.savez(f"{a.out}.npz", **{k: v.detach().cpu().half().numpy() for k, v in model.state_dict().items()})
    print(a.out.name, "done", f"{time.time() - began:.0f} s", "talks", len(talks), "held", len(held), flush=True)


if __name__ == "__main__":
    main()
