"""The picture of a map: one page with every number by place, a legend in words, nothing fetched."""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from chillplan.report.map_layers import NO_ANSWER, VERDICT_LOOKS, Layer, coordinate, layers_of
from chillplan.report.map_panels import Panel, panels_of
from chillplan.report.markup import drawing_library, embedded_json, environment

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["map_html"]

FloatArray = NDArray[np.floating]

OUTER = 2  # dimensions of a map before those of space: period and warming
NOWHERE = -1
LONE = 0.25  # half a cell where there is one row or column only [degrees]
REACH = 0.75  # a pixel farther than this from a place, in steps of the grid, is empty [-]
SHARPER = 1.2  # pixels for each cell of a turned grid, along a side [-]


@dataclass(frozen=True)
class Frame:
    """A picture's edges, and which place each of its pixels shows.

    Attributes
    ----------
    longitude, latitude : numpy.ndarray, shape (place,)
        Of every place, in the order of a map's values laid flat. [degrees]
    west, east, south, north : float
        [degrees]
    pick : numpy.ndarray of int or None, shape (row, column)
        Position of the place, north first, -1 where there is none; None for a short list of places.
    """

    longitude: FloatArray
    latitude: FloatArray
    west: float
    east: float
    south: float
    north: float
    pick: NDArray[np.int_] | None

    @property
    def stretch(self) -> float:
        """Degrees of latitude are drawn longer than those of longitude by so much. [-]"""
        return 1.0 / max(float(np.cos(np.radians((self.south + self.north) / 2.0))), 0.2)


def frame_of(data: xr.Dataset, most_pixels: int, most_points: int) -> Frame:
    """Lay out a map.

    Parameters
    ----------
    data : xarray.Dataset
        A map as `chillplan.region` writes it.
    most_pixels : int
        Along either side.
    most_points : int
        Longer lists of places are drawn as a picture.

    Raises
    ------
    InputError
        If the map has no latitude or longitude.
    """
    latitude, longitude = (coordinate(data, name) for name in ("latitude", "longitude"))
    space = data["seasons"].dims[OUTER:]
    shape = tuple(data.sizes[dim] for dim in space)
    like = data["seasons"][0, 0].transpose(*space)
    y, x = (one.broadcast_like(like).transpose(*space).values.astype(float) for one in (latitude, longitude))
    x = _continuous(x)
    if len(space) == 2 and latitude.ndim == 1 and longitude.ndim == 1:
        columns_last = longitude.dims[0] == space[1]
        return _straight(x, y, shape, columns_last, most_pixels)
    return _turned(x.ravel(), y.ravel(), most_pixels, len(space) == 1 and x.size <= most_points)


def _continuous(longitude: FloatArray) -> FloatArray:
    """Longitudes in -180 to 180, or in 0 to 360 where the grid is torn at 180 otherwise. [degrees]"""
    centred, round_east = (longitude + 180.0) % 360.0 - 180.0, longitude % 360.0
    return round_east if np.ptp(round_east) < np.ptp(centred) else centred


def _straight(x: FloatArray, y: FloatArray, shape: tuple[int, ...], columns_last: bool, most: int) -> Frame:
    place = np.arange(x.size).reshape(shape)
    if not columns_last:
        place = place.T
    along, up = x.ravel()[place[0]], y.ravel()[place[:, 0]]
    (west, east), (south, north) = _edges(along), _edges(up)
    columns = _nearest(along, np.linspace(west, east, 2 * min(along.size, most) + 1)[1::2])
    rows = _nearest(up, np.linspace(north, south, 2 * min(up.size, most) + 1)[1::2])
    return Frame(x.ravel(), y.ravel(), west, east, south, north, place[np.ix_(rows, columns)])


def _edges(axis: FloatArray) -> tuple[float, float]:
    """Outer edges of the cells of an axis."""
    low, high = float(axis.min()), float(axis.max())
    half = (high - low) / (2 * (axis.size - 1)) if axis.size > 1 else LONE
    return low - half, high + half


def _nearest(axis: FloatArray, wanted: FloatArray) -> NDArray[np.int_]:
    return np.array([int(np.argmin(np.abs(axis - each))) for each in wanted])


def _turned(x: FloatArray, y: FloatArray, most: int, listed: bool) -> Frame:
    """Places on no straight rows: each pixel shows the nearest one within reach."""
    from scipy.spatial import cKDTree

    narrow = max(float(np.cos(np.radians(y.mean()))), 0.2)
    flat = np.stack([x * narrow, y], axis=1)
    tree = cKDTree(flat)
    apart = np.asarray(tree.query(flat, k=[2])[0])
    step = float(np.median(apart)) if x.size > 1 else 2.0 * LONE
    half = max(step / 2.0, 0.01)
    west, east = float(x.min()) - half / narrow, float(x.max()) + half / narrow
    south, north = float(y.min()) - half, float(y.max()) + half
    if listed:
        wide, high = 0.04 * (east - west), 0.04 * (north - south)
        return Frame(x, y, west - wide, east + wide, south - high, north + high, None)
    columns, rows = (
        int(min(np.ceil(SHARPER * length / (2.0 * half)), most)) for length in ((east - west) * narrow, north - south)
    )
    across, down = np.linspace(west, east, 2 * columns + 1)[1::2], np.linspace(north, south, 2 * rows + 1)[1::2]
    points = np.stack(np.meshgrid(across * narrow, down), axis=-1)
    away, place = tree.query(points.reshape(-1, 2))
    reach = max(REACH * step * np.sqrt(2.0), (north - south) / rows)
    pick = np.where(away <= reach, place, NOWHERE).reshape(rows, columns)
    return Frame(x, y, west, east, south, north, pick)


def png_of(index: NDArray[np.uint8], palette: Sequence[str]) -> bytes:
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


MOST_POINTS = 4000  # longer lists of places are drawn as a picture
MOST_PIXELS = 1200  # along a side of a picture
ALL_PIXELS = 60_000_000  # of all pictures of a page together; with very many, each is coarser
ALL_WORDS = 1_500_000  # places that answer when pointed at, over all pictures; beyond, none does
HEADING = "Where the winter chills the seed"
NAMES = {"species": "Species", "period": "Winters", "warming": "Warmer by"}


def map_html(data: xr.Dataset) -> str:
    """A page that needs nothing else.

    Parameters
    ----------
    data : xarray.Dataset
        A map as `chillplan.region` writes it, opened with its names; loaded number by number.

    Returns
    -------
    str
        HTML with the drawing library inside it.
    """
    layers = layers_of(data)
    count = sum(_panels_in(data, layer) for layer in layers)
    side = int(min(MOST_PIXELS, max((ALL_PIXELS / count) ** 0.5, 50)))
    frame = frame_of(data, side, MOST_POINTS)
    pointed = count * frame.longitude.size <= ALL_WORDS
    panels = {_key(panel): _packed(panel, frame, pointed) for panel in panels_of(data)}
    said = {
        "frame": _frame_json(frame, pointed),
        "names": NAMES,
        "choices": {dim: [_choice(data, dim, value) for value in data[dim].values] for dim in NAMES},
        "layers": [
            {"key": one.key, "label": one.label, "group": one.group, "note": one.note, "on": _on(data, one)}
            for one in layers
        ],
        "panels": panels,
    }
    room = files("chillplan.report")
    style, script = (Markup((room / f"map_page.{kind}").read_text(encoding="utf-8")) for kind in ("css", "js"))
    heads, rows = _shares(data)
    page = environment("chillplan.report").get_template("map.html.jinja")
    return page.render(
        heading=HEADING,
        style=style,
        comment=data.attrs.get("comment", ""),
        source=data.attrs.get("source", ""),
        coarse=frame.pick is not None and frame.pick.size < frame.longitude.size,
        heads=heads,
        rows=rows,
        library=Markup(drawing_library()),
        map=Markup(embedded_json(said)),
        script=script,
    )


def _on(data: xr.Dataset, layer: Layer) -> list[str]:
    """Dimensions a layer depends on."""
    return [dim for dim in NAMES if dim in data[layer.variable].dims and dim != layer.along]


def _panels_in(data: xr.Dataset, layer: Layer) -> int:
    return int(np.prod([data.sizes[dim] for dim in _on(data, layer)]))


def _choice(data: xr.Dataset, dim: str, value: Any) -> dict[str, str]:
    """Value and words of one choice."""
    if dim == "warming":
        degrees = float(value)
        return {"value": f"{degrees:g}", "words": f"{degrees:+g} °C" if degrees else "as it was"}
    words = str(value)
    if dim == "period" and words == "all":
        words = "all in the grid"
    if dim == "species" and "common_name" in data.coords:
        common = str(data["common_name"].sel(species=value).values)
        words = f"{words}, {common}" if common else words
    return {"value": str(value), "words": words}


def _key(panel: Panel) -> str:
    return "|".join([panel.layer.key, *(panel.chosen.get(dim, "") for dim in NAMES)])


def _frame_json(frame: Frame, pointed: bool) -> dict[str, Any]:
    edges = [round(edge, 5) for edge in (frame.west, frame.east, frame.south, frame.north)]
    shown = pointed or frame.pick is None
    x, y = (np.round(part, 4).tolist() if shown else [] for part in (frame.longitude, frame.latitude))
    return {"edges": edges, "stretch": round(frame.stretch, 4), "x": x, "y": y, "drawn": frame.pick is None}


def _packed(panel: Panel, frame: Frame, pointed: bool) -> dict[str, Any]:
    """A picture as the page's script takes it."""
    shares = panel.shares()
    absent = int((panel.index == NO_ANSWER).sum())
    result: dict[str, Any] = {
        "title": panel.title,
        "key": [[colour, words, share] for (colour, words), share in zip(panel.classes, shares, strict=True)],
        "absent": absent,
    }
    if frame.pick is not None:
        seen = np.where(frame.pick >= 0, panel.index[np.maximum(frame.pick, 0)], NO_ANSWER).astype(np.uint8)
        content = png_of(seen, [colour for colour, _ in panel.classes])
        result["image"] = f"data:image/png;base64,{base64.b64encode(content).decode()}"
    else:
        result["colour"] = np.where(panel.index == NO_ANSWER, -1, panel.index.astype(int)).tolist()
    if pointed:
        result["texts"] = list(panel.texts)
        result["says"] = np.where(panel.index == NO_ANSWER, -1, panel.says).tolist()
    return result


def _shares(data: xr.Dataset) -> tuple[list[str], list[tuple[str, list[float]]]]:
    """Share of the places by verdict, for readers who do not see the map: verdicts, then a name and shares a row."""
    heads, rows = [name.split(":")[0] for _, name in VERDICT_LOOKS.values()], []
    for species in data["species"].values:
        for period in data["period"].values:
            for warming in data["warming"].values:
                values = data["verdict"].sel(species=species, period=period, warming=warming).values
                known = values[np.isfinite(values) & (values >= 0)].astype(int)
                counts = np.bincount(known, minlength=len(heads)) / max(known.size, 1)
                names = [str(species)]
                names += [str(period)] if data.sizes["period"] > 1 else []
                names += [f"{float(warming):+g} °C"] if data.sizes["warming"] > 1 else []
                rows.append((", ".join(names), counts.tolist()))
    used = [at for at in range(len(heads)) if any(shares[at] for _, shares in rows)]
    return [heads[at] for at in used], [(name, [shares[at] for at in used]) for name, shares in rows]
