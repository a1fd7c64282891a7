"""Score reviews against rehearsals whose truth is known: mistakes found, and blame without cause.

python -m bench.score FOLDER                    each CASE.ogg of FOLDER through the listener
python -m bench.score FOLDER --from-words       from the true words; tagged texts (see bench.cases) have nothing else
python -m bench.score FOLDER --from-heard       from what a listener once wrote: CASE.heard.words.json
python -m bench.score FOLDER --reports FOLDER2  reviews that are there already: CASE.report.json

FOLDER holds cases as bench.cases describes them (bench/rehearsals is one), or tagged texts. Of required items, F1 weighs
mistakes found (skipped, misnamed or wrong, whichever the report says) against alarms: blame for what was said. "exact" is the
share found with the right word for it, "soft" the share left unsure, "unsure" the same of all required items. "order": the
regions out of order were told exactly; "start": seconds between where a region began and where the report says so; "time": of
the time spent in regions the share put in the right one; "WER": wrong, missing and added words over true words.
"""

from __future__ import annotations

import argparse
import json
import re
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

from rapidfuzz.distance import Levenshtein

from bench.cases import Case, load_cases, tagged_texts, write_tagged
from coach.errors import CoachError
from coach.knowledge.routes import DEFAULT_ROUTE, load_route
from coach.report.json_file import to_dict
from coach.review import review

BLAMED = ("skipped", "misnamed", "wrong")
STEP_S = 0.1
COLUMNS = {  # figure: title
    "cases": "cases", "precision": "prec", "recall": "recall", "f1": "F1", "exact": "exact", "soft": "soft", "alarms": "alarms",
    "unsure": "unsure", "order": "order", "start_median": "st.med", "start_p90": "st.p90", "time": "time", "word_error": "WER",
    "real_time": "x real",
}  # fmt: skip
_HESITATIONS = re.compile(r"\b(?:um|uh|hmm|er|erm)\b")
_COMPOUNDS = re.compile(r"\b(under(?= color\b)|ear(?= lobes?\b)|breast(?= bone\b)|toe(?= nails\b)|bumble(?= foot\b)) ")


@dataclass(frozen=True, slots=True)
class Tally:
    """What was counted, over one case or several; figures() makes shares of it."""

    counts: Counter[str] = field(default_factory=Counter)
    starts_s: tuple[float, ...] = ()

    def __add__(self, other: Tally) -> Tally:
        return Tally(self.counts + other.counts, self.starts_s + other.starts_s)

    def figures(self) -> dict[str, float | None]:
        """The columns of the table; None where there is nothing to divide by. alarms: a rehearsal."""
        n, starts = self.counts, sorted(self.starts_s)
        precision, recall = _share(n["caught"], n["caught"] + n["alarms"]), _share(n["caught"], n["planted"])
        f1 = None if precision is None or recall is None else _share(2 * n["caught"], n["caught"] + n["alarms"] + n["planted"])
        return {
            "cases": n["cases"], "precision": precision, "recall": recall, "f1": f1,
            "exact": _share(n["exact"], n["planted"]), "soft": _share(n["soft"], n["planted"]),
            "alarms": _share(n["alarms"], n["cases"]), "unsure": _share(n["unsure"], n["asked"]),
            "order": _share(n["order"], n["cases"]), "start_median": median(starts) if starts else None,
            "start_p90": starts[min(len(starts) - 1, int(0.9 * len(starts)))] if starts else None,
            "time": _share(n["steps_right"], n["steps"]), "word_error": _share(n["word_errors"], n["words"]),
            "real_time": _share(n["wall_ms"], n["audio_ms"]) if n["wall_ms"] else None,
        }  # fmt: skip


def _share(part: float, whole: float) -> float | None:
    return part / whole if whole else None


@dataclass(frozen=True, slots=True)
class Result:
    """One case: its counts, by kind as well, and the items on which truth and report differ (id, true, reported)."""

    case: Case
    tally: Tally
    kinds: Mapping[str, Counter[str]]
    differences: tuple[tuple[str, str | None, str | None], ...]
    complaint: str = ""  # why there is no report


# --- one report against one truth -----------------------------------------------------------------------------------


def compare(truth: Mapping[str, Any], said: Iterable[str], report: Mapping[str, Any] | None) -> tuple[Tally, list[Any]]:
    """Counts of one case and the items on which truth and report differ; without a report every mistake is missed.

    Args:
        truth: of the format rehearsal-truth/1. said: the true words.
        report: of the format rehearsal-report/1.
    """
    true_words, steps = plain_words(said), list(_steps(truth))
    n = Counter(cases=1, audio_ms=round(1000 * truth["seconds"]), words=len(true_words), steps=len(steps))
    statuses = {i["id"]: i["status"] for i in report["items"]} if report else {}
    for item, true in truth["items"].items():
        status = statuses.get(item)
        n.update({"asked": 1, "unsure": status == "unsure"})
        if true == "said":
            n.update({"said": 1, "alarms": status in BLAMED})
        else:
            n.update({"planted": 1, "caught": status in BLAMED, "exact": status == true, "soft": status == "unsure"})
    differences = [(item, true, statuses.get(item)) for item, true in truth["items"].items() if statuses.get(item) != true]
    if report is None:
        return Tally(n + Counter(failed=1, word_errors=len(true_words))), differences
    for item in _never_asked(truth, report):
        n["alarms"] += 1
        differences.append((item, None, statuses[item]))
    visits = {r["id"]: [(v["start"], v["end"]) for v in r["visits"]] for r in report["regions"]}
    n["order"] = set(report["order"]["out_of_order"]) == set(truth["order"]["out_of_order"])
    n["steps_right"] = sum(_is_there(region, at, visits) for region, at in steps)
    n["word_errors"] = Levenshtein.distance(true_words, plain_words(w["text"] for w in report["words"]))
    began: dict[str, float] = {}
    for region in truth["regions"]:
        began.setdefault(region["id"], region["start"])
    starts = (abs(min(visits[r])[0] - at) for r, at in began.items() if visits.get(r))
    return Tally(n, tuple(starts)), differences


def _never_asked(truth: Mapping[str, Any], report: Mapping[str, Any]) -> Iterator[str]:
    """Blame for items of the usual route that this bird is not asked; of what a route asks beyond it a truth says nothing."""
    usual = {item.id for item in load_route(DEFAULT_ROUTE).items}
    for item in report["items"]:
        known = item["id"] in truth["items"] or item["id"] in truth["optional_items"]
        if item["id"] in usual and not known and item["required"] and item["status"] in BLAMED:
            yield item["id"]


def _steps(truth: Mapping[str, Any]) -> Iterator[tuple[str, float]]:
    """Points in time, STEP_S apart, at which something of a region is being said."""
    regions = {r["id"] for r in truth["regions"]}
    for sentence in truth["sentences"]:
        if sentence["region"] in regions:
            for n in range(int((sentence["end"] - sentence["start"]) / STEP_S)):
                yield sentence["region"], sentence["start"] + (n + 0.5) * STEP_S


def _is_there(region: str, at_s: float, visits: Mapping[str, Sequence[tuple[float, float]]]) -> bool:
    elsewhere = any(a < at_s < b for other, spans in visits.items() if other != region for a, b in spans)
    return any(a <= at_s <= b for a, b in visits.get(region, ())) and not elsewhere


def plain_words(words: Iterable[str]) -> list[str]:
    """Words to compare: small letters, no hesitations, compounds as one word."""
    text = " ".join(re.findall(r"[a-z]+(?:'[a-z]+)?", " ".join(words).lower().replace("-", " ")))
    return _COMPOUNDS.sub(r"\1", " ".join(_HESITATIONS.sub(" ", text).split())).split()


def by_kind(truth: Mapping[str, Any], report: Mapping[str, Any] | None) -> dict[str, Counter[str]]:
    """Counts by kind of item and of planted mistake."""
    kinds = {item.id: item.kind.value for item in load_route(DEFAULT_ROUTE).items}
    statuses = {i["id"]: i["status"] for i in report["items"]} if report else {}
    out: dict[str, Counter[str]] = {}
    for item, true in truth["items"].items():
        blamed, planted = statuses.get(item) in BLAMED, true != "said"
        kind = "fault" if item.startswith("faults.") else kinds.get(item, "other")
        for row in (kind, f"planted {true}") if planted else (kind,):
            count = {"planted": planted, "caught": planted and blamed, "said": not planted, "alarms": not planted and blamed}
            out.setdefault(row, Counter()).update(count)
    return out


# --- many cases -----------------------------------------------------------------------------------------------------


def score(cases: Sequence[Case], source: str = "sound", reports: Path | None = None) -> list[Result]:
    """Review every case and compare it with its truth.

    Args:
        source: "sound", "words" (the true ones) or "heard" (what a listener once wrote).
        reports: reviews that are there already, in place of new ones.
    """
    out = []
    for case in cases:
        began, report, complaint = time.monotonic(), None, ""
        try:
            report = _read_report(reports / f"{case.name}.report.json") if reports else _review(case, source)
        except CoachError as err:
            complaint = str(err)
        wall = Tally(Counter(wall_ms=0 if reports else round(1000 * (time.monotonic() - began))))
        tally, differences = compare(case.truth, case.said(), report)
        out.append(Result(case, tally + wall, by_kind(case.truth, report), tuple(differences), complaint))
    return out


def total(results: Iterable[Result]) -> Tally:
    """All cases together."""
    return sum((r.tally for r in results), Tally())


def _review(case: Case, source: str) -> Mapping[str, Any]:
    words = {"words": case.words, "heard": case.heard}.get(source)
    made = review(None if words else str(case.sound), case.subject(), words=str(words) if words else None)
    return to_dict(made.report)


def _read_report(path: Path) -> Mapping[str, Any]:
    try:
        report: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as err:
        raise CoachError(f"{path}: no report ({err})") from err
    return report


def table(results: Sequence[Result]) -> str:
    """The figures as text: all together, by effect, by voice, by kind."""
    rows = {"all": total(results)}
    for group in sorted({e for r in results for e in r.case.truth["effects"]}):
        rows[group] = total(r for r in results if group in r.case.truth["effects"])
    for voice in sorted({r.case.truth["voice"] for r in results}):
        rows[voice] = total(r for r in results if r.case.truth["voice"] == voice)
    lines = [f"{'':16}" + "".join(f"{title:>7}" for title in COLUMNS.values())]
    for name, tally in rows.items():
        figures = tally.figures()
        lines.append(f"{name:16}" + "".join(_cell(figures[column]) for column in COLUMNS))
    kinds = sum((Counter({(k, c): v for k, row in r.kinds.items() for c, v in row.items()}) for r in results), Counter())
    columns = ("planted", "caught", "said", "alarms")
    lines += ["", f"{'kind':18}" + "".join(f"{c:>8}" for c in columns)]
    lines += [f"{k:18}" + "".join(f"{kinds[k, c]:8d}" for c in columns) for k in sorted({k for k, _ in kinds})]
    return "\n".join([*lines, *(f"{r.case.name}: no report: {r.complaint}" for r in results if r.complaint)])


def _cell(figure: float | None) -> str:
    return f"{'-' if figure is None else figure if isinstance(figure, int) else format(figure, '.3f'):>7}"


def main() -> None:
    """Score a folder and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    source = parser.add_mutually_exclusive_group()
    for name in ("words", "heard"):
        source.add_argument(f"--from-{name}", dest="source", action="store_const", const=name, default="sound")
    source.add_argument("--reports", type=Path)
    parser.add_argument("--only", action="append", default=[], metavar="CASE", help="this case only; may be repeated")
    parser.add_argument("--differences", action="store_true", help="list the items on which truth and report differ")
    parser.add_argument("--json", type=Path, metavar="OUT", help="write the figures")
    args = parser.parse_args()
    try:
        with tempfile.TemporaryDirectory() as made:
            texts = [] if any(args.folder.glob("*.truth.json")) else tagged_texts(args.folder)
            for path in texts:
                write_tagged(path, Path(made))
            results = score(load_cases(Path(made) if texts else args.folder, args.only), args.source, args.reports)
    except (CoachError, OSError, ValueError, KeyError) as err:
        parser.exit(2, f"score: {err}\n")
    print(table(results))
    for r in results if args.differences else ():
        rows = (f"{item} {true or 'never asked'} -> {status}" for item, true, status in r.differences)
        print(f"{r.case.name}:", *rows, sep="\n  ")
    if args.json:
        figures = {"all": total(results).figures(), **{r.case.name: r.tally.figures() for r in results}}
        args.json.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
