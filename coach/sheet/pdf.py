"""From an HTML page to a PDF by a converter that is already on the machine; nothing is installed or fetched."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

from coach.errors import CoachError

__all__ = ["find_converter", "write_pdf"]

_BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge", "microsoft-edge")
_OTHERS = ("weasyprint", "wkhtmltopdf")
_LIMIT_S = 120


def find_converter() -> str | None:
    """The path of a browser or converter that can print to PDF, or None."""
    return next((path for name in (*_BROWSERS, *_OTHERS) if (path := shutil.which(name))), None)


def write_pdf(page: str, path: Path) -> None:
    """Print the page to a PDF.

    Raises:
        CoachError: there is no converter, or it failed; nothing is left behind.
    """
    converter = find_converter()
    if converter is None:
        raise CoachError(
            "no converter to PDF found (Chromium, Chrome, Edge, WeasyPrint or wkhtmltopdf); "
            "write the sheet with --out FILE.html and print that from your browser"
        )
    with tempfile.TemporaryDirectory(prefix="coach-sheet-") as folder:
        source, target = Path(folder) / "sheet.html", Path(folder) / "sheet.pdf"
        source.write_text(page, encoding="utf-8")
        _run(_command(converter, source, target, Path(folder)), converter)
        if not target.is_file():
            raise CoachError(f"{converter}: made no PDF; write the sheet with --out FILE.html and print it from your browser")
        try:
            shutil.copyfile(target, path)
        except OSError as err:
            raise CoachError(f"{path}: cannot be written ({err.strerror}); choose another place or name") from err


def _command(converter: str, source: Path, target: Path, folder: Path) -> list[str]:
    name = Path(converter).name
    if name in _OTHERS:
        return [converter, str(source), str(target)]
    return [
        *(converter, "--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"),
        *(() if _may_sandbox() else ("--no-sandbox",)),
        *(f"--user-data-dir={folder / 'profile'}", "--no-pdf-header-footer", f"--print-to-pdf={target}", source.as_uri()),
    ]


def _may_sandbox() -> bool:
    """Chromium refuses its sandbox to the administrator; the page is our own and loads nothing."""
    import os

    return getattr(os, "geteuid", lambda: 1)() != 0


def _run(command: Sequence[str], converter: str) -> None:
    try:
        done = subprocess.run(command, capture_output=True, timeout=_LIMIT_S, check=False)
    except (OSError, subprocess.TimeoutExpired) as err:
        raise CoachError(f"{converter}: could not be run ({err}); print the HTML page from your browser instead") from err
    if done.returncode:
        last = done.stderr.decode("utf-8", "replace").strip().splitlines()[-1:]
        raise CoachError(f"{converter}: failed ({' '.join(last)}); print the HTML page from your browser instead")
