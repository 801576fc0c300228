"""Picture of one species: what becomes of seed sown outdoors on each date."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chillplan import verdicts
from chillplan.advice.result import Outdoors, Plan, SpeciesAdvice
from chillplan.report.look import (
    FATE_LOOKS,
    INK,
    NARROW_MONTHS,
    Colour,
    Json,
    Picture,
    axis,
    base_layout,
    hatching,
    label,
    line,
    month_axis,
    stroke,
    when,
)
from chillplan.report.reader import Reader
from chillplan.seasons.cut import season_label
from chillplan.seeds.simulate import FATES

__all__ = ["outcome_picture"]

FloatArray = NDArray[np.floating]
SMALLEST_LABEL = 22.0  # a band thinner than this carries no label [%]
LETTER = 8.4  # width of a bold letter with its share of the padding [px]
TALL = 12.0  # height of a label [%]
WIDE, NARROW = 600.0, 255.0  # width of the picture inside its margins on a wide and on a narrow screen [px]
HEIGHT = 360
FLOOR, CEILING = 0.43, 0.24  # lower edge of the bands and upper edge of the winters, shares of the height
INVISIBLE = 0.04  # a bar lower than this is told by a nought [-]
SECOND_SPRING = verdicts.TWO_WINTERS
MOST_NAMED = 5  # poor winters told by name


def outcome_picture(plan: Plan, advice: SpeciesAdvice, reader: Reader, number: int) -> Picture:
    """Shares of a lot by sowing date, as stacked bands.

    Parameters
    ----------
    number : int
        Of the species on the page; makes the key unique.
    """
    by_date = advice.by_date
    first, apart = when(plan, by_date.starts[0]).isoformat(), int(by_date.starts[1] - by_date.starts[0])
    percent = np.round(by_date.shares * 100.0, 1)
    data = [_band(first, apart, percent[place], fate) for place, fate in enumerate(FATES)]
    last = int(by_date.starts[-1])
    way = advice.outdoors
    shapes, notes = _window(way, reader) if way is not None else ([], [])
    years = winters_shown(plan, advice)
    data.append(_by_winter(plan, advice, years))
    notes = [*notes, _winters_name(plan, advice)]
    layout = base_layout(
        HEIGHT,
        margin={"l": 52, "r": 10, "t": 26, "b": 30},
        hovermode="x unified",
        xaxis=month_axis(plan, reader, 0, last),
        yaxis=axis(range=[0, 100], ticksuffix=" %", dtick=25, showgrid=False, domain=[FLOOR, 1.0]),
        xaxis2=axis(anchor="y2", tickformat="d", range=[min(years) - 0.7, max(years) + 0.7], nticks=8, showgrid=False),
        yaxis2=axis(anchor="x2", range=[0, 100], ticksuffix=" %", dtick=50, domain=[0.0, CEILING]),
        shapes=[*shapes, _target(plan)],
        annotations=[*_labels(plan, by_date.starts, percent, WIDE), *notes],
    )
    best = int(np.argmax(by_date.shares[0]))
    return Picture(
        key=f"outcome-{number}",
        title="Sown outdoors, by sowing date; and each winter, as advised",
        summary=_summary(plan, advice, reader, best) + _poor_winters(plan, advice, years),
        data=data,
        layout=layout,
        header=("Sown", *(fate.capitalize() for fate in FATES), "Good winters"),
        rows=[
            (
                reader.short(when(plan, by_date.starts[place])),
                *(f"{share:.0f} %" for share in percent[:, place]),
                f"{by_date.good[place]}",
            )
            for place in range(0, by_date.starts.size, 5)
        ],
        note="",
        compact={**NARROW_MONTHS, "annotations": [*_labels(plan, by_date.starts, percent, NARROW), *notes]},
    )


def _summary(plan: Plan, advice: SpeciesAdvice, reader: Reader, best: int) -> str:
    """What the picture shows, in words."""
    by_date = advice.by_date
    sown = f"sown about {reader.short(when(plan, by_date.starts[best]))}"
    if advice.verdict == SECOND_SPRING:
        mean = sum(advice.by_winter) / max(len(advice.by_winter), 1)
        return (
            f"The bands show the first season alone: {sown}, {by_date.shares[0, best]:.0%} is up by its end. Left in "
            f"place, {mean:.0%} is up by the second spring, on average over {advice.winters} winters: the lower "
            "picture."
        )
    lost = " ".join(
        f"{fate.capitalize()}: {by_date.shares[place, best]:.0%}."
        for place, fate in enumerate(FATES[1:], 1)
        if by_date.shares[place, best] >= 0.005
    )
    return _sentence(
        f"{_indoors(advice, reader)}most seed is up in time when {sown}: {by_date.shares[0, best]:.0%} on average over "
        f"{plan.winters.years.size} winters, good in {by_date.good[best]} of them. {lost}".rstrip()
    )


def winters_shown(plan: Plan, advice: SpeciesAdvice) -> list[int]:
    """Years of the winters that `by_winter` speaks of: all, or those followed by a second one."""
    years = plan.winters.years
    if len(advice.by_winter) != years.size:
        years = years[plan.seasons.following >= 0]
    return [int(year) for year in years[: len(advice.by_winter)]]


def _by_winter(plan: Plan, advice: SpeciesAdvice, years: list[int]) -> Json:
    """A bar a winter: filled where the target was reached, hatched where it was not."""
    good = [share >= plan.target for share in advice.by_winter]
    return {
        "type": "bar",
        "xaxis": "x2",
        "yaxis": "y2",
        "x": years,
        "y": [round(share * 100.0) for share in advice.by_winter],
        "text": ["0" if share < INVISIBLE else "" for share in advice.by_winter],
        "textposition": "outside",
        "textangle": 0,
        "textfont": {"size": 11, "color": INK},
        "marker": {
            "color": [Colour.GREEN if fine else INK for fine in good],
            "line": {"color": INK, "width": 0.8},
            "pattern": hatching(["" if fine else "/" for fine in good], "#ffffff", 5, 0.35),
        },
        "name": "up in time",
        "hovertemplate": "winter %{x}: %{y} % up<extra></extra>",
    }


def _winters_name(plan: Plan, advice: SpeciesAdvice) -> Json:
    what = "up by 2nd spring" if advice.verdict == SECOND_SPRING else "up in each winter"
    words = f"<b>{what}</b> (hatched: under {plan.target:.0%})"
    return label(0.0, CEILING + 0.015, words, xref="paper", yref="paper", xanchor="left", yanchor="bottom")


def _target(plan: Plan) -> Json:
    level = plan.target * 100.0
    return stroke((0, 1), (level, level), line(INK, 1.2, "dash"), xref="x2 domain", yref="y2")


def _poor_winters(plan: Plan, advice: SpeciesAdvice, years: list[int]) -> str:
    poor = [season_label(year) for year, up in zip(years, advice.by_winter, strict=True) if up < plan.target]
    if not poor:
        return " As advised, no winter of the record is poor."
    named = ", ".join(poor[:MOST_NAMED]) + (f" and {len(poor) - MOST_NAMED} more" if len(poor) > MOST_NAMED else "")
    return (
        f" As advised, poor winters are {named}." if len(poor) > 1 else f" As advised, the only poor winter is {named}."
    )


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]


def _indoors(advice: SpeciesAdvice, reader: Reader) -> str:
    """What treatment indoors would do, beside the picture of sowing outdoors."""
    way = advice.fridge
    if way is None or advice.verdict not in verdicts.INDOORS:
        return ""
    return (
        f"Chilled indoors and planted out {reader.short(way.plant_out)}, {way.outcomes['up in time']:.0%} is up in "
        "time on average. Sown outdoors instead: "
    )


def _band(first: str, apart: int, percent: FloatArray, fate: str) -> Json:
    look = FATE_LOOKS[fate]
    shown: Json = {
        "type": "scatter",
        "mode": "lines",
        "x0": first,
        "dx": apart * 86_400_000,
        "y": percent.tolist(),
        "stackgroup": "fates",
        "line": {"width": 0.8, "color": INK},
        "fillcolor": look.colour,
        "name": fate,
        "hovertemplate": "%{y:.0f} %",
    }
    if look.pattern:
        shown["fillpattern"] = hatching(look.pattern, look.colour, 7, 0.14, fgcolor=INK, fgopacity=0.45)
    return shown


def _labels(plan: Plan, starts: NDArray[np.int32], percent: FloatArray, width: float) -> list[Json]:
    """Each band's name inside it, where it is thick for long enough and no other name stands; `width` in pixels."""
    top = np.cumsum(percent, axis=0)
    per_day = width / float(starts[-1] - starts[0])
    taken: list[tuple[float, float, float, float]] = []
    found = []
    for place in np.argsort(-percent.sum(axis=1)):
        fate = FATES[place]
        run = _longest_run(percent[place] >= SMALLEST_LABEL)
        long = LETTER * len(fate)
        if run is None or (int(starts[run[1]]) - int(starts[run[0]])) * per_day < long:
            continue
        x = np.clip((starts[run[0]] + starts[run[1]]) / 2.0 * per_day, long / 2.0, width - long / 2.0)
        middle = int(np.argmin(np.abs(starts * per_day - x)))
        y = float(top[place, middle] - percent[place, middle] / 2.0)
        box = (x - long / 2.0, x + long / 2.0, y - TALL / 2.0, y + TALL / 2.0)
        if any(box[0] < b[1] and b[0] < box[1] and box[2] < b[3] and b[2] < box[3] for b in taken):
            continue
        taken.append(box)
        look = FATE_LOOKS[fate]
        found.append(
            label(
                when(plan, int(starts[middle])).isoformat(),
                y,
                f"<b>{fate}</b>",
                font={"size": 12, "color": look.ink},
                bgcolor=look.colour,
                borderpad=2,
            )
        )
    return found


def _longest_run(holds: NDArray[np.bool_]) -> tuple[int, int] | None:
    edges = np.diff(np.concatenate([[0], holds.astype(int), [0]]))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    if not begins.size:
        return None
    longest = int(np.argmax(ends - begins))
    return int(begins[longest]), int(ends[longest])


def _window(way: Outdoors, reader: Reader) -> tuple[list[Json], list[Json]]:
    """A bracket above the bands over the dates advised."""
    first, last = way.sow_from.isoformat(), way.sow_to.isoformat()
    edge = line(INK, 1.5, "dash")
    shapes = [stroke((day, day), (0, 1.03), edge, yref="y domain") for day in (first, last)]
    shapes.append(stroke((first, last), (1.03, 1.03), line(INK, 4), yref="y domain"))
    words = "sow" if way.meets else "best date, below the accepted risk:"
    text = f"<b>{words} {reader.short(way.sow_from)}"
    text += "</b>" if way.sow_from == way.sow_to else f" to {reader.short(way.sow_to)}</b>"
    return shapes, [label(0.0, 1.04, text, xref="paper", yref="paper", xanchor="left", yanchor="bottom")]
