"""Tune the decoder: python train.py WEIGHTS.npz TOKENIZER.json SENTENCES.json SPEECH_FOLDER OUT_FOLDER [SEED [STEPS]]

The encoder, the token embedding and the positions stay as they are; the decoder's layers and its last norm learn.
Everyday words and time stamps count less and are held near the untouched decoder. Out: seed-N-a.npz and seed-N-b.npz,
the change of every learnt array (float16), as of the step with the smallest loss on templates and voices held back.
"""

from __future__ import annotations

import json
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
import torch.nn.functional as F
from augment import roughen
from network import RATE_HZ, Weights, decode, encode, log_mel
from tokenizers import Tokenizer
from torch import Tensor

START, NO_STAMPS, FIRST_STAMP, END = 50257, 50362, 50363, 50256
BATCH, RATE, WARM_UP = 64, 5e-5, 40
SHARE_STAMPED = 0.3
WEIGHT = {"trade": 1.0, "everyday": 0.4}
STAMP_WEIGHT, NEAR_WEIGHT = 0.2, 1.0
CHECK_EVERY, CHECK_BATCHES = 100, 5
LONGEST_S, MOST_TOKENS = 28.5, 220
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


@dataclass(frozen=True)
class Spoken:
    """One sentence as sound and as tokens."""

    at: int
    length: int
    kind: str
    tokens: list[int]


@dataclass(frozen=True)
class Batch:
    """Features and tokens; per token to be said: how much it counts, and how near to the untouched decoder."""

    mel: Tensor
    tokens: Tensor
    counts: Tensor
    near: Tensor


class Windows:
    """Draws windows of random sentences."""

    def __init__(
        self,
        texts: list[dict[str, Any]],
        index: list[dict[str, Any]],
        sound: Tensor,
        filters: Tensor,
        tokenizer: Tokenizer,
        part: str,
        seed: int,
    ) -> None:
        """The sentences of one part: train or held."""
        tokens = tokenizer.encode_batch([" " + t["text"] for t in texts], add_special_tokens=False)
        self.sentences: dict[str, list[Spoken]] = {"trade": [], "everyday": []}
        for entry in index:
            text = texts[entry["sentence"]]
            if text["part"] == part:
                spoken = Spoken(entry["at"], entry["length"], text["kind"], tokens[entry["sentence"]].ids)
                self.sentences[text["kind"]].append(spoken)
        self.sound, self.filters = sound, filters
        self.rng = np.random.default_rng(seed)
        self.noise_rng = torch.Generator(DEVICE).manual_seed(seed)

    def batch(self) -> Batch:
        """BATCH windows."""
        made = [self._window() for _ in range(BATCH)]
        lengths = torch.tensor([len(sound) for sound, *_ in made], device=DEVICE)
        longest = int(lengths.max())
        sound = torch.zeros(BATCH, longest, device=DEVICE)
        for row, (samples, *_) in zip(sound, made, strict=True):
            row[: len(samples)] = samples
        babble = sum(sound.roll((shift, 1600 * shift), (0, 1)) for shift in (3, 7, 12, 19))
        rough = roughen(sound, lengths, babble, self.noise_rng)
        mel = torch.stack([log_mel(r[: int(n)], self.filters) for r, n in zip(rough, lengths, strict=True)])
        width = max(len(tokens) for _, tokens, *_ in made)
        tokens, counts, near = (np.full((BATCH, width), fill) for fill in (END, 0.0, 0.0))
        for n, (_, ids, weight, distance) in enumerate(made):
            tokens[n, : len(ids)], counts[n, : len(ids)], near[n, : len(ids)] = ids, weight, distance
        return Batch(
            mel,
            *(
                torch.as_tensor(a, device=DEVICE)
                for a in (tokens.astype(np.int64), counts.astype(np.float32), near.astype(np.float32))
            ),
        )

    def _window(self) -> tuple[Tensor, list[int], list[float], list[float]]:
        rng = self.rng
        goal = rng.choice([rng.uniform(1.0, 8.0), rng.uniform(6.0, 12.5), rng.uniform(12.0, 27.0)], p=[0.4, 0.45, 0.15])
        mode = rng.choice(["trade", "everyday", "mixed"], p=[0.45, 0.25, 0.3])
        stamped = rng.random() < SHARE_STAMPED
        pieces, ids, weight, near = [], [START], [0.0], [0.0]
        if not stamped:
            ids, weight, near = [*ids, NO_STAMPS], [0.0, 0.0], [0.0, 0.0]
        at = int(rng.uniform(0.05, 0.5) * RATE_HZ)
        pieces.append(torch.zeros(at, device=DEVICE))
        while at < goal * RATE_HZ or len(pieces) == 1:
            kind = mode if mode != "mixed" else rng.choice(["trade", "everyday"])
            some = self.sentences[kind]
            sentence = some[rng.integers(len(some))]
            if at + sentence.length > LONGEST_S * RATE_HZ or len(ids) + len(sentence.tokens) > MOST_TOKENS:
                break
            gain = float(rng.uniform(0.7, 1.0))
            pieces.append(self.sound[sentence.at : sentence.at + sentence.length].float() / 32768 * gain)
            stamps = [FIRST_STAMP + round(t / RATE_HZ / 0.02) for t in (at, at + sentence.length)]
            body = [stamps[0], *sentence.tokens, stamps[1]] if stamped else sentence.tokens
            ids += body
            weight += [STAMP_WEIGHT if t >= FIRST_STAMP else WEIGHT[kind] for t in body]
            near += [1.0 if t >= FIRST_STAMP or kind == "everyday" else 0.0 for t in body]
            gap = int(rng.uniform(0.1, 0.7) * RATE_HZ)
            pieces.append(torch.zeros(gap, device=DEVICE))
            at += sentence.length + gap
        return torch.cat(pieces), [*ids, END], [*weight, 0.6], [*near, 0.0]


def losses(learnt: Weights, fixed: Weights, batch: Batch) -> tuple[Tensor, dict[str, Tensor]]:
    """What is made small, and its parts."""
    with torch.no_grad(), torch.autocast(DEVICE, torch.bfloat16):
        heard = encode(fixed, batch.mel)
        before = F.log_softmax(decode(fixed, batch.tokens[:, :-1], heard).float(), -1)
    with torch.autocast(DEVICE, torch.bfloat16):
        logits = decode({**fixed, **learnt}, batch.tokens[:, :-1], heard)
    after = F.log_softmax(logits.float(), -1)
    next_tokens, counts, near = batch.tokens[:, 1:], batch.counts[:, 1:], batch.near[:, 1:]
    missed = -after.gather(-1, next_tokens[..., None])[..., 0]
    apart = (before.exp() * (before - after)).sum(-1)
    cross, distance = (missed * counts).sum() / counts.sum(), (apart * near).sum() / near.sum().clamp(min=1.0)
    share = near.sum() / (counts > 0).sum()
    trade, everyday = (counts == WEIGHT["trade"]).float(), (counts == WEIGHT["everyday"]).float()
    parts = {
        "trade": (missed * trade).sum() / trade.sum(),
        "everyday": (missed * everyday).sum() / everyday.sum(),
        "apart": distance,
    }
    return cross + NEAR_WEIGHT * share * distance, {n: p.detach() for n, p in parts.items()}


def check(learnt: Weights, fixed: Weights, batches: list[Batch]) -> dict[str, float]:
    """The mean parts on batches held back."""
    with torch.no_grad():
        found = [losses(learnt, fixed, b) for b in batches]
    return {
        **{n: float(np.mean([float(p[n]) for _, p in found])) for n in found[0][1]},
        "loss": float(np.mean([float(loss) for loss, _ in found])),
    }


def load(path: Path) -> Weights:
    """Every array as float32, int8 matrices undone."""
    with np.load(path) as file:
        arrays = {n: file[n] for n in file.files}
    out = {}
    for name, array in arrays.items():
        if name.endswith("_scale") or not (array.dtype == np.int8 or array.dtype.kind == "f"):
            continue
        scale = arrays.get(f"{name}_scale")
        values = array.astype(np.float32) if scale is None else array.astype(np.float32) / scale[:, None]
        out[name] = torch.as_tensor(values, device=DEVICE)
    return out


def train(fixed: Weights, windows: Windows, held: list[Batch], steps: int) -> Weights:
    """The learnt arrays at the best check."""
    names = [n for n in fixed if n.startswith(("decoder/layer_",))]
    learnt = {n: fixed[n].clone().requires_grad_() for n in names}
    optimizer = torch.optim.AdamW(list(learnt.values()), RATE, betas=(0.9, 0.98), weight_decay=0.01)
    best, kept, began = float("inf"), {}, time.monotonic()
    print("   0", {n: round(v, 4) for n, v in check(learnt, fixed, held).items()}, flush=True)
    for step in range(1, steps + 1):
        for group in optimizer.param_groups:
            group["lr"] = RATE * min(step / WARM_UP, 0.5 * (1 + np.cos(np.pi * step / steps)) + 0.02)
        loss, _ = losses(learnt, fixed, windows.batch())
        optimizer.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(list(learnt.values()), 1.0)
        optimizer.step()
        if step % CHECK_EVERY == 0 or step == steps:
            found = check(learnt, fixed, held)
            print(f"{step:4d}", {n: round(v, 4) for n, v in found.items()}, f"{time.monotonic() - began:.0f} s", flush=True)
            if found["loss"] < best:
                best, kept = found["loss"], {n: w.detach().clone() for n, w in learnt.items()}
    return kept


def main(argv: list[str]) -> None:
    """Train one seed."""
    weights, tokenizer, sentences, speech, out = (Path(a) for a in argv[:5])
    seed, steps = int(argv[5]) if len(argv) > 5 else 1, int(argv[6]) if len(argv) > 6 else 600
    torch.manual_seed(seed)
    fixed = load(weights)
    filters = fixed.pop("mel_filters")
    texts, index = json.loads(sentences.read_text()), json.loads((speech / "index.json").read_text())
    sound = torch.as_tensor(np.load(speech / "sound.npy")).to(DEVICE)
    words = Tokenizer.from_file(str(tokenizer))
    held_windows = Windows(texts, index, sound, filters, words, "held", 1000)
    held = [held_windows.batch() for _ in range(CHECK_BATCHES)]
    print("held", {k: len(v) for k, v in held_windows.sentences.items()}, "seed", seed, DEVICE, flush=True)
    kept = train(fixed, Windows(texts, index, sound, filters, words, "train", seed), held, steps)
    changes = {n: (w - fixed[n]).cpu().numpy().astype(np.float16) for n, w in kept.items()}
    first = {n: c for n, c in changes.items() if n.startswith(("decoder/layer_0/", "decoder/layer_1/"))}
    out.mkdir(parents=True, exist_ok=True)
    np.savez(out / f"seed-{seed}-a.npz", **first)
    np.savez(out / f"seed-{seed}-b.npz", **{n: c for n, c in changes.items() if n not in first})


if __name__ == "__main__":
    main(sys.argv[1:])
