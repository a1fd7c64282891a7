"""The speech detector's weights, from the published ONNX file to the arrays that coach/listen/silero.py runs.

python detector.py convert silero_vad_v6.onnx OUT.npz         prints the SHA-256 that silero.py asks for
python detector.py record  silero_vad_v6.onnx OUT.npz SOUND.. reference probabilities of recordings, for the tests

The ONNX file lies in the wheel faster-whisper 1.2.1 (faster_whisper/assets). Only this machine needs the packages onnx and, to
record, onnxruntime; set ORT_DISABLE_TELEMETRY=1. The file is written to the byte the same each time.
"""

from __future__ import annotations

import hashlib
import io
import sys
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

SOURCE_SHA256 = "4cbf549b8326f60f80f2536d9eefeb450a9abe83365a098031c89719f1be17d2"
EPOCH = (1980, 1, 1, 0, 0, 0)  # the date of every file in the archive, so that its hash does not depend on the day
CHUNK, CONTEXT = 512, 64


def read_onnx(path: Path) -> dict[str, Any]:
    """The arrays under the names of silero.py; the windowed Fourier basis is left out, it is computed there.

    Raises:
        SystemExit: another file than the one this was written for.
    """
    import onnx
    from onnx import numpy_helper

    if hashlib.sha256(path.read_bytes()).hexdigest() != SOURCE_SHA256:
        raise SystemExit(f"{path}: not the file this was written for (SHA-256 differs)")
    graph = onnx.load(path).graph
    arrays = {tensor.name: numpy_helper.to_array(tensor) for tensor in graph.initializer}
    out = {}
    for k in range(4):
        out[f"conv{k}.weight"] = arrays[f"encoder.conv_layers.{k}.weight"]
        out[f"conv{k}.bias"] = arrays[f"encoder.conv_layers.{k}.bias"]
    (lstm,) = (node for node in graph.node if node.op_type == "LSTM")
    to_gates, hidden_to_gates, bias = (arrays[name][0] for name in lstm.input[1:4])
    out["lstm.input"], out["lstm.hidden"] = to_gates, hidden_to_gates
    out["lstm.bias"] = bias[:512] + bias[512:]
    out["out.weight"] = arrays["decoder.conv1d.weight"][0, :, 0]
    out["out.bias"] = arrays["decoder.conv1d.bias"]
    return out


def write_npz(path: Path, arrays: Mapping[str, Any]) -> None:
    """An npz file whose bytes depend on the arrays alone."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, array in sorted(arrays.items()):
            buffer = io.BytesIO()
            np.lib.format.write_array(buffer, np.ascontiguousarray(array), version=(1, 0))
            info = zipfile.ZipInfo(f"{name}.npy", EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, buffer.getvalue())


def record(model: Path, sounds: Sequence[Path]) -> dict[str, Any]:
    """By the stem of each recording: the reference library's probability of every whole chunk of 512 samples."""
    import onnxruntime  # type: ignore[import-not-found]

    from coach.audio.read import read

    session = onnxruntime.InferenceSession(str(model), providers=["CPUExecutionProvider"])
    out = {}
    for path in sounds:
        samples = read(path).samples
        chunks = samples[: len(samples) // CHUNK * CHUNK].reshape(-1, CHUNK)
        before = np.concatenate([np.zeros((1, CONTEXT), np.float32), chunks[:-1, -CONTEXT:]])
        zero = np.zeros((1, 1, 128), np.float32)
        found, *_ = session.run(None, {"input": np.concatenate([before, chunks], axis=1), "h": zero, "c": zero})
        out[path.stem] = found.reshape(-1)
    return out


def main(argv: list[str]) -> int:
    """The command line."""
    if len(argv) == 3 and argv[0] == "convert":
        write_npz(Path(argv[2]), read_onnx(Path(argv[1])))
        print(hashlib.sha256(Path(argv[2]).read_bytes()).hexdigest())
    elif len(argv) > 3 and argv[0] == "record":
        write_npz(Path(argv[2]), record(Path(argv[1]), [Path(p) for p in argv[3:]]))
    else:
        print(__doc__)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
