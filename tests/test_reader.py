"""The reader: the network that says, word by word, what is being told; as files, as a function of words, and when it is away."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from cli_files import BIRD as BIRD_FILE
from cli_files import run
from judging import BIRD, BREEDS, CARD, spoken

from coach.errors import CoachError
from coach.judge.decide import decide
from coach.judge.tokens import sentences, words_of_phrase
from coach.knowledge.routes import load_route
from coach.listen.timed_words import read_timed_words
from coach.places import models_dir
from coach.reader import model
from coach.reader.labels import context_of, describe
from coach.reader.model import ANSWERS, LONGEST, Reader, load_reader
from coach.reader.passage import NOBODY, Passage, passage
from coach.words import TimedWords, Word

if TYPE_CHECKING:
    from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parent.parent
FOLDER = models_dir() / "reader"
FILES = ("model.bin", "heads.npz", "vocabulary.json", "beliefs.json", "config.json")
ROUTE = load_route("head-to-tail")
LABELS = tuple(describe(i, ROUTE) for i in ROUTE.items)
CONTEXT = words_of_phrase(context_of(CARD, BIRD))
SHORT = ("this is the beak", "it is white and it is not cracked", "these are the wattles")
AROUND = 45  # words that a word in the middle is read with on either side, at the least
TALK = ("we drove to the show early in the morning", "my brother carried the box", "it rained all the way there")


def read(*texts: str, context: Sequence[str] = CONTEXT, labels: Sequence[str] = LABELS) -> NDArray[np.float32]:
    """What the shipped reader answers to the sentences."""
    return load_reader().logits(passage(sentences(spoken(*texts)), context), labels)


# --- its files ------------------------------------------------------------------------------------------------------


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of the shipped reader's files."""
    return Path(shutil.copytree(FOLDER, tmp_path / "reader"))


def test_every_file_that_is_loaded_has_its_hash() -> None:
    """The list of hashes is that of the files beside it, and leaves none of the network out."""
    hashes = json.loads((FOLDER / "hashes.json").read_text(encoding="utf-8"))
    assert set(hashes) == set(FILES)
    assert hashes == {name: hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() for name in FILES}


@pytest.mark.parametrize("name", FILES)
def test_a_flipped_bit_is_refused(name: str, copy: Path) -> None:
    """A changed file reads nobody: one line says which file it is and what to do."""
    data = bytearray((copy / name).read_bytes())
    data[len(data) // 2] ^= 1
    (copy / name).write_bytes(data)
    with pytest.raises(CoachError) as caught:
        Reader(copy)
    assert str(caught.value) == f"{copy / name}: not the file that was measured; install coach again"


@pytest.mark.parametrize("name", [*FILES, "hashes.json"])
def test_a_missing_file_is_told(name: str, copy: Path) -> None:
    """In one line that names it."""
    (copy / name).unlink()
    with pytest.raises(CoachError) as caught:
        Reader(copy)
    line = str(caught.value)
    assert "\n" not in line and name in line and line.endswith("install coach again")


@pytest.mark.parametrize("broken", [b"", b"{", b"[1]", b"3", b"\xff\xfe", b"{}", b'{"model.bin": 3}'])
def test_a_broken_list_of_hashes_is_told(broken: bytes, copy: Path) -> None:
    """Whatever became of it nothing but a clear line comes out, and nothing is loaded unchecked."""
    (copy / "hashes.json").write_bytes(broken)
    with pytest.raises(CoachError, match="install coach again"):
        Reader(copy)


def test_a_review_without_the_reader_ends_with_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An installation whose reader was lost: exit 2, one line, no report."""
    words = tmp_path / "words.txt"
    words.write_text("This is the beak. It is white.\n", encoding="utf-8")
    load_reader.cache_clear()
    with monkeypatch.context() as gone:
        gone.setattr(model, "models_dir", lambda: tmp_path)
        ran = run(capsys, "review", "--words", str(words), "--bird", BIRD_FILE)
        assert str(tmp_path / "reader") in ran.line and ran.line.endswith("install coach again")
    assert run(capsys, "review", "--words", str(words), "--bird", BIRD_FILE).code == 0


# --- the same words, the same answers -------------------------------------------------------------------------------


def test_the_same_words_are_answered_alike() -> None:
    """Bit for bit: in a row, by another reader, and after other words were read."""
    first = read(*SHORT)
    read(*TALK)
    assert (read(*SHORT) == first).all()
    mine = passage(sentences(spoken(*SHORT)), CONTEXT)
    assert (Reader(FOLDER).logits(mine, LABELS) == first).all()


def test_another_process_answers_alike() -> None:
    """Bit for bit in a fresh one."""
    code = "import sys; sys.path.insert(0, 'tests'); import test_reader as t; print(t.read(*t.SHORT).tobytes().hex())"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=120, check=True)
    assert done.stdout.strip() == read(*SHORT).tobytes().hex()


def test_what_else_is_asked_changes_no_answer() -> None:
    """Each statement is answered for itself: alone, in another order, or among all the others."""
    whole = read(*SHORT)
    backwards = read(*SHORT, labels=LABELS[::-1])
    np.testing.assert_allclose(backwards[:, ::-1], whole, atol=1e-3)
    for n in (0, len(LABELS) // 2, len(LABELS) - 1):
        np.testing.assert_allclose(read(*SHORT, labels=LABELS[n : n + 1])[:, 0], whole[:, n], atol=1e-3)


# --- long passages --------------------------------------------------------------------------------------------------


def test_a_long_passage_is_answered_to_its_last_word() -> None:
    """2,000 words are more than four windows: each word has an answer of its own, and beside its neighbours' none is missing."""
    texts = (*TALK, *SHORT) * (2000 // sum(len(t.split()) for t in (*TALK, *SHORT)) + 1)
    got = read(*texts)
    n_words = sum(len(t.split()) for t in texts)
    assert n_words >= 2000 and got.shape == (n_words, len(LABELS), ANSWERS) and np.isfinite(got).all()
    assert (np.abs(np.diff(got[..., 0], axis=0)).max(axis=1) > 0).all()  # a word that nobody read would be as its neighbour
    beak = next(n for n, i in enumerate(ROUTE.items) if i.id == "head.beak")
    places = [n for n, w in enumerate(" ".join(texts).split()) if w == "beak"]
    assert all(got[p, beak, 0] > 0 for p in places)


def test_in_a_long_rehearsal_it_is_read_as_in_a_short_one() -> None:
    """Wherever a window ends: of rehearsals in one row each piece tells what it tells with a few sentences around it alone."""
    files = sorted((ROOT / "bench" / "rehearsals").glob("case-??.words.json"))[:8]
    row = [" ".join(t.text for t in s) for f in files for s in sentences(read_timed_words(f))]
    ends = np.cumsum([0, *(len(t.split()) for t in row)])
    whole = read(*row)[..., 0]
    assert len(whole) == ends[-1] >= 1800
    pairs: list[tuple[NDArray[np.float32], NDArray[np.float32]]] = []
    same = told = 0
    for n in range(0, len(row) - 12, 12):
        around = max(0, n - 10)
        alone = read(*row[around : n + 22])[ends[n] - ends[around] :, :, 0][: ends[n + 12] - ends[n]]
        there = whole[ends[n] : ends[n + 12]]
        clearly = alone.max(axis=0) > 1
        told += clearly.sum()
        same += (there.max(axis=0)[clearly] > 0).sum()
        assert (there.max(axis=0)[alone.max(axis=0) < -4] < 0).all()
        pairs.append((alone.ravel(), there.ravel()))
    assert told > 200 and same >= 0.98 * told
    assert np.corrcoef(*(np.concatenate(side) for side in zip(*pairs, strict=True)))[0, 1] > 0.9


def test_every_word_is_read_with_words_around_it() -> None:
    """Of the two windows that hold a word the one with more around it answers: none is read at an edge but the passage's own."""
    seen: list[tuple[int, int]] = []

    class Watched(Reader):
        def _states(self, ids: Sequence[int]) -> NDArray[np.float32]:
            seen.append((len(seen), len(ids)))
            return np.repeat(np.arange(len(ids), dtype=np.float32)[:, None], self._word.shape[1], axis=1)

    reader = Watched(FOLDER)
    words = ("comb",) * 1500
    states = reader._token_states(Passage(words, tuple(range(1500)), 1500, 0))[:, 0] - 1  # the place within its window
    assert len(seen) > 2 and all(n <= LONGEST for _, n in seen)
    at = np.arange(1500)
    lengths = np.array([n - 2 for _, n in seen])
    assert (np.diff(states) != 0).all() and states[0] == 0
    inner = (at >= AROUND) & (at < 1500 - AROUND)
    assert states[inner].min() >= AROUND and (lengths.max() - 1 - states[inner]).min() >= AROUND


# --- the context, and words that are none ---------------------------------------------------------------------------


def test_the_context_is_read_but_not_scored() -> None:
    """What is known of the bird is no word of the member's: it has no row, and tells nothing."""
    mine = passage(sentences(spoken(*TALK)), CONTEXT)
    assert mine.n_tokens == sum(len(t.split()) for t in TALK)
    assert set(mine.owners[: mine.n_context]) == {NOBODY} and mine.words[: len(CONTEXT)] == CONTEXT
    got = read(*TALK, context=words_of_phrase("this is the beak and it is white and these are the wattles"))
    assert got.shape == (mine.n_tokens, len(LABELS), ANSWERS)
    assert (got[..., 0] < 0).all()


def test_the_context_is_minded() -> None:
    """Another bird's name and breed beforehand change what is answered."""
    other = words_of_phrase("Moss black sumatra cock")
    assert not np.array_equal(read("she is a pullet"), read("she is a pullet", context=other))


def test_nothing_said_is_nothing_told() -> None:
    """No words, or no statements to ask for: no answers, and no error."""
    assert read().shape == (0, len(LABELS), ANSWERS)
    assert load_reader().logits(passage(()), LABELS).shape == (0, len(LABELS), ANSWERS)
    assert read(*SHORT, labels=()).shape == (sum(len(t.split()) for t in SHORT), 0, ANSWERS)
    told = decide(TimedWords((), 1.0), ROUTE, CARD, BIRD, BREEDS)
    assert {v.id for v in told.verdicts if v.status.value != "skipped"} == set()


@pytest.mark.parametrize("words", ["...", "— !", "♪ ♪", "\u200b", "日本語 です", "é", "&&& %", "x" * 3000, "'s", "9.5"])
def test_words_without_letters_tell_nothing_and_hurt_nothing(words: str) -> None:
    """Signs, other scripts, one endless word: alone nothing is told, and beside true words those are told as ever."""
    heard = TimedWords(tuple(Word(w, n * 0.3, n * 0.3 + 0.2) for n, w in enumerate(words.split() or [words])), 5.0)
    assert not any(v.status.value == "said" for v in decide(heard, ROUTE, CARD, BIRD, BREEDS).verdicts)
    with_words = decide(spoken(SHORT[0], words, *SHORT[1:]), ROUTE, CARD, BIRD, BREEDS)
    said = {v.id for v in with_words.verdicts if v.status.value == "said"}
    assert {"head.beak", "head.beak_color", "head.beak_condition", "head.wattles"} <= said


# --- statements are their descriptions ------------------------------------------------------------------------------


def test_an_item_under_another_id_is_read_alike() -> None:
    """Ids are not read: a route whose items are called otherwise has the same verdicts."""
    other = {i.id: f"{i.region}.item-{n}" if i.region != "facts" else f"facts.item-{n}" for n, i in enumerate(ROUTE.items)}
    items = tuple(replace(i, id=other[i.id], about=other[i.about] if i.about else None) for i in ROUTE.items)
    heard = spoken(*SHORT, "the comb has six points", "this is her knee", "a hen weighs eight pounds")
    mine = decide(heard, ROUTE, CARD, BIRD, BREEDS).verdicts
    theirs = decide(heard, replace(ROUTE, items=items), CARD, BIRD, BREEDS).verdicts
    assert [replace(v, id=other.get(v.id, v.id)) for v in mine] == list(theirs)
    assert len({v.status for v in mine}) >= 3


def test_a_description_decides_what_is_asked() -> None:
    """Two items that change titles and lines change answers with them."""
    beak, wattles = (next(i for i in ROUTE.items if i.id == name) for name in ("head.beak", "head.wattles"))
    asked = [describe(i, ROUTE) for i in (beak, wattles, replace(beak, title=wattles.title, line=wattles.line))]
    got = read("these are the wattles", labels=asked)[..., 0].max(axis=0)
    assert got[1] > 0 > got[0] and got[2] == got[1]


def test_a_description_that_was_never_taught_is_answered() -> None:
    """What a club adds is read from its own words, and known or not makes no difference to how the others are read."""
    own = "head: nostrils: these are the nostrils."
    got = read("these are the nostrils", "here is the tail", labels=[*LABELS, own])
    assert got[:4, -1, 0].max() > got[4:, -1, 0].max()
    assert np.array_equal(got[:, :-1], read("these are the nostrils", "here is the tail"))
