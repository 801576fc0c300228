"""Pictures of frost: its windows, and the race between the warming soil and the last frost."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.outlook import percentiles_of
from chillplan.advice.result import Plan
from chillplan.report.look import (
    INK,
    NARROW_MONTHS,
    QUIET,
    Colour,
    Json,
    Picture,
    axis,
    base_layout,
    label,
    line,
    mark,
    month_axis,
    trace,
    when,
)
from chillplan.report.reader import Reader
from chillplan.seasons.cut import DAYS, season_label

__all__ = ["frost_picture", "soil_picture"]

FloatArray = NDArray[np.floating]
COLDER = " or colder"  # left out on a narrow screen
LANES = 5  # dots of single winters are spread over so many lanes, so that equal dates stay apart


@dataclass(frozen=True)
class Row:
    """One line of dates: a name, a day index a winter, a colour and a symbol."""

    name: str
    days: FloatArray
    colour: str
    symbol: str
    none: str


def frost_picture(plan: Plan, reader: Reader, kind: str = "observed") -> Picture:
    """First and last frosts at three thresholds, every winter a dot; the air is ``observed`` or ``invented``."""
    rows = []
    for limit, days in plan.winters.first_autumn_frost.items():
        name = f"first autumn frost, {reader.units.temperature(limit)}{COLDER}"
        rows.append(Row(name, days, Colour.BLUE, "triangle-down", "no frost"))
    for limit, days in plan.winters.last_spring_frost.items():
        name = f"last spring frost, {reader.units.temperature(limit)}{COLDER}"
        rows.append(Row(name, days, Colour.VERMILLION, "triangle-up", "no frost"))
    late = percentiles_of(plan.winters.last_spring_frost[0.0])
    early = percentiles_of(plan.winters.first_autumn_frost[0.0])
    return _rows_picture(
        plan,
        reader,
        rows,
        key="frost",
        title="When frost comes and goes",
        summary=(
            f"{_frost_words(plan, 'Last spring frost in the air', late[1], 'after', late[2], reader)} "
            f"{_frost_words(plan, 'First autumn frost', early[1], 'before', early[0], reader)}"
        ),
        note=(
            f"{kind.capitalize()} daily minima in the air moved to the site; days not {kind} are not counted. Bars: "
            "eight winters of ten. Large mark: the median. Small marks: single winters. At the ground it can freeze "
            "on nights when the air does not."
        ),
    )


def _frost_words(plan: Plan, what: str, median: float, side: str, rare: float, reader: Reader) -> str:
    """The median, and the date that one winter in ten goes beyond; a place that hardly has frost is said to be one."""
    if not math.isfinite(rare):
        return f"{what}: none in at least nine winters of ten."
    return f"{what}: median {_words(plan, median, reader)}, {side} {_words(plan, rare, reader)} in one winter of ten."


def _warming_words(plan: Plan, limit: str, dates: tuple[float, float, float], reader: Reader) -> str:
    low, middle, high = (_words(plan, day, reader, "never below", "never reached") for day in dates)
    if not all(map(math.isfinite, dates)):
        return f"The seed zone and {limit}: in a median season {middle}; one season in ten {low}, one {high}."
    return f"The seed zone reaches {limit} about {middle} in a median season, between {low} and {high} in eight of ten."


def soil_picture(plan: Plan, reader: Reader, kind: str = "observed") -> Picture:
    """When the seed zone warms, winter by winter, beside the last hard frost; air ``observed`` or ``invented``."""
    years = plan.winters.years
    warm, frost = plan.winters.soil_warm[10.0], plan.winters.last_spring_frost[-2.0]
    shown = np.concatenate([warm[np.isfinite(warm)], frost[np.isfinite(frost)]])
    limit, hard = reader.units.temperature(10), reader.units.temperature(-2)
    data = [
        _by_year(plan, years, frost, f"last frost of {hard}", Colour.BLUE, "diamond", "dot"),
        _by_year(plan, years, warm, f"seed zone reaches {limit}", "#8a5a00", "circle", "solid"),
    ]
    low, high = (shown.min() - 8, shown.max() + 8) if shown.size else (MARCH, JUNE)
    middle = percentiles_of(warm)
    both = np.isfinite(warm) & np.isfinite(frost)
    later = int((warm[both] < frost[both]).sum())
    layout = _soil_layout(plan, reader, (low, high), _soil_names(limit, hard, 1.0, 1.03))
    return Picture(
        key="soil",
        title="Warm soil and the last hard frost",
        summary=(
            _warming_words(plan, limit, middle, reader)
            + (f" A frost of {hard} came after that in {later} of {int(both.sum())} winters." if both.any() else "")
        ),
        data=data,
        layout=layout,
        compact={
            "annotations": _soil_names(limit, hard, 0.0, 1.1),
            "margin": {"l": 58, "r": 8, "t": 48, "b": 44},
            "xaxis.dtick": 10,
        },
        header=(
            "Winter",
            *(f"Seed zone {reader.units.temperature(t)}" for t in plan.winters.soil_warm),
            f"Last frost {hard}",
        ),
        rows=_soil_rows(plan, reader),
        note=reader.words(
            f"Modelled: first day on which the seed zone's mean of seven days reaches {limit}. {kind.capitalize()}: "
            f"last day with an air minimum of {hard} or lower. Dates are written in the season planned for."
        ),
    )


def _soil_layout(plan: Plan, reader: Reader, ends: tuple[float, float], names: list[Json]) -> Json:
    return base_layout(
        360,
        margin={"l": 64, "r": 16, "t": 30, "b": 44},
        xaxis=axis(title={"text": "winter beginning in", "standoff": 6}, dtick=5, tickformat="d"),
        yaxis=axis(
            type="date",
            range=[when(plan, end).isoformat() for end in ends],
            tickformat=reader.hover,
            nticks=6,
        ),
        annotations=names,
    )


def _soil_rows(plan: Plan, reader: Reader) -> list[tuple[str, ...]]:
    """Each winter's dates of warming, then its last hard frost."""
    warm, frost = plan.winters.soil_warm.values(), plan.winters.last_spring_frost[-2.0]
    return [
        (
            season_label(int(year)),
            *(_words(plan, days[index], reader, "never below", "never reached") for days in warm),
            _words(plan, frost[index], reader),
        )
        for index, year in enumerate(plan.winters.years)
    ]


def _soil_names(limit: str, hard: str, x: float, y: float) -> list[Json]:
    """The names of both lines above the picture; the second one moves on a narrow screen."""
    common: Json = {"xref": "paper", "yref": "paper", "yanchor": "bottom"}
    warm = label(0.0, 1.03, f"<b>●</b> seed zone reaches {limit}", xanchor="left", **common)
    frost = label(x, y, f"<b>◆</b> last frost of {hard}", xanchor="right" if x else "left", **common)
    warm["font"], frost["font"] = {"size": 13, "color": "#6b4500"}, {"size": 13, "color": "#00507d"}
    return [warm, frost]


MARCH, JUNE = 212, 304  # shown where no winter has a date [day]


def _words(plan: Plan, index: float, reader: Reader, early: str = "no frost", late: str = "no frost") -> str:
    if math.isfinite(index):
        return reader.short(when(plan, index))
    return early if index < 0 else late


def _by_year(
    plan: Plan, years: NDArray[np.int_], days: FloatArray, name: str, colour: str, symbol: str, dash: str
) -> Json:
    there = np.isfinite(days)
    return trace(
        years[there].tolist(),
        [when(plan, day).isoformat() for day in days[there]],
        "lines+markers",
        line=line(colour, 1, dash),
        marker=mark(colour, 8, symbol, line("#ffffff", 1)),
        name=name,
        hovertemplate="winter %{x}: %{y}<extra>%{fullData.name}</extra>",
    )


def _rows_picture(
    plan: Plan, reader: Reader, rows: list[Row], *, key: str, title: str, summary: str, note: str
) -> Picture:
    data: list[Json] = []
    notes: list[Json] = []
    narrow: list[Json] = []
    for number, row in enumerate(rows):
        place = len(rows) - 1 - number
        data += _row_traces(plan, row, place)
        notes += _row_labels(plan, row, place, reader)
        narrow += _row_labels(plan, row, place, reader, narrow=True)
    layout = base_layout(
        64 * len(rows) + 50,
        margin={"l": 8, "r": 8, "t": 6, "b": 32},
        xaxis=month_axis(plan, reader),
        yaxis=axis(range=[-0.5, len(rows) - 0.2], showticklabels=False, showgrid=False, ticks="", showline=False),
        annotations=notes,
    )
    table = [
        (row.name, *(_words(plan, day, reader) for day in percentiles_of(row.days)), f"{int(np.isinf(row.days).sum())}")
        for row in rows
    ]
    header = ("Frost", "1 winter in 10 before", "Median", "1 winter in 10 after", "Winters without")
    return Picture(key, title, summary, data, layout, header, table, note, {**NARROW_MONTHS, "annotations": narrow})


def _row_traces(plan: Plan, row: Row, place: int) -> list[Json]:
    there = row.days[np.isfinite(row.days)]
    if not there.size:
        return []
    low, middle, high = (float(np.clip(day, 0, DAYS - 1)) for day in percentiles_of(there))
    lanes = [place - 0.22 + 0.06 * (number % LANES) for number in range(there.size)]
    dots = {"color": QUIET, "size": 4, "symbol": "circle", "opacity": 0.7}
    return [
        trace(
            [when(plan, low).isoformat(), when(plan, high).isoformat()],
            [place, place],
            line=line(row.colour, 7),
            opacity=0.35,
            hoverinfo="skip",
        ),
        trace(
            [when(plan, day).isoformat() for day in there],
            [round(lane, 2) for lane in lanes],
            "markers",
            marker=dots,
            hovertemplate="%{x}<extra></extra>",
        ),
        trace(
            [when(plan, middle).isoformat()],
            [place],
            "markers",
            marker=mark(row.colour, 13, row.symbol, line("#ffffff", 1.5)),
            hovertemplate="median: %{x}<extra></extra>",
        ),
    ]


def _row_labels(plan: Plan, row: Row, place: int, reader: Reader, narrow: bool = False) -> list[Json]:
    """The row's name above it, and its three dates on the side where the bar is not."""
    without = int(np.isinf(row.days).sum())
    low, middle, high = percentiles_of(row.days)
    spring = row.symbol == "triangle-up"
    dates = f"{_words(plan, low, reader)} – <b>{_words(plan, middle, reader)}</b> – {_words(plan, high, reader)}"
    missing = f" · none in {without} of {row.days.size}{'' if narrow else ' winters'}" if without else ""
    words = f"{row.name.removesuffix(COLDER) if narrow else row.name}{missing}"
    side: Json = {"x": 0.0, "xanchor": "left"} if spring else {"x": 1.0, "xanchor": "right"}
    name = label(0.0, place + 0.42, words, xref="paper", xanchor="left", font={"size": 12, "color": QUIET})
    return [name, label(0, place, dates, yanchor="middle", xref="paper", font={"size": 13, "color": INK}) | side]
