"""Pictures of the winters: chill adding up, and the seed zone through the year."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.outlook import percentiles_of
from chillplan.advice.result import Plan
from chillplan.report.look import INK, QUIET, Colour, Json, Picture, axis, base_layout, label, safe_text
from chillplan.report.reader import Reader
from chillplan.report.season_axis import NARROW_MONTHS, band, days_of, month_axis, plain, when
from chillplan.seasons.chill import CHILL_RANGE, trapezoid
from chillplan.seasons.cut import DAYS, SPIN_UP
from chillplan.seeds.recipe import COLD_RESPONSE

__all__ = ["Need", "chill_picture", "needs_of", "seed_zone_picture"]

FloatArray = NDArray[np.floating]

MOST_NEEDS = 7
CLOSEST = 0.075  # labels nearer than this share of the height are joined


@dataclass(frozen=True)
class Need:
    """Days of cold that one or more species ask for."""

    low: float
    high: float
    names: tuple[str, ...]
    joined: bool = False

    @property
    def line(self) -> str:
        """What the line at the high end says: ``90 days``, or ``up to 90 days`` where several lie close together."""
        return f"{'up to ' if self.joined else ''}{self.high:g} days"

    @property
    def words(self) -> str:
        """``60 to 90 days``."""
        return f"{self.high:g} days" if self.low == self.high else f"{self.low:g} to {self.high:g} days"


def needs_of(plan: Plan) -> list[Need]:
    """The longest cold phase of each species, equal ones together, rising."""
    found: dict[tuple[float, float], list[str]] = {}
    for advice in plan.species:
        cold = [phase.days for phase in advice.recipe.phases if phase.kind == "cold" and phase.days[1] > 0]
        if cold:
            found.setdefault(max(cold, key=lambda days: days[1]), []).append(_name(advice.species))
    needs = [Need(low, high, tuple(names)) for (low, high), names in found.items()]
    return sorted(needs, key=lambda need: (need.high, need.low))


def _name(species: object) -> str:
    return getattr(species, "common_name", "") or getattr(species, "name", "")


def _joined(needs: list[Need], top: float) -> list[Need]:
    """Needs far enough apart to be labelled, neighbours joined."""
    found: list[Need] = []
    gap = max(CLOSEST * top, top / (MOST_NEEDS * 2.0))
    for need in needs:
        if found and need.high - found[-1].high < gap:
            last = found.pop()
            found.append(Need(min(last.low, need.low), need.high, (*last.names, *need.names), joined=True))
        else:
            found.append(need)
    return found


def chill_picture(plan: Plan, reader: Reader) -> Picture:
    """Effective chill adding up from the season's first day, every winter, with what the species ask for."""
    gain = trapezoid(plan.ground.temperature, *_corners()) * plan.ground.moist
    total = np.cumsum(gain, axis=0)
    index, dates = days_of(plan)
    low, middle, high = band(total)
    needs = needs_of(plan)
    top = float(max(total.max(), max((need.high for need in needs), default=0.0)) * 1.06)
    lines = _joined(needs, top)
    data = [_every_winter(dates, total[index]), *_range(dates, low[index], middle[index], high[index])]
    names = percentiles_of(plan.winters.effective_chill)
    layout = base_layout(
        430,
        xaxis=month_axis(plan, reader, 0, DAYS - 1),
        yaxis=axis(range=[0, top], title={"text": "effective chill, days", "standoff": 8}),
        shapes=[_need_line(plan, need) for need in lines],
        annotations=[*(_need_label(plan, need) for need in lines), *_range_labels(plan, low, middle, high, top)],
    )
    compact = {
        **NARROW_MONTHS,
        "annotations": [*(_need_label(plan, need, short=True) for need in lines)],
        "margin": {"l": 44, "r": 8, "t": 12, "b": 36},
    }
    count = plan.winters.years.size
    return Picture(
        key="chill",
        title="How chill adds up, winter by winter",
        summary=(
            f"By the season's end a middling winter has gathered {names[1]:.0f} days of effective chill, one winter in "
            f"ten {names[0]:.0f} or fewer and one in ten {names[2]:.0f} or more, over {count} winters. "
            + " ".join(_reached(need, plan) for need in lines)
        ),
        data=data,
        layout=layout,
        compact=compact,
        header=("Cold asked for", "Species", f"Of {count} winters that gather it"),
        rows=[(need.words, ", ".join(need.names), str(_count(need, plan))) for need in needs],
        note=(
            "Modelled from daily temperatures. How much of a day counts is assumed: nothing below "
            f"{reader.units.temperature(-2)}, all from {reader.units.temperature(1)} to {reader.units.temperature(7)}, "
            f"nothing above {reader.units.temperature(12)}, dry days not at all. Grey: single winters. Thick: the "
            "middling one. Shaded: eight winters of ten. Dashed: days of cold that nine seeds in ten need (published; see "
            "each species). Seed gathers chill only from its sowing on."
        ),
    )


def _corners() -> tuple[float, float, float, float]:
    response = COLD_RESPONSE
    return response.zero_low, response.full_low, response.full_high, response.zero_high


def _count(need: Need, plan: Plan) -> int:
    return int((plan.winters.effective_chill >= need.high).sum())


def _reached(need: Need, plan: Plan) -> str:
    return (
        f"{need.line[0].upper()}{need.line[1:]}: gathered in {_count(need, plan)} of {plan.winters.years.size} winters."
    )


def _every_winter(dates: list[str], total: FloatArray) -> Json:
    x: list[str | None] = []
    y: list[float | None] = []
    for season in range(total.shape[1]):
        x += [*dates[::3], None]
        y += [*plain(total[::3, season], 0), None]
    return {
        "type": "scatter",
        "mode": "lines",
        "x": x,
        "y": y,
        "line": {"color": "#b9c0ba", "width": 1},
        "hoverinfo": "skip",
        "name": "each winter",
    }


def _range(dates: list[str], low: FloatArray, middle: FloatArray, high: FloatArray) -> list[Json]:
    edge = {"color": Colour.BLUE, "width": 1}
    common: Json = {"type": "scatter", "mode": "lines", "x": dates}
    return [
        {**common, "y": plain(low), "line": edge, "name": "1 winter in 10 below", "hovertemplate": HOVER_DAYS},
        {
            **common,
            "y": plain(high),
            "line": edge,
            "fill": "tonexty",
            "fillcolor": "rgba(86,180,233,0.35)",
            "name": "1 winter in 10 above",
            "hovertemplate": HOVER_DAYS,
        },
        {
            **common,
            "y": plain(middle),
            "line": {"color": Colour.BLUE, "width": 3},
            "name": "middling winter",
            "hovertemplate": HOVER_DAYS,
        },
    ]


HOVER_DAYS = "%{x}: %{y:.0f} days<extra>%{fullData.name}</extra>"


def _need_line(plan: Plan, need: Need) -> Json:
    return {
        "type": "line",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": need.high,
        "y1": need.high,
        "line": {"color": Colour.VERMILLION, "width": 1.5, "dash": "dash"},
    }


def _need_label(plan: Plan, need: Need, short: bool = False) -> Json:
    more = len(need.names) - 1
    others = f" +{more}" if more else ""
    text = f"<b>{need.line}</b> · {safe_text(need.names[0], 30)}{others}"
    if short:
        text = (
            f"<b>{need.line}</b> · {more + 1} species" if more else f"<b>{need.line}</b> {safe_text(need.names[0], 16)}"
        )
    right = need.high < 0.45 * float(np.median(plan.winters.effective_chill))  # the curves have passed by then
    return label(
        0.99 if right else 0.01,
        need.high,
        text,
        xref="paper",
        xanchor="right" if right else "left",
        yanchor="bottom",
        font={"size": 12, "color": "#8a3d00"},
        bgcolor="rgba(253,252,248,0.85)",
        borderpad=1,
    )


def _range_labels(plan: Plan, low: FloatArray, middle: FloatArray, high: FloatArray, top: float) -> list[Json]:
    """Names at the right end of the three lines, moved apart where they would touch."""
    end = when(plan, DAYS - 1).isoformat()
    gap = top * 0.055
    places = [float(high[-1]), float(middle[-1]), float(low[-1])]
    places[0] = max(places[0], places[1] + gap)
    places[2] = min(places[2], places[1] - gap)
    texts = ["1 winter in 10 above", "<b>middling winter</b>", "1 winter in 10 below"]
    return [
        label(
            end,
            place,
            text,
            xanchor="right",
            yanchor="middle",
            font={"size": 12, "color": "#00507d"},
            bgcolor="rgba(253,252,248,0.85)",
            borderpad=1,
        )
        for place, text in zip(places, texts, strict=True)
    ]


def seed_zone_picture(plan: Plan, reader: Reader) -> Picture:
    """Seed zone, air and frost through the year."""
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
            f"{int(((zone[1] >= 0) & (zone[1] <= 10)).sum())} days of a middling season."
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
        note=(
            "Air: observed or filled as the record says. Seed zone and night temperature at seedling height: modelled. "
            "Shaded: eight winters of ten, smoothed over 15 days. Green band: 0 to 10 °C, where a moist day counts as "
            "a chill day."
            if not reader.units.us
            else "Air: observed or filled as the record says. Seed zone and night temperature at seedling height: "
            "modelled. Shaded: eight winters of ten, smoothed over 15 days. Green band: 32 to 50 °F, where a moist day "
            "counts as a chill day."
        ),
    )


SHORTER = {
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
