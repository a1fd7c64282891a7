"""Listening in a process of its own: follows the take's growing file, tells where the member is, judges at the end.

In: a take's wav file while it grows (coach.live.wav_file). Out: messages through a pipe. The recording never waits for
this process, and whatever becomes of it, the take stays whole.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, cast

import numpy as np

from coach.audio.read import RATE_HZ
from coach.errors import CoachError
from coach.judge.verdict import Judgement
from coach.live.tracker import LiveState, track
from coach.live.wav_file import HEADER_BYTES, SAMPLE_BYTES
from coach.live.weighing import WeighsEarly
from coach.words import TimedWords

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from coach.listen.listener import Listener, Stream
    from coach.review import Subject
    from coach.voice.profile import VoiceProfile

    Samples = NDArray[np.float32]

__all__ = ["Done", "Ears", "Failed", "Heard", "Message", "Ready", "TooSlow", "Working"]

LOOK_EVERY_S = 0.05
ASK_EVERY_S = 0.3
SAME_S = 0.01  # times that differ by less are the same
# A stretch lasts up to 12 s and is heard in a second or two; with this much unheard the machine does not keep up.
MOST_BEHIND_S = 30.0
GRACE_S = 5.0


@dataclass(frozen=True, slots=True)
class Ready:
    """The listener is there."""

    listener: str


@dataclass(frozen=True, slots=True)
class Heard:
    """Where the member is now."""

    state: LiveState


@dataclass(frozen=True, slots=True)
class TooSlow:
    """This machine does not keep up; all is listened to after the end."""


@dataclass(frozen=True, slots=True)
class Working:
    """The share done (0..1) of listening after the end."""

    share: float


@dataclass(frozen=True, slots=True)
class Done:
    """The words as understood and their judgement."""

    listener: str
    words: TimedWords
    judgement: Judgement


@dataclass(frozen=True, slots=True)
class Failed:
    """Nothing comes any more, for this reason; is_final when listening again would not help."""

    why: str
    is_final: bool


Message = Ready | Heard | TooSlow | Working | Done | Failed


class Ears:
    """The listening process, seen from the process that records. A context manager: at its end the process is gone."""

    def __init__(
        self, wav: Path, subject: Subject, open_listener: Callable[[], Listener], member: str | None = None
    ) -> None:
        """Start at once: loading the listener takes seconds. The file need not be there yet.

        Args:
            member: whose voice it is; what their voice check found is then minded.
            open_listener: makes the listener; it is pickled, so a function of a module, or a partial of one.
        """
        context = multiprocessing.get_context("spawn")
        self._messages, theirs = context.Pipe(duplex=False)
        self._end = context.Event()
        self._process = context.Process(
            target=_listen, args=(wav, subject, open_listener, member, theirs, self._end), name="coach-ears", daemon=True
        )
        with _keyboard_ignored():  # from its first moment: Ctrl-C is for the process that records
            self._process.start()
        theirs.close()
        self._is_over = False

    def poll(self, wait_s: float = 0.0) -> Message | None:
        """The next message, after waiting at most wait_s; None when there is none."""
        if self._is_over:
            return None
        try:
            message = cast("Message", self._messages.recv()) if self._messages.poll(wait_s) else None
        except (EOFError, OSError):
            message = Failed("the listening process ended without a word", is_final=False)
        self._is_over = isinstance(message, (Done, Failed))
        return message

    def finish(self) -> None:
        """The take's file is complete; Done or Failed follows."""
        self._end.set()

    def __enter__(self) -> Ears:
        return self

    def __exit__(self, *_: object) -> None:
        if not self._is_over:
            self._process.terminate()
        self._process.join(GRACE_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()
        self._messages.close()


@contextlib.contextmanager
def _keyboard_ignored():  # type: ignore[no-untyped-def]
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


# --- in the other process -------------------------------------------------------------------------------------------


class _Flag(Protocol):
    def is_set(self) -> bool: ...


def _listen(
    wav: Path, subject: Subject, open_listener: Callable[[], Listener], member: str | None, out: Connection, end: _Flag
) -> None:
    with contextlib.suppress(KeyboardInterrupt, BrokenPipeError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            from coach.voice.profile import profile_for

            listener = open_listener()
            out.send(Ready(listener.name))
            profile = profile_for(member, listener.name)
            out.send(_Follower(wav, subject, listener, profile, out, end).listen())
        except _Alone:
            pass
        except CoachError as err:
            out.send(Failed(str(err), is_final=True))
        except Exception as err:  # whatever went wrong, the take is whole and can be heard again
            out.send(Failed(f"listening broke off ({type(err).__name__}: {err})", is_final=False))


class _Alone(Exception):
    """The process that records is gone."""


class _Follower:
    """Follows one take to its end."""

    def __init__(
        self, wav: Path, subject: Subject, listener: Listener, profile: VoiceProfile | None, out: Connection, end: _Flag
    ) -> None:
        self._profile = profile  # a speed that fits the voice is left aside: sound that comes live is not slowed
        self._wav, self._subject, self._listener, self._out, self._end = wav, subject, listener, out, end
        self._file = _GrowingSound(wav)
        self._weigher = WeighsEarly(listener)
        self._understood = TimedWords((), 0.0)  # the final words as the sound would have them, as far as it was asked

    def listen(self) -> Done:
        stream = self._weigher.stream()
        weighing = threading.Thread(target=self._weigh_ahead, args=(stream,), daemon=True)
        weighing.start()
        words = self._follow(stream)
        weighing.join()
        if words is None:
            words = self._listen_after()
        return self._judge(words)

    def _follow(self, stream: Stream) -> TimedWords | None:
        """The final words; None when the machine was too slow."""
        state: LiveState | None = None
        while True:
            is_ending = self._end.is_set()  # asked first: what was written before is read below
            samples = self._file.read()
            heard = stream.feed(samples) if len(samples) else None
            if heard is not None:
                state = track(_over(heard, self._understood), self._subject, state)
                self._out.send(Heard(state))
            if is_ending:
                self._weigher.hurry()
            if is_ending and not len(samples):
                return stream.finish()
            if self._file.unread_s() + _lag_s(stream) > MOST_BEHIND_S:
                self._give_up(stream)
                return None
            if not len(samples):
                self._pause()

    def _weigh_ahead(self, stream: Stream) -> None:
        """Beside the following: put doubts about what is final to the sound; an error shows when judging asks again."""
        final_words = getattr(stream, "final_words", None)
        while final_words is not None and not self._end.is_set():
            final = final_words()
            if final.seconds > self._understood.seconds and _lag_s(stream) < MOST_BEHIND_S / 2:
                with contextlib.suppress(Exception):
                    self._understood = _over(final, self._understood, self._weigher.ahead(final, self._subject))
            time.sleep(ASK_EVERY_S)

    def _give_up(self, stream: Stream) -> None:
        self._out.send(TooSlow())
        if hasattr(stream, "close"):
            stream.close()
        while not self._end.is_set():
            self._pause()

    def _listen_after(self) -> TimedWords:
        from coach.audio.read import read

        return self._weigher.transcribe(read(self._wav).samples, lambda share: self._out.send(Working(share)))

    def _judge(self, words: TimedWords) -> Done:
        from coach.review import judge_words

        if not any(w.is_spoken for w in words.words):
            raise CoachError("no speech was heard; check the microphone with: coach devices")
        return Done(self._listener.name, *judge_words(words, self._subject, self._weigher, self._profile))

    def _pause(self) -> None:
        parent = multiprocessing.parent_process()
        if parent is not None and not parent.is_alive():
            raise _Alone
        time.sleep(LOOK_EVERY_S)


def _over(words: TimedWords, *better: TimedWords) -> TimedWords:
    """The words with better ones in the place of those that lie where the better ones do."""
    out = words.words
    for other in better:
        if other.words:
            from_s, to_s = other.words[0].start_s, other.words[-1].end_s
            before = (w for w in out if w.start_s < from_s - SAME_S)
            out = (*before, *other.words, *(w for w in out if w.start_s > to_s - SAME_S))
    return TimedWords(out, words.seconds)


def _lag_s(stream: Stream) -> float:
    """How far the stream itself is behind what it was fed."""
    return float(getattr(stream, "lag_s", 0.0))


class _GrowingSound:
    """The samples of a wav file that somebody else appends to; its header is not asked, it lags behind."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._at = HEADER_BYTES

    def read(self) -> Samples:
        """What is new (float32, (n,), -1..1); nothing while there is no file."""
        try:
            with self._path.open("rb") as file:
                file.seek(self._at)
                data = file.read()
        except FileNotFoundError:
            data = b""
        data = data[: len(data) // SAMPLE_BYTES * SAMPLE_BYTES]
        self._at += len(data)
        samples: Samples = np.frombuffer(data, "<i2").astype(np.float32)
        samples /= 32768
        return samples

    def unread_s(self) -> float:
        """Seconds of sound in the file that were not read."""
        try:
            return max(0, self._path.stat().st_size - self._at) / (SAMPLE_BYTES * RATE_HZ)
        except OSError:
            return 0.0
