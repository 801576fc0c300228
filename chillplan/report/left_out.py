"""Seasons that were not used, runs of them with the same reason told as one."""

from __future__ import annotations

from chillplan.report.contract import season_label
from chillplan.seasons.cut import Seasons

__all__ = ["left_out_lines"]


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
