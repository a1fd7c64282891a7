"""What was heard, as text: for the screen with times and doubts, or plain for a file. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.words import TimedWords, Word

__all__ = ["DOUBTFUL", "render_plain", "render_screen", "render_table"]

DOUBTFUL = 0.5  # below this confidence a word is shown with it
PAUSE_S = 0.8  # a silence this long begins a new line
MOST_WORDS = 14  # words to a line without one


def render_screen(words: TimedWords) -> str:
    """A line for each stretch of speech: its start, its words, the doubtful ones with their confidence in brackets."""
    return "".join(f"{_clock(line[0].start_s)}  {' '.join(map(_shown, line))}\n" for line in _lines(words.words))


def render_table(words: TimedWords) -> str:
    """A line for each word: start and end in seconds, confidence ("-" for none), word; parted by tabs."""
    return "".join(
        f"{w.start_s:.3f}\t{w.end_s:.3f}\t{'-' if w.confidence is None else f'{w.confidence:.2f}'}\t{w.text}\n"
        for w in words.words
    )


def render_plain(words: TimedWords) -> str:
    """The words alone, a line for each stretch of speech."""
    return "".join(" ".join(w.text for w in line) + "\n" for line in _lines(words.words))


def _lines(words: Sequence[Word]) -> Iterator[list[Word]]:
    line: list[Word] = []
    for word in words:
        if line and (word.start_s - line[-1].end_s >= PAUSE_S or (len(line) >= MOST_WORDS and _ends(line[-1]))):
            yield line
            line = []
        line.append(word)
    if line:
        yield line


def _ends(word: Word) -> bool:
    return word.text.rstrip("\"')")[-1:] in (".", "?", "!", ",")


def _shown(word: Word) -> str:
    doubtful = word.confidence is not None and word.confidence < DOUBTFUL
    return f"{word.text}[{word.confidence:.2f}]" if doubtful else word.text


def _clock(seconds: float) -> str:
    whole, tenths = divmod(round(seconds * 10), 10)
    return f"{whole // 60:3}:{whole % 60:02}.{tenths}"
