"""The history's figures, printed, not judged: python -m bench.history [--members 200] [--sessions 100] [--kills 1000]

Fills a store with made-up members in a folder of its own, then times the commands as a user starts them, and lastly
kills writing processes with SIGKILL at random moments and looks whether anything that was committed is missing.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from history_samples import START, practised, rehearsal

from coach.history.database import connect
from coach.history.page import render_progress_page
from coach.history.plan import make_plan
from coach.history.progress import look_back
from coach.history.store import FILE, open_store

TIMES = 5
FRESH_EVERY = 10  # every tenth kill hits a store that is just being made
WAIT_EVERY = 3  # of three writers one is killed at any moment, two once they have committed something
LONGEST_S = 0.12  # until the kill


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, default in (("members", 200), ("sessions", 100), ("kills", 1000)):
        parser.add_argument(f"--{name}", type=int, default=default)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="coach-history-") as folder:
        os.environ["COACH_HOME"] = folder
        if args.members:
            fill(args.members, args.sessions)
            time_commands(Path(folder))
            time_parts()
        if args.kills:
            kill(Path(folder), args.kills)


def fill(n_members: int, n_sessions: int) -> None:
    """Members with sessions, and how long a session takes to write and how much room."""
    began = time.perf_counter()
    with open_store() as store:
        for n in range(n_members):
            store.add_all(practised(n_sessions, seed=n), f"member {n}")
        one = rehearsal(START + timedelta(days=900))
        before = time.perf_counter()
        store.add(one, "member 0")
        single_s = time.perf_counter() - before
    taken_s = time.perf_counter() - began
    count = n_members * n_sessions
    size = (Path(os.environ["COACH_HOME"]) / FILE).stat().st_size
    print(f"filled: {n_members} members x {n_sessions} sessions in {taken_s:.0f} s; one more {1000 * single_s:.0f} ms")
    print(f"size on disk: {size / 1e6:.1f} MB, {size / count:.0f} bytes a session")


def time_commands(folder: Path) -> None:
    """Whole commands, Python's start and all imports included."""
    commands = {
        "--version (start alone)": ["--version"],
        "progress --page": ["progress", "--member", "member 0", "--page", str(folder / "page.html")],
        "plan": ["plan", "--member", "member 0"],
        "compare": ["compare", "--member", "member 0"],
        "club": ["club"],
        "export": ["export", "--member", "member 0", str(folder / "out.json")],
    }
    for name, argv in commands.items():
        times, work = [], []
        for _ in range(TIMES):
            began, worked = time.perf_counter(), children_s()
            subprocess.run([sys.executable, "-m", "coach", *argv], check=True, stdout=subprocess.DEVNULL)
            times.append(time.perf_counter() - began)
            work.append(children_s() - worked)
        spread = f"{min(times):.2f} to {max(times):.2f}"
        print(f"coach {name:24} {statistics.median(times):5.2f} s (median of {TIMES}, {spread}), processor {min(work):.2f} s")


def children_s() -> float:
    """Processor seconds of all ended child processes: what a busy machine does not stretch as much."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def time_parts() -> None:
    """What the program itself takes once it is loaded."""
    times: dict[str, list[float]] = {"read a member": [], "progress page": [], "plan": []}
    for _ in range(TIMES):
        began = time.perf_counter()
        with open_store() as store:
            sessions = store.sessions("member 0")
        times["read a member"].append(time.perf_counter() - began)
        began = time.perf_counter()
        render_progress_page(look_back("member 0", sessions))
        times["progress page"].append(time.perf_counter() - began)
        began = time.perf_counter()
        make_plan(sessions, sessions[-1].when + timedelta(days=1))
        times["plan"].append(time.perf_counter() - began)
    for name, taken in times.items():
        print(f"loaded: {name:20} {1000 * statistics.median(taken):6.0f} ms (median of {TIMES})")


def kill(folder: Path, n_kills: int) -> None:
    """SIGKILL writers at random moments; whatever a writer told as committed must be there, and nothing may be half."""
    chance = random.Random(7)
    n_told = n_lost = n_half = n_unopened = 0
    whole = len(rehearsal().items)
    path = folder / "kills.sqlite"
    for n in range(n_kills):
        if n % FRESH_EVERY == 0:
            path = folder / f"kills-{n}.sqlite"
        told = write_and_die(path, f"member {n}", chance.uniform(0.002, LONGEST_S), waits=n % WAIT_EVERY > 0)
        n_told += len(told)
        try:
            with open_store(path) as store:
                kept = store.sessions(f"member {n}")
        except Exception as err:
            print(f"kill {n}: did not open: {err}")
            n_unopened += 1
            continue
        n_lost += len(told - {s.number for s in kept})
        n_half += sum(len(s.items) != whole or s.delivery is None for s in kept)
        with connect(path) as connection:
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
    print(f"{n_kills} kills: {n_told} sessions told as committed, {n_lost} lost, {n_half} half, {n_unopened} times not opened")


def write_and_die(path: Path, member: str, after_s: float, *, waits: bool) -> set[int]:
    """A writer (forked, so that it starts at once) killed after a while, if asked counted from its first commit.

    Returns the numbers it told as committed.
    """
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        with open_store(path) as store:
            for n in range(10_000):
                number, _ = store.add(rehearsal(START + timedelta(minutes=n)), member)
                os.write(write, f"{number}\n".encode())
        os._exit(0)
    os.close(write)
    first = os.read(read, 1) if waits else b""
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(read, "rb") as told:
        return {int(line) for line in (first + told.read()).split()}


if __name__ == "__main__":
    main()
