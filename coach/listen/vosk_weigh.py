"""Rival wordings put to the sound through run-time grammars: how well the sound fits each one's sentence.

In: the sound, the words heard, questions. Out: natural-log scores, nan where the model cannot tell.
The wordings of a question, each with a few words around it, are heard by a recogniser that knows these sentences only; the
score is the log likelihood of the path that says the sentence. Grammar words may recombine, so that what is not said does
not come out at all: it then scores below all that did.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from threading import Lock
from typing import Any

from coach.listen.speech import RATE_HZ
from coach.listen.vosk_model import loud, quiet
from coach.words import Question, Weighed, Word

__all__ = ["weigh_all"]

AROUND = 1  # words on either side: enough to tie the span down, and every second of sound costs
# More would let in the neighbours: with 0.1 s what was heard came out of its own grammar in 51 of 78 cases, with 0.15 s in 24,
# with 0.05 s in all.
MARGIN_S = 0.05
ALTERNATIVES = 10
# A wording that does not come out lies below all that did, and at least the width of the library's search below the best.
UNSAID = 9.0
WORKERS = 2


def weigh_all(
    model: Any | None,
    sound: bytes,
    words: Sequence[Word],
    questions: Sequence[Question],
    progress: Callable[[float], None] | None = None,
) -> list[Weighed]:
    """One Weighed per question, in order.

    Args:
        model: the library's model; None when it takes no grammar at run time: then all scores are nan.
        sound: 16 bit, 16 kHz, of the whole recording.
        words: what was heard in it, rising.
        progress: told the share done, 0..1.
    """
    asked = [_asked(model, words, q) for q in questions]
    jobs = list(dict.fromkeys(_job(a) for a in asked))
    lock, done = Lock(), 0

    def hear(job: _Job) -> Mapping[str, float]:
        nonlocal done
        scores = _hear(model, sound, *job) if job[2] else {}
        with lock:
            done += 1
            if progress:
                with loud():
                    progress(done / len(jobs))
        return scores

    with ThreadPoolExecutor(WORKERS) as pool:
        heard = dict(zip(jobs, pool.map(hear, jobs), strict=True))
    return [Weighed(q, tuple(_score(heard[_job(a)], s) for s in a.sentences)) for q, a in zip(questions, asked, strict=True)]


_Job = tuple[float, float, tuple[str, ...]]  # from, to, sentences


@dataclass(frozen=True, slots=True)
class _Asked:
    """A question as the recogniser is asked it: one sentence a wording, None for one that it cannot weigh."""

    from_s: float
    to_s: float
    sentences: tuple[str | None, ...]


def _job(asked: _Asked) -> _Job:
    """Nothing is heard for a wording alone: a score says something only beside another."""
    sentences = tuple(s for s in asked.sentences if s)
    return asked.from_s, asked.to_s, sentences if len(sentences) > 1 else ()


def _asked(model: Any | None, words: Sequence[Word], question: Question) -> _Asked:
    before = [w for w in words if question.from_s <= w.start_s < question.start_s][-AROUND:]
    after = [w for w in words if w.start_s >= question.end_s and w.end_s <= question.to_s][:AROUND]
    start = before[0].start_s if before else question.start_s
    end = after[-1].end_s if after else question.end_s
    sentences: list[str | None] = []
    for wording in question.wordings:
        tokens = plain(" ".join([*(w.text for w in before), wording, *(w.text for w in after)]))
        known = model is not None and plain(wording) and all(model.vosk_model_find_word(t) >= 0 for t in tokens)
        sentences.append(" ".join(tokens) if known else None)
    return _Asked(max(0.0, start - MARGIN_S), end + MARGIN_S, tuple(sentences))


def plain(text: str) -> list[str]:
    """Words as the models write them: lower case, apostrophes kept, no marks."""
    return re.findall(r"[a-z]+(?:'[a-z]+)*", text.lower().replace("\u2019", "'"))


def _hear(model: Any, sound: bytes, from_s: float, to_s: float, sentences: Sequence[str]) -> Mapping[str, float]:
    """Log likelihood of every sentence found in that stretch; nothing when it holds no sound.

    The grammar is a list, not empty, and of known words only: anything else kills the process or loses words.
    """
    from vosk import KaldiRecognizer

    piece = sound[2 * int(from_s * RATE_HZ) : 2 * int(to_s * RATE_HZ)]
    if not piece:
        return {}
    with quiet():
        hearing = KaldiRecognizer(model, float(RATE_HZ), json.dumps(list(sentences)))
        hearing.SetMaxAlternatives(ALTERNATIVES)
        hearing.AcceptWaveform(piece)
        found = json.loads(hearing.FinalResult()).get("alternatives", [])
    return {a["text"].strip(): float(a["confidence"]) for a in reversed(found) if "confidence" in a}


def _score(found: Mapping[str, float], sentence: str | None) -> float:
    if sentence is None or not found:
        return math.nan
    return found.get(sentence, min(min(found.values()), max(found.values()) - UNSAID))
