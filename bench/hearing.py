"""How the embedded listener's choices were made: prints word errors by setting and effect, changes nothing.

python -m bench.hearing FOLDER                                        all settings on two thirds of the cases
python -m bench.hearing FOLDER --choose-on case-01,case-04 --check-on case-02 --settings "as shipped,high-pass 80 Hz"

FOLDER holds CASE.wav or CASE.mp3, CASE.words.json (the true words) and CASE.truth.json (with its effects). A setting may be
chosen by the first table only; the second one, of cases never used for choosing, tells whether the choice holds. Word error:
wrong, missing and added words over true words; lower case, letters only; the listener writes numbers as words by itself.
Needs jiwer, scipy and noisereduce; about two minutes a case on two idle cores.
"""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from coach.audio.read import read
from coach.listen import speech, whisper, whisper_model
from coach.listen.speech import RATE_HZ, Stretch, find_speech
from coach.listen.timed_words import read_timed_words
from coach.listen.weights import find_weights
from coach.listen.whisper import WhisperListener
from coach.listen.whisper_model import Encoded, Whisper
from coach.voice.fit import slowed
from coach.words import TimedWords, Word

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

AS_SHIPPED = "as shipped"
CHILD = "child"


@dataclass(frozen=True, slots=True)
class Case:
    """One made rehearsal with what was truly said in it."""

    name: str
    sound: Path
    effects: tuple[str, ...]
    words: TimedWords


@dataclass(frozen=True, slots=True)
class Setting:
    """What is done to the sound, and which constants of the listener differ; only_for: an effect, or all cases."""

    name: str
    prepare: Callable[[Samples], Samples] = lambda samples: samples
    constants: Mapping[str, float] = field(default_factory=dict)
    only_for: str | None = None


# --- the sound made easier -------------------------------------------------------------------------------------------


def high_pass(hertz: float, samples: Samples) -> Samples:
    """Samples (float32, (n,)) without what is lower than that: Butterworth, order 4."""
    from scipy.signal import butter, sosfilt  # type: ignore[import-untyped]

    out: Samples = sosfilt(butter(4, hertz, "highpass", fs=RATE_HZ, output="sos"), samples).astype("float32")
    return out


def quieter_noise(share: float, samples: Samples, from_pauses: bool = False) -> Samples:
    """Steady noise taken off by spectral gating; share 1.0: all that counts as noise.

    What noise is, is learnt from the whole recording, or only from where the detector finds no speech.
    """
    import numpy as np
    from noisereduce import reduce_noise  # type: ignore[import-untyped]

    silent = np.ones(len(samples), bool)
    for stretch in find_speech(samples) if from_pauses else ():
        silent[int(stretch.start_s * RATE_HZ) : int(stretch.end_s * RATE_HZ)] = False
    noise = samples[silent] if silent.sum() > RATE_HZ else samples
    out: Samples = reduce_noise(y=samples, sr=RATE_HZ, y_noise=noise, stationary=True, prop_decrease=share).astype("float32")
    return out


SETTINGS = (
    Setting(AS_SHIPPED),
    Setting("high-pass 80 Hz", partial(high_pass, 80)),
    Setting("high-pass 150 Hz", partial(high_pass, 150)),
    Setting("noise off 0.6", partial(quieter_noise, 0.6)),
    Setting("noise off 1.0", partial(quieter_noise, 1.0)),
    Setting("pauses' noise 0.6", partial(quieter_noise, 0.6, from_pauses=True)),
    Setting("pauses' noise 1.0", partial(quieter_noise, 1.0, from_pauses=True)),
    Setting("played at 0.9", partial(slowed, speed=0.9), only_for=CHILD),
    Setting("stretches of 8 s", constants={"MAX_STRETCH_S": 8.0}),
    Setting("stretches of 18 s", constants={"MAX_STRETCH_S": 18.0}),
    Setting("beam 1", constants={"BEAM": 1}),
    Setting("beam 10", constants={"BEAM": 10}),
    Setting("no context", constants={"CHAIN": 1}),
)


@contextmanager
def changed(constants: Mapping[str, float]) -> Iterator[None]:
    """The listener's modules with these constants."""
    places = [(module, name) for name in constants for module in (speech, whisper, whisper_model) if hasattr(module, name)]
    if {name for _, name in places} != set(constants):
        raise SystemExit(f"{', '.join(constants)}: the listener has no such constant; has it been renamed?")
    before = [getattr(module, name) for module, name in places]
    try:
        for module, name in places:
            setattr(module, name, constants[name])
        yield
    finally:
        for (module, name), value in zip(places, before, strict=True):
            setattr(module, name, value)


class _Remembering(Whisper):
    """The network, which encodes each stretch of the same sound once for all settings that differ later only."""

    def __init__(self) -> None:
        super().__init__(find_weights("whisper")[1])
        self.encoded: dict[tuple[int, Stretch, int], Encoded] = {}

    def encode(self, samples: Samples, stretch: Stretch, window_frames: int = 0) -> Encoded:
        """See Whisper."""
        key = (hash(samples.tobytes()), stretch, window_frames)
        if key not in self.encoded:
            self.encoded[key] = super().encode(samples, stretch, window_frames)
        return self.encoded[key]


class Ear(WhisperListener):
    """The listener with a network that remembers."""

    def __init__(self) -> None:
        super().__init__("whisper")
        self.whisper: _Remembering = _Remembering()

    def forget(self) -> None:
        """What was encoded: another case comes."""
        self.whisper.encoded.clear()


def hear(listener: WhisperListener, setting: Setting, samples: Samples) -> TimedWords:
    """What the listener hears with this setting."""
    with changed(setting.constants):
        return listener.transcribe(setting.prepare(samples))


# --- word error ------------------------------------------------------------------------------------------------------


def plain(words: Iterable[Word]) -> str:
    """Lower case, letters only: "Hen's" is hens, "clean-legged" is two words."""
    return " ".join(re.sub(r"[^a-z]+", " ", " ".join(w.text for w in words).lower().replace("'", "")).split())


def word_errors(true: TimedWords, heard: TimedWords) -> tuple[int, int]:
    """Wrong, missing and added words; true words."""
    import jiwer

    found = jiwer.process_words(plain(true.words), plain(heard.words))
    errors = found.substitutions + found.deletions + found.insertions
    return errors, found.substitutions + found.deletions + found.hits


def measure_settings(cases: Sequence[Case], settings: Sequence[Setting]) -> dict[tuple[str, str], tuple[int, int]]:
    """Errors and true words by setting and case."""
    listener = Ear()
    out: dict[tuple[str, str], tuple[int, int]] = {}
    for case in cases:
        samples = read(case.sound).samples
        listener.forget()
        for setting in settings:
            if setting.only_for in (None, *case.effects):
                out[setting.name, case.name] = word_errors(case.words, hear(listener, setting, samples))
        told = [out[s.name, case.name][0] for s in settings if (s.name, case.name) in out]
        print(case.name, *case.effects, *told, flush=True)
    return out


def print_settings(cases: Sequence[Case], found: Mapping[tuple[str, str], tuple[int, int]], settings: Sequence[Setting]) -> None:
    """Word error in percent by effect, over all, and in how many cases a setting did better and worse than as shipped."""
    effects = sorted({e for case in cases for e in case.effects})
    if not cases:
        return
    print(f"{'':18}" + "".join(f"{e:>9}" for e in effects) + f"{'all':>9}  better, worse")
    for setting in settings:
        pairs = {c: found[setting.name, c.name] for c in cases if (setting.name, c.name) in found}
        cells = [_percent(pair for case, pair in pairs.items() if effect in case.effects) for effect in effects]
        cells.append(_percent(pairs.values()) if len(pairs) == len(cases) else "-")
        shipped = {c: found.get((AS_SHIPPED, c.name), pair) for c, pair in pairs.items()}
        better = sum(pair < shipped[c] for c, pair in pairs.items())
        worse = sum(pair > shipped[c] for c, pair in pairs.items())
        print(f"{setting.name:18}" + "".join(f"{cell:>9}" for cell in cells) + f"  {better:6}, {worse:5}")


def _percent(pairs: Iterable[tuple[int, int]]) -> str:
    errors, words = (sum(column) for column in zip(*pairs, strict=True)) if (pairs := list(pairs)) else (0, 0)
    return f"{100 * errors / words:.1f}" if words else "-"


# --- all together ----------------------------------------------------------------------------------------------------


def pick(folder: Path, which: str) -> list[Case]:
    """The cases of a slice ("0::3") or of a list of names with commas between."""
    names = sorted(path.name.removesuffix(".truth.json") for path in folder.glob("*.truth.json"))
    if ":" in which:
        names = names[slice(*(int(part) if part else None for part in which.split(":")))]
    elif missing := set(filter(None, which.split(","))) - set(names):
        raise SystemExit(f"{folder}: there is no {', '.join(sorted(missing))}.truth.json")
    else:
        names = [name for name in names if name in which.split(",")]
    out = []
    for name in names:
        truth = json.loads((folder / f"{name}.truth.json").read_text(encoding="utf-8"))
        sound = next((p for end in ("wav", "mp3") if (p := folder / f"{name}.{end}").exists()), None)
        if sound is None:
            raise SystemExit(f"{folder}: there is no {name}.wav or {name}.mp3")
        out.append(Case(name, sound, tuple(truth["effects"]), read_timed_words(folder / f"{name}.words.json")))
    return out


def parts(args: argparse.Namespace) -> dict[str, list[Case]]:
    """Cases for choosing and cases for checking, none of them both."""
    out = {"for choosing": pick(args.folder, args.choose_on), "never used for choosing": pick(args.folder, args.check_on)}
    choosing, checking = ({case.name for case in cases} for cases in out.values())
    if shared := choosing & checking:
        raise SystemExit(f"{', '.join(sorted(shared))}: a case serves for choosing or for checking, not both")
    return out


def make_parser(doc: str | None) -> argparse.ArgumentParser:
    """FOLDER, --choose-on and --check-on."""
    parser = argparse.ArgumentParser(description=doc, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--choose-on", default="0::3", help="a slice of the sorted cases, or names with commas")
    parser.add_argument("--check-on", default="1::3", help="cases that were never used for choosing")
    return parser


def main() -> None:
    """Measure the cases for choosing and those for checking; print one table for each."""
    parser = make_parser(__doc__)
    parser.add_argument("--settings", help="names with commas; all when left out")
    args = parser.parse_args()
    wanted = args.settings.split(",") if args.settings else [s.name for s in SETTINGS]
    if unknown := set(wanted) - {s.name for s in SETTINGS}:
        raise SystemExit(f"{', '.join(sorted(unknown))}: no such setting; there are {', '.join(s.name for s in SETTINGS)}")
    settings = [s for s in SETTINGS if s.name in wanted]
    for name, cases in parts(args).items():
        print(f"\n{name}: {len(cases)} cases")
        print_settings(cases, measure_settings(cases, settings), settings)


if __name__ == "__main__":
    main()
