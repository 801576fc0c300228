"""Picture of the seed zone through the year, with air and frost."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.result import Plan
from chillplan.report.look import (
    INK,
    NARROW_MONTHS,
    PAPER,
    QUIET,
    Colour,
    Json,
    Picture,
    axis,
    band,
    base_layout,
    days_of,
    hatching,
    label,
    line,
    month_axis,
    plain,
    trace,
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
    layout = _layout(plan, reader, (low, middle, high), curves, limits)
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


def _layout(
    plan: Plan, reader: Reader, zone: tuple[FloatArray, ...], curves: dict[str, FloatArray], limits: list[float]
) -> Json:
    return base_layout(
        520,
        xaxis=month_axis(plan, reader) | {"anchor": "y2"},
        yaxis=axis(domain=[0.3, 1.0], title={"text": f"temperature, {reader.degree}", "standoff": 8}),
        yaxis2=axis(domain=[0.0, 0.2], range=[0, 100], ticksuffix=" %", nticks=3),
        shapes=[_chill_band(limits)],
        annotations=_zone_labels(plan, zone, curves, limits, reader),
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
    low, middle, high = (plain(part[index]) for part in zone)
    air, night = plain(curves["air"][index]), plain(curves["night"][index])
    edge, filled = line("#a06a00", 0.5), {"fill": "tonexty", "fillcolor": "rgba(230,159,0,0.30)"}
    nights = hatching("x", "#cfe6f4", 7, 0.15, fgcolor=Colour.BLUE)
    dashed, dotted = line(INK, 1.8, "dash"), line(Colour.BLUE, 1.8, "dot")
    return [
        trace(dates, low, line=edge, name="seed zone, 1 in 10 below", hovertemplate=hover),
        trace(dates, high, line=edge, **filled, name="seed zone, 1 in 10 above", hovertemplate=hover),
        trace(dates, middle, line=line("#8a5a00", 3), name="seed zone", hovertemplate=hover),
        trace(dates, air, line=dashed, name="air, daily mean", hovertemplate=hover),
        trace(dates, night, line=dotted, name="cold night at seedling height (1 in 10)", hovertemplate=hover),
        trace(
            dates,
            plain(frost[index], 0),
            yaxis="y2",
            fill="tozeroy",
            fillcolor="rgba(86,180,233,0.45)",
            fillpattern=nights,
            line=line(Colour.BLUE, 1.5),
            name="nights with frost",
            hovertemplate="%{x}: frost in %{y:.0f} % of winters<extra></extra>",
        ),
    ]


def _zone_labels(
    plan: Plan, zone: tuple[FloatArray, ...], curves: dict[str, FloatArray], limits: list[float], reader: Reader
) -> list[Json]:
    """Each curve is named where it has most room: the seed zone in summer, the rest where they bend."""
    halo: Json = {"bgcolor": PAPER, "borderpad": 1}
    warmest = int(np.argmax(zone[2][200:])) + 200
    coldest = int(np.argmin(curves["night"]))
    reach = float(np.max(zone[2]) - np.min(curves["night"]))
    pointer: Json = {"showarrow": True, "arrowhead": 0, "arrowwidth": 1, "arrowcolor": QUIET, "ax": -10, "ay": -64}
    brown, blue, green = (
        {"size": size, "color": ink} for size, ink in ((12, "#6b4500"), (12, "#00507d"), (11, "#005a41"))
    )
    return [
        label(
            when(plan, min(max(warmest, 60), 300)).isoformat(),
            float(zone[2][warmest]) + 0.02 * reach,
            "<b>seed zone</b> (shaded: 8 in 10 winters)",
            xanchor="right" if warmest > 180 else "left",
            yanchor="bottom",
            font=brown,
            **halo,
        ),
        label(
            when(plan, 128).isoformat(),
            float(curves["air"][128]),
            "air, daily mean (dashed)",
            xanchor="left",
            **pointer,
            **halo,
        ),
        label(
            when(plan, coldest).isoformat(),
            float(curves["night"][coldest]) - 0.02 * reach,
            "cold night at seedling height (dotted, 1 in 10)",
            yanchor="top",
            font=blue,
            **halo,
        ),
        label(0.005, limits[1], "chill counts", xref="paper", xanchor="left", yanchor="top", font=green),
        label(
            0.0,
            0.245,
            "<b>nights with frost</b> at seedling height, share of winters",
            xref="paper",
            yref="paper",
            xanchor="left",
            yanchor="middle",
            font=blue,
        ),
    ]


def _chill_band(limits: list[float]) -> Json:
    """Behind the curves, from the coldest to the warmest at which chill counts."""
    return {
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
