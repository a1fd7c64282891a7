"""Real disks for tests: a small one that fills up and one that may only be read, mounted where the tests run as root."""

from __future__ import annotations

import errno
import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

__all__ = ["fill", "read_only", "small_disk"]


@contextmanager
def small_disk(folder: Path, kilobytes: int) -> Iterator[Path]:
    """A file system of that size at the folder, which is made; skips where none may be mounted."""
    folder.mkdir(parents=True, exist_ok=True)
    mount = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k,mode=0700", "tmpfs", str(folder)]
    try:
        done = subprocess.run(mount, capture_output=True, text=True)
    except FileNotFoundError:
        pytest.skip("no mount command")
    if done.returncode:
        pytest.skip(f"no file system may be mounted: {done.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


@contextmanager
def read_only(disk: Path) -> Iterator[None]:
    """While it is open nothing may be written to that small disk, by root either."""
    _remount(disk, "ro")
    try:
        yield
    finally:
        _remount(disk, "rw")


def _remount(disk: Path, how: str) -> None:
    subprocess.run(["mount", "-o", f"remount,{how}", str(disk)], check=True, capture_output=True)


def fill(disk: Path) -> Path:
    """Write until the disk takes no more, not a byte; the file that fills it."""
    filler = disk / "filler"
    with open(os.open(filler, os.O_WRONLY | os.O_CREAT), "wb", buffering=0) as file:
        for size in (65536, 4096, 512, 1):
            while True:
                try:
                    if file.write(bytes(size)) < size:
                        break
                except OSError as err:
                    assert err.errno == errno.ENOSPC, err
                    break
    return filler
