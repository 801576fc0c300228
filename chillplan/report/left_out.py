"""Seasons that were not used, runs of them with the same reason told as one."""

from __future__ import annotations

from chillplan.report.contract import season_label
from chillplan.seasons.cut import Seasons

__all__ = ["guessed_water_line", "left_out_lines"]


def guessed_water_line(seasons: Seasons) -> str | None:
    """Tell of the days whose precipitation is a guess; None where there are none.

    Parameters
    ----------
    seasons : Seasons
    """
    guessed = seasons.guessed_water
    if not guessed:
        return None
    worst = max(guessed, key=lambda year: guessed[year])
    return (
        f"Precipitation is missing on {sum(guessed.values())} days of {len(guessed)} winters, most in "
        f"{season_label(worst)} ({guessed[worst]} days): guessed there from the daily range of temperature, scaled to "
        "this record, and with it the snow."
    )


def left_out_lines(seasons: Seasons) -> list[str]:
    """``1970/71 to 1982/83, 365 of 365 days missing``: a line a run.

    Parameters
    ----------
    seasons : Seasons
    """
    runs: list[tuple[int, int, str]] = []
    for year, why in sorted(seasons.left_out.items()):
        if runs and runs[-1][1] == year - 1 and runs[-1][2] == why:
            runs[-1] = (runs[-1][0], year, why)
        else:
            runs.append((year, year, why))
    return [
        f"{season_label(first)}{f' to {season_label(last)}' if last > first else ''}, {why}"
        for first, last, why in runs
    ]
