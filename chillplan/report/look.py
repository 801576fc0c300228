"""Colours, patterns and the frame that every picture shares.

Colours are the eight of Okabe and Ito (2008, Color Universal Design), chosen there to stay apart for readers with any
common kind of colour vision; every meaning is also carried by a pattern, a dash, a symbol or a label.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

__all__ = ["FATE_LOOKS", "INK", "PALE", "Colour", "FateLook", "Picture", "base_layout", "label", "safe_text"]

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
    title : str
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


def safe_text(text: str, limit: int = 48) -> str:
    """A name made safe for a chart: no markup, no control characters, its direction kept apart, not too long."""
    from html import escape

    clean = "".join(letter if letter.isprintable() else " " for letter in text).strip()
    if len(clean) > limit:
        clean = clean[: limit - 1].rstrip() + "…"
    return f"\u2068{escape(clean)}\u2069"
