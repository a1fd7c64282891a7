"""The words that the terminal and the pages share: numbers with what is behind them, for a twelve-year-old to read."""

from __future__ import annotations

from datetime import datetime
from shlex import quote as quoted

from coach.history.compare import Comparison, RegionTimes
from coach.history.model import ItemResult
from coach.history.plan import Plan
from coach.history.progress import ItemHistory, Progress, RegionSpread, Series, TopicResult
from coach.history.trend import CONFIDENCE, MIN_POINTS
from coach.judge.verdict import Status
from coach.report.phrases import STATUS_WORDS, join_words, length, quote, region_word, upper_first

__all__ = [
    "KEEP_IN_MIND",
    "METHOD",
    "comparison_head",
    "count",
    "day",
    "fillers_lines",
    "headline",
    "item_line",
    "mended_line",
    "missed_line",
    "pace_lines",
    "percent",
    "plan_head",
    "plan_lines",
    "region_line",
    "times_line",
    "told_lines",
    "topic_line",
]

LATELY = 3  # sessions whose middle one is shown as the state of things
METHOD = (
    f"A trend is named from {MIN_POINTS} sessions on. It is the middle slope of all pairs of sessions, with the range that "
    f"holds the true one {100 * CONFIDENCE:.0f} times in 100 (Theil 1950, Sen 1968); one odd day moves it little."
)
KEEP_IN_MIND = (
    "I can mishear: a leader's ear decides.",
    "Practice only: your show's own rules, the breed standard and the judge decide.",
)


def day(when: datetime) -> str:
    """A date in local time, "2 Mar 2026"."""
    local = when.astimezone()
    return f"{local.day} {local:%b %Y}"


def count(n: int, one: str, many: str | None = None) -> str:
    """ "1 rehearsal", "3 rehearsals"."""
    return f"{n} {one if n == 1 else many or one + 's'}"


def percent(share: float) -> str:
    """A share of 0..1 in whole percent; under 100 until it is all."""
    return f"{min(round(100 * share), 99 if share < 1 else 100)} %"


def headline(progress: Progress) -> str:
    """How much practice there was and when."""
    kinds = [
        count(progress.n_rehearsals, "whole rehearsal"),
        count(progress.n_drills, "drill"),
        count(progress.n_interviews, "interview"),
    ]
    shown = join_words([k for k in kinds if not k.startswith("0 ")])
    if progress.first is None or progress.last is None:
        return "Nothing was practised in this time."
    first, last = day(progress.first), day(progress.last)
    return f"{shown}, {f'on {first}' if first == last else f'from {first} to {last}'}."


def told_lines(progress: Progress) -> tuple[str, ...]:
    """How much is told lately, whether that changes, and how much the listener left open."""
    lines = [_lately(progress.told, "Told", "% of what there is to tell", "rehearsal")]
    lines += _trend(progress.told, "points", "rehearsal")
    if progress.unsure_percent:
        lines.append(
            f"I was unsure about {progress.unsure_percent:.0f} % of the items; they do not count as told, "
            "and nowhere below as missed."
        )
    return tuple(line for line in lines if line)


def pace_lines(progress: Progress) -> tuple[str, ...]:
    """Words a minute lately, and whether that changes; faster is not better."""
    lines = [_lately(progress.pace, "Pace", "words a minute", "rehearsal"), *_trend(progress.pace, "words", "rehearsal")]
    return tuple(line for line in lines if line)


def fillers_lines(progress: Progress) -> tuple[str, ...]:
    """Fillers a minute lately, and whether that changes."""
    lines = [
        _lately(progress.fillers, "Fillers such as “um”", "a minute", "rehearsal", 1),
        *_trend(progress.fillers, "a minute", "rehearsal"),
    ]
    return tuple(line for line in lines if line)


def missed_line(history: ItemHistory) -> str:
    """How often an item was missed among the last times, and what to say."""
    missed = history.recent.count(False)
    say = f" Say: “{history.latest.line}”" if history.latest.line else ""
    return f"{upper_first(history.latest.title)}: missed {missed} of the last {count(len(history.recent), 'time')}.{say}"


def mended_line(history: ItemHistory) -> str:
    """How an item was missed before and is said now."""
    return (
        f"{upper_first(history.latest.title)}: missed {count(history.n_missed, 'time')} before, "
        f"said the last {count(history.run_said, 'time')}."
    )


def region_line(spread: RegionSpread) -> str:
    """Usual seconds in a region; the middle half only where there are enough visits to speak of one."""
    name = upper_first(region_word(spread.title))
    if spread.n < LATELY:
        return f"{name}: {length(spread.median_s)} ({count(spread.n, 'visit')})."
    return f"{name}: usually {length(spread.median_s)}, half of them {_range(spread)} ({count(spread.n, 'visit')})."


def topic_line(topic: TopicResult) -> str:
    """How well a topic was answered."""
    behind = f"{count(topic.n, 'answer')} in {count(topic.n_interviews, 'interview')}"
    return f"{upper_first(topic.topic)}: {percent(topic.share)} of what was asked ({behind})."


def plan_head(plan: Plan) -> str:
    """What today's practice is, or why there is none."""
    if not plan.n_rehearsals:
        return "No rehearsal is kept yet, so there is nothing to go by. Rehearse once, then ask again."
    if not plan.lines:
        return "Nothing is due today: all of it was said lately."
    return f"Today, about {plan.minutes:g} minutes."


def plan_lines(plan: Plan) -> tuple[str, ...]:
    """What comes after the lines to say: the drill, the whole rehearsal, questions, what waits."""
    lines = []
    if plan.drill:
        names = ", ".join(region_word(t) for t in plan.drill.titles)
        lines.append(
            f"Then only {names}, twice: coach rehearse --bird YOUR-BIRD.yaml --only {','.join(plan.drill.regions)} "
            f"({_about(plan.drill.seconds)})"
        )
    if plan.whole_s is not None:
        lines.append(f"Then once from the start to the end ({_about(plan.whole_s)}).")
    if plan.weak_topics:
        topics = join_words(list(plan.weak_topics))
        lines.append(f"For another day, questions on {topics}: coach interview --topics {quoted(','.join(plan.weak_topics))}")
    if plan.n_waiting:
        lines.append(f"{count(plan.n_waiting, 'more line')} can wait until tomorrow.")
    if plan.next_due is not None and not plan.n_waiting:
        lines.append(f"The next line's turn comes on {day(plan.next_due)}.")
    return tuple(lines)


def comparison_head(comparison: Comparison) -> tuple[str, ...]:
    """Both rehearsals with what was told, and what stands between comparing them."""
    lines = []
    for name, session in (("Before", comparison.before), ("After", comparison.after)):
        pace = session.delivery.words_per_minute if session.delivery else None
        spoken = f", {round(pace)} words a minute" if pace else ""
        lasted = f", {length(session.seconds)}" if session.timed else ""
        number = f"session {session.number}, " if session.number else ""
        lines.append(
            f"{name}: {number}{day(session.when)}, {session.file or session.bird_name}: "
            f"told {session.n_told} of {len(session.asked)}{lasted}{spoken}."
        )
    if not comparison.is_same_bird:
        lines.append("They are about different birds, so some items differ for that reason.")
    if comparison.n_single:
        lines.append(f"{count(comparison.n_single, 'item')} asked for in only one of them left out.")
    if comparison.n_unclear:
        lines.append(f"{count(comparison.n_unclear, 'item')} left out where I was unsure.")
    return tuple(lines)


def item_line(item: ItemResult) -> str:
    """One item with what became of it in the later rehearsal."""
    heard = f", I heard {quote(item.heard)}" if item.heard and item.status is not Status.SAID else ""
    return f"{upper_first(item.title)} ({item.item}): {STATUS_WORDS[item.status]}{heard}"


def times_line(times: RegionTimes) -> tuple[str, str, str, str]:
    """Region, before, after, change."""
    change = ""
    if times.before_s is not None and times.after_s is not None:
        seconds = round(times.after_s - times.before_s)
        change = f"{seconds:+d} s".replace("-", "−") if seconds else "same"
    shown = ["-" if s is None else length(s) for s in (times.before_s, times.after_s)]
    return upper_first(region_word(times.title)), shown[0], shown[1], change


def _lately(series: Series, name: str, unit: str, session: str, digits: int = 0) -> str:
    """The middle of the last few, or all that there is."""
    values = series.values[-LATELY:]
    if not values:
        return ""
    middle = sorted(values)[len(values) // 2]
    if len(values) < LATELY:
        behind = f"the latest of {count(len(values), session)}"
        middle = values[-1]
    else:
        behind = f"the middle one of the last {LATELY} of {count(len(series.values), session)}"
    return f"{name}: {middle:.{digits}f} {unit} ({behind})."


def _trend(series: Series, unit: str, session: str) -> list[str]:
    trend, n = series.trend, len(series.values)
    if not n:
        return []
    if trend is None:
        return [f"Too few to speak of a trend: {count(n, session)}, {MIN_POINTS} are needed."]
    interval = f"between {_signed(trend.low)} and {_signed(trend.high)}; {count(n, session)}"
    if trend.direction == 0:
        return [f"No clear change ({unit} a {session}: {interval})."]
    word = "Rising" if trend.direction > 0 else "Falling"
    return [f"{word}: about {_signed(trend.slope)} {unit} a {session} ({interval})."]


def _signed(value: float) -> str:
    text = f"{value:+.1f}" if abs(value) >= 0.1 or value == 0 else f"{value:+.2f}"
    return text.replace("-", "−")


def _range(spread: RegionSpread) -> str:
    low, high = length(spread.low_s), length(spread.high_s)
    return f"near {low}" if low == high else f"from {low} to {high}"


def _about(seconds: float) -> str:
    return f"about {length(5 * max(1, round(seconds / 5)))}"
