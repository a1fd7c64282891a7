"""The reader's network: a small sentence encoder run by CTranslate2, and two answers for every word and statement.

In: a Passage and descriptions. Out: logits. The model is loaded once and checked against its hashes; the same words give the
same answers. Model card: models/reader/README.md.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coach.errors import CoachError
from coach.places import models_dir
from coach.reader.passage import NOBODY, Passage, spelled

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]

__all__ = ["ANSWERS", "Reader", "load_reader"]

FILES = ("config.json", "model.bin", "vocabulary.json", "heads.npz", "beliefs.json")  # each with its hash in hashes.json
ANSWERS = 2  # told here; told here under a wrong name
LONGEST = 500  # word pieces read together: the encoder has 512 places
OVERLAP = 100
THREADS = 2
LOWEST = -16.0


class Reader:
    """Says how likely every word of a passage tells each of some statements."""

    def __init__(self, folder: Path) -> None:
        """Load the network.

        Raises:
            CoachError: a file is missing or not the one that was measured.
        """
        import ctranslate2
        import numpy as np
        from tokenizers import Tokenizer
        from tokenizers.models import WordPiece

        _check(folder)
        vocabulary = json.loads((folder / "vocabulary.json").read_text(encoding="utf-8"))
        self._pieces = Tokenizer(WordPiece({piece: n for n, piece in enumerate(vocabulary)}, unk_token="[UNK]"))
        self._first, self._last = vocabulary.index("[CLS]"), vocabulary.index("[SEP]")
        self._encoder: Any = ctranslate2.Encoder(str(folder), compute_type="int8", intra_threads=THREADS)
        with np.load(folder / "heads.npz") as heads:
            arrays = {name: heads[name].astype(np.float32) for name in ("word", "label", "bias", "label_bias", "known")}
            names = json.loads(str(heads["names"]))
        self._word, self._label = (arrays[name].reshape(ANSWERS, -1, arrays[name].shape[1]) for name in ("word", "label"))
        self._bias, self._label_bias = arrays["bias"], arrays["label_bias"]
        self._known: dict[str, Floats] = dict(zip(names, arrays["known"], strict=True))
        self._taught = frozenset(names)
        self.beliefs: dict[str, Any] = json.loads((folder / "beliefs.json").read_text(encoding="utf-8"))

    def logits(self, passage: Passage, descriptions: Sequence[str]) -> Floats:
        """(tokens, descriptions, 2): what each token answers to each statement.

        A long passage is read in windows that overlap; every token is answered where it has the most around it.
        """
        import numpy as np

        out = np.full((passage.n_tokens, len(descriptions), ANSWERS), LOWEST, np.float32)
        if not passage.n_tokens or not descriptions:
            return out
        labels = np.stack([self._vector(d) for d in descriptions])
        asked = np.einsum("ajd,nd->ajn", self._label, labels) / np.float32(self._label.shape[1]) ** 0.5
        weights = np.einsum("ajd,ajn->dna", self._word, asked).reshape(labels.shape[1], -1)
        states = self._token_states(passage)
        bias = labels @ self._label_bias.T + self._bias
        answers: Floats = (states @ weights).reshape(out.shape).astype(np.float32) + bias
        return answers

    def knows(self, description: str) -> bool:
        """Whether the statement was among those that the network was taught by name."""
        return description in self._taught

    def _vector(self, description: str) -> Floats:
        """What a statement is to the network: learnt for the shipped ones, from its own words for any other."""
        known = self._known.get(description)
        if known is None:
            ids = [i for word in spelled(description) for i in self._ids(word)]
            known = self._known[description] = self._states([self._first, *ids[: LONGEST - 2], self._last]).mean(0)
        return known

    @lru_cache(maxsize=20_000)  # noqa: B019  one reader lives as long as the program
    def _ids(self, word: str) -> tuple[int, ...]:
        return tuple(self._pieces.encode(word).ids)

    def _states(self, ids: Sequence[int]) -> Floats:
        """(pieces, width)."""
        import numpy as np

        states: Floats = np.asarray(self._encoder.forward_batch([list(ids)]).last_hidden_state)[0]
        return states

    def _token_states(self, passage: Passage) -> Floats:
        """(tokens, width): the mean over each token's pieces."""
        import numpy as np

        context = [i for word in passage.words[: passage.n_context] for i in self._ids(word)]
        row = [(i, o) for word, o in zip(passage.words, passage.owners, strict=True) for i in self._ids(word)][len(context) :]
        size = LONGEST - len(context) - 2
        out: Floats | None = None
        best = np.full(passage.n_tokens, -1)
        for start in range(0, max(1, len(row) - OVERLAP), size - OVERLAP):
            part = row[start : start + size]
            states = self._states([self._first, *context, *(i for i, _ in part), self._last])[1 + len(context) : -1]
            out = np.zeros((passage.n_tokens, states.shape[1]), np.float32) if out is None else out
            places: dict[int, list[int]] = {}
            for n, (_, owner) in enumerate(part):
                if owner != NOBODY:
                    places.setdefault(owner, []).append(n)
            for owner, mine in places.items():
                room = min(mine[0] if start else LONGEST, len(part) - 1 - mine[-1] if start + size < len(row) else LONGEST)
                if room > best[owner]:
                    best[owner] = room
                    out[owner] = states[mine].mean(0)
        assert out is not None
        return out


@lru_cache(maxsize=1)
def load_reader() -> Reader:
    """The shipped reader.

    Raises:
        CoachError: its files are missing or not the ones that were measured.
    """
    return Reader(models_dir() / "reader")


def _check(folder: Path) -> None:
    try:
        hashes = json.loads((folder / "hashes.json").read_text(encoding="utf-8"))
        wrong = [name for name in FILES if hashlib.sha256((folder / name).read_bytes()).hexdigest() != hashes[name]]
    except (OSError, ValueError, KeyError, TypeError) as err:
        raise CoachError(f"{folder}: the reader's model is missing or broken ({err}); install coach again") from err
    if wrong:
        raise CoachError(f"{folder / wrong[0]}: not the file that was measured; install coach again")
