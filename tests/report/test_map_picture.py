"""Pictures of a map: what is drawn, in which colours, with which words."""

from __future__ import annotations

import base64
import json
import re
import zlib

import numpy as np
import pytest
import xarray as xr

from chillplan.advice.rules import VERDICTS
from chillplan.report.map_picture import VERDICT_LOOKS, map_html, panels_of


def made_map(rows: int = 3, columns: int = 4, periods: int = 2) -> xr.Dataset:
    """A map whose verdicts follow each other, on longitudes from 0 to 360."""
    shape = (periods, 1, 1, rows, columns)
    verdict = (np.arange(np.prod(shape)).reshape(shape) % len(VERDICTS)).astype(float)
    verdict[..., 0, 0] = np.nan
    dims = ("period", "warming", "species", "lat", "lon")
    good = np.where(np.isnan(verdict), np.nan, 20.0)
    return xr.Dataset(
        {
            "verdict": (dims, verdict),
            "good": (dims, good),
            "winters": (dims, np.where(np.isnan(verdict), np.nan, 30.0)),
            "seasons": (("period", "warming", "lat", "lon"), np.full((periods, 1, rows, columns), 30.0)),
        },
        {
            "period": [f"{1961 + 30 * number}-{1990 + 30 * number}" for number in range(periods)],
            "warming": [0.0],
            "species": ["Tilia americana"],
            "lat": ("lat", np.linspace(50.0, 40.0, rows), {"units": "degrees_north"}),
            "lon": ("lon", np.linspace(170.0, 200.0, columns), {"units": "degrees_east"}),
        },
        {"comment": "At least <80> % good.", "source": "invented"},
    )


def figures_of(html: str) -> list[dict]:
    found = re.search(r"const figures = (\[.*?\]);\n", html, re.DOTALL)
    assert found is not None
    return json.loads(found[1])


def pixels_of(figure: dict) -> np.ndarray:
    """Palette positions of the picture laid under a chart."""
    content = base64.b64decode(figure["layout"]["images"][0]["source"].split(",")[1])
    width, height = (int.from_bytes(content[at : at + 4]) for at in (16, 20))
    begin = content.index(b"IDAT") + 4
    length = int.from_bytes(content[begin - 8 : begin - 4])
    rows = np.frombuffer(zlib.decompress(content[begin : begin + length]), np.uint8).reshape(height, width + 1)
    return rows[:, 1:]


def test_every_verdict_has_a_colour_and_words_of_its_own() -> None:
    assert tuple(VERDICT_LOOKS) == VERDICTS
    assert len({colour for colour, _ in VERDICT_LOOKS.values()}) == len(VERDICTS)


def test_verdicts_good_winters_and_changes_are_pictured() -> None:
    titles = [panel.title for panel in panels_of(made_map())]
    assert titles == [
        "Tilia americana, 1961-1990: verdict",
        "Tilia americana, 1961-1990: good winters",
        "Tilia americana, 1991-2020: verdict",
        "Tilia americana, 1991-2020: good winters",
        "Tilia americana: from 1961-1990 to 1991-2020",
    ]


@pytest.mark.parametrize(
    ("east", "shift", "range_of"),
    [
        ([170.0, 180.0, 190.0, 200.0], 0, (165.0, 205.0)),
        ([230.0, 240.0, 250.0, 260.0], 0, (-135.0, -95.0)),
        ([0.0, 90.0, 180.0, 270.0], -2, (-225.0, 135.0)),
    ],
)
def test_longitudes_to_360_are_drawn_from_west_to_east(east: list[float], shift: int, range_of: tuple) -> None:
    data = made_map().assign_coords(lon=("lon", east, {"units": "degrees_east"}))
    figure = figures_of(map_html(data))[0]
    expected = np.nan_to_num(np.roll(data["verdict"].values[0, 0, 0], -shift, axis=1), nan=255)
    assert (pixels_of(figure) == expected).all()
    assert figure["layout"]["xaxis"]["range"] == pytest.approx(range_of)


def test_a_plain_grid_is_drawn_cell_by_cell() -> None:
    data = made_map().assign_coords(lon=("lon", [1.0, 2.0, 3.0, 4.0], {"units": "degrees_east"}))
    expected = np.nan_to_num(data["verdict"].values[0, 0, 0], nan=255)
    assert (pixels_of(figures_of(map_html(data))[0]) == expected).all()
    south_first = data.isel(lat=slice(None, None, -1))
    assert (pixels_of(figures_of(map_html(south_first))[0]) == expected).all()


def test_legends_are_words_with_shares_that_add_up() -> None:
    for figure in figures_of(map_html(made_map())):
        names = [trace["name"] for trace in figure["data"] if "name" in trace]
        shares = [int(re.search(r": (\d+) %$", name)[1]) for name in names]  # type: ignore[index]
        assert sum(shares) == pytest.approx(100, abs=4)
    assert any("becomes" in name for name in names)


def test_nothing_is_fetched_and_names_cannot_break_out() -> None:
    data = made_map().assign_coords(species=["</script><b>x"])
    html = map_html(data)
    assert not re.search(r"""<(script|link|img)[^>]+(src|href)=["']http""", html)
    assert "</script><b>x" not in html
    assert "&lt;80&gt;" in html


def test_a_large_grid_stays_small() -> None:
    html = map_html(made_map(rows=400, columns=500, periods=1))
    library = max(len(part) for part in html.split("<script>"))
    assert len(html) - library < 400_000


def test_places_in_a_row_are_drawn_as_points() -> None:
    data = made_map().stack(place=("lat", "lon")).reset_index("place")
    figure = figures_of(map_html(data))[0]
    assert "images" not in figure["layout"]
    assert len(figure["data"][0]["x"]) == 11
