"""Picture of chill adding up, winter by winter, beside what the species ask for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.outlook import percentiles_of
from chillplan.advice.result import Plan
from chillplan.report.look import (
    NARROW_MONTHS,
    PAPER,
    Colour,
    Json,
    Picture,
    axis,
    band,
    base_layout,
    days_of,
    label,
    line,
    month_axis,
    plain,
    safe_text,
    stroke,
    trace,
    when,
)
from chillplan.report.reader import Reader
from chillplan.seasons.chill import trapezoid
from chillplan.seasons.cut import DAYS
from chillplan.seeds.recipe import COLD_RESPONSE

__all__ = ["Need", "chill_picture", "needs_of"]

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
    """Needs far enough apart to be labelled: each line stands at the highest need of those just below it."""
    gap = max(CLOSEST, 1.0 / (2.0 * MOST_NEEDS)) * top
    found: list[Need] = []
    for need in reversed(needs):
        if found and found[-1].high - need.high < gap:
            line = found.pop()
            found.append(Need(min(line.low, need.low), line.high, (*line.names, *need.names), joined=True))
        else:
            found.append(need)
    return found[::-1]


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
    layout = _layout(plan, reader, lines, (low, middle, high), top)
    compact = {
        **NARROW_MONTHS,
        "annotations": [*(_need_label(plan, need, short=True) for need in lines)],
        "margin": {"l": 58, "r": 8, "t": 12, "b": 36},
    }
    count = plan.winters.years.size
    return Picture(
        key="chill",
        title="How chill adds up, winter by winter",
        summary=(
            f"By the season's end a median winter has gathered {names[1]:.0f} days of effective chill, one winter in "
            f"ten {names[0]:.0f} or fewer and one in ten {names[2]:.0f} or more, over {count} winters. "
            + " ".join(_reached(need, plan) for need in lines)
        ),
        data=data,
        layout=layout,
        compact=compact,
        header=("Cold asked for", "Species", f"Of {count} winters that gather it"),
        rows=[(need.words, ", ".join(need.names), str(_count(need, plan))) for need in needs],
        note=reader.words(
            "Modelled from daily temperatures. How much of a day counts is assumed: nothing below "
            f"{reader.units.temperature(-2)}, all from {reader.units.temperature(1)} to {reader.units.temperature(7)}, "
            f"nothing above {reader.units.temperature(12)}, dry days not at all. Grey: single winters. Thick: the "
            "median one. Shaded: eight winters of ten. Dashed: days of cold that nine seeds in ten need (published; "
            "see each species). Seed gathers chill only from its sowing on."
        ),
    )


def _layout(
    plan: Plan, reader: Reader, lines: list[Need], curves: tuple[FloatArray, FloatArray, FloatArray], top: float
) -> Json:
    return base_layout(
        430,
        xaxis=month_axis(plan, reader, 0, DAYS - 1),
        yaxis=axis(range=[0, top], title={"text": "effective chill, days", "standoff": 8}),
        shapes=[
            stroke((0, 1), (need.high, need.high), line(Colour.VERMILLION, 1.5, "dash"), xref="paper") for need in lines
        ],
        annotations=[*(_need_label(plan, need) for need in lines), *_range_labels(plan, *curves, top)],
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
    return trace(x, y, line=line("#b9c0ba", 1), hoverinfo="skip", name="each winter")


def _range(dates: list[str], low: FloatArray, middle: FloatArray, high: FloatArray) -> list[Json]:
    edge, filled = line(Colour.BLUE, 1), {"fill": "tonexty", "fillcolor": "rgba(86,180,233,0.35)"}
    return [
        trace(dates, plain(low), line=edge, name="1 winter in 10 below", hovertemplate=HOVER_DAYS),
        trace(dates, plain(high), line=edge, **filled, name="1 winter in 10 above", hovertemplate=HOVER_DAYS),
        trace(dates, plain(middle), line=line(Colour.BLUE, 3), name="median winter", hovertemplate=HOVER_DAYS),
    ]


HOVER_DAYS = "%{x}: %{y:.0f} days<extra>%{fullData.name}</extra>"


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
        bgcolor=PAPER,
        borderpad=1,
    )


def _range_labels(plan: Plan, low: FloatArray, middle: FloatArray, high: FloatArray, top: float) -> list[Json]:
    """Names at the right end of the three lines, moved apart where they would touch."""
    end = when(plan, DAYS - 1).isoformat()
    gap = top * 0.055
    places = [float(high[-1]), float(middle[-1]), float(low[-1])]
    places[0] = max(places[0], places[1] + gap)
    places[2] = min(places[2], places[1] - gap)
    texts = ["1 winter in 10 above", "<b>median winter</b>", "1 winter in 10 below"]
    look: Json = {"xanchor": "right", "yanchor": "middle", "font": {"size": 12, "color": "#00507d"}}
    return [
        label(end, place, text, bgcolor=PAPER, borderpad=1, **look) for place, text in zip(places, texts, strict=True)
    ]
