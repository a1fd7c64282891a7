"""Fetching a model from a server on this machine: whole, resumed, or refused with one line and nothing in place."""

from __future__ import annotations

import hashlib
import os
import re
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from model_server import Publisher, model, publisher, vosk_zip

from coach.errors import CoachError
from coach.listen import fetch_http
from coach.listen.catalogue import RemoteFile, fetched_dir
from coach.listen.fetch import download_bytes, fetch, remove, under_way
from coach.listen.fetch_http import download

BIG = bytes(range(256)) * 4000  # a megabyte


@pytest.fixture
def served() -> Iterator[Publisher]:
    """A publisher."""
    with publisher() as one:
        yield one


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of the test's own, and no waiting between tries."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(fetch_http, "WAIT_S", 0.0)
    return tmp_path / "home"


def get(file: RemoteFile, path: Path, most: int = 10**7) -> Path:
    """The file, fetched."""
    download(file, path, most, lambda done: None)
    return path


def refusal(file: RemoteFile, path: Path, most: int = 10**7) -> str:
    """The line with which a download ends, after which nothing is in place."""
    with pytest.raises(CoachError) as caught:
        get(file, path, most)
    assert not path.exists()
    assert "\n" not in str(caught.value)
    return str(caught.value)


def ranges(served: Publisher) -> list[str | None]:
    """The Range header of every request."""
    return [wanted for _, wanted, _ in served.asked]


# One file -----------------------------------------------------------------------------------------------------------


def test_a_file_arrives_whole(served: Publisher, tmp_path: Path) -> None:
    """The bytes served are the bytes on the disk, told as they come, and nothing else is left there."""
    told: list[int] = []
    download(served.put("m.bin", BIG), tmp_path / "m.bin", len(BIG), told.append)
    assert (tmp_path / "m.bin").read_bytes() == BIG
    assert told == sorted(told) and told[-1] == len(BIG)
    assert [p.name for p in tmp_path.iterdir()] == ["m.bin"]


def test_a_line_that_breaks_is_taken_up_again(served: Publisher, tmp_path: Path) -> None:
    """Two breaks: each further request asks for what is missing, of this very version (RFC 9110, 13.1.5 and 14.2)."""
    served.stops_after = [100_000, 50_000]
    assert get(served.put("m.bin", BIG), tmp_path / "m.bin").read_bytes() == BIG
    assert ranges(served) == [None, "bytes=100000-", "bytes=150000-"]
    assert [version for _, _, version in served.asked] == [None, '"1"', '"1"']


def test_a_server_that_goes_away_leaves_a_part_to_go_on_from(served: Publisher, tmp_path: Path) -> None:
    """After as many tries without a byte as are allowed the line says what is kept, and a later run goes on there."""
    served.stops_after, served.status = [300_000], []
    file = served.put("m.bin", BIG)
    served.stops_after += [0] * fetch_http.TRIES
    line = refusal(file, tmp_path / "m.bin")
    assert "300,000 bytes are kept" in line and "same command again" in line
    assert (tmp_path / "m.bin.part").stat().st_size == 300_000
    served.asked.clear()
    served.stops_after.clear()
    assert get(file, tmp_path / "m.bin").read_bytes() == BIG
    assert ranges(served) == ["bytes=300000-"]


def test_a_server_without_ranges_is_read_from_the_start(served: Publisher, tmp_path: Path) -> None:
    """A 200 in answer to a Range is the whole file (RFC 9110, 14.2); the part is written anew, not added to."""
    served.ranges, served.stops_after = False, [100_000]
    assert get(served.put("m.bin", BIG), tmp_path / "m.bin").read_bytes() == BIG
    assert ranges(served) == [None, "bytes=100000-"]


def test_a_file_that_changed_meanwhile_is_read_from_the_start(served: Publisher, tmp_path: Path) -> None:
    """If-Range with the old ETag makes the server send the new file whole: two halves are never joined."""
    new = BIG[::-1]
    file = RemoteFile(f"{served.address}/m.bin", hashlib.sha256(new).hexdigest(), len(new))
    served.put("m.bin", new)
    served.etag = '"2"'
    (tmp_path / "m.bin.part").write_bytes(BIG[:100_000])
    (tmp_path / "m.bin.from").write_text('"1"')
    assert get(file, tmp_path / "m.bin").read_bytes() == new
    assert served.asked == [("/m.bin", "bytes=100000-", '"1"')]


def test_a_weak_etag_is_not_used_to_resume(served: Publisher, tmp_path: Path) -> None:
    """A weak name may not stand in If-Range (RFC 9110, 13.1.5)."""
    served.etag, served.stops_after = 'W/"1"', [100_000]
    get(served.put("m.bin", BIG), tmp_path / "m.bin")
    assert served.asked[1] == ("/m.bin", "bytes=100000-", None)


def test_too_long_a_part_is_begun_again(served: Publisher, tmp_path: Path) -> None:
    """A server that has nothing after our part (416) is asked for the whole file."""
    (tmp_path / "m.bin.part").write_bytes(BIG + b"more")
    assert get(served.put("m.bin", BIG), tmp_path / "m.bin").read_bytes() == BIG
    assert ranges(served) == [f"bytes={len(BIG) + 4}-", None]


def test_a_wrong_checksum_is_thrown_away(served: Publisher, tmp_path: Path) -> None:
    """The right size and one other bit: refused, both sums told, nothing kept."""
    file = served.put("m.bin", BIG)
    served.put("m.bin", bytes([BIG[0] ^ 1]) + BIG[1:])
    line = refusal(file, tmp_path / "m.bin")
    assert file.sha256 in line and len(re.findall("[0-9a-f]{64}", line)) == 2
    assert list(tmp_path.glob("m.bin*")) == []


@pytest.mark.parametrize("more", [-1, 1])
def test_another_size_is_refused_at_once(served: Publisher, tmp_path: Path, more: int) -> None:
    """What the server says of the length decides before anything is written."""
    file = served.put("m.bin", BIG, size=len(BIG) + more)
    assert f"has {len(BIG):,} bytes in place of {len(BIG) + more:,}" in refusal(file, tmp_path / "m.bin")
    assert list(tmp_path.glob("m.bin*")) == []


def test_a_server_that_never_stops_is_cut_off(served: Publisher, tmp_path: Path) -> None:
    """Without a stated length the bound holds while the bytes come."""
    served.says_length = False
    assert "more than the 200,000 bytes" in refusal(served.put("m.bin", BIG), tmp_path / "m.bin", most=200_000)
    assert list(tmp_path.glob("m.bin*")) == []


def test_a_truncated_answer_without_length_does_not_pass(served: Publisher, tmp_path: Path) -> None:
    """The checksum finds what no length tells."""
    served.says_length, served.stops_after = False, [1000]
    assert "not the file we know" in refusal(served.put("m.bin", BIG), tmp_path / "m.bin")


def test_a_busy_server_is_asked_again(served: Publisher, tmp_path: Path) -> None:
    """503 and 429 pass; 404 does not, and is told at once."""
    served.status = [503, 429]
    assert get(served.put("m.bin", BIG), tmp_path / "m.bin").read_bytes() == BIG
    served.status = [404, 404]
    assert "answered 404" in refusal(served.put("other.bin", BIG), tmp_path / "other.bin")
    assert served.status == [404]


def test_no_server_at_all(tmp_path: Path) -> None:
    """A refused connection is one line that says so."""
    line = refusal(RemoteFile("http://127.0.0.1:9/m.bin", "0" * 64, 5), tmp_path / "m.bin")
    assert line.startswith("http://127.0.0.1:9/m.bin: cannot be reached (")


def test_sent_on_to_a_file_of_this_machine_is_refused(served: Publisher, tmp_path: Path) -> None:
    """A server cannot make us read a file here by sending us on to it."""
    file = served.put("m.bin", BIG)
    served.sends_on_to = f"file://{__file__}"
    assert "answered 302" in refusal(file, tmp_path / "m.bin")


def test_sent_on_from_https_to_http_is_refused() -> None:
    """A safe line is never left for one that anybody can change."""
    from urllib.request import Request

    request = Request("https://example.org/m.bin")
    with pytest.raises(CoachError, match="not https"):
        fetch_http._StaySecure().redirect_request(request, None, 302, "Found", {}, "http://example.org/m.bin")


def test_a_folder_that_may_not_be_written_to(served: Publisher, tmp_path: Path) -> None:
    """One line that names the folder."""
    assert "cannot be written to" in refusal(served.put("m.bin", BIG), tmp_path / "missing" / "m.bin")


FULL_DISK = """
import resource, signal
from coach.errors import CoachError
from coach.listen.catalogue import RemoteFile
from coach.listen.fetch_http import download
from pathlib import Path
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
try:
    download(RemoteFile({url!r}, {sha!r}, {size}), Path({path!r}), 10**7, lambda done: None)
except CoachError as err:
    print(err)
"""


@pytest.mark.skipif(not hasattr(resource, "RLIMIT_FSIZE"), reason="this system has no limit on the size of a file")
def test_a_disk_that_takes_no_more_keeps_what_it_has(served: Publisher, tmp_path: Path) -> None:
    """A real write error half way: one line, and the part stays to go on from."""
    file = served.put("m.bin", BIG)
    script = FULL_DISK.format(url=file.url, sha=file.sha256, size=file.size, path=str(tmp_path / "m.bin"))
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.startswith(f"{tmp_path}: cannot be written to (File too large)")
    assert (tmp_path / "m.bin.part").stat().st_size == 200_000
    assert get(file, tmp_path / "m.bin").read_bytes() == BIG
    assert ranges(served)[-1] == "bytes=200000-"


def test_a_full_disk_says_so(tmp_path: Path) -> None:
    """The system's own word for a full disk becomes advice."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no /dev/full")
    held = fetch_http._Held(tmp_path / "m.bin.part")
    (tmp_path / "m.bin.part").symlink_to("/dev/full")
    held.start(0, None)
    held.write(b"x")
    with pytest.raises(CoachError, match="the disk is full; make room"):
        held.close()


# A whole model ------------------------------------------------------------------------------------------------------


def test_a_model_is_unpacked_and_moved_into_place(served: Publisher, home: Path) -> None:
    """Its folder has the files without the archive's own top folder; nothing of the work is left."""
    folder = fetch(model(served.put("x.zip", vosk_zip())))
    assert folder == fetched_dir() / "vosk-model-x" == home / "models" / "vosk-model-x"
    assert sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()) == [
        "README",
        "am/final.mdl",
        "conf/model.conf",
    ]
    assert (folder / "am/final.mdl").read_bytes() == bytes(range(256)) * 400
    assert list((home / "models" / ".under-way").iterdir()) == []


def test_a_model_of_several_files(served: Publisher) -> None:
    """Files that are no archive lie side by side; the sizes add up; the progress runs through all of them."""
    wanted = model(served.put("config.json", b"{}"), served.put("model.bin", BIG), unpacked_mb=None)
    told: list[tuple[str, int, int]] = []
    folder = fetch(wanted, lambda *what: told.append(what))
    assert sorted(p.name for p in folder.iterdir()) == ["config.json", "model.bin"]
    assert download_bytes(wanted) == len(BIG) + 2
    assert told[-1] == ("fetching", len(BIG) + 2, len(BIG) + 2)


def test_going_on_does_not_fetch_again_what_is_whole(served: Publisher) -> None:
    """The second file breaks for good; the next try asks for the rest of it only."""
    wanted = model(served.put("config.json", b"{}"), served.put("model.bin", BIG), unpacked_mb=None)
    served.stops_after = [2, 100_000, *[0] * fetch_http.TRIES]
    with pytest.raises(CoachError, match="100,000 bytes are kept"):
        fetch(wanted)
    assert under_way(wanted) >= 100_002
    served.asked.clear()
    served.stops_after.clear()
    fetch(wanted)
    assert [(path, wanted_range) for path, wanted_range, _ in served.asked] == [("/model.bin", "bytes=100000-")]


def test_a_model_that_is_there_is_not_touched(served: Publisher) -> None:
    """A second fetch is refused before anything is asked for."""
    wanted = model(served.put("x.zip", vosk_zip()))
    fetch(wanted)
    served.asked.clear()
    with pytest.raises(CoachError, match="is there already"):
        fetch(wanted)
    assert served.asked == []


@pytest.mark.parametrize(
    ("archive", "told"),
    [
        (vosk_zip({"../../escaped": b"x"}), "outside its folder"),
        (vosk_zip({"vosk-model-x/zeros": bytes(3_000_000)}), "would unpack to"),
        (vosk_zip()[:-40], "damaged"),
        (b"<html>login first</html>", "damaged"),
    ],
)
def test_a_bad_archive_leaves_nothing(served: Publisher, home: Path, archive: bytes, told: str) -> None:
    """A path that escapes, a bomb, half an archive, a page: refused, and neither the model nor the archive is kept."""
    wanted = model(served.put("x.zip", archive))
    with pytest.raises(CoachError, match=told):
        fetch(wanted)
    assert [p for p in home.rglob("*") if p.is_file()] == []
    assert not (home / "models" / "vosk-model-x").exists()
    assert list(home.parent.rglob("escaped")) == []


def test_an_archive_without_a_model_is_refused(served: Publisher, home: Path) -> None:
    """Sound in every other way, but nothing a listener could load."""
    import io
    import zipfile

    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as opened:
        opened.writestr("x/README", "nothing")
    with pytest.raises(CoachError, match="holds no Vosk model"):
        fetch(model(served.put("x.zip", buffer.getvalue())))
    assert not (home / "models" / "vosk-model-x").exists()


def test_no_room_is_told_before_anything_is_fetched(served: Publisher) -> None:
    """A model larger than the disk is not begun."""
    with pytest.raises(CoachError, match="MB free and vosk-model-x needs"):
        fetch(model(served.put("x.zip", vosk_zip()), unpacked_mb=1e12))
    assert served.asked == []


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_home_of_somebody_else(served: Publisher, home: Path) -> None:
    """No permission is one line."""
    home.mkdir(mode=0o500)
    with pytest.raises(CoachError, match="cannot be written"):
        fetch(model(served.put("x.zip", vosk_zip())))


def test_a_home_that_is_a_file(served: Publisher, home: Path) -> None:
    """A file where the folder should be is one line that names it."""
    home.write_text("")
    with pytest.raises(CoachError, match="cannot be written"):
        fetch(model(served.put("x.zip", vosk_zip())))


def test_remove_takes_the_model_and_what_was_begun(served: Publisher, home: Path) -> None:
    """Both are gone afterwards, and a model that was never fetched cannot be removed."""
    wanted = model(served.put("x.zip", vosk_zip()))
    fetch(wanted)
    assert remove(wanted) > 100_000
    with pytest.raises(CoachError, match="nothing to remove"):
        remove(wanted)
    served.stops_after = [500, *[0] * fetch_http.TRIES]
    with pytest.raises(CoachError, match="500 bytes are kept"):
        fetch(wanted)
    remove(wanted)
    assert [p for p in home.rglob("*") if p.is_file()] == []


SCRIPT = """
import sys
from coach.cli import main
from coach.listen import catalogue
from model_server import model
wanted = model(catalogue.RemoteFile({url!r}, {sha!r}, {size}))
catalogue.load_catalogue = lambda: {{wanted.name: wanted}}
sys.exit(main(["models", "get", wanted.name]))
"""


def test_control_c_keeps_what_came(served: Publisher, home: Path) -> None:
    """Stopped by the keyboard half way: exit 130, the line says how to go on, and the part is there."""
    file = served.put("x.zip", vosk_zip({"vosk-model-x/noise": os.urandom(400_000)}))
    served.stands_still_at = 200_000
    script = SCRIPT.format(url=file.url, sha=file.sha256, size=file.size)
    paths = os.pathsep.join([str(Path(__file__).parent), str(Path(__file__).parent.parent)])
    command = [sys.executable, "-c", script]
    with subprocess.Popen(command, env={**os.environ, "PYTHONPATH": paths}, stderr=subprocess.PIPE, text=True) as running:
        part = home / "models" / ".under-way" / "vosk-model-x" / "x.zip.part"
        while running.poll() is None and not (part.exists() and part.stat().st_size > 100_000):
            time.sleep(0.01)
        running.send_signal(signal.SIGINT)
        _, err = running.communicate()
        served.go.set()
    assert running.returncode == 130, err
    assert "'coach models get vosk-model-x' goes on from there" in err and "Traceback" not in err
    assert 100_000 < part.stat().st_size <= 200_000
    assert not (home / "models" / "vosk-model-x").exists()
