"""The acoustic model file (am/final.mdl) as Kaldi writes it in binary form.

In: a Trained. Out: bytes. Tokens end in a space; numbers carry a byte that tells their size; the wiring of the network is
plain text. Hidden weights are kept in steps of 8 bits (Kaldi's CM3 form), the rest in full.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from training.tiny_vosk.network import LAYERS, REACH, Affine, Trained
from training.tiny_vosk.sounds import CLASSES, GRAPH_PHONES, output_of
from training.tiny_vosk.speech import CEPSTRA

# A frame of speech that fits no phone scores so much of the doubt in silence: belongs to --acoustic-scale=0.7.
GARBAGE = 0.15
FULL, STEPS = 32, 8


def model_bytes(trained: Trained, stay: Sequence[float]) -> bytes:
    """The whole file. stay: for every graph phone the probability of another frame in it."""
    return b"\0B" + b"".join([*_transitions(stay), *_network(trained)])


def _transitions(stay: Sequence[float]) -> Iterable[bytes]:
    """One state a phone, with a way to stay and a way on."""
    phones = range(1, len(GRAPH_PHONES) + 1)
    yield _tokens("<TransitionModel>", "<Topology>")
    yield _ints([*phones]) + _ints([-1, *[0] * len(phones)])
    yield b"".join(map(_int, (1, 2, 0, 2)))  # one entry of two states; the first has class 0 and two ways on
    yield b"".join(_int(target) + _float(0.5) for target in (0, 1))
    yield _int(-1) + _int(0)  # the second has no class and no way on
    yield _tokens("</Topology>", "<Triples>") + _int(len(phones))
    yield from (_int(phone) + _int(0) + _int(output_of(phone)) for phone in phones)
    yield _tokens("</Triples>", "<LogProbs>")
    yield _vector([0.0, *(np.log(p) for s in stay for p in (s, 1 - s))])
    yield _tokens("</LogProbs>", "</TransitionModel>")


def _network(trained: Trained) -> Iterable[bytes]:
    garbage = np.vstack([np.eye(len(CLASSES)), np.zeros(len(CLASSES))])
    garbage[-1, 0] = -GARBAGE
    yield _tokens("<Nnet3>") + ("\n" + _wiring() + "\n").encode()
    yield _tokens("<NumComponents>") + _int(2 * len(trained.hidden) + 3)
    for n, affine in enumerate(trained.hidden):
        yield _affine(f"join{n}", affine, STEPS)
        yield _plain(f"relu{n}", "RectifiedLinearComponent", len(affine[1]))
    yield _affine("classes", trained.output, FULL)
    yield _plain("log", "LogSoftmaxComponent", len(CLASSES))
    yield _tokens("<ComponentName>", "garbage", "<FixedAffineComponent>", "<LinearParams>") + _matrix(garbage, FULL)
    yield _tokens("<BiasParams>") + _vector(np.zeros(len(CLASSES) + 1)) + _tokens("</FixedAffineComponent>", "</Nnet3>")
    yield _tokens("<LeftContext>") + _int(REACH) + _tokens("<RightContext>") + _int(REACH)
    yield _tokens("<Priors>") + _vector([*trained.shares, 1.0])


def _wiring() -> str:
    """Which component reads what."""
    lines, below = [f"input-node name=input dim={CEPSTRA}"], "input"
    for n, (count, apart) in enumerate(LAYERS):
        offsets = [(k - (count - 1) // 2) * apart for k in range(count)]
        joined = ", ".join(f"Offset({below}, {o})" if o else below for o in offsets)
        lines.append(f"component-node name=join{n} component=join{n} input=Append({joined})")
        lines.append(f"component-node name=relu{n} component=relu{n} input=join{n}")
        below = f"relu{n}"
    for name in ("classes", "log", "garbage"):
        lines.append(f"component-node name={name} component={name} input={below}")
        below = name
    return "\n".join([*lines, f"output-node name=output input={below} objective=linear", ""])


def _affine(name: str, affine: Affine, bits: int) -> bytes:
    head = _tokens("<ComponentName>", name, "<AffineComponent>", "<LearningRate>") + _float(0.001)
    body = _tokens("<LinearParams>") + _matrix(affine[0], bits) + _tokens("<BiasParams>") + _vector(affine[1])
    return head + body + _tokens("</AffineComponent>")


def _plain(name: str, kind: str, size: int) -> bytes:
    """A component without weights; its statistics of training are empty."""
    counts = [_tokens(f"<{name}>") + _float(0.0) for name in ("OderivCount", "NumDimsSelfRepaired", "NumDimsProcessed")]
    return b"".join(
        [
            _tokens("<ComponentName>", name, f"<{kind}>", "<Dim>") + _int(size),
            _tokens("<ValueAvg>") + _vector([]) + _tokens("<DerivAvg>") + _vector([]),
            _tokens("<Count>") + _float(0.0) + _tokens("<OderivRms>") + _vector([]),
            *counts,
            _tokens(f"</{kind}>"),
        ]
    )


def _tokens(*names: str) -> bytes:
    return "".join(f"{name} " for name in names).encode()


def _int(value: int) -> bytes:
    return struct.pack("<bi", 4, value)


def _float(value: float) -> bytes:
    return struct.pack("<bf", 4, value)


def _ints(values: Sequence[int]) -> bytes:
    return _int(len(values)) + np.asarray(values, "<i4").tobytes()


def _vector(values: Sequence[float] | NDArray[np.float64]) -> bytes:
    return _tokens("FV") + _int(len(values)) + np.asarray(values, "<f4").tobytes()


def _matrix(values: NDArray[np.float64], bits: int) -> bytes:
    array = np.asarray(values, "<f4")
    if bits == FULL:
        return _tokens("FM") + _int(array.shape[0]) + _int(array.shape[1]) + array.tobytes()
    low, spread = float(array.min()), float(np.ptp(array))
    steps = np.round((array - low) / spread * 255).astype("u1")
    return _tokens("CM3") + struct.pack("<ffii", low, spread, *array.shape) + steps.tobytes()
