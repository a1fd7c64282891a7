"""What every report on the terminal is made of: plain text, headings, lists, columns, and printing them into lines. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from io import StringIO

from rich.console import Console, JustifyMethod, RenderableType
from rich.constrain import Constrain
from rich.table import Table
from rich.text import Text

__all__ = ["bullets", "grid", "heading", "narrowed", "plain_text", "render_parts"]

TEXT_WIDTH = 100  # sentences longer than this are hard to follow, however wide the terminal
GAP = 2  # cells between columns


def render_parts(parts: Iterable[RenderableType], *, width: int, color: bool) -> str:
    """The parts as lines no wider than width, ending in a newline; without color no escape codes."""
    out = StringIO()
    console = Console(
        file=out,
        width=width,
        height=25,  # with width set too, rich never asks the terminal
        force_terminal=color,
        no_color=not color,
        color_system="standard" if color else None,
        legacy_windows=False,
        highlight=False,
        emoji=False,
        markup=False,
    )
    for part in parts:
        console.print(part)
    return "".join(f"{line.rstrip()}\n" for line in out.getvalue().splitlines())


def plain_text(text: str, style: str = "") -> Text:
    """Text that cannot steer the terminal: control characters become spaces."""
    return Text("".join(c if c.isprintable() or c == "\n" else " " for c in text), style=style, overflow="fold")


def heading(title: str) -> Iterator[RenderableType]:
    """An empty line, the title, a line under it."""
    yield Text()
    yield plain_text(title, "bold")
    yield plain_text("─" * len(title), "dim")


def bullets(lines: Iterable[str]) -> RenderableType:
    """A list: later rows of a wrapped line stand under its first."""
    table = grid("left")
    for line in lines:
        table.add_row(plain_text("-", "dim"), plain_text(line))
    return narrowed(table)


def grid(*columns: JustifyMethod) -> Table:
    """A table without lines: the named columns keep their width, one more takes what is left."""
    table = Table.grid(padding=(0, GAP, 0, 0), expand=True)
    for justify in columns:
        table.add_column(justify=justify, no_wrap=justify == "right", overflow="fold")
    table.add_column(overflow="fold", ratio=1)
    return table


def narrowed(part: RenderableType) -> RenderableType:
    """The part no wider than sentences may be."""
    return Constrain(part, TEXT_WIDTH)
