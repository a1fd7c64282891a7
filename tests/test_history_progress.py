"""Looking back, planning, comparing and the club's table: checked against statistics and scheduling libraries' own figures."""

from __future__ import annotations

import random
import shlex
import subprocess
import sys
import warnings
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from history_samples import START, interview, practised, rehearsal

from coach.history.club import look_at_club
from coach.history.club_page import render_club_csv
from coach.history.compare import compare_sessions
from coach.history.model import Session
from coach.history.plan import MAX_LINES, make_plan
from coach.history.progress import look_back
from coach.history.schedule import LONGEST_DAYS, schedule
from coach.history.sentences import plan_lines, told_lines, topic_line
from coach.history.trend import MIN_POINTS, fit_trend

HOCKS, KEEL, COMB = "legs.hocks", "breast.keel", "head.comb_type"


def day(n: float) -> datetime:
    return START + timedelta(days=n)


def days_of(missed: dict[int, list[str]], n: int) -> list[Session]:
    """A rehearsal a day for n days; what was missed on which day."""
    return [rehearsal(day(d), missed=missed.get(d, [])) for d in range(n)]


@pytest.mark.parametrize("seed", range(40))
def test_slope_and_interval_agree_with_scipy(seed: int) -> None:
    """The same slope and 95 % interval as scipy.stats.theilslopes, with and without ties."""
    stats = pytest.importorskip("scipy.stats")
    chance = random.Random(seed)
    n = chance.randint(MIN_POINTS, 40)
    values = [round(chance.gauss(60 + chance.uniform(-2, 2) * i, 12), chance.choice((0, 1, 6))) for i in range(n)]
    expected = stats.theilslopes(values, range(n), alpha=0.95)
    trend = fit_trend(values)
    assert trend is not None
    assert (trend.slope, trend.low, trend.high) == pytest.approx((expected[0], expected[2], expected[3]), abs=1e-9)
    assert trend.start == pytest.approx(expected[1])


def test_the_interval_of_sens_own_kind_of_sample() -> None:
    """Equal values have no slope and no width; a straight line has its own slope with no width."""
    flat, line = fit_trend([7.0] * 9), fit_trend([2.0 * i for i in range(9)])
    assert flat is not None and (flat.slope, flat.low, flat.high, flat.direction) == (0, 0, 0, 0)
    assert line is not None and (line.slope, line.low, line.high, line.direction) == (2, 2, 2, 1)


def test_no_trend_under_five_points() -> None:
    """Four rehearsals, however steep, are told as too few; five rising ones are a trend."""
    assert fit_trend([10.0, 40.0, 70.0, 100.0]) is None
    progress = look_back("Robin", practised(4))
    assert "Too few to speak of a trend: 3 rehearsals, 5 are needed." in told_lines(progress)
    five = fit_trend([10.0, 20.0, 30.0, 40.0, 50.0])
    assert five is not None and five.direction == 1


def test_one_odd_day_moves_the_slope_little() -> None:
    """A rehearsal that broke off does not turn a rise into a fall, as it does the least-squares slope."""
    values = [50.0, 54.0, 58.0, 62.0, 66.0, 70.0, 74.0, 0.0]
    trend = fit_trend(values)
    middle = (len(values) - 1) / 2
    least_squares = sum((i - middle) * v for i, v in enumerate(values))
    assert trend is not None and trend.slope == 4.0 and least_squares < 0


def test_missed_again_and_again() -> None:
    """What was missed in half or more of the last times, most missed first; once is not again and again."""
    sessions = days_of({d: [HOCKS, *([KEEL] if d % 2 else [])] for d in range(6)} | {2: [HOCKS, COMB]}, 6)
    progress = look_back("Robin", sessions)
    assert [(h.latest.item, h.recent.count(False)) for h in progress.missed_again] == [(HOCKS, 6), (KEEL, 3)]


def test_mended_is_said_twice_after_two_misses() -> None:
    """Two misses, then twice said, is mended; said once is not yet, and long ago is no news."""
    missed = {0: [HOCKS, KEEL, COMB], 1: [HOCKS, COMB], 2: [], 4: [KEEL]}
    mended = [h.latest.item for h in look_back("Robin", days_of(missed, 6)).mended]
    assert set(mended) == {HOCKS, COMB}
    assert look_back("Robin", days_of(missed, 12)).mended == ()


def test_unsure_is_no_evidence() -> None:
    """What the listener could not decide is neither missed nor said, and its share is told."""
    sessions = [rehearsal(day(d), unsure=[HOCKS]) for d in range(4)]
    progress = look_back("Robin", sessions)
    assert progress.missed_again == () and progress.mended == ()
    assert progress.unsure_percent == pytest.approx(100 / len(sessions[0].asked))
    assert all(turn.latest.item != HOCKS for turn in schedule(sessions, day(5)))


def test_a_drill_does_not_count_as_a_rehearsal() -> None:
    """Saying only the wings changes neither the share told nor its trend, but counts for its items and times."""
    drill = rehearsal(day(9), only=["wings"], missed=["wings.axial"])
    progress = look_back("Robin", [*days_of({}, 3), drill])
    assert (progress.n_rehearsals, progress.n_drills) == (3, 1)
    assert progress.told.values == (100.0, 100.0, 100.0)
    assert {r.region: r.n for r in progress.regions}["wings"] == 4


def test_facts_belong_to_their_breed() -> None:
    """The comb type of one breed says nothing of another's; the hocks are the same on any bird."""
    sessions = [rehearsal(day(0), missed=[COMB, HOCKS]), rehearsal(day(1), card="silkie-white", bird="cotton")]
    missed = {(t.latest.item, t.was_missed) for t in schedule(sessions, day(2)) if t.latest.item in (COMB, HOCKS)}
    assert missed == {(COMB, True), (COMB, False), (HOCKS, False)}


def test_region_spread() -> None:
    """Median and quartiles by the usual definition (statistics.quantiles, inclusive), with the number of visits."""
    sessions = [rehearsal(day(n), region_s=s) for n, s in enumerate((4.0, 6.0, 8.0, 10.0, 30.0))]
    tail = next(r for r in look_back("Robin", sessions).regions if r.region == "neck")  # third place: no second more
    assert (tail.low_s, tail.median_s, tail.high_s, tail.n) == (6.0, 8.0, 10.0, 5)


def test_topics_tell_what_is_behind_them() -> None:
    """The weakest topic first, with its answers and interviews."""
    progress = look_back("Robin", [interview(day(0), [0.5, 1.0, 1.0, 1.0, 0.25]), interview(day(1), [0.0])])
    assert topic_line(progress.topics[0]) == "Feeding: 25 % of what was asked (3 answers in 2 interviews)."


def test_intervals_are_the_schedulers_published_ones() -> None:
    """The library gives the intervals of its own published example (py-fsrs 6, tests/test_basic.py, test_review_card)."""
    from fsrs import Card, Rating, Scheduler

    scheduler, card = Scheduler(enable_fuzzing=False), Card(card_id=1)
    when, days = datetime(2022, 11, 29, 12, 30, tzinfo=timezone.utc), []
    for rating in [Rating.Good] * 6 + [Rating.Again] * 2 + [Rating.Good] * 5:
        card, _ = scheduler.review_card(card, rating, when)
        days.append((card.due - card.last_review).days)
        when = card.due
    published = [0, 2, 11, 46, 163, 497, 0, 0, 2, 4, 7, 12, 20]
    assert days == pytest.approx(published, abs=1)  # a day of rounding between releases


def test_our_schedule_follows_the_published_model() -> None:
    """First intervals are the model's first stabilities in days (FSRS 6 weights w0 0.212 and w2 2.3065), never under one."""
    turns = {t.latest.item: t for t in schedule([rehearsal(day(0), missed=[HOCKS])], day(0))}
    assert (turns[HOCKS].due - day(0)).days == max(1, round(0.212))
    assert (turns[KEEL].due - day(0)).days == round(2.3065)


def test_what_is_said_rests_longer_and_longer() -> None:
    """Intervals grow while an item is said when it is due, shrink to a day after a miss, and end at a month."""
    sessions, intervals = [], []
    when = day(0)
    for _ in range(8):
        sessions.append(rehearsal(when))
        due = next(t.due for t in schedule(sessions, when) if t.latest.item == HOCKS)
        intervals.append((due - when).days)
        when = due
    assert intervals == sorted(intervals) and intervals[0] < intervals[3] and intervals[-1] == LONGEST_DAYS
    sessions.append(rehearsal(when, missed=[HOCKS]))
    missed = next(t for t in schedule(sessions, when) if t.latest.item == HOCKS)
    assert (missed.due - when).days < intervals[2] and missed.was_missed


def test_a_slip_put_right_comes_back_sooner() -> None:
    """Put right at once counts as said, but its turn comes before that of what was said at once."""
    turns = {t.latest.item: t for t in schedule([rehearsal(day(0), mended=[HOCKS])], day(0))}
    assert turns[HOCKS].due < turns[KEEL].due and not turns[HOCKS].was_missed


def test_the_plan_starts_with_what_was_missed() -> None:
    """Missed lines first, with why; the drill goes to their regions; the whole rehearsal at the end."""
    plan = make_plan(days_of({1: [HOCKS, "legs.shanks"], 2: [HOCKS, "wings.axial"]}, 3), day(2))
    assert [(line.title, line.why) for line in plan.lines[:2]] == [
        ("hocks", "missed 2 of 3 times"),
        ("axial feather", "missed last time"),
    ]
    assert plan.lines[0].say == "This joint is the hock."
    assert plan.drill is not None and plan.drill.regions == ("wings", "legs")
    assert plan.whole_s == 88.0


def test_the_plan_tells_birds_apart() -> None:
    """With two birds a fact names its bird; what is the same on any bird does not."""
    sessions = [rehearsal(day(0), missed=[COMB, HOCKS]), rehearsal(day(1), card="silkie-white", bird="cotton")]
    titles = [line.title for line in make_plan(sessions, day(9)).lines]
    assert titles[0] == "comb type (for Juniper)" and "(for" not in "".join(t for t in titles if "hock" in t)
    assert make_plan(sessions[:1], day(1)).lines[0].title == "comb type"


@pytest.mark.parametrize("minutes", [1, 3, 10, 60])
def test_the_plan_fits_the_time(minutes: float) -> None:
    """Lines, drill and rehearsal together take no longer than there is, but for the one line that is always given."""
    plan = make_plan(practised(12), day(400), minutes)
    total_s = sum(line.seconds for line in plan.lines) + (plan.drill.seconds if plan.drill else 0) + (plan.whole_s or 0)
    assert 1 <= len(plan.lines) <= MAX_LINES
    assert total_s <= 60 * minutes or len(plan.lines) == 1


def test_a_plan_with_nothing_to_do() -> None:
    """All said today: nothing is due, and the day of the next turn is known; without rehearsals there is no plan."""
    plan = make_plan([rehearsal(day(0))], day(0))
    assert plan.lines == () and plan.next_due == day(2)
    assert make_plan([interview()], day(0)).n_rehearsals == 0


def test_weak_topics_are_named() -> None:
    """A topic answered badly three times is named for another day, once is not."""
    sessions = [interview(day(n), [0.2, 0.9]) for n in range(3)]
    assert make_plan(sessions, day(4)).weak_topics == ("feeding",)
    assert make_plan(sessions[:1], day(4)).weak_topics == ()


def test_a_command_that_is_named_can_be_typed() -> None:
    """A topic of two words stays one argument: a shell's own rules (shlex) give the topics back."""
    plan = replace(make_plan([], day(0)), weak_topics=("my card", "eggs"))
    line = next(one for one in plan_lines(plan) if "coach interview" in one)
    assert shlex.split(line.partition(": ")[2]) == ["coach", "interview", "--topics", "my card,eggs"]


def test_the_schedulers_own_words_never_show() -> None:
    """Neither the library nor its labels are named to a member."""
    from coach.history.page import render_progress_page
    from coach.history.terminal import render_plan

    sessions = practised(12)
    plan = make_plan(sessions, day(90))
    shown = render_plan(plan, width=100, color=False) + render_progress_page(look_back("Robin", sessions), plan)
    assert not any(word in shown.lower() for word in ("fsrs", "retriev", "stability", "flash", "hard", "easy"))


def test_compare() -> None:
    """Mended, slipped anew, still missed, unsure, and the seconds in each region."""
    before = rehearsal(day(0), missed=[HOCKS, KEEL], unsure=["tail.coverts"], region_s=8)
    after = rehearsal(day(1), missed=[KEEL, COMB], region_s=10, only=())
    found = compare_sessions(before, after)
    assert [[i.item for i in items] for items in (found.mended, found.slipped, found.still)] == [[HOCKS], [COMB], [KEEL]]
    assert (found.n_unclear, found.n_single, found.is_same_bird) == (1, 0, True)
    assert {(r.after_s or 0) - (r.before_s or 0) for r in found.regions} == {2.0}


def test_comparing_a_drill_leaves_the_rest_out() -> None:
    """Regions that only one of the two went through are no slips."""
    found = compare_sessions(rehearsal(day(0)), rehearsal(day(1), only=["wings"], missed=["wings.axial"]))
    assert [i.item for i in found.slipped] == ["wings.axial"] and found.mended == ()
    assert found.n_single > 30 and found.regions[-1].after_s is None


def club_of(**members: list[Session]):  # type: ignore[no-untyped-def]
    counts = {name: (len(s), len(s)) for name, s in members.items()}
    return look_at_club(members, counts, day(0))


def test_readiness_goes_by_the_middle_of_three() -> None:
    """One bad day does not unmake a senior; two rehearsals are too few; bad answers hold a level back."""
    good, bad = rehearsal(day(0)), rehearsal(day(1), missed=[i.item for i in rehearsal().asked[:30]])
    poor_answers = interview(day(2), [0.2] * 5, level="senior")
    club = club_of(
        steady=[good, bad, good],
        new=[good, good],
        shy=[bad, good, bad],
        answers=[good, good, good, poor_answers],
    )
    assert {r.name: r.ready for r in club.rows} == {"steady": "senior", "new": None, "shy": None, "answers": "intermediate"}


def test_common_weaknesses() -> None:
    """Items that two or more missed in their latest rehearsal; older ones and the birds' own faults do not count."""
    a = [rehearsal(day(0), missed=[COMB]), rehearsal(day(1), missed=[HOCKS, KEEL])]
    b = [rehearsal(day(0), missed=[HOCKS])]
    c = [rehearsal(day(0), unsure=[HOCKS])]
    assert [(w.item.item, w.n_missed, w.n_asked) for w in club_of(a=a, b=b, c=c).weak] == [(HOCKS, 2, 2)]


def test_a_spreadsheet_runs_no_name() -> None:
    """A name that a spreadsheet would take for a formula is made plain text (OWASP, CSV Injection)."""
    text = render_club_csv(club_of(**{"=1+1": [rehearsal()]}))
    assert text.splitlines()[1].startswith("'=1+1,1,1,2026-03-02,100.0,1,,0,")


@pytest.mark.parametrize("width", [40, 80, 160])
def test_terminal_lines_fit(width: int) -> None:
    """No line of any view is wider than the terminal, from a narrow one to a wide one."""
    from rich.cells import cell_len

    from coach.history.terminal import render_club, render_comparison, render_plan, render_progress

    sessions = practised(14)
    rehearsals = [s for s in sessions if s.items]
    views = (
        render_progress(look_back("Robin", sessions), width=width, color=False),
        render_plan(make_plan(sessions, day(60)), width=width, color=False),
        render_comparison(compare_sessions(rehearsals[-2], rehearsals[-1]), width=width, color=False),
        render_club(club_of(Robin=sessions, Wren=sessions[:3]), width=width, color=False),
    )
    assert max(cell_len(line) for view in views for line in view.splitlines()) <= width


def test_nothing_practised_is_shown_too() -> None:
    """A member with no session in the time asked for gets a sentence, not an error."""
    from coach.history.page import render_progress_page
    from coach.history.terminal import render_progress

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        progress = look_back("Robin", [])
        assert "Nothing was practised in this time." in render_progress(progress, width=80, color=False)
        assert "Nothing was practised in this time." in render_progress_page(progress)


def test_drawing_a_chart_leaves_python_able_to_find_packages() -> None:
    """The chart library's own import hooks neither warn later nor take away the search for installed packages."""
    program = (
        "import importlib.metadata, sys, warnings\n"
        "warnings.simplefilter('error')\n"
        "sys.path.insert(0, 'tests')\n"
        "from history_samples import practised\n"
        "from coach.history.page import render_progress_page\n"
        "from coach.history.progress import look_back\n"
        "assert '<svg' in render_progress_page(look_back('Robin', practised(12)))\n"
        "import colorsys\n"
        "print(importlib.metadata.version('pygal'))\n"
    )
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=Path(__file__).parent.parent)
    assert (ran.returncode, ran.stderr) == (0, "") and ran.stdout[0].isdigit()
