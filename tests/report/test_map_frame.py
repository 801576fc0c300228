"""Where a map's picture ends and which place each pixel shows, counted anew from the places; PNG read by Pillow."""

from __future__ import annotations

import io

import numpy as np
import pytest
import xarray as xr
from PIL import Image

from chillplan.report.map_picture import _continuous, _edges, _panels_in, frame_of, layers_of, png_of
from tests.report.test_map_picture import made_map


def placed(y: np.ndarray, x: np.ndarray, dims: tuple[str, ...]) -> xr.Dataset:
    """A map with places anywhere: in a list, or on rows that are not straight."""
    shape = (1, 1, *y.shape)
    return xr.Dataset(
        {"seasons": (("period", "warming", *dims), np.full(shape, 30.0))},
        {
            "latitude": (dims, y, {"units": "degrees_north"}),
            "longitude": (dims, x, {"units": "degrees_east"}),
        },
    )


def nearest_apart(x: np.ndarray, y: np.ndarray) -> float:
    """Median distance of a place to the next one; a degree of longitude is shorter by the cosine. [degrees]"""
    flat = np.stack([x * np.cos(np.radians(y.mean())), y], axis=1)
    away = np.linalg.norm(flat[:, None] - flat[None], axis=2)
    np.fill_diagonal(away, np.inf)
    return float(np.median(away.min(axis=1)))


def test_a_list_of_places_has_room_around_it_on_every_side() -> None:
    """Half a step and four parts of a hundred: a place at the edge would be cut in two."""
    y, x = np.array([44.0, 45.0, 46.0, 44.5]), np.array([1.0, 2.0, 4.0, 3.0])
    frame = frame_of(placed(y, x, ("place",)), 100, 10)
    assert frame.pick is None and frame.longitude.tolist() == x.tolist() and frame.latitude.tolist() == y.tolist()
    narrow, half = np.cos(np.radians(y.mean())), nearest_apart(x, y) / 2.0
    wide, high = 3.0 + 2.0 * half / narrow, 2.0 + 2.0 * half
    assert frame.west == pytest.approx(1.0 - half / narrow - 0.04 * wide)
    assert frame.east == pytest.approx(4.0 + half / narrow + 0.04 * wide)
    assert frame.south == pytest.approx(44.0 - half - 0.04 * high)
    assert frame.north == pytest.approx(46.0 + half + 0.04 * high)
    assert frame_of(placed(y, x, ("place",)), 100, 4).pick is None
    assert frame_of(placed(y, x, ("place",)), 100, 3).pick is not None, "a longer list is a picture"
    alone = frame_of(placed(y[:1], x[:1], ("place",)), 100, 10)
    assert alone.west < 1.0 < alone.east and alone.south == pytest.approx(44.0 - 0.25 - 0.02)


def test_each_pixel_of_a_turned_grid_shows_the_nearest_place_within_reach() -> None:
    column, row = np.meshgrid(np.arange(7.0), np.arange(5.0))
    x, y = 10.0 + 0.9 * column + 0.3 * row, 50.0 - 0.6 * row + 0.2 * column
    frame = frame_of(placed(y, x, ("y", "x")), 200, 10)
    assert frame.pick is not None
    narrow, step = np.cos(np.radians(y.mean())), nearest_apart(x.ravel(), y.ravel())
    assert (frame.east - frame.west) == pytest.approx(np.ptp(x) + step / narrow)
    assert (frame.north - frame.south) == pytest.approx(np.ptp(y) + step)
    rows, columns = frame.pick.shape
    assert rows == int(np.ceil(1.2 * (frame.north - frame.south) / step))
    assert columns == int(np.ceil(1.2 * (frame.east - frame.west) * narrow / step))
    across = frame.west + (frame.east - frame.west) * (np.arange(columns) + 0.5) / columns
    down = frame.north - (frame.north - frame.south) * (np.arange(rows) + 0.5) / rows
    flat = np.stack([x.ravel() * narrow, y.ravel()], axis=1)
    reach = max(0.75 * step * 2.0**0.5, (frame.north - frame.south) / rows)
    for at_row, latitude in enumerate(down):
        for at_column, longitude in enumerate(across):
            away = np.linalg.norm(flat - [longitude * narrow, latitude], axis=1)
            expected = int(away.argmin()) if away.min() <= reach else -1
            assert frame.pick[at_row, at_column] == expected
    assert (frame.pick == -1).any()
    assert max(frame_of(placed(y, x, ("y", "x")), 4, 10).pick.shape) == 4  # type: ignore[union-attr]


def test_rows_and_columns_of_a_straight_grid_lie_north_first_and_are_thinned_evenly() -> None:
    data = made_map(rows=3, columns=4)
    frame = frame_of(data, 100, 10)
    assert (frame.west, frame.east, frame.south, frame.north) == (165.0, 205.0, 37.5, 52.5)
    assert frame.pick is not None and frame.pick.tolist() == np.arange(12).reshape(3, 4).tolist()
    upward = frame_of(data.isel(lat=slice(None, None, -1)), 100, 10)
    assert upward.pick is not None and upward.pick[0].tolist() == [8, 9, 10, 11]
    coarse = frame_of(made_map(rows=3, columns=9), 3, 10)
    assert coarse.pick is not None and coarse.pick[0].tolist() == [1, 4, 7]
    assert frame.stretch == pytest.approx(1.0 / np.cos(np.radians(45.0)))
    assert _edges(np.array([44.0])) == (43.75, 44.25) and _edges(np.array([44.0, 46.0])) == (43.0, 47.0)


def test_longitudes_are_taken_on_the_side_where_the_grid_is_whole() -> None:
    assert _continuous(np.array([350.0, 10.0])).tolist() == [-10.0, 10.0]
    assert _continuous(np.array([170.0, -170.0])).tolist() == [170.0, 190.0]
    assert _continuous(np.array([-10.0, 10.0])).tolist() == [-10.0, 10.0]
    assert _continuous(np.array([0.0, 180.0, 270.0])).tolist() == [0.0, -180.0, -90.0], "where both are as wide"


def test_the_picture_is_a_png_with_its_colours_and_a_clear_ground() -> None:
    index = np.array([[0, 1, 255], [2, 0, 1]], dtype=np.uint8)
    with Image.open(io.BytesIO(png_of(index, ["#102030", "#405060", "#708090"]))) as picture:
        assert picture.size == (3, 2) and picture.mode == "P"
        shown = np.asarray(picture.convert("RGBA"))
    colours = {0: (16, 32, 48), 1: (64, 80, 96), 2: (112, 128, 144)}
    for (row, column), number in np.ndenumerate(index):
        assert shown[row, column, 3] == (0 if number == 255 else 255)
        assert number == 255 or tuple(shown[row, column, :3]) == colours[int(number)]


def test_the_pictures_of_a_page_are_counted_by_what_each_depends_on() -> None:
    data = made_map(periods=2)
    counts = {layer.key: _panels_in(data, layer) for layer in layers_of(data)}
    assert (counts["verdict"], counts["later"], counts["chill"]) == (2, 1, 2)
