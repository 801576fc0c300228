"""Maps are written region by region, go on after a stop, and follow the CF conventions."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from scipy.stats import beta

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.errors import InputError, SourceError
from chillplan.region.blocks import Job, blocks_of, job_of, times_read
from chillplan.region.layout import Layout
from chillplan.region.mapping import Hands, make_map
from chillplan.region.places import Ask
from chillplan.region.store import is_made, open_map
from chillplan.seeds.catalogue import find_species
from chillplan.weather.grid import Grid, grid_of, read_grid
from tests.region.made_grid import made_grid

SMALL = 64 * 12 * 2600  # bytes: a few regions of 128 places and more


class StoppedError(Exception):
    """Stands in for a power cut."""


def some_job(grid: Grid, accept: float = 0.8, warmings: tuple[float, ...] = (0.0, 2.0)) -> Job:
    species = find_species(built_in_catalogue(), "Asclepias syriaca")
    layout = Layout(("1998-2000", "2001-2003"), warmings, Ask((species,), accept=accept))
    return job_of(grid, layout, [(1998, 2000), (2001, 2003)])


@pytest.fixture(scope="module")
def grid() -> Grid:
    return grid_of(made_grid(rows=26, columns=12).chunk(lat=1, lon=12), "invented")


@pytest.fixture(scope="module")
def whole(grid: Grid, tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    path = make_map(grid, some_job(grid), tmp_path_factory.mktemp("map") / "whole.nc", block_bytes=SMALL)
    return xr.open_dataset(path).load()


def test_regions_cover_the_grid_once(grid: Grid) -> None:
    seen = np.zeros([grid.data.sizes[name] for name in grid.space], int)
    blocks = blocks_of(grid, SMALL)
    for block in blocks:
        seen[tuple(block.where[name] for name in grid.space)] += 1
    assert (seen == 1).all()
    assert len(blocks) >= 3


def test_one_region_or_many_and_one_thread_or_two_give_the_same(grid: Grid, whole: xr.Dataset, tmp_path: Path) -> None:
    path = make_map(grid, some_job(grid), tmp_path / "one.nc", hands=Hands(workers=1))
    xr.testing.assert_identical(xr.open_dataset(path).load(), whole)


def test_the_map_follows_the_conventions(whole: xr.Dataset) -> None:
    # CF conventions 1.11, sections 2.6.1, 3.1, 3.3, 3.5, 4.1, 4.2 and 6.1 (labels, taxon names).
    assert whole.attrs["Conventions"] == "CF-1.11"
    for name, variable in whole.data_vars.items():
        assert variable.attrs["units"], name
        assert variable.attrs["long_name"], name
    verdict = whole["verdict"].attrs
    assert len(verdict["flag_values"]) == len(verdict["flag_meanings"].split())
    assert verdict["flag_values"].dtype == np.int8
    for name, unit, standard in (("lat", "degrees_north", "latitude"), ("lon", "degrees_east", "longitude")):
        assert (whole[name].attrs["units"], whole[name].attrs["standard_name"]) == (unit, standard)
    assert whole["warming"].values.tolist() == [0.0, 2.0]
    assert whole["period_name"].values.tolist() == ["1998-2000", "2001-2003"]
    assert whole["species_name"].attrs["standard_name"] == "biological_taxon_name"
    assert np.isnan(whole["verdict"].values[..., 1, 2]).all()


def test_chances_and_intervals_are_shares_in_percent(whole: xr.Dataset) -> None:
    known = whole["verdict"].notnull()
    for name in ("chance", "interval_low", "interval_high"):
        assert (whole[name].notnull() == known).all()
        assert whole[name].attrs["units"] == "percent"
        assert 0.0 <= float(whole[name].min()) <= float(whole[name].max()) <= 100.0
    share = 100.0 * whole["good"] / whole["winters"]
    assert bool(((whole["interval_low"] <= share) & (share <= whole["interval_high"])).where(known, True).all())
    # Brown, Cai and DasGupta (2001), definition in section 3.1.4: all of 3 winters good ends at 1 and begins at the
    # 2.5th percentile of a beta distribution with 3.5 and 0.5, 0.4708 (from scipy's own distribution).
    best = whole["interval_low"].where(whole["good"] == 3).max()
    assert float(best) == pytest.approx(100.0 * beta(3.5, 0.5).ppf(0.025), abs=0.01)


def checked_by_the_conventions(path: Path) -> list[str]:
    """What the compliance checker of the U.S. Integrated Ocean Observing System finds wrong, CF 1.11."""
    runner = pytest.importorskip("compliance_checker.runner", reason="pip install 'chillplan[test]'")
    runner.CheckSuite.load_all_available_checkers()
    report = path.with_suffix(".json")
    runner.ComplianceChecker.run_checker(
        str(path), ["cf:1.11"], 0, "strict", output_filename=str(report), output_format="json"
    )
    found = json.loads(report.read_text())["cf:1.11"]
    return [f"{part['name']}: {words}" for part in found["all_priorities"] for words in part["msgs"]]


def test_a_checker_of_the_conventions_finds_nothing(grid: Grid, tmp_path: Path) -> None:
    path = make_map(grid, some_job(grid), tmp_path / "map.nc", history="2026-11-25 made")
    assert checked_by_the_conventions(path) == []


def test_rows_and_columns_that_are_not_straight_keep_their_projection(tmp_path: Path) -> None:
    plain = made_grid(rows=3, columns=4)
    rows, columns = np.meshgrid(plain["lat"], plain["lon"], indexing="ij")
    turned = plain.drop_vars(["lat", "lon"]).rename(lat="y", lon="x")
    turned = turned.assign_coords(
        lat=(("y", "x"), rows, {"units": "degrees_north", "bounds": "lat_bounds"}),
        lon=(("y", "x"), columns, {"units": "degrees_east"}),
        y=("y", [0.0, 1.0, 2.0], {"standard_name": "projection_y_coordinate", "units": "km"}),
        x=("x", [0.0, 1.0, 2.0, 3.0], {"standard_name": "projection_x_coordinate", "units": "km"}),
    )
    turned["albers"] = xr.DataArray(
        0,
        attrs={
            "grid_mapping_name": "albers_conical_equal_area",
            "standard_parallel": [20.0, 60.0],
            "longitude_of_central_meridian": -96.0,
            "latitude_of_projection_origin": 40.0,
            "false_easting": 0.0,
            "false_northing": 0.0,
        },
    )
    for name in ("tasmin", "tasmax", "pr"):
        turned[name].attrs["grid_mapping"] = "albers"
    turned.to_netcdf(tmp_path / "grid.nc")
    grid = read_grid([tmp_path / "grid.nc"])
    path = make_map(grid, some_job(grid), tmp_path / "map.nc", history="2026-11-25 made")
    assert checked_by_the_conventions(path) == []
    with xr.open_dataset(path) as data:
        assert data["verdict"].attrs["grid_mapping"] == "albers"
        assert data["albers"].attrs["grid_mapping_name"] == "albers_conical_equal_area"
        assert data["lon"].dims == ("y", "x")


def test_a_map_is_known_again_by_its_question(grid: Grid, tmp_path: Path) -> None:
    path = make_map(grid, some_job(grid), tmp_path / "map.zarr")
    assert is_made(path, grid, some_job(grid))
    assert not is_made(path, grid, some_job(grid, accept=0.9))
    assert not is_made(tmp_path / "none.nc", grid, some_job(grid))
    (tmp_path / "other.nc").write_text("mine")
    assert not is_made(tmp_path / "other.nc", grid, some_job(grid))
    named = open_map(path).sel(species="Asclepias syriaca", period="2001-2003", warming=2.0)
    assert named["verdict"].shape == (26, 12)


def test_overwriting_keeps_the_old_map_until_the_new_one_is_whole(grid: Grid, tmp_path: Path) -> None:
    path = make_map(grid, some_job(grid), tmp_path / "map.zarr")

    def stop(done: int, count: int) -> None:
        if done == 1:
            raise StoppedError

    other = some_job(grid, accept=0.9)
    with pytest.raises(StoppedError):
        make_map(grid, other, path, overwrite=True, block_bytes=SMALL, progress=stop)
    assert "80 % of winters" in open_map(path).attrs["comment"]
    seen: list[int] = []
    make_map(grid, other, path, overwrite=True, block_bytes=SMALL, progress=lambda done, count: seen.append(done))
    assert seen[0] == 1
    assert "90 % of winters" in open_map(path).attrs["comment"]


def test_a_stop_loses_only_the_regions_in_work(grid: Grid, whole: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "map.nc"

    def stop(done: int, count: int) -> None:
        if done == 2:
            raise StoppedError

    with pytest.raises(StoppedError):
        make_map(grid, some_job(grid), path, block_bytes=SMALL, progress=stop)
    assert not path.exists()
    seen: list[int] = []
    make_map(grid, some_job(grid), path, block_bytes=SMALL, progress=lambda done, count: seen.append(done))
    assert seen[0] == 2
    assert [entry.name for entry in tmp_path.iterdir()] == ["map.nc"]
    xr.testing.assert_identical(xr.open_dataset(path).load(), whole)


def test_half_of_another_map_is_not_finished_as_this_one(grid: Grid, tmp_path: Path) -> None:
    path = tmp_path / "map.zarr"

    def stop(done: int, count: int) -> None:
        raise StoppedError

    with pytest.raises(StoppedError):
        make_map(grid, some_job(grid), path, progress=stop)
    with pytest.raises(InputError, match="half of a map made from other data or options"):
        make_map(grid, some_job(grid, accept=0.9), path)
    record = path.with_name("map.zarr.partial.done")
    record.write_text(record.read_text()[:20])
    with pytest.raises(InputError, match="or not ours: repeat them to go on, pass --overwrite, or delete it"):
        make_map(grid, some_job(grid), path)
    make_map(grid, some_job(grid, warmings=(0.0,)), path, overwrite=True)
    assert xr.open_zarr(path).sizes["warming"] == 1


def test_a_stop_while_the_store_is_laid_out_begins_anew(grid: Grid, whole: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "map.nc"

    def stop(done: int, count: int) -> None:
        raise StoppedError

    with pytest.raises(StoppedError):
        make_map(grid, some_job(grid), path, progress=stop)
    record = path.with_name("map.nc.partial.done")
    record.write_text(record.read_text().splitlines()[0] + "\n")
    (path.with_name("map.nc.partial") / ".zgroup").unlink()
    with pytest.raises(InputError, match="half of a map made from other data or options, or not ours"):
        make_map(grid, some_job(grid, accept=0.9), path)
    make_map(grid, some_job(grid), path)
    xr.testing.assert_identical(xr.open_dataset(path).load(), whole)


def test_a_line_cut_off_in_the_record_is_done_again(grid: Grid, whole: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "map.nc"

    def stop(done: int, count: int) -> None:
        if done == 2:
            raise StoppedError

    with pytest.raises(StoppedError):
        make_map(grid, some_job(grid), path, block_bytes=SMALL, progress=stop)
    record = path.with_name("map.nc.partial.done")
    record.write_text(record.read_text()[:-8])
    make_map(grid, some_job(grid), path, block_bytes=SMALL)
    xr.testing.assert_identical(xr.open_dataset(path).load(), whole)


def test_names_that_do_not_fit_are_refused(grid: Grid, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"use \.nc \(NetCDF\) or \.zarr"):
        make_map(grid, some_job(grid), tmp_path / "map.tif")
    with pytest.raises(InputError, match="does not exist"):
        make_map(grid, some_job(grid), tmp_path / "none" / "map.nc")
    (tmp_path / "there.nc").write_text("mine")
    with pytest.raises(InputError, match="is there already"):
        make_map(grid, some_job(grid), tmp_path / "there.nc")
    assert (tmp_path / "there.nc").read_text() == "mine"


def test_a_scheduler_that_does_not_answer(grid: Grid, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("chillplan.region.mapping.PATIENCE", 1.0)
    with pytest.raises(SourceError, match="does not answer"):
        make_map(grid, some_job(grid), tmp_path / "map.nc", hands=Hands(scheduler="tcp://127.0.0.1:9"))


def test_a_chunk_that_cannot_be_read_later_on_is_told_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "grid.zarr"
    made_grid(rows=12, columns=12).chunk(time=-1, lat=4).to_zarr(path, zarr_format=2)
    grid = read_grid([path])
    (path / "tasmax" / "0.1.0").write_bytes(b"no chunk")
    with pytest.raises(SourceError, match=r"the grid at lat \d+ to \d+, lon 0 to 11 cannot be read: .*is it whole"):
        make_map(grid, some_job(grid), tmp_path / "map.nc", block_bytes=SMALL)


def test_regions_follow_the_chunks_of_the_input_where_they_are_not_too_large(grid: Grid) -> None:
    chunked = replace(grid, data=grid.data.chunk(lat=13, lon=12, time=-1))
    cells = [
        int(np.prod([part.stop - part.start for part in block.where.values()])) for block in blocks_of(chunked, SMALL)
    ]
    assert cells == [156, 156]


def test_a_grid_stored_day_by_day_is_read_once_for_every_region(grid: Grid) -> None:
    blocks = blocks_of(grid, SMALL)
    daily = replace(grid, data=grid.data.chunk(time=1, lat=-1, lon=-1))
    assert times_read(daily, blocks) == len(blocks)
    assert times_read(replace(grid, data=grid.data.chunk(time=100, lat=1, lon=1)), blocks) == 1.0
    assert times_read(grid, blocks) == 1.0
    edges = {name: max(part.stop - part.start for part in (one.where[name] for one in blocks)) for name in grid.space}
    assert times_read(replace(grid, data=grid.data.chunk(time=100, **edges)), blocks) == 1.0


def test_places_in_a_row_serve_as_well_as_rows_and_columns(tmp_path: Path) -> None:
    data = made_grid(rows=3, columns=4).stack(place=("lat", "lon")).reset_index("place")
    grid = grid_of(data.drop_vars("place", errors="ignore"), "places")
    assert grid.space == ("place",)
    path = make_map(grid, some_job(grid), tmp_path / "places.nc")
    result = xr.open_dataset(path)
    assert result["verdict"].dims[-1] == "place"
    assert "lat" in result.coords


def test_a_map_says_under_what_it_was_made() -> None:
    ask = Ask((find_species(built_in_catalogue(), "Tilia americana"),), cover="leaf mulch", depth_cm=3.5, accept=0.9)
    plain, fitted = (
        Layout(("all",), (0.0,), replace(ask, calibration=calibration)).title("grid.nc", ("no rain", "no snow"))
        for calibration in ({}, {"shift": 0.5})
    )
    assert "under leaf mulch at 3.5 cm. A verdict holds where at least 90 % of winters" in str(plain["comment"])
    assert "at 3.5 cm, calibrated with a soil thermometer of the region. A verdict" in str(fitted["comment"])
    assert str(plain["source"]).endswith(", from grid.nc; no rain; no snow")
