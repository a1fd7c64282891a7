"""The bird's own name, where the listener wrote it as other words ("not Meg" for Nutmeg): it must not be read as a "not".

In: timed words and the name. Out: the same words with the name in place. Pure. Nothing is judged by the name, so likeness of
sound is enough.
"""

from __future__ import annotations

from coach.judge.sounds import Pronouncer, distance
from coach.words import TimedWords, Word

__all__ = ["restore_name"]

SAME = 0.1
LEAST_PHONES = 4
MAX_WORDS = 3


def restore_name(heard: TimedWords, name: str, pronouncer: Pronouncer) -> TimedWords:
    """The words with every run that sounds like the name written as the name."""
    phones = pronouncer.phones(name.lower())
    if len(phones) < LEAST_PHONES:
        return heard
    out: list[Word] = []
    at = 0
    while at < len(heard.words):
        size = next((n for n in range(MAX_WORDS, 0, -1) if _sounds_so(heard.words[at : at + n], n, name, phones, pronouncer)), 0)
        run = heard.words[at : at + size]
        if run:
            text = " ".join(w.text for w in run)
            mark = text[-1] if text[-1] in ".,?!;:" else ""
            sure = min((w.confidence for w in run if w.confidence is not None), default=None)
            out.append(Word(name + mark, run[0].start_s, run[-1].end_s, sure, text))
        else:
            out.append(heard.words[at])
        at += size or 1
    return TimedWords(tuple(out), heard.seconds, heard.timed, heard.hesitations_s)


def _sounds_so(run: tuple[Word, ...], size: int, name: str, phones: tuple[str, ...], pronouncer: Pronouncer) -> bool:
    text = " ".join(w.text.strip(".,?!;:") for w in run).lower()
    inner = any(w.text[-1:] in ".,?!;:" for w in run[:-1])
    return len(run) == size and not inner and text != name.lower() and distance(pronouncer.phones(text), phones) <= SAME
