"""Pictures of a map: verdicts, good winters and changes by place, with a legend in words, nothing fetched."""

from __future__ import annotations

import base64
import json
import struct
import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.rules import VERDICTS
from chillplan.errors import InputError
from chillplan.report.look import INK, PALE, Colour
from chillplan.report.markup import drawing_library

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["VERDICT_LOOKS", "Panel", "map_html", "panels_of"]

VERDICT_LOOKS = {
    "sow-in-autumn": (Colour.GREEN, "sow in autumn: the winter does it"),
    "chill-in-fridge": (Colour.BLUE, "chill in a refrigerator"),
    "either": (Colour.SKY, "either: autumn sowing or a refrigerator"),
    "start-outdoors-finish-in-fridge": (Colour.PURPLE, "start outdoors, finish in a refrigerator"),
    "sow-in-spring": (Colour.YELLOW, "sow in spring: no chill needed"),
    "two-winters-outdoors": (Colour.ORANGE, "two winters outdoors"),
    "not-here": (Colour.VERMILLION, "not here: no way found"),
}
UNCHANGED = "no change"
MOST_CHANGES = 7
MOST_POINTS = 4000  # places that answer when pointed at; above that the picture alone is drawn
MOST_PIXELS = 1200
NO_ANSWER = 255
OUTER = 2  # dimensions of a map before those of space: period and warming
STEP = 20.0  # of the scale of good winters [%]
SHADES = ("#440154", "#3b528b", "#21918c", "#5ec962", "#fde725")
HEADING = "Where the winter chills the seed"
STYLE = (
    "body{font-family:system-ui,sans-serif;color:#1f2a2c;margin:2rem auto;max-width:1000px;padding:0 1rem}"
    "p{max-width:75ch}figure{margin:1.5rem 0}figure image{image-rendering:pixelated}"
)


@dataclass(frozen=True)
class Panel:
    """One picture of the map.

    Attributes
    ----------
    title : str
    classes : tuple of (str, str)
        Colour and words of each class; empty for a continuous scale.
    values : numpy.ndarray
        Position of the class, or the number shown; NaN where there is no answer.
    unit : str
        Of the number.
    """

    title: str
    classes: tuple[tuple[str, str], ...]
    values: NDArray[np.floating]
    unit: str = ""


def panels_of(data: xr.Dataset) -> list[Panel]:
    """What is pictured: for every species its verdicts and good winters, in every period and warming, and changes.

    Parameters
    ----------
    data : xarray.Dataset
        A map as `chillplan.region` writes it.
    """
    panels = []
    verdicts = data["verdict"].where(data["verdict"] >= 0)
    share = (data["good"] / data["winters"]).where(data["winters"] > 0)
    for species in data["species"].values:
        for period in data["period"].values:
            for warming in data["warming"].values:
                where = {"species": species, "period": period, "warming": warming}
                name = _title(data, where)
                panels.append(Panel(f"{name}: verdict", tuple(VERDICT_LOOKS.values()), verdicts.sel(where).values))
                panels.append(Panel(f"{name}: good winters", (), 100.0 * share.sel(where).values, "% of winters"))
        if data.sizes["period"] > 1:
            then, now = data["period"].values[0], data["period"].values[-1]
            where = {"species": species, "warming": data["warming"].values[0]}
            panels.append(_changes(f"{species}: from {then} to {now}", verdicts.sel(where, drop=True), then, now))
        if data.sizes["warming"] > 1:
            then, now = data["warming"].values[0], data["warming"].values[-1]
            where = {"species": species, "period": data["period"].values[-1]}
            title = f"{species}: if it were {now - then:g} °C warmer"
            panels.append(_changes(title, verdicts.sel(where, drop=True), then, now))
    return panels


def _title(data: xr.Dataset, where: dict[str, Any]) -> str:
    parts = [str(where["species"])]
    if data.sizes["period"] > 1:
        parts.append(str(where["period"]))
    if data.sizes["warming"] > 1 or float(where["warming"]) != 0.0:
        parts.append(f"{float(where['warming']):+g} °C")
    return ", ".join(parts)


def _changes(title: str, verdicts: xr.DataArray, then: Any, now: Any) -> Panel:
    """Places by the change of their verdict along the one dimension left; the commonest changes have a colour."""
    along = "period" if "period" in verdicts.dims else "warming"
    before, after = verdicts.sel({along: then}).values, verdicts.sel({along: now}).values
    known = ~(np.isnan(before) | np.isnan(after))
    count = Counter(zip(before[known].astype(int).tolist(), after[known].astype(int).tolist(), strict=True))
    pairs = [pair for pair, _ in count.most_common() if pair[0] != pair[1]]
    named = pairs[:MOST_CHANGES]
    colours = [look[0] for look in VERDICT_LOOKS.values()]
    classes = [(PALE, UNCHANGED)]
    values = np.where(known & (before == after), 0.0, np.nan)
    for number, (old, new) in enumerate(named, start=1):
        classes.append((colours[(number - 1) % len(colours)], f"{VERDICTS[old]} becomes {VERDICTS[new]}"))
        values = np.where(known & (before == old) & (after == new), float(number), values)
    if len(pairs) > len(named):
        classes.append((INK, "another change"))
        values = np.where(known & np.isnan(values), float(len(classes) - 1), values)
    return Panel(title, tuple(classes), values)


def map_html(data: xr.Dataset) -> str:
    """The pictures as one page that needs nothing else.

    Parameters
    ----------
    data : xarray.Dataset
        A map as `chillplan.region` writes it.

    Returns
    -------
    str
        HTML with the drawing library inside it.
    """
    longitude, latitude, regular = _axes(data)
    figures = []
    for panel in panels_of(data):
        values = _ordered(panel.values, data, regular)
        figures.append(_figure(panel, values, longitude, latitude, regular))
    drawn = "".join(
        f'<figure id="map-{number}" role="img" aria-label="{escape(figure["layout"]["title"]["text"])}"></figure>'
        for number, figure in enumerate(figures)
    )
    comment, source = escape(str(data.attrs.get("comment", ""))), escape(str(data.attrs.get("source", "")))
    packed = json.dumps(figures, allow_nan=False).replace("<", "\\u003c")
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{HEADING}</title>\n'
        f'<link rel="icon" href="data:,"><style>{STYLE}</style></head><body>\n<h1>{HEADING}</h1>\n'
        f"<p>{comment} Places left pale have no answer: water, or too little data.</p>\n{drawn}\n"
        f"<p>Made from: {source}</p>\n<script>{drawing_library()}</script>\n"
        f"<script>const figures = {packed};\nfigures.forEach((figure, number) => "
        "Plotly.newPlot(`map-${number}`, figure.data, figure.layout, {displayModeBar: false, responsive: true}));"
        "</script></body></html>\n"
    )


def _axes(data: xr.Dataset) -> tuple[NDArray[np.floating], NDArray[np.floating], bool]:
    """Longitude and latitude, and whether they span a grid with straight rows and columns."""
    latitude, longitude = (_coordinate(data, name) for name in ("latitude", "longitude"))
    regular = latitude.ndim == 1 and longitude.ndim == 1 and data["seasons"].ndim == OUTER + 2
    values = _continuous(longitude.values)
    return (np.sort(values) if regular else values.ravel()), latitude.values.ravel(), regular


def _coordinate(data: xr.Dataset, name: str) -> xr.DataArray:
    unit = "degrees_north" if name == "latitude" else "degrees_east"
    for array in data.coords.values():
        if array.attrs.get("standard_name") == name or array.attrs.get("units") == unit:
            known: xr.DataArray = array
            return known
    short = name[:3]
    found: xr.DataArray | None = next(
        (array for key, array in data.coords.items() if str(key).lower().startswith(short)), None
    )
    if found is None:
        raise InputError(f"the map has no {name}: give its grid a coordinate with the units {unit}")
    return found


def _ordered(values: NDArray[np.floating], data: xr.Dataset, regular: bool) -> NDArray[np.floating]:
    """Columns from west to east as on the picture."""
    if not regular:
        return values.ravel()
    longitude = _coordinate(data, "longitude")
    if longitude.dims[0] == data["seasons"].dims[-2]:
        values = values.T
    return values[:, np.argsort(_continuous(longitude.values))]


def _continuous(longitude: NDArray[np.floating]) -> NDArray[np.floating]:
    """Longitudes in -180 to 180, or in 0 to 360 where the grid is torn at 180 otherwise. [degrees]"""
    centred, round_east = (longitude + 180.0) % 360.0 - 180.0, longitude % 360.0
    return round_east if np.ptp(round_east) < np.ptp(centred) else centred


def _figure(
    panel: Panel,
    values: NDArray[np.floating],
    longitude: NDArray[np.floating],
    latitude: NDArray[np.floating],
    regular: bool,
) -> dict[str, Any]:
    """Data and layout of a chart; a regular grid is one picture laid under it, so that a million cells stay small."""
    layout = _layout(panel, latitude)
    points: list[dict[str, Any]] = []
    if regular:
        layout["images"] = [_image(panel, values, longitude, latitude)]
        for name, axis in (("xaxis", longitude), ("yaxis", latitude)):
            low, high = _edges(axis)
            layout[name]["range"] = [low, high]
        x, y = (part.ravel() for part in np.meshgrid(longitude, latitude))
    else:
        x, y = longitude, latitude
    shown = values.ravel()
    known = np.flatnonzero(~np.isnan(shown))
    if not regular or known.size <= MOST_POINTS:
        colours = _colours(panel, shown[known])
        marker = {"color": colours, "size": 9, "symbol": "square", "opacity": 0.0 if regular else 1.0}
        points.append(
            {
                "type": "scatter",
                "mode": "markers",
                "x": np.round(x[known], 4).tolist(),
                "y": np.round(y[known], 4).tolist(),
                "text": [_words(panel, value) for value in shown[known]],
                "hovertemplate": "%{x:.2f}°, %{y:.2f}°: %{text}<extra></extra>",
                "marker": marker,
                "showlegend": False,
            }
        )
    return {"data": [*points, *_legend(panel, shown[known])], "layout": layout}


def _words(panel: Panel, value: float) -> str:
    return panel.classes[int(value)][1] if panel.classes else f"{value:.0f} {panel.unit}"


def _legend(panel: Panel, known: NDArray[np.floating]) -> list[dict[str, Any]]:
    """One entry for each class that occurs, in words, with its share of the places; steps of the scale for numbers."""
    if panel.classes:
        parts = [(colour, words, known == number) for number, (colour, words) in enumerate(panel.classes)]
    else:
        steps = np.minimum(known // STEP, len(SHADES) - 1)
        ends = [
            (f"{STEP * number:.0f} to {STEP * (number + 1):.0f} {panel.unit}", number) for number in range(len(SHADES))
        ]
        parts = [(SHADES[number], words, steps == number) for words, number in ends]
    entries = []
    for colour, words, which in parts:
        if which.any():
            entries.append(
                {
                    "type": "scatter",
                    "mode": "markers",
                    "x": [None],
                    "y": [None],
                    "name": f"{words}: {100.0 * which.mean():.0f} %",
                    "marker": {
                        "color": colour,
                        "size": 12,
                        "symbol": "square",
                        "line": {"color": INK, "width": 1},
                    },
                }
            )
    return entries


def _colours(panel: Panel, known: NDArray[np.floating]) -> list[str]:
    palette = [colour for colour, _ in panel.classes] or list(SHADES)
    return [palette[number] for number in _positions(panel, known)]


def _positions(panel: Panel, known: NDArray[np.floating]) -> NDArray[np.int_]:
    """Position of each value in the palette."""
    if panel.classes:
        return known.astype(int)
    return np.asarray(np.minimum(known // STEP, len(SHADES) - 1), dtype=int)


def _image(
    panel: Panel, values: NDArray[np.floating], longitude: NDArray[np.floating], latitude: NDArray[np.floating]
) -> dict[str, Any]:
    """The grid as a picture between the outer edges of its cells, north up."""
    west, east = _edges(longitude)
    south, north = _edges(latitude)
    columns = _nearest(longitude, np.linspace(west, east, 2 * _pixels(longitude) + 1)[1::2])
    rows = _nearest(latitude, np.linspace(north, south, 2 * _pixels(latitude) + 1)[1::2])
    seen = values[np.ix_(rows, columns)]
    known = ~np.isnan(seen)
    index = np.full(seen.shape, NO_ANSWER, np.uint8)
    index[known] = _positions(panel, seen[known])
    palette = [colour for colour, _ in panel.classes] or list(SHADES)
    return {
        "source": f"data:image/png;base64,{base64.b64encode(_png(index, palette)).decode()}",
        "xref": "x",
        "yref": "y",
        "x": west,
        "y": north,
        "sizex": east - west,
        "sizey": north - south,
        "sizing": "stretch",
        "layer": "below",
    }


def _edges(axis: NDArray[np.floating]) -> tuple[float, float]:
    """Outer edges of the cells of an axis."""
    low, high = float(axis.min()), float(axis.max())
    half = (high - low) / (2 * (axis.size - 1)) if axis.size > 1 else 0.25
    return low - half, high + half


def _pixels(axis: NDArray[np.floating]) -> int:
    return int(min(axis.size, MOST_PIXELS))


def _nearest(axis: NDArray[np.floating], wanted: NDArray[np.floating]) -> NDArray[np.int_]:
    return np.array([int(np.argmin(np.abs(axis - each))) for each in wanted])


def _png(index: NDArray[np.uint8], palette: Sequence[str]) -> bytes:
    """An indexed picture whose last entry is clear (PNG specification, ISO/IEC 15948, colour type 3)."""
    colours = b"".join(bytes.fromhex(colour.lstrip("#")) for colour in palette).ljust(3 * (NO_ANSWER + 1), b"\xff")
    rows = b"".join(b"\0" + row.tobytes() for row in index)
    height, width = index.shape
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in (
            (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)),
            (b"PLTE", colours),
            (b"tRNS", b"\xff" * NO_ANSWER + b"\0"),
            (b"IDAT", zlib.compress(rows, 9)),
            (b"IEND", b""),
        )
    )


def _layout(panel: Panel, latitude: NDArray[np.floating]) -> dict[str, Any]:
    stretch = 1.0 / max(float(np.cos(np.radians(np.mean(latitude)))), 0.2)
    frame = {
        "showgrid": False,
        "zeroline": False,
        "constrain": "domain",
        "linecolor": INK,
        "mirror": True,
        "ticks": "outside",
    }
    return {
        "title": {"text": panel.title, "font": {"size": 16}},
        "height": 440,
        "plot_bgcolor": "#eef1f2",
        "font": {"color": INK},
        "xaxis": {**frame, "title": {"text": "longitude, degrees east"}},
        "yaxis": {**frame, "title": {"text": "latitude, degrees north"}, "scaleanchor": "x", "scaleratio": stretch},
        "legend": {"title": {"text": "share of the places with an answer"}},
        "showlegend": True,
        "margin": {"l": 70, "r": 20, "t": 50, "b": 60},
    }
