"""Picture of the seed zone through the year, with air and frost."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.result import Plan
from chillplan.report.look import (
    INK,
    NARROW_MONTHS,
    QUIET,
    Colour,
    Json,
    Picture,
    axis,
    band,
    base_layout,
    days_of,
    label,
    month_axis,
    plain,
    when,
)
from chillplan.report.reader import Reader
from chillplan.seasons.chill import CHILL_RANGE
from chillplan.seasons.cut import DAYS, SPIN_UP

__all__ = ["seed_zone_picture"]

FloatArray = NDArray[np.floating]


def seed_zone_picture(plan: Plan, reader: Reader, kind: str = "observed") -> Picture:
    """Seed zone, air and frost through the year; the air is ``observed`` or ``invented``."""
    index, dates = days_of(plan)
    zone = band(plan.ground.temperature)
    air = (plan.seasons.daily["tmin"][SPIN_UP:] + plan.seasons.daily["tmax"][SPIN_UP:]) / 2.0 + plan.warming
    mean_air = _smooth(np.median(air, axis=1))
    cold_night = _smooth(band(plan.ground.minimum)[0])
    frost = _smooth((plan.ground.minimum <= 0.0).mean(axis=1) * 100.0)
    low, middle, high = (_degrees(_smooth(part), reader) for part in zone)
    curves = {"air": _degrees(mean_air, reader), "night": _degrees(cold_night, reader)}
    data = _zone_traces(dates, index, (low, middle, high), curves, frost, reader)
    months = _month_rows(plan, reader, air)
    limits = [reader.degrees(edge) for edge in CHILL_RANGE]
    layout = base_layout(
        520,
        xaxis=month_axis(plan, reader) | {"anchor": "y2"},
        yaxis=axis(domain=[0.3, 1.0], title={"text": f"temperature, {reader.degree}", "standoff": 8}),
        yaxis2=axis(domain=[0.0, 0.2], range=[0, 100], ticksuffix=" %", nticks=3),
        shapes=[
            {
                "type": "rect",
                "xref": "paper",
                "x0": 0,
                "x1": 1,
                "y0": limits[0],
                "y1": limits[1],
                "fillcolor": "rgba(0,158,115,0.10)",
                "line": {"width": 0},
                "layer": "below",
            }
        ],
        annotations=_zone_labels(plan, (low, middle, high), curves, limits, reader),
    )
    return Picture(
        key="zone",
        title="The seed zone through the year",
        summary=(
            f"Median daily temperature at {reader.units.depth(plan.site.depth_cm, plan.site.depth_cm)} depth runs from "
            f"{min(middle):.0f} to {max(middle):.0f} {reader.degree}. "
            f"It lies between {limits[0]:.0f} and {limits[1]:.0f} {reader.degree}, where chill counts, on "
            f"{int(((zone[1] >= 0) & (zone[1] <= 10)).sum())} days of a median season."
        ),
        data=data,
        layout=layout,
        compact={
            **NARROW_MONTHS,
            "annotations": [
                {**note, "text": SHORTER.get(note["text"], note["text"])} for note in layout["annotations"]
            ],
        },
        header=("Month", f"Seed zone, {reader.degree}", f"Air, {reader.degree}", "Nights with frost"),
        rows=months,
        note=reader.words(
            f"Air: {'observed or filled as the record says' if kind == 'observed' else kind}. Seed zone and night "
            "temperature at seedling height: modelled. Shaded: eight winters of ten, smoothed over 15 days. Green "
            "band: 0 to 10 °C, where a moist day counts as a chill day."
        ),
    )


SHORTER = {
    "<b>seed zone</b> (shaded: 8 in 10 winters)": "<b>seed zone</b>",
    "air, daily mean (dashed)": "air (dashed)",
    "cold night at seedling height (dotted, 1 in 10)": "cold night (dotted)",
    "<b>nights with frost</b> at seedling height, share of winters": "<b>nights with frost</b>, share of winters",
}


def _degrees(values: FloatArray, reader: Reader) -> FloatArray:
    return np.asarray(values * 1.8 + 32.0 if reader.units.us else values)


def _smooth(values: FloatArray, run: int = 15) -> FloatArray:
    """Centred mean; the ends lean on the days there are."""
    weights = np.ones(run)
    return np.asarray(np.convolve(values, weights, "same") / np.convolve(np.ones(values.size), weights, "same"))


def _zone_traces(
    dates: list[str],
    index: NDArray[np.int_],
    zone: tuple[FloatArray, ...],
    curves: dict[str, FloatArray],
    frost: FloatArray,
    reader: Reader,
) -> list[Json]:
    hover = f"%{{x}}: %{{y:.1f}} {reader.degree}<extra>%{{fullData.name}}</extra>"
    common: Json = {"type": "scatter", "mode": "lines", "x": dates, "hovertemplate": hover}
    low, middle, high = zone
    return [
        {
            **common,
            "y": plain(low[index]),
            "line": {"color": "#a06a00", "width": 0.5},
            "name": "seed zone, 1 in 10 below",
        },
        {
            **common,
            "y": plain(high[index]),
            "line": {"color": "#a06a00", "width": 0.5},
            "fill": "tonexty",
            "fillcolor": "rgba(230,159,0,0.30)",
            "name": "seed zone, 1 in 10 above",
        },
        {**common, "y": plain(middle[index]), "line": {"color": "#8a5a00", "width": 3}, "name": "seed zone"},
        {
            **common,
            "y": plain(curves["air"][index]),
            "line": {"color": INK, "width": 1.8, "dash": "dash"},
            "name": "air, daily mean",
        },
        {
            **common,
            "y": plain(curves["night"][index]),
            "line": {"color": Colour.BLUE, "width": 1.8, "dash": "dot"},
            "name": "cold night at seedling height (1 in 10)",
        },
        {
            "type": "scatter",
            "mode": "lines",
            "x": dates,
            "y": plain(frost[index], 0),
            "yaxis": "y2",
            "fill": "tozeroy",
            "fillcolor": "rgba(86,180,233,0.45)",
            "fillpattern": {"shape": "x", "bgcolor": "#cfe6f4", "size": 7, "solidity": 0.15, "fgcolor": Colour.BLUE},
            "line": {"color": Colour.BLUE, "width": 1.5},
            "name": "nights with frost",
            "hovertemplate": "%{x}: frost in %{y:.0f} % of winters<extra></extra>",
        },
    ]


def _zone_labels(
    plan: Plan, zone: tuple[FloatArray, ...], curves: dict[str, FloatArray], limits: list[float], reader: Reader
) -> list[Json]:
    """Each curve is named where it has most room: the seed zone in summer, the rest where they bend."""
    halo: Json = {"bgcolor": "rgba(253,252,248,0.85)", "borderpad": 1}
    warmest = int(np.argmax(zone[2][200:])) + 200
    coldest = int(np.argmin(curves["night"]))
    reach = float(np.max(zone[2]) - np.min(curves["night"]))
    return [
        label(
            when(plan, min(max(warmest, 60), 300)).isoformat(),
            float(zone[2][warmest]) + 0.02 * reach,
            "<b>seed zone</b> (shaded: 8 in 10 winters)",
            xanchor="right" if warmest > 180 else "left",
            yanchor="bottom",
            font={"size": 12, "color": "#6b4500"},
            **halo,
        ),
        label(
            when(plan, 128).isoformat(),
            float(curves["air"][128]),
            "air, daily mean (dashed)",
            ax=-10,
            ay=-64,
            showarrow=True,
            arrowhead=0,
            arrowwidth=1,
            arrowcolor=QUIET,
            xanchor="left",
            **halo,
        ),
        label(
            when(plan, coldest).isoformat(),
            float(curves["night"][coldest]) - 0.02 * reach,
            "cold night at seedling height (dotted, 1 in 10)",
            yanchor="top",
            font={"size": 12, "color": "#00507d"},
            **halo,
        ),
        label(
            0.005,
            limits[1],
            "chill counts",
            xref="paper",
            xanchor="left",
            yanchor="top",
            font={"size": 11, "color": "#005a41"},
        ),
        label(
            0.0,
            0.245,
            "<b>nights with frost</b> at seedling height, share of winters",
            xref="paper",
            yref="paper",
            xanchor="left",
            yanchor="middle",
            font={"size": 12, "color": "#00507d"},
        ),
    ]


def _month_rows(plan: Plan, reader: Reader, air: FloatArray) -> list[tuple[str, str, str, str]]:
    months = [when(plan, day).strftime("%Y-%m") for day in range(DAYS)]
    rows = []
    for month in dict.fromkeys(months):
        inside = np.array([name == month for name in months])
        name = when(plan, int(np.argmax(inside))).strftime("%B")
        rows.append(
            (
                name,
                f"{reader.degrees(float(plan.ground.temperature[inside].mean())):.1f}",
                f"{reader.degrees(float(air[inside].mean())):.1f}",
                f"{(plan.ground.minimum[inside] <= 0.0).mean():.0%}",
            )
        )
    return rows
