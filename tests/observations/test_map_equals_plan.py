"""A map of real stations against the plan of each, both asked on the command line: the same to the last day."""

from __future__ import annotations

import csv
import io
import json
import os
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.region.store import open_map
from chillplan.seeds.catalogue import find_species
from chillplan.verdicts import VERDICTS
from tests.cli.command import chillplan

FOLDER = os.environ.get("CHILLPLAN_OBSERVATIONS")
pytestmark = pytest.mark.skipif(not FOLDER, reason="CHILLPLAN_OBSERVATIONS names no folder of records")

STATIONS = (
    "CA_Yosemite_Village_12_W",
    "MT_Wolf_Point_29_ENE",
    "NM_Los_Alamos_13_W",
    "NY_Millbrook_3_W",
    "WV_Elkins_21_ENE",
)
SPECIES = ("Asclepias syriaca", "Asimina triloba", "Tilia americana")
MOVED_BY_WARMTH = timedelta(days=30)  # a place may be so much later than where the ripening was noted
COLUMNS = {"tmin_c": "tasmin", "tmax_c": "tasmax", "precip_mm": "pr"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A table of sites with their records, and the same stations as a NetCDF file of places."""
    found = tmp_path_factory.mktemp("stations")
    table = pd.read_parquet(Path(str(FOLDER)) / "uscrn_soil_development.parquet")
    table = table[table["station"].isin(STATIONS)].assign(date=lambda rows: pd.to_datetime(rows["date"]))
    sites, series = [], {name: [] for name in COLUMNS.values()}
    days = pd.date_range("2008-01-01", "2024-03-31")
    for name in STATIONS:
        rows = table[table["station"] == name].set_index("date").reindex(days)
        record = rows[list(COLUMNS)].rename_axis("date").rename(columns={"precip_mm": "precipitation_mm"})
        record.to_csv(found / f"{name}.csv", float_format="%.2f")
        for column, key in COLUMNS.items():
            series[key].append(rows[column].to_numpy(np.float32))
        where = rows[["latitude", "longitude", "elevation_m"]].dropna().iloc[0]
        sites.append({"name": name, "latitude": where.iloc[0], "longitude": where.iloc[1], "elevation": where.iloc[2]})
    places = pd.DataFrame(sites)
    places.assign(weather=places["name"] + ".csv").to_csv(found / "sites.csv", index=False)
    air = {"standard_name": "air_temperature", "units": "degC"}
    said = {
        "tasmin": {**air, "cell_methods": "time: minimum"},
        "tasmax": {**air, "cell_methods": "time: maximum"},
        "pr": {"standard_name": "precipitation_amount", "units": "mm"},
    }
    data = xr.Dataset(
        {key: (("time", "station"), np.stack(values, axis=1), said[key]) for key, values in series.items()},
        {
            "time": days,
            "lat": ("station", places["latitude"], {"units": "degrees_north"}),
            "lon": ("station", places["longitude"], {"units": "degrees_east"}),
        },
    )
    data["elevation"] = ("station", places["elevation"], {"units": "m"})
    data.to_netcdf(found / "grid.nc")
    return found


def waits_until_ripe(row: dict[str, str], first: date) -> bool:
    """Whether a plan begins the window later than the map, which knows no ripening, since the seed is not ripe."""
    ripening = find_species(built_in_catalogue(), row["species"]).ripening
    if ripening is None or date.fromisoformat(row["sow_from"]) <= first:
        return False
    latest = date(2026, *ripening.last) + MOVED_BY_WARMTH
    assert date.fromisoformat(row["sow_from"]) <= latest, row
    return True


def test_verdict_chance_and_window_are_those_of_the_plan(folder: Path) -> None:
    named = [word for name in SPECIES for word in ("--species", name)]
    answer = chillplan("map", "--weather", folder / "grid.nc", *named, "--out", folder / "map.nc", "--format", "json")
    assert answer.code == 0, answer.err
    assert json.loads(answer.out)["summary"][0]["places"] == len(STATIONS)
    table = chillplan("plan", "--sites", folder / "sites.csv", *named, "--today", "2026-08-01", "--format", "csv")
    assert table.code == 0, table.err
    data = open_map(folder / "map.nc").isel(period=0, warming=0).load()
    rows = list(csv.DictReader(io.StringIO(table.out)))
    assert len(rows) == len(STATIONS) * len(SPECIES)
    for row in rows:
        place = data.sel(species=row["species"]).isel(station=STATIONS.index(row["site"]))
        name = f"{row['site']}, {row['species']}"
        assert VERDICTS[int(place["verdict"])] == row["verdict"], name
        assert (int(place["good"]), int(place["winters"])) == (int(row["good_winters"]), int(row["winters"])), name
        assert float(place["chance"]) / 100.0 == pytest.approx(float(row["chance"]), abs=0.0006), name
        if row["sow_from"] and waits_until_ripe(row, date(2026, 8, 1) + timedelta(days=int(place["sow_from"]))):
            continue
        for key in ("sow_from", "sow_to"):
            if row[key]:
                day = date(2026, 8, 1) + timedelta(days=int(place[key]))
                assert abs((date.fromisoformat(row[key]) - day).days) == 0, (name, key)
