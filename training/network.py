"""Whisper's network in PyTorch, on tensors named as in the CTranslate2 file. No state of its own.

In: log-mel features or tokens. Out: the encoder's output, the decoder's logits.
"""

from __future__ import annotations

import math

import torch
import torch.nn.functional as F
from torch import Tensor

HEADS = 6
LAYERS = 4
RATE_HZ = 16_000
N_FFT, HOP, WINDOW_FRAMES, TAIL = 400, 160, 3000, 160

Weights = dict[str, Tensor]


def encode(weights: Weights, mel: Tensor) -> Tensor:
    """(batch, 80, 3000) -> (batch, 1500, 384)."""
    x = F.gelu(F.conv1d(mel, weights["encoder/conv1/weight"], weights["encoder/conv1/bias"], padding=1))
    x = F.gelu(F.conv1d(x, weights["encoder/conv2/weight"], weights["encoder/conv2/bias"], stride=2, padding=1))
    x = x.transpose(1, 2)
    x = x + weights["encoder/position_encodings/encodings"][: x.shape[1]]
    for n in range(LAYERS):
        x = x + _self_attention(weights, f"encoder/layer_{n}/self_attention", x, causal=False)
        x = x + _feed_forward(weights, f"encoder/layer_{n}/ffn", x)
    return _norm(weights, "encoder/layer_norm", x)


def decode(weights: Weights, tokens: Tensor, heard: Tensor) -> Tensor:
    """(batch, n) and (batch, 1500, 384) -> logits (batch, n, vocabulary)."""
    embeddings = weights["decoder/embeddings/weight"]
    x = embeddings[tokens] + weights["decoder/position_encodings/encodings"][: tokens.shape[1]]
    for n in range(LAYERS):
        x = x + _self_attention(weights, f"decoder/layer_{n}/self_attention", x, causal=True)
        x = x + _cross_attention(weights, f"decoder/layer_{n}/attention", x, heard)
        x = x + _feed_forward(weights, f"decoder/layer_{n}/ffn", x)
    return _norm(weights, "decoder/layer_norm", x) @ embeddings.T


def _linear(weights: Weights, name: str, x: Tensor) -> Tensor:
    return F.linear(x, weights[f"{name}/weight"], weights[f"{name}/bias"])


def _norm(weights: Weights, name: str, x: Tensor) -> Tensor:
    return F.layer_norm(x, x.shape[-1:], weights[f"{name}/gamma"], weights[f"{name}/beta"])


def _split(x: Tensor) -> Tensor:
    return x.unflatten(-1, (HEADS, -1)).transpose(1, 2)


def _self_attention(weights: Weights, name: str, x: Tensor, *, causal: bool) -> Tensor:
    fused = _linear(weights, f"{name}/linear_0", _norm(weights, f"{name}/layer_norm", x))
    query, key, value = (_split(part) for part in fused.chunk(3, -1))
    mixed = F.scaled_dot_product_attention(query, key, value, is_causal=causal)
    return _linear(weights, f"{name}/linear_1", mixed.transpose(1, 2).flatten(2))


def _cross_attention(weights: Weights, name: str, x: Tensor, heard: Tensor) -> Tensor:
    query = _split(_linear(weights, f"{name}/linear_0", _norm(weights, f"{name}/layer_norm", x)))
    key, value = (_split(part) for part in _linear(weights, f"{name}/linear_1", heard).chunk(2, -1))
    mixed = F.scaled_dot_product_attention(query, key, value)
    return _linear(weights, f"{name}/linear_2", mixed.transpose(1, 2).flatten(2))


def _feed_forward(weights: Weights, name: str, x: Tensor) -> Tensor:
    inner = F.gelu(_linear(weights, f"{name}/linear_0", _norm(weights, f"{name}/layer_norm", x)))
    return _linear(weights, f"{name}/linear_1", inner)


def log_mel(samples: Tensor, filters: Tensor) -> Tensor:
    """(n,) -> (80, 3000) as the listener makes it: filled with zeros after the logarithm."""
    window = torch.hann_window(N_FFT, device=samples.device)
    bins = torch.stft(F.pad(samples, (0, TAIL)), N_FFT, HOP, window=window, return_complex=True)[:, :-1]
    mel = torch.log10(torch.clamp(filters @ bins.abs() ** 2, min=1e-10))
    mel = (torch.maximum(mel, mel.max() - 8.0) + 4.0) / 4.0
    mel = mel[:, :WINDOW_FRAMES]
    return F.pad(mel, (0, WINDOW_FRAMES - mel.shape[1]))


def next_fast(n: int) -> int:
    """A length that transforms quickly, at least n."""
    return 2 ** math.ceil(math.log2(n))
