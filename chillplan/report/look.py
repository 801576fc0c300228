"""Colours, patterns and the frame that every picture shares, and a season on its axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.result import Plan
from chillplan.report.reader import Reader
from chillplan.seasons.cut import DAYS, season_start

__all__ = [
    "FATE_LOOKS",
    "INK",
    "NARROW_MONTHS",
    "PALE",
    "PAPER",
    "Colour",
    "Picture",
    "band",
    "base_layout",
    "days_of",
    "hatching",
    "label",
    "line",
    "mark",
    "month_axis",
    "plain",
    "safe_text",
    "stroke",
    "trace",
    "when",
]

Json = dict[str, Any]


class Colour:
    """Okabe and Ito (2008)."""

    BLACK = "#000000"
    ORANGE = "#E69F00"
    SKY = "#56B4E9"
    GREEN = "#009E73"
    YELLOW = "#F0E442"
    BLUE = "#0072B2"
    VERMILLION = "#D55E00"
    PURPLE = "#CC79A7"


PAPER = "rgba(253,252,248,0.85)"  # behind words on a chart
INK = "#1f2a2c"
PALE = "#d9ded8"
QUIET = "#5d6a69"
FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', 'DejaVu Sans', sans-serif"


@dataclass(frozen=True)
class FateLook:
    """How one outcome of a sowing is drawn: colour and hatching."""

    colour: str
    pattern: str
    ink: str
    css: str


FATE_LOOKS = {
    "up in time": FateLook(Colour.GREEN, "", Colour.BLACK, "up"),
    "killed by frost": FateLook(Colour.SKY, "x", INK, "frosted"),
    "up too late": FateLook(Colour.ORANGE, "/", INK, "too-late"),
    "still dormant": FateLook("#c9cdc6", ".", INK, "dormant"),
    "sprouted in autumn": FateLook(Colour.PURPLE, "\\", INK, "autumn"),
}


@dataclass(frozen=True)
class Picture:
    """A chart with what it says in words and numbers.

    Attributes
    ----------
    key : str
        Short name, unique on a page.
    summary : str
        What the chart shows, with its main numbers; read aloud in place of the chart.
    data, layout : list and dict
        As the drawing library takes them.
    compact : dict
        Parts of the layout that change on a narrow screen; a dot in a key goes one level down.
    header, rows : sequences
        The numbers behind the chart.
    note : str
        Where the numbers come from.
    """

    key: str
    title: str
    summary: str
    data: list[Json]
    layout: Json
    header: Sequence[str]
    rows: Sequence[Sequence[str]]
    note: str = ""
    compact: Json = field(default_factory=dict)


def base_layout(height: int, **more: Any) -> Json:
    """The frame of a chart: paper background, quiet grid, no dragging, no legend."""
    layout: Json = {
        "height": height,
        "margin": {"l": 58, "r": 16, "t": 12, "b": 36},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": FONT, "size": 13, "color": INK},
        "showlegend": False,
        "dragmode": False,
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": "#ffffff", "bordercolor": QUIET, "font": {"color": INK, "size": 13}},
    }
    layout.update(more)
    return layout


def axis(**more: Any) -> Json:
    """An axis that cannot be dragged, with a quiet grid."""
    frame: Json = {
        "fixedrange": True,
        "showgrid": True,
        "gridcolor": "#e6e8e2",
        "gridwidth": 1,
        "zeroline": False,
        "linecolor": QUIET,
        "ticks": "outside",
        "ticklen": 4,
        "tickangle": 0,
        "tickcolor": QUIET,
    }
    frame.update(more)
    if "title" in frame:
        frame["title"] = {"font": {"size": 12, "color": QUIET}, **frame["title"]}
    return frame


def label(x: Any, y: Any, text: str, **more: Any) -> Json:
    """Text beside what it names, without an arrow, on a paper-coloured halo."""
    note: Json = {"x": x, "y": y, "text": text, "showarrow": False, "font": {"size": 12, "color": INK}}
    note.update(more)
    return note


def line(colour: str, width: float, dash: str = "") -> Json:
    """How a line is drawn."""
    return {"color": colour, "width": width, **({"dash": dash} if dash else {})}


def trace(x: Any, y: Any, mode: str = "lines", **more: Any) -> Json:
    """Points joined by lines, marked, or both."""
    return {"type": "scatter", "mode": mode, "x": x, "y": y, **more}


def mark(colour: str, size: float, symbol: str, edge: Json) -> Json:
    """How a point is drawn, with an edge around it."""
    return {"color": colour, "size": size, "symbol": symbol, "line": edge}


def stroke(x: tuple[Any, Any], y: tuple[Any, Any], drawn: Json, **more: Any) -> Json:
    """A straight line behind or over a chart."""
    return {"type": "line", "x0": x[0], "x1": x[1], "y0": y[0], "y1": y[1], "line": drawn, **more}


def hatching(shape: Any, ground: str, size: int, solidity: float, **more: Any) -> Json:
    """A pattern on a ground."""
    return {"shape": shape, "bgcolor": ground, "size": size, "solidity": solidity, **more}


def safe_text(text: str, limit: int = 48) -> str:
    """A name made safe for a chart: no markup, no control characters, its direction kept apart, not too long."""
    from html import escape

    clean = "".join(letter if letter.isprintable() else " " for letter in text).strip()
    if len(clean) > limit:
        clean = clean[: limit - 1].rstrip() + "…"
    return f"\u2068{escape(clean)}\u2069"


FloatArray = NDArray[np.floating]

STEP = 3  # every third day is drawn [day]
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NARROW_MONTHS = {"xaxis.labelalias": {month: month[0] for month in MONTHS}}  # first letters, for narrow screens


def days_of(plan: Plan, step: int = STEP) -> tuple[NDArray[np.int_], list[str]]:
    """Day indices that are drawn, and their dates in the season planned for."""
    index = np.arange(0, DAYS, step)
    start = season_start(plan.season, plan.seasons.southern)
    return index, [(start + timedelta(days=int(day))).isoformat() for day in index]


def when(plan: Plan, index: float) -> date:
    """Date of a day index in the season planned for."""
    return date_of(round(index), plan.season, plan.seasons.southern)


def month_axis(plan: Plan, reader: Reader, first: int = 0, last: int = DAYS - 1) -> Json:
    """Months of the season planned for, named in the middle of each."""
    return axis(
        type="date",
        range=[when(plan, first).isoformat(), when(plan, last).isoformat()],
        dtick="M1",
        tickformat="%b",
        ticklabelmode="period",
        hoverformat=reader.hover,
    )


def band(values: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """10th, 50th and 90th percentile of each day over the winters; `values` has the shape (day, season)."""
    low, middle, high = np.quantile(values, (0.1, 0.5, 0.9), axis=1, method="weibull")
    return low, middle, high


def plain(values: FloatArray, digits: int = 1) -> list[float]:
    """Numbers short enough to be stored in a page."""
    rounded: list[float] = np.round(np.asarray(values, dtype=float), digits).tolist()
    return rounded
