"""Watching a command from outside: every socket that it or a process it starts makes, in whatever library, and every packet.

Two watches at once. strace sees each call to the kernel, so a C library is seen as well as Python. A network namespace of the
command's own, whose only interface is a loopback to which all addresses of the internet lead, counts what is sent: a name
looked up, a greeting to some host, anything. A container may forbid namespaces; then the sockets tell alone, for nothing can
be sent without one.

What is not counted: sockets of the Unix kind (the sound system) and netlink (the kernel itself). Of the Unix kind those of
services that look up names for others are counted: nscd, systemd-resolved and Avahi, to which the C library turns where
/etc/nsswitch.conf says so. An answering nscd would look up users too, so that with one the watch cannot tell.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

__all__ = ["MUST", "Seen", "Watch", "needs_watch"]

MUST = "COACH_MUST_WATCH"  # set by .ci/run: there the tests fail in place of being skipped
_LOOPBACK = "ip link set lo up; ip route add local 0.0.0.0/0 dev lo; ip -6 route add local ::/0 dev lo 2>/dev/null"
_INSIDE = _LOOPBACK + '; out=$1; shift; "$@"; code=$?; cat /proc/self/net/dev >"$out"; exit $code'
_STRACE = ("strace", "-f", "-qq", "--seccomp-bpf", "-e", "trace=%network,io_uring_setup", "-e", "signal=none", "-s", "120")
_ALLOWED = ("AF_UNIX", "AF_NETLINK")
_RESOLVERS = re.compile(r'sun_path=@?"[^"]*(?:nscd|systemd/resolve|io\.systemd\.Resolve|avahi)[^"]*"')


@cache
def _works(*command: str) -> bool:
    if shutil.which(command[0]) is None:
        return False
    return subprocess.run(command, capture_output=True, timeout=60).returncode == 0


def _why_not() -> str:
    """Why nothing can be watched here, or nothing at all."""
    if not _works(*_STRACE, "-o", os.devnull, "true"):
        return "strace is not installed, or may not watch here (Debian: apt install strace)"
    if Path("/var/run/nscd/socket").exists():
        return "nscd runs here: names may be looked up through it unseen"
    return ""


def _namespace() -> tuple[str, ...]:
    """The command that gives a network of its own; () where that is forbidden or iproute2 is missing."""
    for command in (("unshare", "--net"), ("unshare", "--user", "--map-root-user", "--net")):
        if _works(*command, "sh", "-ec", _LOOPBACK.split(" 2>")[0]):
            return command
    return ()


needs_watch = pytest.mark.skipif(bool(_why_not()) and not os.environ.get(MUST), reason=_why_not())


@dataclass(frozen=True, slots=True)
class Seen:
    """Calls that made a socket or turned to a name service, and packets sent (None where they cannot be counted)."""

    calls: tuple[str, ...]
    packets: int | None

    @property
    def nothing(self) -> bool:
        """Whether the command kept to itself."""
        return not self.calls and not self.packets


class Watch:
    """Watches one command; folder is where it notes what it sees."""

    def __init__(self, folder: Path) -> None:
        """Nothing is begun yet."""
        self._calls, self._devices = folder / "calls", folder / "devices"
        self._network = _namespace()

    def around(self, command: Sequence[str]) -> list[str]:
        """The command to start in the place of the one to watch."""
        watched = [*_STRACE, "-o", str(self._calls), *command]
        return [*self._network, "sh", "-c", _INSIDE, "sh", str(self._devices), *watched] if self._network else watched

    def run(self, command: Sequence[str], env: Mapping[str, str]) -> subprocess.CompletedProcess[str]:
        """Run it to its end."""
        return subprocess.run(self.around(command), env=env, capture_output=True, text=True, timeout=300)

    def seen(self) -> Seen:
        """After the command has ended."""
        lines = self._calls.read_text(encoding="utf-8", errors="replace").splitlines()
        return Seen(tuple(line for line in lines if _is_network(line)), self._packets() if self._network else None)

    def _packets(self) -> int:
        """Packets sent over any interface of the command's own network."""
        rows = [line.split(":")[1].split() for line in self._devices.read_text().splitlines() if ":" in line]
        return sum(int(row[9]) for row in rows)


def _is_network(line: str) -> bool:
    if "io_uring_setup(" in line:  # through one of these sockets could be made unseen
        return "ENOSYS" not in line and "EPERM" not in line
    if " socket(" in line:
        return not any(f"socket({family}" in line for family in _ALLOWED)
    return bool(_RESOLVERS.search(line)) and "ENOENT" not in line and "ECONNREFUSED" not in line
