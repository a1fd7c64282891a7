"""A level as a bar of blocks, for every screen that shows one. Pure."""

from __future__ import annotations

__all__ = ["LEAST_DBFS", "bar"]

LEAST_DBFS = -60.0  # an empty bar; a full one is 0 dBFS


def bar(level_dbfs: float, width: int, full: str = "#", empty: str = ".") -> tuple[str, str]:
    """The lit and the dark part, together so many characters wide.

    Doctest:
        >>> bar(-15.0, 8)
        ('######', '..')
    """
    lit = round(width * max(0.0, min(1.0, 1 - level_dbfs / LEAST_DBFS)))
    return full * lit, empty * (width - lit)
