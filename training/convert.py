"""From the published CTranslate2 folder to arrays for training, and from trained arrays to an int8 folder.

python convert.py int8 SOURCE_FOLDER OUT_FOLDER [ALPHA CHANGES.npz ...]   write a folder to listen with
python convert.py carry SOURCE_FOLDER OUT.npz                            int8 weights and mel filters, to train from
python convert.py mean OUT.npz CHANGES.npz ...                            average of the changes of several seeds
python convert.py check SOURCE_FOLDER                                    is the file written back to the byte?
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import weights_file

MELS = 80
BESIDE = ("config.json", "tokenizer.json", "vocabulary.txt")


def int8_folder(source: Path, out: Path, alpha: float = 1.0, tuned: Sequence[Path] = ()) -> None:
    """A folder like the source, int8; with tuned changes, that share of them is added to the source's weights."""
    model = weights_file.read(source / "model.bin")
    floats = model.floats()
    for path in tuned:
        with np.load(path) as changes:
            for name in changes.files:
                floats[name] = floats[name] + alpha * changes[name].astype(np.float32)
    if tuned:
        model = model.with_floats(floats)
    out.mkdir(parents=True, exist_ok=True)
    weights_file.write(model.as_int8(), out / "model.bin")
    for name in BESIDE:
        shutil.copyfile(source / name, out / name)


def carry(source: Path, out: Path) -> None:
    """The weights as they will be shipped (int8 matrices) and the listener's mel filters, in one npz file."""
    from coach.listen.whisper_model import mel_filters

    arrays = weights_file.read(source / "model.bin").as_int8().arrays
    kept = {n: a.astype(np.float16) if a.ndim == 3 else a for n, a in arrays.items() if a.ndim}
    np.savez(out, mel_filters=mel_filters(MELS), **kept)


def mean(out: Path, changes: Sequence[Path]) -> None:
    """The average of the changes that several seeds learnt, as float16."""
    loaded = [np.load(path) for path in changes]
    average = {n: np.mean([one[n].astype(np.float32) for one in loaded], axis=0) for n in loaded[0].files}
    np.savez(out, **{n: a.astype(np.float16) for n, a in average.items()})


def same_to_the_byte(source: Path) -> bool:
    """Whether reading and writing changes nothing."""
    path = source / "model.bin"
    with tempfile.TemporaryDirectory() as folder:
        again = Path(folder) / "model.bin"
        weights_file.write(weights_file.read(path), again)
        return path.read_bytes() == again.read_bytes()


def main(argv: list[str]) -> int:
    """The command line."""
    verb, *rest = argv
    if verb == "int8":
        alpha = float(rest[2]) if len(rest) > 2 else 1.0
        int8_folder(Path(rest[0]), Path(rest[1]), alpha, [Path(p) for p in rest[3:]])
    elif verb == "carry":
        carry(Path(rest[0]), Path(rest[1]))
    elif verb == "mean":
        mean(Path(rest[0]), [Path(p) for p in rest[1:]])
    elif verb == "check":
        print("same" if same_to_the_byte(Path(rest[0])) else "different")
    else:
        print(__doc__)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
