"""The decoder's graphs: python -m training.tiny_vosk.graph LEXICON SENTENCES STAY.json OUT_FOLDER [--without WORD ...]

In: pronunciations ("word PHONE PHONE ..."), the text of the language model (a sentence a line), and for each graph phone the
probability of staying in it for another frame. Out: a graph folder that a Vosk model opens: HCLr.fst (phones to words), Gr.fst
(a bigram), disambig_tid.int, words.txt, phones/word_boundary.int. --without makes a graph that lacks words, as people's small
models lack the trade's: sentences with such a word keep the rest. Needs pynini (OpenFst).

Built the usual way of weighted transducers (Mohri, Pereira and Riley 2002), with the library's habits: transitions of phone k
are numbered 2k - 1 (stay) and 2k (leave); the leaving one stands on the arc into the phone.
"""

from __future__ import annotations

import argparse
import json
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import pairwise
from pathlib import Path

import pynini

from training.tiny_vosk.sounds import GRAPH_PHONES, PLACES, UNKNOWN, Lexicon, read_lexicon, words_of

COUNT = len(GRAPH_PHONES)
MARK = COUNT + 1  # marks above tell homophones apart and "no silence" from silence; without them nothing determinizes
HALF = math.log(2)  # a pause after a word is as likely as none
UNKNOWN_COST = 2.0
UNKNOWN_SHARE = 0.002
DISCOUNT = 0.5  # taken off every count, and added to every word, so that any word may follow any
START, END = "<s>", "</s>"


def write_graph(folder: Path, lexicon: Lexicon, sentences: Sequence[str], stay: Sequence[float]) -> None:
    """All files of the graph folder."""
    numbers = {word: n for n, word in enumerate([*sorted(lexicon), UNKNOWN], 1)}
    spelled, marks = _expanded(pynini.determinize(_spelling(lexicon, numbers)), stay)
    (folder / "phones").mkdir(parents=True, exist_ok=True)
    spelled.arcsort("olabel").write(str(folder / "HCLr.fst"))
    _bigram(sentences, numbers).write(str(folder / "Gr.fst"))
    kinds = ["nonword", *(PLACES[name[-1]] for name in GRAPH_PHONES[1:])]
    _write_lines(folder / "disambig_tid.int", (str(m) for m in marks))
    _write_lines(folder / "words.txt", ("<eps> 0", *(f"{word} {n}" for word, n in numbers.items())))
    _write_lines(folder / "phones" / "word_boundary.int", (f"{n} {kind}" for n, kind in enumerate(kinds, 1)))
    (folder / "stay.json").write_text(json.dumps(list(stay)) + "\n", encoding="utf-8")


def without_words(lexicon: Lexicon, sentences: Iterable[str], lacking: frozenset[str]) -> tuple[Lexicon, list[str]]:
    """Lexicon and text of a model that never met these words: sentences are cut where one stands."""
    kept = []
    for sentence in sentences:
        part: list[str] = []
        for word in [*words_of(sentence), *sorted(lacking)[:1]]:
            if word not in lacking:
                part.append(word)
            elif part:
                kept.append(" ".join(part))
                part = []
    return {word: readings for word, readings in lexicon.items() if word not in lacking}, kept


def _spelling(lexicon: Lexicon, numbers: dict[str, int]) -> pynini.Fst:
    """Phones to words, over and over: silence may stand at the start and after every word."""
    fst = pynini.Fst()
    start, ready, pause = fst.add_state(), fst.add_state(), fst.add_state()
    fst.set_start(start)
    fst.set_final(ready)
    for label in (1, MARK):  # silence, or the mark of none
        fst.add_arc(start, pynini.Arc(label, 0, HALF, ready))
    fst.add_arc(pause, pynini.Arc(1, 0, 0.0, ready))
    number = {name: n for n, name in enumerate(GRAPH_PHONES, 1)}
    paths = [([number["GARBAGE_S"]], UNKNOWN, UNKNOWN_COST)]
    paths += [([number[p] for p in _placed(r)], word, 0.0) for word in sorted(lexicon) for r in lexicon[word]]
    alike: Counter[tuple[int, ...]] = Counter()
    for path, word, cost in paths:
        alike[tuple(path)] += 1
        if (times := alike[tuple(path)]) > 1:
            path = [*path, MARK + times]
        at = ready
        for n, label in enumerate(path):
            says, price = (numbers[word], cost) if n == 0 else (0, 0.0)
            if n < len(path) - 1:
                onward = fst.add_state()
                fst.add_arc(at, pynini.Arc(label, says, price, onward))
                at = onward
            else:
                for target in (ready, pause):
                    fst.add_arc(at, pynini.Arc(label, says, price + HALF, target))
    return fst


def _placed(phones: Sequence[str]) -> list[str]:
    """Phone names marked by their place in the word."""
    places = "S" if len(phones) == 1 else "B" + "I" * (len(phones) - 2) + "E"
    return [f"{phone}_{place}" for phone, place in zip(phones, places, strict=True)]


def _expanded(phones: pynini.Fst, stay: Sequence[float]) -> tuple[pynini.Fst, list[int]]:
    """The graph over transitions in place of phones, and the labels that marks have in it.

    A phone's staying loop lies on a state of its own, unless all arcs into the next state carry this very phone.
    """
    into: dict[int, set[int]] = {}
    for state in phones.states():
        for arc in phones.arcs(state):
            into.setdefault(arc.nextstate, set()).add(arc.ilabel)
    fst = pynini.Fst()
    fst.add_states(phones.num_states())
    fst.set_start(phones.start())
    loops: dict[tuple[int, int], int] = {}
    marks: set[int] = set()
    for state in phones.states():
        fst.set_final(state, phones.final(state))
        for arc in phones.arcs(state):
            phone, cost = arc.ilabel, float(arc.weight)
            if not 0 < phone <= COUNT:
                label = COUNT + phone if phone else 0  # above all transitions
                marks |= {label} - {0}
                fst.add_arc(state, pynini.Arc(label, arc.olabel, cost, arc.nextstate))
                continue
            key = (phone, arc.nextstate)
            if key not in loops:
                own = into[arc.nextstate] == {phone} and arc.nextstate != phones.start()
                loops[key] = arc.nextstate if own else fst.add_state()
                if not own:
                    fst.add_arc(loops[key], pynini.Arc(0, 0, 0.0, arc.nextstate))
                fst.add_arc(loops[key], pynini.Arc(2 * phone - 1, 0, -math.log(stay[phone - 1]), loops[key]))
            leave = cost - math.log(1 - stay[phone - 1])
            fst.add_arc(state, pynini.Arc(2 * phone, arc.olabel, leave, loops[key]))
    return fst.connect(), sorted(marks)


def _bigram(sentences: Iterable[str], numbers: dict[str, int]) -> pynini.Fst:
    """Absolute discounting (Ney, Essen and Kneser 1994); backs off through an empty arc to single words."""
    pairs: dict[str, Counter[str]] = {}
    singles: Counter[str] = Counter()
    for sentence in sentences:
        words = [START, *words_of(sentence), END]
        singles.update(words[1:])
        for first, second in pairwise(words):
            pairs.setdefault(first, Counter())[second] += 1
    vocabulary = [*numbers, END]
    total = sum(singles.values()) + DISCOUNT * len(vocabulary)
    share = {word: (singles[word] + DISCOUNT) / total for word in vocabulary} | {UNKNOWN: UNKNOWN_SHARE}
    fst = pynini.Fst()
    after = {word: fst.add_state() for word in [START, *sorted(set(pairs) - {START})]}
    anywhere = fst.add_state()
    fst.set_start(after[START])

    def add(state: int, word: str, probability: float) -> None:
        if word == END:
            fst.set_final(state, -math.log(probability))
        else:
            fst.add_arc(state, pynini.Arc(numbers[word], numbers[word], -math.log(probability), after.get(word, anywhere)))

    for word, probability in share.items():
        add(anywhere, word, probability)
    for first, counts in pairs.items():
        seen = sum(counts.values())
        spare = DISCOUNT * len(counts) / seen
        for second, count in counts.items():
            add(after[first], second, (count - DISCOUNT) / seen + spare * share[second])
        fst.add_arc(after[first], pynini.Arc(0, 0, -math.log(spare), anywhere))
    return fst.arcsort("ilabel")


def _write_lines(path: Path, lines: Iterable[str]) -> None:
    path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description="Write the graph folder of a Vosk model.")
    parser.add_argument("lexicon", type=Path)
    parser.add_argument("sentences", type=Path)
    parser.add_argument("stay", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--without", nargs="*", default=[], metavar="WORD")
    args = parser.parse_args()
    lexicon, sentences = read_lexicon(args.lexicon), args.sentences.read_text(encoding="utf-8").splitlines()
    if args.without:
        lexicon, sentences = without_words(lexicon, sentences, frozenset(args.without))
    write_graph(args.out, lexicon, sentences, json.loads(args.stay.read_text(encoding="utf-8")))


if __name__ == "__main__":
    main()
