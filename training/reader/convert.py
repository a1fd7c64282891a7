"""convert.py WEIGHTS.npz DATA OUT: the taught reader as CTranslate2 loads it (int8), with its heads and label vectors.

OUT gets model.bin, config.json, vocabulary.json (CTranslate2's), heads.npz and hashes.json (SHA-256 of each). WEIGHTS.npz may be
given as two halves, WEIGHTS-a.npz and WEIGHTS-b.npz.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import sys
from pathlib import Path

import ctranslate2
import numpy as np
from ctranslate2.specs import common_spec, transformer_spec
from numpy.typing import NDArray

LAYERS, HEADS, WIDTH = 6, 12, 384
Arrays = dict[str, NDArray[np.float32]]


def load(path: Path) -> Arrays:
    """All arrays of one file, or of its two halves, in single precision."""
    files = [path] if path.exists() else [path.with_name(f"{path.stem}-{half}.npz") for half in "ab"]
    return {k: v.astype(np.float32) for f in files for k, v in np.load(f).items()}


def encoder_spec(p: Arrays) -> transformer_spec.TransformerEncoderModelSpec:
    """The encoder in CTranslate2's form: post-norm, no pooler, positions and a constant token type added."""
    encoder = transformer_spec.TransformerEncoderSpec(
        LAYERS, HEADS, pre_norm=False, activation=common_spec.Activation.GELU, layernorm_embedding=True
    )
    spec = transformer_spec.TransformerEncoderModelSpec(encoder)
    encoder.scale_embeddings = False
    encoder.embeddings[0].weight = p["embeddings.word_embeddings.weight"]
    # One token type only: its vector is part of every position.
    token_type = p["embeddings.token_type_embeddings.weight"][0]
    encoder.position_encodings.encodings = p["embeddings.position_embeddings.weight"] + token_type
    _norm(encoder.layernorm_embedding, p, "embeddings.LayerNorm")
    for n, layer in enumerate(encoder.layer):
        at = f"encoder.layer.{n}."
        names = [f"{at}attention.self.{name}" for name in ("query", "key", "value")]
        layer.self_attention.linear[0].weight = np.concatenate([p[f"{x}.weight"] for x in names])
        layer.self_attention.linear[0].bias = np.concatenate([p[f"{x}.bias"] for x in names])
        _linear(layer.self_attention.linear[1], p, f"{at}attention.output.dense")
        _norm(layer.self_attention.layer_norm, p, f"{at}attention.output.LayerNorm")
        _linear(layer.ffn.linear_0, p, f"{at}intermediate.dense")
        _linear(layer.ffn.linear_1, p, f"{at}output.dense")
        _norm(layer.ffn.layer_norm, p, f"{at}output.LayerNorm")
    return spec


def _linear(spec: object, p: Arrays, name: str) -> None:
    spec.weight, spec.bias = p[f"{name}.weight"], p[f"{name}.bias"]  # type: ignore[attr-defined]


def _norm(spec: object, p: Arrays, name: str) -> None:
    spec.gamma, spec.beta = p[f"{name}.weight"], p[f"{name}.bias"]  # type: ignore[attr-defined]


def main(weights: Path, data: Path, out: Path) -> None:
    """Write the folder."""
    out.mkdir(parents=True, exist_ok=True)
    state = load(weights)
    encoder = {k.removeprefix("encoder.p.").replace("/", "."): v for k, v in state.items() if k.startswith("encoder.p.")}
    vocabulary = json.loads((data / "vocabulary.json").read_text())
    spec = encoder_spec(encoder)
    spec.register_vocabulary(vocabulary)
    spec.config.unk_token = "[UNK]"
    spec.config.layer_norm_epsilon = 1e-12
    spec.validate()
    spec.optimize(quantization="int8")
    spec.save(str(out))
    examples = json.loads(gzip.decompress((data / "examples.json.gz").read_bytes()))
    names, known = examples["names"][: examples["n_known"]], state["known.weight"]
    model = ctranslate2.Encoder(str(out), compute_type="int8", inter_threads=1, intra_threads=2)
    means = []
    for row in examples["descriptions"][: len(names)]:
        states = np.array(model.forward_batch([[0, *row, 1]]).last_hidden_state)
        means.append(states[0].mean(0))
    heads = {
        "word": state["word.weight"], "label": state["label.weight"],
        "bias": state["bias"], "label_bias": state["label_bias.weight"],
        "known": np.stack(means) + known[: len(names)],
    }  # fmt: skip
    np.savez_compressed(
        out / "heads.npz", names=np.array(json.dumps(names)), **{k: v.astype(np.float16) for k, v in heads.items()}
    )
    files = ("model.bin", "config.json", "vocabulary.json", "heads.npz")
    hashes = {f: hashlib.sha256((out / f).read_bytes()).hexdigest() for f in files}
    (out / "hashes.json").write_text(json.dumps(hashes, indent=1) + "\n")
    print({f: (out / f).stat().st_size for f in files})


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
