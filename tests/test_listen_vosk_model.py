"""A Vosk model folder that is missing, partial, broken or in another language gives one clear line and never ends the process."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from coach.errors import CoachError
from coach.listen import vosk_model
from coach.listen.vosk import VoskListener
from coach.listen.vosk_model import has_grammar, open_model
from tests.vosk_models import TINY, sound

pytest.importorskip("vosk")
pytestmark = pytest.mark.listener


@pytest.fixture
def model(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the tiny model to be spoilt, and a home of its own."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    shutil.copytree(TINY, tmp_path / "model")
    return tmp_path / "model"


def cut(path: Path) -> None:
    """Lose the second half of a file."""
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def scramble(path: Path) -> None:
    """Keep the first bytes of a file and make noise of the rest."""
    rest = np.random.default_rng(1).integers(0, 256, path.stat().st_size - 8, np.uint8)
    path.write_bytes(path.read_bytes()[:8] + rest.tobytes())


def other_language(path: Path) -> None:
    """Every word of the list another one."""
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text(
        "".join(f"wort{n} {line.split()[1]}\n" if n else f"{line}\n" for n, line in enumerate(lines)), encoding="utf-8"
    )


SPOILT: dict[str, tuple[Callable[[Path], object], str]] = {
    "no folder": (lambda m: shutil.rmtree(m), "no such Vosk model folder"),
    "empty folder": (lambda m: (shutil.rmtree(m), m.mkdir()), "no Vosk model, it has no am/final.mdl; give the folder"),
    "folder in folder": (
        lambda m: (m.rename(m.parent / "x"), m.mkdir(), (m.parent / "x").rename(m / "vosk")),
        "did you mean .*vosk",
    ),
    "no graph": (lambda m: shutil.rmtree(m / "graph"), "graph/phones/word_boundary.int is missing"),
    "half a graph": (lambda m: (m / "graph" / "Gr.fst").unlink(), "graph/Gr.fst is missing"),
    "no settings": (lambda m: (m / "conf" / "model.conf").unlink(), "conf/model.conf is missing"),
    "empty network": (lambda m: (m / "am" / "final.mdl").write_bytes(b""), "final.mdl: this file is broken"),
    "a page for a network": (lambda m: (m / "am" / "final.mdl").write_text("<html>"), "final.mdl: this file is broken"),
    "a page for a graph": (lambda m: (m / "graph" / "HCLr.fst").write_text("<html>"), "HCLr.fst: this file is broken"),
    "cut network": (lambda m: cut(m / "am" / "final.mdl"), "does not load"),
    "noise in the network": (lambda m: scramble(m / "am" / "final.mdl"), "does not load"),
    "cut graph": (lambda m: cut(m / "graph" / "HCLr.fst"), "does not load"),
    "noise in the graph": (lambda m: scramble(m / "graph" / "Gr.fst"), "does not load"),
    "unknown setting": (lambda m: (m / "conf" / "mfcc.conf").write_text("--no-such=1\n"), "does not load"),
    "other language": (lambda m: other_language(m / "graph" / "words.txt"), "does not know English"),
}


@pytest.mark.parametrize("case", SPOILT)
def test_a_spoilt_folder_gives_one_line(model: Path, case: str, capfd: pytest.CaptureFixture[str]) -> None:
    """The line begins with the place and says what is wrong; the library prints nothing and the process lives."""
    spoil, words = SPOILT[case]
    spoil(model)
    with pytest.raises(CoachError, match=words) as caught:
        open_model(model)
    assert str(caught.value).startswith(str(model)) and "\n" not in str(caught.value)
    assert capfd.readouterr() == ("", "")


def test_the_library_alone_dies_of_some(model: Path) -> None:
    """Why the first load runs in a process of its own: the library ends its process on such a file or raises a bare Exception."""
    (model / "conf" / "mfcc.conf").write_text("--no-such=1\n")
    code = "import sys, vosk; vosk.Model(sys.argv[1]); print('alive')"
    ended = subprocess.run([sys.executable, "-c", code, str(model)], capture_output=True, check=False)
    assert ended.returncode != 0 and b"alive" not in ended.stdout


def test_a_checked_folder_is_not_tried_again(model: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder that passed is remembered until a file of it changes; the mark is the user's alone."""
    open_model(model)
    marks = list((model.parent / "home" / "vosk-checked").iterdir())
    assert len(marks) == 1 and (sys.platform == "win32" or marks[0].stat().st_mode & 0o077 == 0)
    with monkeypatch.context() as patch:
        patch.setattr(vosk_model.subprocess, "run", lambda *_, **__: pytest.fail("tried again"))
        open_model(model)
    cut(model / "am" / "final.mdl")
    with pytest.raises(CoachError, match="does not load"):
        open_model(model)


def test_the_first_layout_is_read(model: Path) -> None:
    """Older models have all files in one folder: the library and we read them alike."""
    shutil.rmtree(model / "graph-everyday")
    for path in [p for p in model.rglob("*") if p.is_file()]:
        path.rename(model / path.name)
    heard = VoskListener(model).transcribe(sound("trade-slt"))
    assert "pullet" in [w.text for w in heard.words]


def test_a_model_in_one_graph_takes_no_grammar(model: Path) -> None:
    """Whether sentences can be asked about is seen from the files."""
    assert has_grammar(model)
    (model / "graph" / "HCLG.fst").touch()
    assert not has_grammar(model)
