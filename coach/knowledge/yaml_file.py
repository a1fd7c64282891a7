"""From a YAML file to values that know their line, and from wrong values to one clear line each.

In: the path of a file a person wrote. Out: a tree of Nodes (`load_yaml`), taken apart by name and type (`Fields`).
Every complaint reads `path:line: key 'x': what is wrong; what to do`. `load_yaml` raises CoachError at the first thing
that makes the file unreadable; `Fields` notes all that is wrong with its values in a `Problems` list.
Nothing is ever built from a tag, aliases are refused, and the size is bounded.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import yaml

from coach.errors import CoachError

__all__ = ["Fields", "Node", "Problems", "hint", "is_path", "load_yaml", "nearest"]

MAX_BYTES = 1_000_000  # the largest shipped file is well under a tenth of this

_STANDARD_TAG = "tag:yaml.org,2002:"
_KINDS = {"str": "text", "int": "number", "float": "number", "bool": "flag", "null": "empty"} | dict.fromkeys(
    ("timestamp", "value", "merge"), "text"
)
_TRUE = ("yes", "true", "on")


@dataclass(frozen=True, slots=True)
class Node:
    """One value of the file. line counts from 1 and is the key's line where the value has a key."""

    line: int
    kind: str  # text, number, flag, empty, list or mapping
    text: str = ""  # a single value as it was written
    items: tuple[Node, ...] = ()
    entries: Mapping[str, Node] = field(default_factory=dict)


class Problems:
    """What is wrong with one file, a line each, in the order found."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.lines: list[str] = []

    def add(self, line: int, key: str, what: str) -> None:
        """Note a problem of the key that stands on the line; what says the mistake and the remedy."""
        self.lines.append(f"{self.path}:{line}: key '{_one_line(key)}': {_one_line(what)}")

    def check_format(self, top: Node, wanted: str) -> None:
        """Raise CoachError when the file is not of the wanted format: nothing else in it could be judged."""
        node = top.entries.get("format")
        if node is None or node.text != wanted:
            what = "missing" if node is None else f"{_shown(node)} is not known here"
            self.add(node.line if node else 1, "format", f"{what}; write 'format: {wanted}'")
            self.raise_first()

    def raise_first(self) -> None:
        """Raise CoachError with the first problem, if there is one, saying how many more there are."""
        if self.lines:
            more = len(self.lines) - 1
            raise CoachError(self.lines[0] + (f" (and {more} more in this file)" if more else ""))


def load_yaml(path: Path) -> Node:
    """Read a file whose top level is a mapping.

    Raises:
        CoachError: the file cannot be opened, is too large, is not UTF-8 or not YAML, repeats a key, uses an alias or
            a tag, or holds something else than a mapping.
    """
    text = _read_text(path)
    loader = None
    try:
        loader = _Loader(text)
        top = loader.get_single_node()
        node = _convert(path, top) if top is not None else Node(1, "empty")
    except yaml.MarkedYAMLError as err:
        line = err.problem_mark.line + 1 if err.problem_mark else 1
        raise CoachError(
            f"{path}:{line}: not readable as YAML ({_one_line(err.problem or 'unclear')}); "
            "check the indentation (spaces, no tabs) and put text with ':' or '#' in quotes"
        ) from err
    except yaml.reader.ReaderError as err:
        line = text.count("\n", 0, err.position) + 1
        raise CoachError(f"{path}:{line}: holds the unprintable character #x{err.character:02x}; remove it") from err
    except RecursionError as err:
        raise CoachError(f"{path}: nested too deeply; these files need four levels at most") from err
    finally:
        if loader is not None:
            loader.dispose()
    if node.kind != "mapping":
        raise CoachError(f"{path}:{node.line}: holds no keys; start it with a line such as 'format: ...'")
    return node


def is_path(id_or_path: str) -> bool:
    """Whether a file is meant and no id: it ends in .yaml or .yml or has a folder in it."""
    return id_or_path.endswith((".yaml", ".yml")) or "/" in id_or_path or "\\" in id_or_path


def nearest(word: str, allowed: Collection[str]) -> tuple[str, ...]:
    """Up to three allowed words that look like the word, best first."""
    plain = {name.lower(): name for name in allowed}
    return tuple(plain[name] for name in difflib.get_close_matches(word.lower(), plain, n=3, cutoff=0.6))


def hint(word: str, allowed: Collection[str]) -> str:
    """The remedy for a word that is not allowed: the nearest one, or the whole list."""
    close = nearest(word, allowed)
    return f"did you mean '{close[0]}'?" if close else f"allowed: {', '.join(allowed)}"


class Fields:
    """The keys of one mapping, each taken by its type; what does not fit is noted in problems and is then unknown.

    An unknown value is None, an empty tuple or an empty mapping. prefix is the dotted name of the mapping itself.
    """

    def __init__(self, node: Node, problems: Problems, allowed: Collection[str], prefix: str = "") -> None:
        self.node = node
        self.problems = problems
        self.prefix = prefix
        for name, value in node.entries.items():
            if name not in allowed:
                self.problem(name, f"not known here; {hint(name, allowed)}", value.line)

    def problem(self, name: str, what: str, line: int | None = None) -> None:
        """Note a problem of one key, at its own line or the given one."""
        known = self.node.entries.get(name)
        at = line if line is not None else known.line if known else self.node.line
        self.problems.add(at, self.prefix + name, what)

    def has(self, name: str) -> bool:
        """Whether the key stands in the file, whatever its value."""
        return name in self.node.entries

    def require(self, name: str, remedy: str) -> bool:
        """Whether the key stands in the file; a missing one is noted with the remedy."""
        if not self.has(name):
            self.problem(name, f"missing; {remedy}")
        return self.has(name)

    def require_all(self, remedies: Mapping[str, str]) -> bool:
        """Whether all the keys stand in the file; each missing one is noted with its remedy."""
        return [name for name in remedies if not self.require(name, remedies[name])] == []

    def text(self, name: str) -> str | None:
        """A phrase; a number counts as its digits."""
        node = self.node.entries.get(name)
        return None if node is None else self._phrase(name, node)

    def phrases(self, name: str) -> tuple[str, ...]:
        """A phrase or a list of phrases."""
        node = self.node.entries.get(name)
        if node is None:
            return ()
        found = [self._phrase(name, one) for one in (node.items if node.kind == "list" else (node,))]
        if not found:
            self.problem(name, "an empty list; add a phrase or leave the key out")
        return tuple(phrase for phrase in found if phrase is not None)

    def choice(self, name: str, allowed: Collection[str]) -> str | None:
        """One of the allowed words."""
        word = self.text(name)
        return self._allowed(name, word, allowed, self.node.entries[name].line) if word is not None else None

    def choices(self, name: str, allowed: Collection[str]) -> tuple[str, ...]:
        """One or several of the allowed words."""
        line = self.node.entries[name].line if self.has(name) else 0
        kept = [self._allowed(name, word, allowed, line) for word in self.phrases(name)]
        return tuple(word for word in kept if word is not None)

    def matching(self, name: str, pattern: re.Pattern[str], shape: str) -> str | None:
        """A phrase of a fixed shape, such as an id; shape says it in words."""
        word = self.text(name)
        if word is not None and not pattern.fullmatch(word):
            self.problem(name, f"'{word}' has the wrong shape; {shape}")
            return None
        return word

    def number(self, name: str, low: float, high: float, unit: str) -> float | None:
        """A number from low to high."""
        node = self.node.entries.get(name)
        if node is None:
            return None
        value = _number(node.text) if node.kind == "number" else None
        if value is None:
            self.problem(
                name, f"{_shown(node)} is not a number of {unit}; write one such as 8.5, without quotes or unit"
            )
            return None
        if not low <= value <= high:
            self.problem(name, f"{node.text} {unit} cannot be right; give a number from {low:g} to {high:g}")
            return None
        return value

    def whole(self, name: str, low: int, high: int) -> int | None:
        """A whole number from low to high."""
        node = self.node.entries.get(name)
        if node is None:
            return None
        value = _number(node.text) if node.kind == "number" else None
        if value is None or value != value // 1 or not low <= value <= high:
            self.problem(name, f"{_shown(node)} does not fit; give a whole number from {low} to {high}")
            return None
        return int(value)

    def flag(self, name: str) -> bool | None:
        """True or false."""
        node = self.node.entries.get(name)
        if node is None:
            return None
        if node.kind != "flag":
            self.problem(name, f"{_shown(node)} is neither true nor false; write one of the two, without quotes")
            return None
        return node.text.lower() in _TRUE

    def section(self, name: str, allowed: Collection[str] | None = None) -> Fields | None:
        """A mapping under the key; without allowed any key may stand in it."""
        node = self.node.entries.get(name)
        if node is None:
            return None
        if node.kind != "mapping":
            self.problem(name, f"{_shown(node)} stands where keys are expected; write 'key: value' lines under it")
            return None
        return Fields(node, self.problems, node.entries if allowed is None else allowed, f"{self.prefix}{name}.")

    def nodes(self, name: str) -> tuple[Node, ...]:
        """The members of a list, whatever they are."""
        node = self.node.entries.get(name)
        if node is None:
            return ()
        if node.kind != "list":
            self.problem(name, f"{_shown(node)} stands where a list is expected; start each line with '- '")
            return ()
        return node.items

    def sections(self, name: str, allowed: Collection[str]) -> Iterator[Fields]:
        """The mappings in the list under the key; their keys are shown as name[1].key, counted from 1."""
        for place, node in enumerate(self.nodes(name), 1):
            where = f"{name}[{place}]"
            if node.kind == "mapping":
                yield Fields(node, self.problems, allowed, f"{self.prefix}{where}.")
            else:
                self.problem(
                    where, f"{_shown(node)} stands where keys are expected; write 'key: value' lines", node.line
                )

    def _allowed(self, name: str, word: str, allowed: Collection[str], line: int) -> str | None:
        if word in allowed:
            return word
        close = nearest(word, allowed)
        remedy = f"; did you mean '{close[0]}'?" if close else "; choose one of them"
        self.problem(name, f"'{word}' is none of {', '.join(allowed)}{remedy}", line)
        return None

    def _phrase(self, name: str, node: Node) -> str | None:
        if node.kind in ("text", "number") and node.text.strip():
            return " ".join(node.text.split())
        if node.kind == "flag":
            what = f'{node.text} means true or false in YAML; put it in quotes: "{node.text}"'
        elif node.kind in ("list", "mapping"):
            what = f"{_shown(node)} stands where a phrase is expected; write plain words"
        else:
            what = "empty; write a phrase or leave the key out"
        self.problem(name, what, node.line)
        return None


class _Loader(yaml.SafeLoader):
    """A reader of nodes that knows no aliases, so that a small file cannot unfold into a huge one."""

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        if self.check_event(yaml.AliasEvent):
            event = self.get_event()  # type: ignore[no-untyped-call]
            raise yaml.composer.ComposerError(None, None, f"alias '*{event.anchor}' is not allowed", event.start_mark)
        return super().compose_node(parent, index)


def _read_text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError as err:
        raise CoachError(f"{path}: no such file; check the name and the folder") from err
    except IsADirectoryError as err:
        raise CoachError(f"{path}: is a folder; name the file in it") from err
    except PermissionError as err:
        raise CoachError(f"{path}: may not be read; change its permissions") from err
    except (OSError, ValueError) as err:  # ValueError: a NUL in the name
        raise CoachError(f"{path!s}: cannot be opened ({_one_line(str(err))}); check the path") from err
    if len(data) > MAX_BYTES:
        raise CoachError(f"{path}: larger than {MAX_BYTES:,} bytes; these files are small, is it the right one?")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        line = data[: err.start].count(b"\n") + 1
        raise CoachError(
            f"{path}:{line}: not UTF-8 text (byte 0x{data[err.start]:02x}); save the file as UTF-8"
        ) from err


def _convert(path: Path, node: yaml.Node, line: int | None = None) -> Node:
    at = line or node.start_mark.line + 1
    kind = _kind(path, node, at)
    if isinstance(node, yaml.MappingNode):
        return Node(at, kind, entries=_entries(path, node))
    if isinstance(node, yaml.SequenceNode):
        return Node(at, kind, items=tuple(_convert(path, one) for one in node.value))
    return Node(at, kind, text=str(node.value))


def _kind(path: Path, node: yaml.Node, line: int) -> str:
    name = node.tag.removeprefix(_STANDARD_TAG)
    if isinstance(node, yaml.ScalarNode) and name in _KINDS:
        return _KINDS[name]
    if isinstance(node, yaml.MappingNode) and name == "map":
        return "mapping"
    if isinstance(node, yaml.SequenceNode) and name == "seq":
        return "list"
    raise CoachError(f"{path}:{line}: tag '{_one_line(node.tag)}' is not allowed; write a plain value")


def _entries(path: Path, node: yaml.MappingNode) -> dict[str, Node]:
    entries: dict[str, Node] = {}
    for key, value in node.value:
        line = key.start_mark.line + 1
        if not isinstance(key, yaml.ScalarNode):
            raise CoachError(f"{path}:{line}: a list or mapping stands as a key; write a word before the ':'")
        _kind(path, key, line)
        if key.value in entries:
            first = entries[key.value].line
            name = _one_line(key.value)
            raise CoachError(f"{path}:{line}: key '{name}': stands twice, first on line {first}; keep one of them")
        entries[key.value] = _convert(path, value, line)
    return entries


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:  # what only YAML counts as a number, such as 9:30
        return None


def _shown(node: Node) -> str:
    names = {"list": "a list", "mapping": "a group of keys", "empty": "nothing"}
    return names.get(node.kind) or f"'{node.text}'"


def _one_line(text: str) -> str:
    return " ".join(text.split())
