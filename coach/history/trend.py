"""A robust slope over sessions with its interval, or none when there are too few to say.

Source: Theil 1950; P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", Journal of the American
Statistical Association 63 (1968): the median of the slopes of all pairs, and an interval from Kendall's statistic.
One odd session moves it little, unlike a least-squares line.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["CONFIDENCE", "MIN_POINTS", "Trend", "fit_trend"]

CONFIDENCE = 0.95
# All n! orders of n values are equally likely without a trend; the two fully sorted ones are 2/4! = 8 % for n = 4 and
# 2/5! = 1.7 % for n = 5 (Kendall), so that fewer than five points cannot show a trend at 95 %.
MIN_POINTS = 5


@dataclass(frozen=True, slots=True)
class Trend:
    """slope, low and high are in the value's unit a session; start is the line's height at the first session."""

    slope: float
    low: float
    high: float
    start: float
    n: int

    @property
    def direction(self) -> int:
        """1 rising, -1 falling, 0 when the interval holds no change too."""
        return (self.low > 0) - (self.high < 0)


def fit_trend(values: Sequence[float], confidence: float = CONFIDENCE) -> Trend | None:
    """The trend of values in a row of sessions, equally spaced; None under MIN_POINTS. O(n^2) time and memory."""
    n = len(values)
    if n < MIN_POINTS:
        return None
    slopes = sorted((values[j] - values[i]) / (j - i) for i in range(n) for j in range(i + 1, n))
    slope = statistics.median(slopes)
    low, high = _interval(slopes, values, confidence)
    return Trend(slope, low, high, statistics.median(values) - slope * (n - 1) / 2, n)


def _interval(slopes: Sequence[float], values: Sequence[float], confidence: float) -> tuple[float, float]:
    """Ranks of the slopes at both ends: Sen's equation 2.6, the variance corrected for ties (Kendall)."""
    n = len(values)
    ties = sum(k * (k - 1) * (2 * k + 5) for k in Counter(values).values())
    spread = statistics.NormalDist().inv_cdf((1 + confidence) / 2)
    spread *= math.sqrt(max(0, n * (n - 1) * (2 * n + 5) - ties) / 18)
    below = max(round((len(slopes) - spread) / 2) - 1, 0)
    above = min(round((len(slopes) + spread) / 2), len(slopes) - 1)
    return slopes[below], slopes[above]
