"""Timed words from files and to files: what was said, without listening.

In goes a `.words.json` (format timed-words/1), a `.srt` or `.vtt` subtitle, or plain `.txt`; out come TimedWords, or a
CoachError that names the place and what to do. The same words go out again as words.json, srt or vtt. Subtitles give
times per cue, spread here over the cue's words by their letters; plain text has no times, so they are made up at
WORDS_PER_MINUTE and the result says timed=False.
"""

from __future__ import annotations

import codecs
import html
import json
import math
import re
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate
from pathlib import Path
from typing import Any

from coach.audio.write import replace_file
from coach.errors import CoachError
from coach.words import TimedWords, Word

__all__ = ["FORMAT", "WORDS_PER_MINUTE", "WORD_FILES", "read_timed_words", "write_srt", "write_vtt", "write_words_json"]

FORMAT = "timed-words/1"
WORDS_PER_MINUTE = 150.0  # an even speaking pace, for text that has no times
SENTENCE_PAUSE_S = 0.5  # between two sentences of such text
MAX_TIME_S = 24 * 3600.0  # a time beyond this is in other units, or wrong
MAX_BYTES = 64 * 2**20  # three hours of words are under 4 MB; more than this is no list of words

CUE_WORDS = 12  # written subtitles: a cue ends after so many words,
CUE_PAUSE_S = 0.8  # ... at a pause this long,
CUE_S = 6.0  # ... or when it has stood this long

_CLOCK = r"(?:(\d{1,2}):)?([0-5]?\d):([0-5]?\d)(?:[.,](\d{1,3}))?"
_CUE_LINE = re.compile(rf"\s*{_CLOCK}\s*-->\s*{_CLOCK}(?:\s.*)?$")
_TAG = re.compile(r"</?[A-Za-z][^<>]*>|<\d[\d:.]*>|\{\\[^{}]*\}|\{/?[biu]\}")
_SENTENCE_END = re.compile(r"[.!?][\"')\]\u201d\u2019]*$")
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


def read_timed_words(path: str | Path) -> TimedWords:
    """Read words from a `.words.json`, `.json`, `.srt`, `.vtt` or `.txt` file, by its ending.

    Words that are out of order are sorted by start (equal starts keep their order); overlapping words are taken as
    they are.

    Raises:
        CoachError: the file is missing, of another kind, empty, or a word or cue in it is wrong; the message says which.
    """
    path = Path(path)
    parse = _PARSERS.get(path.suffix.lower())
    if parse is None:
        raise CoachError(
            f"{path}: cannot tell what kind of words these are; give a file that ends in .words.json, .srt, .vtt or .txt"
        )
    words = parse(path, _text(path))
    if not words:
        raise CoachError(f"{path}: has no words in it; give the words that were said")
    words = sorted(words, key=lambda word: word.start_s)
    seconds = max(word.end_s for word in words)
    return TimedWords(tuple(words), seconds, timed=parse is not _parse_plain)


def write_words_json(path: str | Path, words: TimedWords) -> None:
    """Write words in the format timed-words/1, times to the millisecond."""
    rows = [json.dumps(_to_row(word), ensure_ascii=False) for word in words.words]
    replace_file(path, (f'{{"format": "{FORMAT}", "words": [\n' + ",\n".join(rows) + "\n]}\n").encode())


def write_srt(path: str | Path, words: TimedWords) -> None:
    """Write words as a SubRip subtitle, a few words a cue."""
    cues = [
        f"{number}\n{_render_clock(start_s, ',')} --> {_render_clock(end_s, ',')}\n{text.replace('-->', '->')}\n"
        for number, (start_s, end_s, text) in enumerate(_cues(words.words), start=1)
    ]
    replace_file(path, "\n".join(cues).encode())


def write_vtt(path: str | Path, words: TimedWords) -> None:
    """Write words as a WebVTT subtitle, a few words a cue."""
    cues = [
        f"\n{_render_clock(start_s, '.')} --> {_render_clock(end_s, '.')}\n{html.escape(text, quote=False)}\n"
        for start_s, end_s, text in _cues(words.words)
    ]
    replace_file(path, ("WEBVTT\n" + "".join(cues)).encode())


# Reading ------------------------------------------------------------------------------------------------------------


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > MAX_BYTES:
            raise CoachError(f"{path}: is too large to be a list of words; give the words, not the recording")
        raw = path.read_bytes()
    except FileNotFoundError as err:
        raise CoachError(f"{path}: there is no such file; check its name and folder") from err
    except (OSError, ValueError) as err:
        why = getattr(err, "strerror", None) or err
        raise CoachError(f"{path}: cannot be read ({why}); check its name and your permission to read it") from err
    encoding = next((name for mark, name in _BOMS if raw.startswith(mark)), "utf-8")
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as err:
        raise CoachError(f"{path}: byte {err.start} is not {encoding} text; save the file as UTF-8") from err
    if "\0" in text:
        raise CoachError(f"{path}: is not plain text; save the file as UTF-8")
    return text


def _parse_json(path: Path, text: str) -> list[Word]:
    try:
        data = json.loads(text)
    except json.JSONDecodeError as err:
        raise CoachError(f"{path}:{err.lineno}: is not JSON ({err.msg}); write the words again") from err
    except (RecursionError, ValueError) as err:
        raise CoachError(f"{path}: is JSON that cannot be read ({err}); write the words again") from err
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        found = data.get("format") if isinstance(data, dict) else None
        raise CoachError(f'{path}: its format is {_short(found)}; it needs "format": "{FORMAT}" at the top')
    rows = data.get("words")
    if not isinstance(rows, list):
        raise CoachError(f'{path}: needs a list under "words", each with "text", "start" and "end"')
    return [word for index, row in enumerate(rows) for word in _from_row(f"{path}: word {index}", row)]


def _from_row(place: str, row: Any) -> list[Word]:
    """One entry of "words", nearly always one word; place says which, counted from 0 as in the file's own list."""
    if not isinstance(row, dict):
        raise CoachError(f'{place} is {_short(row)}; it needs "text", "start" and "end"')
    for key in ("text", "start", "end"):
        if key not in row:
            raise CoachError(f'{place} has no "{key}"; add it')
    text, confidence = row["text"], row.get("confidence")
    if not isinstance(text, str) or not text.strip():
        raise CoachError(f'{place} has {_short(text)} as its "text"; give the word that was said')
    start_s, end_s = _number(place, "start", row["start"]), _number(place, "end", row["end"])
    if end_s < start_s:
        raise CoachError(
            f"{place} ({_short(text)}) ends at {end_s:g} s, before it starts at {start_s:g} s; mend its times"
        )
    if end_s > MAX_TIME_S:
        raise CoachError(f"{place} ({_short(text)}) ends at {end_s:g} s, more than a day in; give its times in seconds")
    share = None if confidence is None else _number(place, "confidence", confidence)
    if share is not None and share > 1:
        raise CoachError(f'{place} ({_short(text)}) has a "confidence" of {share:g}; it lies between 0 and 1')
    whole = text.encode(
        "utf-8", "replace"
    ).decode()  # JSON can hold half a character, which no file can be written with
    return list(_spread(whole.split(), start_s, end_s, share))


def _number(place: str, key: str, value: Any) -> float:
    try:
        number = math.nan if isinstance(value, bool) or not isinstance(value, (int, float)) else float(value)
    except OverflowError:
        number = math.inf
    if not 0 <= number < math.inf:
        raise CoachError(f'{place} has {_short(value)} as its "{key}"; give a number of 0 or more')
    return number


def _parse_cues(path: Path, text: str) -> list[Word]:
    """Words of an srt or vtt file; both are cue lines with times, each followed by text up to an empty line."""
    lines = text.splitlines()
    words: list[Word] = []
    for number, line in enumerate(lines, start=1):
        if "-->" not in line:
            continue
        match = _CUE_LINE.match(line)
        if match is None:
            raise CoachError(
                f"{path}:{number}: {_short(line)} is no cue time; write it like 00:00:01,000 --> 00:00:02,500"
            )
        start_s, end_s = _clock_s(match.groups()[:4]), _clock_s(match.groups()[4:])
        if end_s < start_s:
            raise CoachError(
                f"{path}:{number}: the cue ends at {end_s:g} s, before it starts at {start_s:g} s; mend it"
            )
        words += _spread(_cue_text(lines[number:]).split(), start_s, end_s)
    if not words and text.strip() and "-->" not in text:
        raise CoachError(f"{path}: has no cue times; give a subtitle file, or plain words in a .txt file")
    return words


def _cue_text(lines: Sequence[str]) -> str:
    """The text of the cue that begins here, without tags and speaker names, escapes undone."""
    kept = []
    for line in lines:
        if not line.strip() or "-->" in line:
            break
        kept.append(html.unescape(_TAG.sub("", line)))
    return "\n".join(kept)


def _spread(texts: Sequence[str], start_s: float, end_s: float, confidence: float | None = None) -> Iterator[Word]:
    """The words between two times, each with a share of its time by its letters (one more for the gap after it)."""
    *starts, total = accumulate((len(text) + 1 for text in texts), initial=0)
    places = [start_s + (end_s - start_s) * done / total for done in starts]
    for text, place_s, next_s in zip(texts, places, [*places[1:], end_s], strict=False):
        yield Word(text, place_s, next_s, confidence)


def _clock_s(parts: Sequence[str | None]) -> float:
    hours, minutes, seconds, fraction = parts
    return int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0) + float(f"0.{fraction or 0}")


def _parse_plain(path: Path, text: str) -> list[Word]:
    del path  # any text will do
    step_s = 60 / WORDS_PER_MINUTE
    words, at_s = [], 0.0
    for piece in text.split():
        words.append(Word(piece, at_s, at_s + step_s))
        at_s += step_s + (SENTENCE_PAUSE_S if _SENTENCE_END.search(piece) else 0.0)
    return words


WORD_FILES = (".json", ".srt", ".vtt", ".txt")  # endings that hold words in place of sound
_PARSERS: dict[str, Callable[[Path, str], list[Word]]] = {
    ".json": _parse_json,
    ".srt": _parse_cues,
    ".vtt": _parse_cues,
    ".txt": _parse_plain,
}


def _short(value: Any) -> str:
    """A value as it stands in the file, in one line of at most 40 letters."""
    try:
        shown = json.dumps(value, ensure_ascii=True)
    except (TypeError, ValueError, RecursionError):
        shown = repr(type(value).__name__)
    return shown if len(shown) <= 40 else shown[:37] + "..."


# Writing ------------------------------------------------------------------------------------------------------------


def _to_row(word: Word) -> dict[str, str | float]:
    row: dict[str, str | float] = {"text": word.text, "start": round(word.start_s, 3), "end": round(word.end_s, 3)}
    if word.confidence is not None:
        row["confidence"] = round(word.confidence, 3)
    return row


def _cues(words: Sequence[Word]) -> Iterator[tuple[float, float, str]]:
    """Cues (start_s, end_s, text), broken at pauses and before they grow long."""
    held: list[Word] = []
    for word in words:
        if held and _is_full(held, word):
            yield _cue(held)
            held = []
        held.append(word)
    if held:
        yield _cue(held)


def _is_full(held: Sequence[Word], following: Word) -> bool:
    return (
        len(held) >= CUE_WORDS
        or following.start_s - held[-1].end_s >= CUE_PAUSE_S
        or following.end_s - held[0].start_s > CUE_S
    )


def _cue(held: Sequence[Word]) -> tuple[float, float, str]:
    return held[0].start_s, max(word.end_s for word in held), " ".join(word.text for word in held)


def _render_clock(seconds: float, mark: str) -> str:
    whole, milliseconds = divmod(round(seconds * 1000), 1000)
    return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}{mark}{milliseconds:03}"
