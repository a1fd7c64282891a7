"""`coach sheet`: one printable page for your bird, head to tail: what to name, check and say, its facts and own faults."""

from __future__ import annotations

import argparse
from pathlib import Path

from coach.cli.asking import check_outputs
from coach.knowledge.model import LEVELS
from coach.sheet.page import PAPERS

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("sheet", help="a printable study sheet for your bird", description=__doc__)
    parser.add_argument("--bird", required=True, metavar="FILE", help="the member's bird (bird/1 YAML)")
    parser.add_argument("--card", metavar="ID|FILE", help="breed card in place of the bird's own")
    parser.add_argument("--route", metavar="ID|FILE", help="the order of regions (default: that of the bird's species)")
    parser.add_argument("--level", choices=LEVELS, default=LEVELS[-1], help="how much stands on it (default: senior, all)")
    parser.add_argument("--large", action="store_true", help="few words in large type, to read from the table")
    parser.add_argument("--paper", choices=PAPERS, help="fix the paper's size (default: as the printer has it)")
    parser.add_argument("--out", metavar="FILE.html", help="where the page goes (default: sheet-NAME.html here)")
    parser.add_argument("--pdf", metavar="FILE.pdf", help="write a PDF too, where a browser or converter is present")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the page, and the PDF when asked for."""
    from coach.report.files import write_whole
    from coach.review import load_subject
    from coach.sheet.content import study_sheet
    from coach.sheet.page import render_sheet
    from coach.sheet.pdf import write_pdf

    subject = load_subject(args.bird, args.card, args.route)
    outputs = [path for path in (args.out, args.pdf) if path] or [f"sheet-{subject.bird.id}.html"]
    page_file = args.out if args.out or args.pdf else outputs[0]
    check_outputs(outputs, (args.bird, args.card, args.route))
    sheet = study_sheet(subject.bird, subject.card, subject.route, args.level)
    if page_file:
        write_whole(render_sheet(sheet, large=args.large, paper=args.paper), Path(page_file))
        print(f"{page_file}: the sheet; open it in a browser and print it")
    if args.pdf:
        write_pdf(render_sheet(sheet, large=args.large, paper=args.paper or PAPERS[0]), Path(args.pdf))
        print(f"{args.pdf}: the sheet as PDF")
    return 0
