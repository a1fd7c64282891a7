"""Reading and writing CTranslate2 model files (binary version 6), with numpy alone.

In: model.bin. Out: a header, named arrays in their order, aliases; and back, unchanged or with int8 weights.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.generic]

TYPES = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}
NUMBER_OF = {np.dtype(kind): number for number, kind in TYPES.items()}
BINARY_VERSION = 6
LARGEST_INT8 = 127.0


@dataclass(slots=True)
class WeightsFile:
    """One model file in memory."""

    spec: str
    revision: int
    arrays: dict[str, Array]
    aliases: dict[str, str] = field(default_factory=dict)

    def floats(self) -> dict[str, NDArray[np.float32]]:
        """Every array of numbers that a network learns, as float32; int8 weights undone."""
        out = {}
        for name, array in self.arrays.items():
            if name.endswith("_scale") or array.dtype not in (np.float16, np.float32, np.int8) or array.ndim == 0:
                continue
            if array.dtype == np.int8:
                scale = self.arrays[f"{name}_scale"].astype(np.float32)
                out[name] = array.astype(np.float32) / scale.reshape(-1, *[1] * (array.ndim - 1))
            else:
                out[name] = array.astype(np.float32)
        return out

    def with_floats(self, floats: dict[str, NDArray[np.float32]]) -> WeightsFile:
        """The same model with these arrays in float16; names that are missing keep what they hold."""
        arrays = {n: floats[n].astype(np.float16) if n in floats else a for n, a in self.arrays.items()}
        return WeightsFile(self.spec, self.revision, arrays, dict(self.aliases))

    def as_int8(self) -> WeightsFile:
        """Matrices as int8 with one scale a row; all else that was float16 as float32."""
        arrays: dict[str, Array] = {}
        for name, array in self.arrays.items():
            if array.dtype == np.float16 and name.endswith("/weight") and array.ndim == 2:
                arrays[name], arrays[f"{name}_scale"] = _rows_as_int8(array.astype(np.float32))
            else:
                arrays[name] = array.astype(np.float32) if array.dtype == np.float16 else array
        aliases = dict(self.aliases)
        for alias, name in self.aliases.items():
            if f"{name}_scale" in arrays and not alias.endswith("_scale"):
                aliases[f"{alias}_scale"] = f"{name}_scale"
        return WeightsFile(self.spec, self.revision, arrays, aliases)


def _rows_as_int8(matrix: NDArray[np.float32]) -> tuple[Array, Array]:
    largest = np.abs(matrix).max(axis=1)
    largest[largest == 0] = LARGEST_INT8
    scale = (LARGEST_INT8 / largest).astype(np.float32)
    return np.rint(matrix * scale[:, None]).astype(np.int8), scale


def read(path: Path) -> WeightsFile:
    """The model file.

    Raises:
        ValueError: it is of another binary version.
    """
    with path.open("rb") as file:
        (version,) = struct.unpack("<I", file.read(4))
        if version != BINARY_VERSION:
            raise ValueError(f"{path}: binary version {version}, not {BINARY_VERSION}")
        spec = _read_name(file)
        revision, count = struct.unpack("<II", file.read(8))
        arrays: dict[str, Array] = {}
        for _ in range(count):
            name = _read_name(file)
            (rank,) = struct.unpack("<B", file.read(1))
            shape = struct.unpack(f"<{rank}I", file.read(4 * rank))
            kind, size = struct.unpack("<BI", file.read(5))
            arrays[name] = np.frombuffer(file.read(size), TYPES[kind]).reshape(shape)
        (count,) = struct.unpack("<I", file.read(4))
        aliases = {_read_name(file): _read_name(file) for _ in range(count)}
    return WeightsFile(spec, revision, arrays, aliases)


def write(model: WeightsFile, path: Path) -> None:
    """Write the model file."""
    with path.open("wb") as file:
        file.write(struct.pack("<I", BINARY_VERSION))
        _write_name(file, model.spec)
        file.write(struct.pack("<II", model.revision, len(model.arrays)))
        for name, array in model.arrays.items():
            _write_name(file, name)
            file.write(struct.pack(f"<B{array.ndim}I", array.ndim, *array.shape))
            data = np.ascontiguousarray(array).tobytes()
            file.write(struct.pack("<BI", NUMBER_OF[array.dtype], len(data)) + data)
        file.write(struct.pack("<I", len(model.aliases)))
        for alias, name in model.aliases.items():
            _write_name(file, alias)
            _write_name(file, name)


def _read_name(file: BinaryIO) -> str:
    (length,) = struct.unpack("<H", file.read(2))
    return file.read(length)[:-1].decode()


def _write_name(file: BinaryIO, name: str) -> None:
    data = name.encode() + b"\0"
    file.write(struct.pack("<H", len(data)) + data)
