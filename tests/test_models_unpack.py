"""Archives that mean harm are refused before anything of them is written; honest ones come out whole."""

from __future__ import annotations

import io
import stat
import zipfile
from pathlib import Path

import pytest
from model_server import vosk_zip

from coach.errors import CoachError
from coach.listen.fetch_unpack import MOST_FILES, unpack

MOST = 1_000_000


def archived(path: Path, *entries: tuple[str | zipfile.ZipInfo, bytes]) -> Path:
    """A zip file with these entries, names taken as they are."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries:
            archive.writestr(name, content)
    return path


def special(name: str, kind: int) -> zipfile.ZipInfo:
    """An entry of a kind that Unix knows."""
    entry = zipfile.ZipInfo(name)
    entry.create_system = 3
    entry.external_attr = (kind | 0o644) << 16
    return entry


def refusal(archive: Path) -> str:
    """The line with which the archive is refused, after which nothing is written outside its folder."""
    folder = archive.parent / "out"
    with pytest.raises(CoachError) as caught:
        unpack(archive, folder, MOST)
    inside = {p for p in archive.parent.rglob("*") if folder in p.parents}
    assert {p for p in archive.parent.rglob("*") if p.is_file() and p not in inside} == {archive}
    return str(caught.value)


def test_an_honest_archive_comes_out_whole(tmp_path: Path) -> None:
    """Contents as they went in, the common top folder gone, no file executable."""
    (tmp_path / "a.zip").write_bytes(vosk_zip())
    told: list[tuple[int, int]] = []
    unpack(tmp_path / "a.zip", tmp_path / "out", MOST, lambda *how_far: told.append(how_far))
    assert (tmp_path / "out/conf/model.conf").read_text() == "--min-active=200\n"
    size = sum(p.stat().st_size for p in (tmp_path / "out").rglob("*") if p.is_file())
    assert told[-1] == (size, size)
    assert not any(p.stat().st_mode & 0o111 for p in (tmp_path / "out").rglob("*") if p.is_file())


def test_files_without_a_common_folder_stay_where_they_are(tmp_path: Path) -> None:
    """Only a folder that holds everything is left away."""
    unpack(archived(tmp_path / "a.zip", ("am/final.mdl", b"m"), ("conf/model.conf", b"c")), tmp_path / "out", MOST)
    assert (tmp_path / "out/am/final.mdl").read_bytes() == b"m"


@pytest.mark.parametrize(
    "name", ["../x", "a/../../x", "/etc/x", "a\\..\\x", "C:/x", "C:x", "..", "a/..", "//host/share/x", "./../x"]
)
def test_a_path_that_escapes_is_refused(tmp_path: Path, name: str) -> None:
    """Whatever a system could take for a place outside the folder."""
    assert "outside its folder" in refusal(archived(tmp_path / "a.zip", ("ok", b"y"), (name, b"x")))
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFCHR, stat.S_IFBLK, stat.S_IFIFO, stat.S_IFSOCK])
def test_links_and_devices_are_refused(tmp_path: Path, kind: int) -> None:
    """A link could lead the next file of the archive out of its folder."""
    bad = archived(tmp_path / "a.zip", (special("m/link", kind), b"/etc"), ("m/link/passwd", b"x"))
    assert "a link or a device" in refusal(bad)


def test_a_bomb_is_refused_by_what_its_list_says(tmp_path: Path) -> None:
    """Two kilobytes that would unpack to two million."""
    bomb = archived(tmp_path / "a.zip", ("zeros", bytes(2_000_000)))
    assert bomb.stat().st_size < 10_000
    assert "would unpack to 2,000,000 bytes" in refusal(bomb)
    assert not (tmp_path / "out").exists()


def test_many_parts_of_one_bomb_are_refused_together(tmp_path: Path) -> None:
    """The bound is for all files, so overlapping entries that each look harmless do not pass."""
    assert "would unpack to" in refusal(archived(tmp_path / "a.zip", *((f"z{n}", bytes(300_000)) for n in range(4))))


def test_a_bomb_whose_list_lies_is_stopped_while_unpacking(tmp_path: Path) -> None:
    """The size in the archive's list is forged to ten bytes: what comes out is never more than that."""
    bomb = archived(tmp_path / "a.zip", ("zeros", bytes(2_000_000)))
    content = bytearray(bomb.read_bytes())
    size = (2_000_000).to_bytes(4, "little")
    assert content.count(size) == 2
    bomb.write_bytes(bytes(content).replace(size, (10).to_bytes(4, "little")))
    assert "damaged" in refusal(bomb)
    assert sum(p.stat().st_size for p in (tmp_path / "out").rglob("*")) <= 10


def test_too_many_files_are_refused(tmp_path: Path) -> None:
    """Each of them empty."""
    entries = ((f"f{n}", b"") for n in range(MOST_FILES + 1))
    assert f"a model has at most {MOST_FILES}" in refusal(archived(tmp_path / "a.zip", *entries))


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("second", ["m/x", "M/X", "m/x/y", "m/X/y"])
def test_the_same_file_twice_is_refused(tmp_path: Path, second: str) -> None:
    """Also when only capitals tell them apart, which some disks do not see, and as a file and a folder."""
    assert "the same name twice" in refusal(archived(tmp_path / "a.zip", ("m/x", b"1"), (second, b"2")))


def test_a_password_is_refused(tmp_path: Path) -> None:
    """The mark of encryption in the list (bit 0 of the flags, APPNOTE.TXT 4.4.4)."""
    locked = archived(tmp_path / "a.zip", ("m/x", b"1"))
    content = bytearray(locked.read_bytes())
    content[content.index(b"PK\x01\x02") + 8] |= 1
    locked.write_bytes(bytes(content))
    assert "a password" in refusal(locked)


@pytest.mark.parametrize("content", [b"", b"<html>", vosk_zip()[:200], vosk_zip()[:-30]])
def test_half_an_archive_or_none_is_refused(tmp_path: Path, content: bytes) -> None:
    """One line, no traceback."""
    (tmp_path / "a.zip").write_bytes(content)
    assert "is damaged or of another kind" in refusal(tmp_path / "a.zip")


def test_a_changed_byte_is_found(tmp_path: Path) -> None:
    """The archive's own checksum of each file is looked at."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr("m/x", b"plain text here")
    (tmp_path / "a.zip").write_bytes(buffer.getvalue().replace(b"plain", b"pLain"))
    assert "damaged" in refusal(tmp_path / "a.zip")


def test_an_empty_archive_is_refused(tmp_path: Path) -> None:
    """Folders alone are no model."""
    assert "is empty" in refusal(archived(tmp_path / "a.zip"))
