"""`coach score`: score sheets for practice. List them, show one, copy one for your club, check your own.

`coach review --score SHEET` adds a sheet's points to a review. No show's own sheet is shipped; the judge decides.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from coach.cli.shipped import Kind, add_actions
from coach.knowledge.score_sheets import FORMAT, SheetLine, find_sheet, load_sheet, sheet_problems, shipped_sheets

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("score", help="practice score sheets: list, show, copy, check", description=__doc__)
    add_actions(parser, Kind("score", "score sheet", FORMAT, shipped_sheets, find_sheet, _describe, _show, sheet_problems))


def _describe(sheet_id: str) -> str:
    sheet = load_sheet(sheet_id)
    return f"{sheet.title} ({len(sheet.lines)} lines)"


def _show(args: argparse.Namespace) -> Iterator[str]:
    from coach.report.score_lines import CAUTION

    sheet = load_sheet(args.name)
    yield sheet.title
    if sheet.source:
        yield f"Source: {sheet.source}"
    for line in sheet.lines:
        title = line.title or "Every region"
        yield f"  {title:44} {line.points:g} points  {_looks_at(line)}"
    yield CAUTION


def _looks_at(line: SheetLine) -> str:
    if line.by_hand:
        return "filled in by hand"
    if line.measure:
        bounds = [f"at least {line.at_least:g}"] if line.at_least is not None else []
        bounds += [f"at most {line.at_most:g}"] if line.at_most is not None else []
        return f"{line.measure.replace('_', ' ')}, {', '.join(bounds)}"
    return "each" if line.each_region else ", ".join(line.regions or line.items)
