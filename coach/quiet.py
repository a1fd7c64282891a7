"""Keeping quiet: nothing of this program calls anybody. The one module that sees to it.

No library that reports to its maker is installed with the coach any more, and none is loaded. `hush` is called when the package
is imported, hence in every process that the program starts, before any other library can be loaded: whatever may come along in
somebody's environment is told to be silent in its own way. Set by force: what the person's environment says does not count.
`callers` looks at what this process really has in memory. The only code that may use the network is coach.listen.fetch_http, on
`coach models get`, and it goes by none of this.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

__all__ = ["CALLERS", "callers", "hush"]

# Libraries that call somebody without being asked, or may. onnxruntime 1.29 and later reports to its maker from Python on; the
# tokenizers wheel names huggingface_hub (and it hf_xet) as required, yet needs it only to fetch what is not on the machine.
CALLERS = ("onnxruntime", "huggingface_hub", "hf_xet")
_SETTINGS = {
    "ORT_DISABLE_TELEMETRY": "1",  # onnxruntime's full opt-out outside Windows, by its release notes
    "HF_HUB_OFFLINE": "1",
    "HF_HUB_DISABLE_TELEMETRY": "1",
    "DO_NOT_TRACK": "1",
}


def hush() -> None:
    """Tell every library that is loaded from now on, in this process and those it starts, to stay silent and offline."""
    os.environ.update(_SETTINGS)


def callers() -> tuple[str, ...]:
    """Those of CALLERS that are loaded in this process, as Python modules or, on Linux, as libraries in its memory."""
    try:
        mapped = Path("/proc/self/maps").read_text(encoding="utf-8", errors="replace")
    except OSError:  # another system
        mapped = ""
    return tuple(name for name in CALLERS if name in sys.modules or name in mapped)
