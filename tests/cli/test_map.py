"""``chillplan map`` and its errors."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
import xarray as xr

from chillplan.cli import map_command
from chillplan.cli.map_command import HandsText, MapText
from chillplan.cli.place import PlaceOptions
from chillplan.errors import Problems
from chillplan.verdicts import VERDICTS
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
    rest = "1 of 12 places have no answer: water, ground that is too steep, or fewer than 3 winters with enough data."
    assert answer.err.endswith(f"Map: {out}\nPicture: {picture}\n{rest}\n")
    asked = [("1998-2000", 0.0), ("1998-2000", 2.0), ("2001-2003", 0.0), ("2001-2003", 2.0)]
    assert [(row["period"], row["warming"]) for row in said["summary"]] == asked
    assert said["map"] == str(out) and {row["species"] for row in said["summary"]} == {"Asclepias syriaca"}
    data = xr.open_dataset(out)
    for number, row in enumerate(said["summary"]):
        place = data.isel(period=number // 2, warming=number % 2, species=0)
        known = place["verdict"].values[place["verdict"].values >= 0]
        counts = {VERDICTS[int(index)]: int((known == index).sum()) for index in set(known)}
        assert row["verdicts"] == counts
        assert row["median_chance"] == pytest.approx(float(place["chance"].median()) / 100.0, abs=1e-4)
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


def test_what_is_asked_reaches_the_map_and_what_is_not_has_its_usual_value() -> None:
    problems = Problems()
    usual = map_command._checked(problems, MapText(), PlaceOptions(), "table")
    assert usual == {"periods": [None], "warmings": (0.0,), "accept": 0.8, "cover": "short grass", "depth": 2.0}
    said = MapText(years="1991-2000", against="2001-2010", warming="0,1.5", accept="0.5")
    asked = map_command._checked(problems, said, PlaceOptions(cover="bare", depth="20"), "json")
    assert asked == {
        "periods": [(1991, 2000), (2001, 2010)],
        "warmings": (0.0, 1.5),
        "accept": 0.5,
        "cover": "bare",
        "depth": 20.0,
    }
    assert map_command._hands(problems, HandsText()) == {"scheduler": None, "workers": None, "processes": None}
    for said_hands, hands in (
        (HandsText(workers="1024"), ("workers", 1024)),
        (HandsText(processes="1"), ("processes", 1)),
        (HandsText(scheduler="tcp://a:1"), ("scheduler", "tcp://a:1")),
    ):
        found = map_command._hands(problems, said_hands)
        assert {name: value for name, value in found.items() if value is not None} == dict([hands])
    problems.raise_if_any()


@pytest.mark.parametrize(("often", "told"), [(2.0, False), (2.6, True)])
def test_a_grid_that_is_read_over_and_over_is_told_how_to_be_rewritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], often: float, told: bool
) -> None:
    made = []
    monkeypatch.setattr("chillplan.region.blocks.blocks_of", lambda grid: [])
    monkeypatch.setattr("chillplan.region.blocks.times_read", lambda grid, blocks: often)
    monkeypatch.setattr("chillplan.region.store.is_made", lambda out, grid, job: True)
    monkeypatch.setattr("chillplan.region.mapping.make_map", lambda *given, **more: made.append(more) or given[2])
    out = tmp_path / "map.nc"
    assert map_command._made(None, None, out, {"workers": 3}, True) == out  # type: ignore[arg-type]
    said = capsys.readouterr().err
    assert (
        "The grid is stored in slices of days, so that each is read 3 times. It goes faster when it is rewritten in "
        "columns of places once, with xarray: data.chunk(time=-1, lat=20, lon=20).to_zarr(...)\n" in said
    ) == told
    assert made[0]["overwrite"] is True and made[0]["hands"].workers == 3
    assert map_command._made(None, None, out, {}, False) == out  # type: ignore[arg-type]
    assert capsys.readouterr().err == f"{out} is there already, from the same data and options: nothing to do.\n"
    assert len(made) == 1


@pytest.mark.parametrize(("told", "said"), [([], "0 of 0"), ([(0, 7), (3, 7)], "3 of 7")])
def test_ctrl_c_says_how_many_regions_are_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], told: list, said: str
) -> None:
    def stopped(*_: object, progress: Callable[[int, int], None], **__: object) -> None:
        for done, count in told:
            progress(done, count)
        raise KeyboardInterrupt

    monkeypatch.setattr("chillplan.region.blocks.blocks_of", lambda grid: [])
    monkeypatch.setattr("chillplan.region.blocks.times_read", lambda grid, blocks: 1.0)
    monkeypatch.setattr("chillplan.region.mapping.make_map", stopped)
    with pytest.raises(KeyboardInterrupt):
        map_command._made(None, None, tmp_path / "map.nc", {}, True)  # type: ignore[arg-type]
    assert capsys.readouterr().err == f"{said} regions are written; the same command goes on from there.\n"


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
