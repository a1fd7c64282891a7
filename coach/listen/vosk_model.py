"""A Vosk model folder checked and opened, its library kept quiet.

In: a folder. Out: the library's own model, or one clear line. The library itself prints to the screen, raises a bare
Exception or ends the whole process on a folder that is missing, partial, broken or in another language, so a folder is
looked through first and then loaded once in a process of its own; a folder that passed is remembered by its files.
"""

from __future__ import annotations

import hashlib
import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from typing import Any

from coach.errors import CoachError
from coach.places import home_dir

__all__ = ["MISSING", "folder_bytes", "has_grammar", "is_model", "load_vosk", "loud", "open_model", "quiet"]

MISSING = "the vosk library is not installed or does not load here; install it: pip install vosk, or use --listener whisper"
WHERE = "give the folder that holds am, conf and graph"
# The library knows two layouts by where the network lies: (all of these, and all of one of those).
_GRAPHS = (("HCLG.fst",), ("HCLr.fst", "Gr.fst", "disambig_tid.int"))
_LAYOUTS = {
    "am/final.mdl": (("conf/mfcc.conf", "conf/model.conf", "graph/phones/word_boundary.int"), "graph/"),
    "final.mdl": (("mfcc.conf", "word_boundary.int"), ""),
}
_MAGIC = {".mdl": b"\x00B", ".fst": b"\xd6\xfd\xb2\x7e"}  # Kaldi's binary mark; OpenFst's magic number 2125659606
_ENGLISH = "the and of is her this she with are on my from".split()
_LEAST_ENGLISH = 0.8  # of these words; a German or Spanish list has two or three of them
_TRY_S = 300  # a large model on a slow disk
_lock = Lock()
_inside = 0
_kept: int | None = None

# Loads the model, hears a moment of silence with it, and answers how many of the words it knows; no IPv6: see load_vosk.
_TRY = """
import socket, sys
socket.has_ipv6 = False
import vosk
vosk.SetLogLevel(-1)
model = vosk.Model(sys.argv[1])
hearing = vosk.KaldiRecognizer(model, 16000.0)
hearing.AcceptWaveform(bytes(16000))
hearing.FinalResult()
print("known", sum(model.vosk_model_find_word(word) >= 0 for word in sys.argv[2:]))
"""


@contextmanager
def quiet() -> Iterator[None]:
    """Nothing that native code writes to the error stream comes through; may be entered by several threads at once.

    The library's log level does not silence its warnings. Held only around its calls, so that our own lines still show.
    """
    global _inside, _kept
    with _lock:
        _inside += 1
        if _inside == 1:
            _kept = _redirect()
    try:
        yield
    finally:
        with _lock:
            _inside -= 1
            if _inside == 0 and _kept is not None:
                os.dup2(_kept, 2)
                os.close(_kept)
                _kept = None


@contextmanager
def loud() -> Iterator[None]:
    """For a line of our own while another thread is quiet: it comes through (chatter of that very moment would too)."""
    with _lock:
        if _kept is not None:
            os.dup2(_kept, 2)
        try:
            yield
        finally:
            if _kept is not None:
                _silence()


def _redirect() -> int | None:
    """Point file descriptor 2 at nothing; returns a copy of what it was, None when there is no error stream."""
    try:
        kept = os.dup(2)
    except OSError:
        return None
    _silence()
    return kept


def _silence() -> None:
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 2)
    os.close(nothing)


def is_model(folder: Path) -> bool:
    """Whether the folder looks like a Vosk model: its network is there."""
    return any((folder / network).is_file() for network in _LAYOUTS)


def has_grammar(folder: Path) -> bool:
    """Whether the model can be asked about given sentences; one with everything in a single graph cannot."""
    return not any((folder / place / "HCLG.fst").is_file() for place in ("graph", "."))


def folder_bytes(folder: Path) -> int:
    """Size of all files of the folder."""
    return sum(size for _, size, _ in _files(folder))


def load_vosk() -> Any:
    """The library itself.

    It imports a web client, to fetch models by name (which is never asked of it), and that binds a socket of its own to learn
    whether this machine speaks IPv6. Told that it does not, it makes no socket at all.

    Raises:
        CoachError: it is not installed, or does not load.
    """
    speaks_ipv6, socket.has_ipv6 = socket.has_ipv6, False
    try:
        with quiet():
            import vosk
    except (ImportError, OSError) as err:
        raise CoachError(MISSING) from err
    finally:
        socket.has_ipv6 = speaks_ipv6
    return vosk


def open_model(folder: Path) -> Any:
    """The library's model of a checked folder.

    Raises:
        CoachError: the library is missing; the folder is missing, partial, broken or not English.
    """
    _check_files(folder)
    vosk = load_vosk()
    _try_once(folder)
    with quiet():
        vosk.SetLogLevel(-1)
        try:
            return vosk.Model(str(folder))
        except Exception as err:  # the library raises nothing narrower
            raise CoachError(_broken(folder)) from err


def _check_files(folder: Path) -> None:
    if not folder.is_dir():
        raise CoachError(f"{folder}: there is no such Vosk model folder; {WHERE}")
    network = next((n for n in _LAYOUTS if (folder / n).is_file()), None)
    if network is None:
        inner = next((p.name for p in sorted(folder.iterdir()) if p.is_dir() and is_model(p)), None)
        hint = f"did you mean {folder / inner}?" if inner else WHERE
        raise CoachError(f"{folder}: this is no Vosk model, it has no am/final.mdl; {hint}")
    others, place = _LAYOUTS[network]
    graph = next((g for g in _GRAPHS if (folder / place / g[0]).is_file()), _GRAPHS[1])
    needed = [network, *others, *(place + name for name in graph)]
    for name in needed:
        path = folder / name
        if not path.is_file():
            raise CoachError(f"{folder}: {name} is missing from this Vosk model; unpack or fetch the whole model again")
        with path.open("rb") as file:
            start = file.read(4)
        if not start.startswith(_MAGIC.get(path.suffix, b"")) or (not start and path.suffix != ".int"):
            raise CoachError(f"{path}: this file is broken; unpack or fetch the whole model again")


def _try_once(folder: Path) -> None:
    """Load the model in a process of its own, unless these very files passed before."""
    mark = home_dir() / "vosk-checked" / _fingerprint(folder)
    if mark.is_file():
        return
    command = [sys.executable, "-c", _TRY, str(folder), *_ENGLISH]
    try:
        tried = subprocess.run(command, capture_output=True, timeout=_TRY_S, check=False)
    except subprocess.TimeoutExpired as err:
        raise CoachError(f"{folder}: this Vosk model did not load within {_TRY_S} s; use a smaller one") from err
    answer = tried.stdout.decode(errors="replace").split()
    if tried.returncode != 0 or answer[:1] != ["known"]:
        raise CoachError(_broken(folder))
    if int(answer[1]) < _LEAST_ENGLISH * len(_ENGLISH):
        raise CoachError(f"{folder}: this Vosk model does not know English; use an English one, such as vosk-model-small-en-us")
    mark.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    mark.touch(mode=0o600)


def _broken(folder: Path) -> str:
    return f"{folder}: this Vosk model does not load, a file of it is broken; unpack or fetch the whole model again"


def _fingerprint(folder: Path) -> str:
    """Of place, names, sizes and times of all files: other files, another check."""
    told = [str(folder.resolve()), *(f"{name} {size} {changed}" for name, size, changed in _files(folder))]
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:32]


def _files(folder: Path) -> list[tuple[str, int, int]]:
    found = ((path, path.stat()) for path in sorted(folder.rglob("*")) if path.is_file())
    return [(path.relative_to(folder).as_posix(), stat.st_size, stat.st_mtime_ns) for path, stat in found]
