"""Where the places of a map lie on a picture: rows and columns, turned grids, or a list of places."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from chillplan.errors import InputError

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["NO_ANSWER", "Frame", "coordinate", "frame_of", "png_of"]

FloatArray = NDArray[np.floating]

OUTER = 2  # dimensions of a map before those of space: period and warming
NO_ANSWER = 255
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


def coordinate(data: xr.Dataset, name: str) -> xr.DataArray:
    """Latitude or longitude of a map.

    Raises
    ------
    InputError
        If it has none.
    """
    unit = "degrees_north" if name == "latitude" else "degrees_east"
    for array in data.coords.values():
        if array.attrs.get("standard_name") == name or array.attrs.get("units") == unit:
            known: xr.DataArray = array
            return known
    raise InputError(f"the map has no {name}: give its grid a coordinate with the units {unit}")


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
