"""Promises that the present reader does not keep yet stand in known_misses.txt, one test a line: each must fail, or go."""

from __future__ import annotations

from pathlib import Path

import pytest

MISSES = Path(__file__).with_name("known_misses.txt")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the known misses as expected to fail, strictly: one that passes is told, and its line goes."""
    known = {line for line in MISSES.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")}
    for item in items:
        if item.nodeid.removeprefix("tests/") in known:
            item.add_marker(pytest.mark.xfail(reason="the reader does not keep this promise yet", strict=True))
