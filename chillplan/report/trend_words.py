"""How the chill of winters changes, in words."""

from __future__ import annotations

import math

from chillplan.advice.outlook import percentiles_of
from chillplan.report.contract import RECENT
from chillplan.seasons.summary import Winters
from chillplan.seasons.trend import trend

__all__ = ["trend_words"]

SMALLEST = 0.01  # probability below which no figure is told


def trend_words(winters: Winters) -> str:
    """Trend of the chill, and the last winters beside the whole record."""
    change = trend(winters.effective_chill, winters.years.astype(float))
    if not math.isfinite(change.per_decade):
        said = "Too few winters for a trend"
    else:
        clear = "a clear trend" if change.clear else "not told from chance"
        chance = "p < 0.01" if change.probability < SMALLEST else f"p = {change.probability:.2f}"
        said = f"Effective chill changes by {change.per_decade:+.1f} days a decade ({clear}, {chance})"
    latest = winters.latest(RECENT)
    middle = percentiles_of(latest.effective_chill)[1]
    return (
        f"{said}; the last {latest.years.size} winters have {middle:.0f} in the middle. "
        f"Verdicts rest on all {winters.years.size} winters used."
    )
