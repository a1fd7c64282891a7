"""Every package that installing the coach brings, looked at for network, files and licence: prints the table of DEVELOPERS.md.

python -m bench.dependencies            the table, in Markdown
python -m bench.dependencies --where    ... and below it, where each of them speaks to a network

Measured: version, size on disk, licence (as the package says), and whether it can speak to a network: a Python module in it
that imports a client, or a library that knows how to look up a name (getaddrinfo). NOTES says what a reader found where that
is so, and which files it leaves. A package without a note is printed as not looked at, and a test fails.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import NamedTuple

from packaging.requirements import Requirement

NAME = "coach"
_CLIENTS = rb"socket|urllib\.request|http\.client|requests|httpx2?|aiohttp|websockets?|urllib3"
_CLIENT = re.compile(rb"^\s*(?:import|from)\s+(?:" + _CLIENTS + rb")\b", re.M)
_LOOKS_UP = b"getaddrinfo"
_NATIVE = (".so", ".pyd", ".dylib", ".dll")
LICENCES = {"MIT License": "MIT", "BSD": "BSD-3-Clause", "Dual License": "Apache-2.0 or BSD-3-Clause"}


class Note(NamedTuple):
    """What a reader found: why it is there, what it would do on a network, what it leaves on disk."""

    why: str
    network: str = "none"
    files: str = "none"


NEVER = "it could; never imported"
NOTES = {
    "av": Note(
        "decodes recordings; in it FFmpeg (LGPL-3.0+ by its own word) beside x264 and x265 (GPL-2.0+)",
        "FFmpeg could; recordings are opened with the protocol `file` alone (`audio/read.py`)",
    ),
    "ctranslate2": Note("runs Whisper and the reader"),
    "fsrs": Note("when to practise again"),
    "typing-extensions": Note("types"),
    "numpy": Note("arrays, and the speech detector", "`DataSource` could, when given an address; not used"),
    "pint": Note("units"),
    "flexcache": Note("pint's cache; off unless asked for", files="none: never asked for"),
    "flexparser": Note("pint's definitions"),
    "platformdirs": Note("where data lies"),
    "pygal": Note("charts as SVG, its script left out; imported unchanged, so LGPL asks nothing of an MIT program"),
    "importlib-metadata": Note("pygal's plugins"),
    "pyyaml": Note("cards, birds, routes"),
    "rapidfuzz": Note("likeness of words"),
    "rich": Note("the screen"),
    "pygments": Note("rich's colours; not loaded", "scripts that renew its word lists could; not run"),
    "markdown-it-py": Note("rich's; not loaded"),
    "mdurl": Note("rich's; not loaded"),
    "zipp": Note("pygal's"),
    "lazy-importer": Note("importlib-metadata's"),
    "snowballstemmer": Note("word stems"),
    "sounddevice": Note("the microphone, by PortAudio (MIT)", files="the sound system's own, such as `~/.config/pulse/cookie`"),
    "cffi": Note("sounddevice and vosk call C by it"),
    "pycparser": Note("cffi's"),
    "sqlalchemy": Note("the history, by Python's SQLite"),
    "greenlet": Note("sqlalchemy's, below 2.1"),
    "tokenizers": Note("Whisper's tokens and the reader's", "fetches by name alone, through huggingface-hub; it is given a file"),
    "vosk": Note(
        "the other listener; Apache-2.0, which its wheel does not say",
        "fetches models by name alone; it is given a folder. Imports requests: see there",
        "`~/.cache/vosk` when it fetches, which it is never asked to",
    ),
    "anyio": Note("huggingface-hub's; never imported", NEVER),
    "certifi": Note("requests'"),
    "charset-normalizer": Note("requests'"),
    "click": Note("huggingface-hub's; never imported"),
    "filelock": Note("huggingface-hub's; never imported", NEVER),
    "fsspec": Note("huggingface-hub's; never imported", NEVER),
    "h11": Note("huggingface-hub's; never imported"),
    "hf-xet": Note("huggingface-hub's; never imported", NEVER),
    "httpcore2": Note("huggingface-hub's; never imported", NEVER),
    "httpx2": Note("huggingface-hub's; never imported", NEVER),
    "huggingface-hub": Note(
        "named by tokenizers; never imported (a test looks)", NEVER, "`~/.cache/huggingface` when asked, which it never is"
    ),
    "idna": Note("requests'"),
    "packaging": Note("huggingface-hub's; never imported"),
    "requests": Note("vosk's, to fetch models", "a client that nothing calls"),
    "srt": Note("vosk's subtitles; not used"),
    "tqdm": Note("progress bars of vosk and huggingface-hub", "`contrib` could; not loaded"),
    "truststore": Note("huggingface-hub's; never imported", NEVER),
    "urllib3": Note("requests'", "at import it would bind an IPv6 socket to see whether it can; `load_vosk` stops that"),
    "websockets": Note("vosk's, for its server", "a client and server that nothing calls"),
}


@dataclass(frozen=True, slots=True)
class Package:
    """One installed package; parent is None for one that the coach itself names."""

    name: str
    version: str
    wanted: str
    parent: str | None
    licence: str
    megabytes: float
    speaks: tuple[str, ...]  # files in it that can speak to a network


def normal(name: str) -> str:
    """The name as packages are compared by."""
    return re.sub(r"[-_.]+", "-", name).lower()


def packages() -> list[Package]:
    """Those that the coach names, in order, each followed by those that come with it; each once."""
    direct = list(_required(NAME))
    seen = {normal(r.name) for r in direct}
    out = []
    for requirement in direct:
        out.append(_package(requirement, None))
        waiting = list(_required(requirement.name))
        while waiting:
            child = waiting.pop(0)
            if normal(child.name) not in seen:
                seen.add(normal(child.name))
                out.append(_package(child, requirement.name))
                waiting += _required(child.name)
    return out


def _required(name: str) -> Iterator[Requirement]:
    for text in sorted(metadata.requires(name) or ()):
        requirement = Requirement(text)
        if requirement.marker is None or requirement.marker.evaluate({"extra": ""}):
            yield requirement


def _package(requirement: Requirement, parent: str | None) -> Package:
    found = metadata.distribution(requirement.name)
    paths = [Path(str(found.locate_file(file))) for file in found.files or ()]
    files = [path for path in paths if path.is_file() and path.suffix != ".pyc"]
    speaks = tuple(sorted(p.name for p in files if _speaks(p)))
    size = sum(path.stat().st_size for path in files) / 1e6
    return Package(normal(requirement.name), found.version, str(requirement.specifier), parent, _licence(found), size, speaks)


def _speaks(path: Path) -> bool:
    if path.suffix == ".py":
        return _CLIENT.search(path.read_bytes()) is not None
    return any(part in _NATIVE for part in path.suffixes) and _LOOKS_UP in path.read_bytes()


def _licence(found: metadata.Distribution) -> str:
    told = found.metadata.get("License-Expression") or found.metadata.get("License") or ""
    if not told or len(told) > 40:
        classes = (c.rsplit(" :: ", 1)[1] for c in found.metadata.get_all("Classifier", []) if c.startswith("License ::"))
        told = ", ".join(classes) or told.splitlines()[0]
    return LICENCES.get(told, told)


def table(found: list[Package]) -> str:
    """The table in Markdown."""
    rows = ["| package | version | licence | MB | what for | can it speak to a network? | files it leaves |", "|---" * 7 + "|"]
    for package in found:
        note = NOTES.get(package.name, Note("NOT LOOKED AT"))
        name = package.name if package.parent is None else f"- {package.name}"
        version = f"{package.version} ({package.wanted})" if package.parent is None else package.version
        able = "no" if not package.speaks else note.network
        cells = (name, version, package.licence, f"{package.megabytes:.1f}", note.why, able, note.files)
        rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--where", action="store_true", help="name the files that can speak to a network")
    args = parser.parse_args()
    found = packages()
    print(table(found))
    if args.where:
        for package in found:
            if package.speaks:
                print(f"{package.name}: {', '.join(package.speaks)}")


if __name__ == "__main__":
    main()
