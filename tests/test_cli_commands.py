"""The command line as a whole: help, version, usage, what is loaded, being stopped; the demo command's lists."""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path

import cli_files as files
import pytest
from cli_files import BIRD, run

from coach import __version__
from coach.cli import COMMANDS, build_parser

Capsys = pytest.CaptureFixture[str]

HEAVY = ("av", "coach.judge", "ctranslate2", "numpy", "rapidfuzz", "rich", "tokenizers", "vosk", "yaml")
ROOT = Path(__file__).parent.parent


def python(*argv: str) -> subprocess.CompletedProcess[str]:
    """Another Python, in which nothing is loaded yet."""
    return subprocess.run([sys.executable, *argv], capture_output=True, text=True, cwd=ROOT, check=False, timeout=60)


def test_help_from_outside_names_every_command() -> None:
    """`python -m coach --help` is the same as `coach --help`."""
    done = python("-m", "coach", "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("usage: coach ") and all(name in done.stdout for name in COMMANDS)


def test_help_loads_nothing_heavy() -> None:
    """No sound, number, terminal or recogniser library is loaded to show the help."""
    done = python("-c", (
        "import sys\nfrom coach.cli import main\ntry:\n    main(['--help'])\n"
        f"except SystemExit:\n    print('loaded:', [m for m in {HEAVY} if m in sys.modules])"
    ))  # fmt: skip
    assert done.stdout.splitlines()[-1] == "loaded: []"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(capsys: Capsys, command: str) -> None:
    """A sentence of its own and its options."""
    ran = run(capsys, command, "--help")
    assert ran.code == 0 and ran.out.startswith(f"usage: coach {command}") and f"`coach {command}`:" in ran.out


def test_the_overview_says_what_each_command_says_of_itself() -> None:
    """The list of commands is kept apart from their modules, so that help is quick; it must not drift from them."""
    for name, (_, line) in COMMANDS.items():
        chosen = next(action for action in build_parser(name)._actions if isinstance(action, argparse._SubParsersAction))
        assert [choice.help for choice in chosen._choices_actions if choice.dest == name] == [line]


def test_every_option_stands_in_the_readme(capsys: Capsys) -> None:
    """What the help offers, the README tells."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    offered = {word.strip("[],") for word in run(capsys, "review", "--help").out.split() if word.startswith("--")}
    assert {option for option in offered - {"--help"} if option not in readme} == set()
    assert all(f"coach {name}" in readme for name in COMMANDS)


def test_the_version(capsys: Capsys) -> None:
    """One line."""
    assert run(capsys, "--version").out == f"coach {__version__}\n"


@pytest.mark.parametrize("argv", [(), ("revue",), ("demo", "a", "b"), ("review", "--speed", "2")])
def test_wrong_usage_ends_with_2(capsys: Capsys, argv: tuple[str, ...]) -> None:
    """No command, an unknown one, too many words, an unknown option."""
    ran = run(capsys, *argv)
    assert ran.code == 2 and ran.out == "" and ran.err.startswith("usage: coach")


def test_being_stopped_is_no_crash(capsys: Capsys, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C ends with 130 and one line."""

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("coach.review.review", stop)
    ran = run(capsys, "review", "x.txt", "--bird", BIRD)
    assert (ran.code, ran.err) == (130, "coach: stopped\n")


def test_a_reader_that_has_seen_enough(tmp_path: Path) -> None:
    """`coach review ... | head -1` complains of nothing."""
    words = files.words_file(tmp_path / "a.words.json", files.script_words("checkers"))
    command = f'"{sys.executable}" -m coach review "{words}" --bird "{BIRD}" | head -1'
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, cwd=ROOT, check=False, timeout=60)
    assert (done.stdout, done.stderr) == ("Checkers, Barred Plymouth Rock\n", "")


def test_a_screen_that_knows_only_ascii(tmp_path: Path) -> None:
    """Marks it cannot show become '?'; the words are still there."""
    words = files.words_file(tmp_path / "a.words.json", files.script_words("checkers"))
    command = f'PYTHONIOENCODING=ascii "{sys.executable}" -m coach review "{words}" --bird "{BIRD}"'
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, cwd=ROOT, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (0, "") and "left out" in done.stdout and done.stdout.isascii()


def test_demos_are_listed(capsys: Capsys) -> None:
    """Name, title and the number of mistakes planted."""
    ran = run(capsys, "demo", "--list")
    assert ran.code == 0
    assert [line.split()[0] for line in ran.out.splitlines()] == ["checkers", "comet", "doily", "tansy"]
    assert all(line.endswith("mistakes planted)") for line in ran.out.splitlines())


def test_an_unknown_demo(capsys: Capsys) -> None:
    """Names those there are."""
    assert run(capsys, "demo", "nugget").line == (
        "coach: no demo 'nugget'; there are checkers, comet, doily, tansy (coach demo --list)"
    )
