"""Speaking a question by whatever synthesiser the machine has; none is shipped and none is needed."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass

__all__ = ["NO_VOICE", "Voice", "find_voice"]

LONGEST_S = 30.0
NO_VOICE = "no speech synthesiser found (espeak-ng or flite on Linux); the questions stand on the screen only"
_POWERSHELL = (
    "Add-Type -AssemblyName System.Speech; "
    "(New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak([Console]::In.ReadToEnd())"
)


@dataclass(frozen=True, slots=True)
class Voice:
    """A synthesiser: its command, and whether the text is given on its input or as the last argument."""

    name: str
    command: tuple[str, ...]
    by_input: bool = False

    def say(self, text: str, run: Callable[..., object] = subprocess.run) -> str | None:
        """Speak and wait until it is spoken; a line when that does not work."""
        command: Sequence[str] = self.command if self.by_input else (*self.command, text)
        given = text.encode() if self.by_input else None
        try:
            run(command, input=given, check=True, timeout=LONGEST_S, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except (OSError, subprocess.SubprocessError):
            return f"{self.name} could not speak; the questions stand on the screen only"
        return None


def find_voice(which: Callable[[str], str | None] = shutil.which, platform: str = sys.platform) -> Voice | None:
    """The synthesiser that is there: say on macOS, SAPI on Windows, else espeak-ng or flite."""
    if platform == "darwin" and which("say"):
        return Voice("say", ("say",))
    if platform == "win32" and which("powershell"):
        return Voice("SAPI", ("powershell", "-NoProfile", "-Command", _POWERSHELL), by_input=True)
    if which("espeak-ng"):
        return Voice("espeak-ng", ("espeak-ng", "-s", "150", "--"))
    if which("flite"):
        return Voice("flite", ("flite", "-t"))
    return None
