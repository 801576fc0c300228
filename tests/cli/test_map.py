"""``chillplan map`` and its errors."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import xarray as xr

from tests.cli.command import chillplan
from tests.region.made_grid import made_grid


@pytest.fixture(scope="module")
def grid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("grid") / "grid.nc"
    made_grid(rows=3, columns=4).to_netcdf(path)
    return path


def test_a_map_with_its_picture_and_summary(grid: Path, tmp_path: Path) -> None:
    out, picture = tmp_path / "map.nc", tmp_path / "map.html"
    answer = chillplan(
        "map", "--weather", grid, "--species", "common milkweed", "--out", out, "--picture", picture,
        "--years", "1998-2000", "--against", "2001-2003", "--warming", "0,2", "--format", "json",
    )  # fmt: skip
    assert answer.code == 0, answer.err
    said = json.loads(answer.out)
    assert said["schema"] == 1
    assert len(said["summary"]) == 4
    assert all(sum(row["verdicts"].values()) == row["places"] == 11 for row in said["summary"])
    assert xr.open_dataset(out)["verdict"].shape == (2, 2, 1, 3, 4)
    assert all(0.0 <= row["median_chance"] <= 1.0 for row in said["summary"])
    assert "Changed between the periods: Asclepias syriaca" in picture.read_text(encoding="utf-8")
    assert "1 of 12 places have no answer: water" in answer.err
    assert xr.open_dataset(out).attrs["history"].split(" ", 1)[1].startswith("chillplan")


def test_the_summary_as_a_table(grid: Path, tmp_path: Path) -> None:
    answer = chillplan("map", "--weather", grid, "--species", "Tilia americana", "--out", tmp_path / "map.zarr")
    assert answer.code == 0, answer.err
    assert "Tilia americana" in answer.out
    assert "tmin is tasmin [degC]" in answer.err
    again = chillplan("map", "--weather", grid, "--species", "Tilia americana", "--out", tmp_path / "map.zarr")
    assert again.code == 0
    assert "nothing to do" in again.err
    assert again.out == answer.out
    other = chillplan("map", "--weather", grid, "--species", "Asimina triloba", "--out", tmp_path / "map.zarr")
    assert other.code == 2
    assert "is there already, from other data or options" in other.err


def test_a_grid_without_any_temperature_is_too_little_data(tmp_path: Path) -> None:
    grid = made_grid(rows=2, columns=3)
    for name in ("tasmin", "tasmax"):
        grid[name] = grid[name] * float("nan")
        grid[name].attrs = made_grid(rows=2, columns=3)[name].attrs
    grid.to_netcdf(tmp_path / "grid.nc")
    answer = chillplan(
        "map", "--weather", tmp_path / "grid.nc", "--species", "Tilia americana", "--out", tmp_path / "map.nc",
        "--picture", tmp_path / "map.html",
    )  # fmt: skip
    assert answer.code == 3
    assert "no place of the grid has an answer" in answer.err
    assert "no answer" in answer.out


def test_everything_wrong_is_said_at_once(tmp_path: Path) -> None:
    answer = chillplan(
        "map", "--accept", "7", "--against", "2000-2010", "--warming", "1,1", "--picture", "map.png", "--workers", "no",
        "--cover", "moss", "--processes", "0", "--scheduler", "tcp://127.0.0.1:1",
    )  # fmt: skip
    assert answer.code == 2
    for part in (
        "--accept '7' is outside",
        "--against '2000-2010' has nothing to be compared with",
        "--warming '1,1' names a value twice",
        "another ending than .html",
        "--workers 'no' is not a whole number",
        "--cover 'moss' is not known",
        "--processes '0' is",
        "--scheduler and --workers and --processes were given together",
        "--weather is missing",
        "--out is missing",
        "no species is named",
    ):
        assert part in answer.err, part


def test_a_period_without_enough_winters(grid: Path, tmp_path: Path) -> None:
    answer = chillplan(
        "map", "--weather", grid, "--species", "Tilia americana", "--out", tmp_path / "map.nc", "--years", "2001-2002"
    )
    assert answer.code == 3
    assert "2 whole winters among 2001 to 2002" in answer.err
    assert not list(tmp_path.iterdir())


def test_a_file_that_is_no_grid(tmp_path: Path) -> None:
    (tmp_path / "grid.nc").write_text("no")
    answer = chillplan(
        "map", "--weather", tmp_path / "grid.nc", "--species", "Tilia americana", "--out", tmp_path / "map.nc"
    )
    assert answer.code == 4
    assert "cannot be read as a NetCDF file" in answer.err
