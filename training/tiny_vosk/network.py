"""A time-delay network from cepstra to phones, and its training (PyTorch; an accelerator is used where there is one).

In: Utterances. Out: a Trained: affine layers with everything else folded in, and what the decoder needs to know of phones.
Source of the kind of network: Peddinti, Povey and Khudanpur 2015.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import torch
from numpy.typing import NDArray
from torch import nn

from training.tiny_vosk.sounds import CLASSES
from training.tiny_vosk.speech import CEPSTRA, Utterance

# Frames that each layer joins: so many, so far apart. From the third layer on multiples of 3, as the decoder asks for every
# third frame only.
LAYERS = ((5, 1), (3, 1), (3, 3), (3, 3), (3, 3))
REACH = sum((count - 1) // 2 * apart for count, apart in LAYERS)
STEP = 3
PIECE, BATCH = 90, 64
RATES = (2e-3, 1e-5)
Affine = tuple[NDArray[np.float64], NDArray[np.float64]]  # (outputs, inputs) and (outputs,)


@dataclass(frozen=True, slots=True)
class Trained:
    """hidden and output: affine layers; shares: of frames by class; lengths: mean of a phone, in frames of 30 ms, by class."""

    hidden: tuple[Affine, ...]
    output: Affine
    shares: NDArray[np.float64]
    lengths: NDArray[np.float64]


class Network(nn.Module):
    """(batch, 40, PIECE + 2 * REACH) to (batch, classes, PIECE), not yet normalised."""

    def __init__(self, width: int) -> None:
        """Untrained."""
        super().__init__()
        self.scale = nn.BatchNorm1d(CEPSTRA, affine=False)
        inputs = (CEPSTRA, *[width] * (len(LAYERS) - 1))
        self.joins = nn.ModuleList(nn.Conv1d(i, width, n, dilation=d) for i, (n, d) in zip(inputs, LAYERS, strict=True))
        self.norms = nn.ModuleList(nn.BatchNorm1d(width) for _ in LAYERS)
        self.output = nn.Conv1d(width, len(CLASSES), 1)

    def forward(self, cepstra: torch.Tensor) -> torch.Tensor:
        """Scores of all classes."""
        x = self.scale(cepstra)
        for join, norm in zip(self.joins, self.norms, strict=True):
            x = torch.relu(norm(join(x)))
        found: torch.Tensor = self.output(x)
        return found


def train(utterances: Sequence[Utterance], width: int, epochs: int) -> Trained:
    """Cross-entropy against flite's own labels; the rate falls along half a cosine."""
    torch.manual_seed(1)
    rng = np.random.default_rng(1)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    net = Network(width).to(device)
    adam = torch.optim.AdamW(net.parameters(), lr=RATES[0], weight_decay=1e-3)
    for epoch in range(epochs):
        pieces = _pieces(utterances, rng)
        losses, right = [], []
        for at in range(0, len(pieces), BATCH):
            done = (epoch + at / len(pieces)) / epochs
            adam.param_groups[0]["lr"] = RATES[1] + (RATES[0] - RATES[1]) * (1 + np.cos(np.pi * done)) / 2
            frames = torch.from_numpy(np.stack([p[0] for p in pieces[at : at + BATCH]])).to(device)
            wanted = torch.from_numpy(np.stack([p[1] for p in pieces[at : at + BATCH]])).long().to(device)
            scores = net(frames)
            loss = nn.functional.cross_entropy(scores, wanted)
            adam.zero_grad()
            loss.backward()
            adam.step()
            losses.append(loss.item())
            right.append((scores.argmax(1) == wanted).float().mean().item())
        print(f"round {epoch + 1} of {epochs}: loss {np.mean(losses):.3f}, frames right {np.mean(right):.3f}", flush=True)
    return _folded(net.cpu().eval(), utterances)


def _pieces(utterances: Sequence[Utterance], rng: np.random.Generator) -> list[tuple[NDArray[np.float32], NDArray[np.uint8]]]:
    """Stretches of PIECE frames with what surrounds them, edges repeated, in random order."""
    found = []
    for u in utterances:
        for start in range(int(rng.integers(-PIECE // 2, 1)), len(u.classes), PIECE):
            at = np.clip(np.arange(start - REACH, start + PIECE + REACH), 0, len(u.classes) - 1)
            found.append((u.cepstra[at].T.copy(), u.classes[at[REACH:-REACH]]))
    return [found[n] for n in rng.permutation(len(found))]


def _folded(net: Network, utterances: Sequence[Utterance]) -> Trained:
    """Scaling and normalisation become part of the affine layers; frames are joined in rising order of time."""
    hidden = []
    for n, (join, norm) in enumerate(zip(net.joins, net.norms, strict=True)):
        weights, bias = (t.detach().double().numpy() for t in (join.weight, join.bias))
        if n == 0:
            mean, spread = (
                net.scale.running_mean.double().numpy(),
                np.sqrt(net.scale.running_var.double().numpy() + net.scale.eps),
            )
            weights = weights / spread[None, :, None]
            bias = bias - (weights * mean[None, :, None]).sum((1, 2))
        gain = (norm.weight / torch.sqrt(norm.running_var + norm.eps)).detach().double().numpy()
        shift = norm.bias.detach().double().numpy() - norm.running_mean.double().numpy() * gain
        flat = weights.transpose(0, 2, 1).reshape(len(weights), -1)
        hidden.append((flat * gain[:, None], bias * gain + shift))
    output = (net.output.weight.detach().double().numpy()[:, :, 0], net.output.bias.detach().double().numpy())
    counts, runs = np.ones(len(CLASSES)), np.ones(len(CLASSES))
    for u in utterances:
        counts += np.bincount(u.classes, minlength=len(CLASSES))
        starts = np.flatnonzero(np.diff(u.classes, prepend=255))
        runs += np.bincount(u.classes[starts], minlength=len(CLASSES))
    return Trained(tuple(hidden), output, counts / counts.sum(), counts / runs / STEP)
