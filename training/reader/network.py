"""The reader in PyTorch: a BERT encoder (all-MiniLM-L6-v2's shape), one vector a word, one vector a label, two answers each.

Channel 0: the statement is told here. Channel 1: it is told here under a wrong name.
"""

from __future__ import annotations

import torch
from torch import Tensor, nn
from torch.nn import functional as F

LAYERS, WIDTH, HEADS, JOINT, CHANNELS = 6, 384, 12, 256, 2


class Encoder(nn.Module):
    """Post-norm transformer encoder; parameters are named as in the published file."""

    def __init__(self, arrays: dict[str, Tensor], dropout: float = 0.1) -> None:
        super().__init__()
        self.p = nn.ParameterDict({k.replace(".", "/"): nn.Parameter(v.float()) for k, v in arrays.items()})
        self.dropout = dropout

    def forward(self, ids: Tensor, mask: Tensor) -> Tensor:
        """ids, mask (B, L) -> states (B, L, 384)."""
        p = {k.replace("/", "."): v for k, v in self.p.items()}
        x = p["embeddings.word_embeddings.weight"][ids] + p["embeddings.position_embeddings.weight"][: ids.shape[1]]
        x = self._norm(x + p["embeddings.token_type_embeddings.weight"][0], p, "embeddings.LayerNorm")
        x = F.dropout(x, self.dropout, self.training)
        keep = mask[:, None, None, :].bool()
        for n in range(LAYERS):
            at = f"encoder.layer.{n}."
            q, k, v = (self._heads(self._linear(x, p, f"{at}attention.self.{name}")) for name in ("query", "key", "value"))
            y = F.scaled_dot_product_attention(q, k, v, keep, self.dropout if self.training else 0.0)
            y = self._linear(y.transpose(1, 2).flatten(2), p, f"{at}attention.output.dense")
            x = self._norm(x + F.dropout(y, self.dropout, self.training), p, f"{at}attention.output.LayerNorm")
            y = self._linear(F.gelu(self._linear(x, p, f"{at}intermediate.dense")), p, f"{at}output.dense")
            x = self._norm(x + F.dropout(y, self.dropout, self.training), p, f"{at}output.LayerNorm")
        return x

    @staticmethod
    def _linear(x: Tensor, p: dict[str, Tensor], name: str) -> Tensor:
        return F.linear(x, p[f"{name}.weight"], p[f"{name}.bias"])

    @staticmethod
    def _norm(x: Tensor, p: dict[str, Tensor], name: str) -> Tensor:
        return F.layer_norm(x, (WIDTH,), p[f"{name}.weight"], p[f"{name}.bias"], 1e-12)

    @staticmethod
    def _heads(x: Tensor) -> Tensor:
        return x.unflatten(2, (HEADS, WIDTH // HEADS)).transpose(1, 2)


class Reader(nn.Module):
    """Scores of every word for every label: (B, W, N, 2) logits."""

    def __init__(self, arrays: dict[str, Tensor], n_known: int) -> None:
        super().__init__()
        self.encoder = Encoder(arrays)
        self.word = nn.Linear(WIDTH, JOINT * CHANNELS, bias=False)
        self.label = nn.Linear(WIDTH, JOINT * CHANNELS, bias=False)
        self.bias = nn.Parameter(torch.full((CHANNELS,), -4.0))
        self.label_bias = nn.Linear(WIDTH, CHANNELS, bias=False)
        self.known = nn.Embedding(n_known, WIDTH)  # what a label means beyond its description
        nn.init.zeros_(self.known.weight)
        nn.init.zeros_(self.label_bias.weight)
        for layer in (self.word, self.label):
            nn.init.normal_(layer.weight, std=0.05)

    def words(self, ids: Tensor, mask: Tensor, word_of: Tensor, n_words: int) -> Tensor:
        """The mean of every word's pieces: (B, W, 384). word_of (B, L) is n_words for pieces of none."""
        states = self.encoder(ids, mask)
        total = states.new_zeros(ids.shape[0], n_words + 1, WIDTH).index_put(
            (torch.arange(ids.shape[0], device=ids.device)[:, None].expand_as(word_of), word_of), states, accumulate=True)
        count = states.new_zeros(ids.shape[0], n_words + 1).scatter_add(1, word_of, torch.ones_like(word_of, dtype=states.dtype))
        return (total / count.clamp(min=1)[..., None])[:, :n_words]

    def labels(self, ids: Tensor, mask: Tensor, known: Tensor, forget: float) -> Tensor:
        """Label vectors (N, 384): the mean of the description, and for a known one what was learnt of it, forgotten at times."""
        states = self.encoder(ids, mask)
        mean = (states * mask[..., None]).sum(1) / mask.sum(1, keepdim=True)
        extra = self.known(known.clamp(min=0)) * (known >= 0)[:, None]
        if self.training and forget:
            extra = extra * (torch.rand(len(known), 1, device=extra.device) > forget)
        return mean + extra

    def scores(self, words: Tensor, labels: Tensor) -> Tensor:
        """(B, W, 384), (N, 384) -> logits (B, W, N, 2)."""
        w = self.word(words).unflatten(-1, (CHANNELS, JOINT))
        v = self.label(labels).unflatten(-1, (CHANNELS, JOINT))
        return torch.einsum("bwcd,ncd->bwnc", w, v) / JOINT**0.5 + self.label_bias(labels) + self.bias
