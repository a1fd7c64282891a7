"""Measure listeners on made rehearsals.

python measure.py hear LISTENER SET OUT.json      LISTENER: whisper, whisper-plain or a folder of weights
python measure.py table OUT.json ...              one column a file

A set is a folder of CASE.wav and CASE.truth.json (its "script", "effects", "voice", "sentences"). `table` compares files
of the same set: word error by effect and voice, trade words missing and invented, planted wrong values and names written
as said; filled pauses written, and whether the words beside them were heard; the trade words that a listener invents more
often than the first one. Prose is a set whose scripts say next to no trade word.
"""

from __future__ import annotations

import json
import re
import sys
import time
import wave
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

HESITATIONS = {"um", "uh", "hmm", "er", "erm"}
JOINED = {("under", "color"), ("ear", "lobe"), ("ear", "lobes"), ("breast", "bone"), ("toe", "nails"), ("bumble", "foot")}
# Words that ordinary talk hardly has: missing ones and invented ones are counted.
TRADE = frozenset(
    """hock hocks keel shank shanks wattle wattles hackle hackles comb combs pullet pullets cockerel
cockerels covert coverts undercolor pubic axial sickle sickles saddle vent primaries secondaries primary secondary
earlobe earlobes bumblefoot fluff lice mites beak wyandotte leghorn orpington brahma cochin dorking minorca australorp
silkie plymouth rock mediterranean asiatic spurs thighs scaly footpad breastbone abdomen hen cock""".split()
)
Words = list[str]


def plain_words(text: str) -> Words:
    """Words to compare: lower case, no hesitations, compounds as one word."""
    return _words_and_pauses(text)[0]


def _words_and_pauses(text: str) -> tuple[Words, set[int]]:
    """Words to compare, and the boundaries between them where a pause is filled."""
    out: Words = []
    pauses: set[int] = set()
    for word in re.findall(r"[a-z]+(?:'[a-z]+)?", text.lower().replace("-", " ").replace("colour", "color")):
        if word in HESITATIONS:
            pauses.add(len(out))
        elif out and (out[-1], word) in JOINED and len(out) not in pauses:
            out[-1] += word
        else:
            out.append(word)
    return out, pauses


def steps(true: Words, heard: Words) -> tuple[int, list[int]]:
    """Levenshtein distance, and for every boundary of the true words the boundary of the heard words beside it."""
    rows = [list(range(len(heard) + 1))]
    for i, a in enumerate(true, 1):
        last = rows[-1]
        row = [i]
        for j, b in enumerate(heard, 1):
            row.append(min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a != b)))
        rows.append(row)
    beside = [0] * (len(true) + 1)
    i, j = len(true), len(heard)
    beside[i] = j
    while i:
        if j and rows[i][j] == rows[i - 1][j - 1] + (true[i - 1] != heard[j - 1]):
            i, j = i - 1, j - 1
        elif rows[i][j] == rows[i - 1][j] + 1:
            i -= 1
        else:
            j -= 1
            continue
        beside[i] = j
    return rows[-1][-1], beside


def hear(which: str, made: Path, out: Path) -> None:
    """Let the listener hear every case of the set."""
    import numpy as np

    from coach.listen.weights import WEIGHTS
    from coach.listen.whisper import WhisperListener

    listener = WhisperListener(which) if which in WEIGHTS else WhisperListener(folder=which)
    found: dict[str, Any] = {"set": str(made), "cases": {}}
    began, seconds = time.monotonic(), 0.0
    for path in sorted(made.glob("*.truth.json")):
        name = path.name.removesuffix(".truth.json")
        with wave.open(str(made / f"{name}.wav")) as file:
            samples = np.frombuffer(file.readframes(file.getnframes()), np.int16).astype(np.float32) / 32768
        seconds += len(samples) / 16000
        found["cases"][name] = " ".join(w.text for w in listener.transcribe(samples).words)
    found["share_of_time"] = round((time.monotonic() - began) / seconds, 4)
    out.write_text(json.dumps(found, indent=1))


def score(found: dict[str, Any]) -> dict[str, Any]:
    """The figures of one heard set."""
    made = Path(found["set"])
    by: dict[str, Counter[str]] = {}
    total: Counter[str] = Counter()
    invented: Counter[str] = Counter()
    for name, heard_text in found["cases"].items():
        truth = json.loads((made / f"{name}.truth.json").read_text())
        true, true_pauses = _words_and_pauses(truth["script"])
        heard, heard_pauses = _words_and_pauses(heard_text)
        errors, beside = steps(true, heard)
        row = Counter(words=len(true), errors=errors)
        said, written = (Counter(w for w in words if w in TRADE) for words in (true, heard))
        extra = written - said
        invented += extra
        row.update(trade_said=said.total(), trade_missing=(said - written).total(), trade_invented=extra.total())
        row.update(_planted(truth, true, heard, beside))
        row.update(pauses=len(true_pauses), pauses_written=sum(beside[at] in heard_pauses for at in true_pauses))
        row.update(beside_pauses_misheard=sum(_misheard(true, heard, beside, at) for at in true_pauses))
        total += row
        for group in ["voice " + truth["voice"].split("-")[0], *("effect " + e for e in truth["effects"])]:
            by.setdefault(group, Counter()).update(row)
    return {"total": total, "by": by, "invented": invented, "share_of_time": found.get("share_of_time")}


def _misheard(true: Words, heard: Words, beside: list[int], at: int) -> bool:
    """Whether the word before or after this boundary was not written as said."""
    return any(heard[beside[n] : beside[n + 1]] != [true[n]] for n in (at - 1, at) if 0 <= n < len(true))


def _planted(truth: dict[str, Any], true: Words, heard: Words, beside: list[int]) -> Counter[str]:
    """How the planted wrong values and names were written."""
    out: Counter[str] = Counter()
    at = 0
    spans = []
    for sentence in truth.get("sentences", ()):
        length = len(plain_words(sentence["text"]))
        spans.append((sentence, at, at + length))
        at += length
    if at != len(true):
        return out
    for item, said in dict(truth.get("heard", ())).items():
        for sentence, start, end in spans:
            kind = sentence["tells"].get(item)
            if kind not in ("wrong", "misnamed") or not _holds(true[start:end], said):
                continue
            out[f"{kind}_planted"] += 1
            out[f"{kind}_as_said"] += _holds(heard[beside[start] : beside[end]], said)
            break
    return out


def _holds(words: Iterable[str], phrase: str) -> bool:
    return f" {' '.join(plain_words(phrase))} " in f" {' '.join(words)} "


def table(paths: list[Path]) -> str:
    """One column a file."""
    scored = [score(json.loads(p.read_text())) for p in paths]
    lines = ["| |" + "".join(f" {p.stem} |" for p in paths), "|---|" + "---|" * len(paths)]

    def line(title: str, cells: Iterable[Any]) -> None:
        lines.append(f"| {title} |" + "".join(f" {c} |" for c in cells))

    line("word error", (f"{s['total']['errors'] / s['total']['words']:.4f}" for s in scored))
    line("words", (s["total"]["words"] for s in scored))
    for key in (
        "trade_said",
        "trade_missing",
        "trade_invented",
        "wrong_planted",
        "wrong_as_said",
        "misnamed_planted",
        "misnamed_as_said",
        "pauses",
        "pauses_written",
        "beside_pauses_misheard",
    ):
        line(key.replace("_", " "), (s["total"][key] for s in scored))
    for group in sorted({g for s in scored for g in s["by"]}):
        line(group, (f"{s['by'][group]['errors'] / max(1, s['by'][group]['words']):.3f}" for s in scored))
    line("share of time", (s["share_of_time"] for s in scored))
    for s, p in zip(scored, paths, strict=True):
        lines.append(f"{p.stem} invented: {s['invented'].most_common(14)}")
        lines.append(f"{p.stem} invented more often than by the first: {dict(s['invented'] - scored[0]['invented'])}")
    return "\n".join(lines)


def main(argv: list[str]) -> int:
    """The command line."""
    if len(argv) == 4 and argv[0] == "hear":
        hear(argv[1], Path(argv[2]), Path(argv[3]))
    elif len(argv) > 1 and argv[0] == "table":
        print(table([Path(a) for a in argv[1:]]))
    else:
        print(__doc__)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
