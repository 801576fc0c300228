"""A record that cannot be of the site, or is in another unit than said, is refused, with both places named."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.errors import InputError
from chillplan.site import Site
from chillplan.weather.history import History, Provenance
from chillplan.weather.history_of import history_of
from chillplan.weather.move import move_to_site
from chillplan.weather.read import load_history, read_weather
from chillplan.weather.read_ghcnd import read_dly
from chillplan.weather.record import Record
from tests.records import wave_weather
from tests.weather.made_weather import daily_frame

SITE = Site(42.4, -76.2, elevation=300.0)


def record(latitude: float = 42.4, longitude: float = -76.2, elevation: float | None = 300.0, **wave: float) -> History:
    daily = wave_weather(**wave).rename_axis("date").assign(tmin_flag="", tmax_flag="")  # type: ignore[arg-type]
    return History(daily, Provenance("table", "Ithaca", latitude, longitude, elevation))


@pytest.mark.parametrize(
    ("latitude", "longitude", "sign"),
    [(42.4, 76.2, "longitude"), (-42.4, -76.2, "latitude"), (-42.4, 76.2, "latitude")],
)
def test_a_sign_that_is_wrong_is_asked_about_and_both_places_named(
    latitude: float, longitude: float, sign: str
) -> None:
    with pytest.raises(
        InputError, match=rf"{latitude:g}, longitude {longitude:g} is .*'Ithaca' at 42.4, -76.2: is.*{sign}"
    ):
        move_to_site(record(), replace(SITE, latitude=latitude, longitude=longitude))


def test_a_place_on_another_continent_is_refused_and_a_near_one_is_not() -> None:
    with pytest.raises(InputError, match="check the place, or give a record from nearer"):
        move_to_site(record(), replace(SITE, latitude=50.0, longitude=10.0))
    move_to_site(record(), replace(SITE, latitude=45.0, longitude=-80.0))


@pytest.mark.parametrize(("height", "said"), [(8849.0, "more than 3000 m"), (-450.0, "below the lowest land")])
def test_a_height_far_from_that_of_the_station_is_refused(height: float, said: str) -> None:
    with pytest.raises(InputError, match=said):
        move_to_site(record(elevation=3.0), replace(SITE, elevation=height))


@pytest.mark.parametrize("unit", ["fahrenheit", "tenths"])
def test_a_unit_against_the_climate_is_refused(tmp_path: Path, unit: str) -> None:
    daily_frame().to_csv(tmp_path / "record.csv", index=False)
    history = load_history([tmp_path / "record.csv"], units=unit, latitude=42.4, longitude=-76.2)
    with pytest.raises(InputError, match=r"yearly mean .* check the unit of the temperatures \(--weather-units"):
        move_to_site(history, SITE)


def test_a_header_of_fahrenheit_over_celsius_is_refused(tmp_path: Path) -> None:
    daily_frame().rename(columns={"tmin": "tmin_f", "tmax": "tmax_f"}).to_csv(tmp_path / "record.csv", index=False)
    with pytest.raises(InputError, match=r"no place at latitude 42\.4 at 300 m is that cold"):
        move_to_site(load_history([tmp_path / "record.csv"]), SITE)


# Yearly means from climate normals, from memory: Yakutsk -9, Key West 26, Lhasa 8 at 3650 m, Singapore 27.
@pytest.mark.parametrize(
    ("latitude", "elevation", "mean", "swing"),
    [(62.0, 100.0, -9.0, 28.0), (24.6, 2.0, 26.0, 4.0), (29.7, 3650.0, 8.0, 8.0), (1.4, 15.0, 27.0, 0.5)],
)
def test_real_climates_are_taken(latitude: float, elevation: float, mean: float, swing: float) -> None:
    move_to_site(record(latitude, 0.0, elevation, mean=mean, swing=swing), Site(latitude, 0.0, elevation=elevation))


def test_a_stray_year_is_left_out_and_named() -> None:
    frame = daily_frame()
    stray = pd.concat([frame, frame.tail(1).assign(date=pd.Timestamp("2180-06-01"))], ignore_index=True)
    history = history_of([Record(stray, "farm", "table", "farm.csv")])
    assert history.coverage == 1.0
    assert history.provenance.notes == ("1 day far from all others left out, the year is wrong: 2180-06-01.",)


def test_spikes_and_crossed_days_are_named(tmp_path: Path) -> None:
    frame = daily_frame().assign(tmax=lambda rows: rows["tmax"].round(1))
    frame.loc[[500, 900], "tmax"] += 45.0
    frame.to_csv(tmp_path / "record.csv", index=False)
    notes = " ".join(load_history([tmp_path / "record.csv"]).provenance.notes)
    for day in (500, 900):
        assert f"{frame['date'][day]:%Y-%m-%d}" in notes
    crossed = daily_frame()
    at = np.arange(0, len(crossed), 100)
    crossed.loc[at, ["tmin", "tmax"]] = crossed.loc[at, ["tmax", "tmin"]].to_numpy()
    crossed.to_csv(tmp_path / "crossed.csv", index=False)
    (history,) = read_weather([tmp_path / "crossed.csv"])
    assert f"{len(at)} days with tmin above tmax removed: 2000-01-01" in " ".join(history.provenance.notes)


def test_rain_in_inches_without_a_unit_is_asked_about(tmp_path: Path) -> None:
    frame = daily_frame()
    rain = np.where(np.arange(len(frame)) % 4 == 0, 0.4, 0.0)
    frame.assign(precipitation=rain).to_csv(tmp_path / "record.csv", index=False)
    with pytest.raises(InputError, match="name the column precipitation_in"):
        read_weather([tmp_path / "record.csv"])
    frame.assign(precipitation_in=rain).to_csv(tmp_path / "record.csv", index=False)
    assert read_weather([tmp_path / "record.csv"])[0].daily["precipitation"].max() == pytest.approx(0.4 * 25.4)


def test_impossible_rain_is_removed_and_named(tmp_path: Path) -> None:
    rain = np.full(len(daily_frame()), 2.5)
    rain[[40, 41]] = -5.0, 25_400.0
    daily_frame().assign(precipitation_mm=rain).to_csv(tmp_path / "record.csv", index=False)
    (history,) = read_weather([tmp_path / "record.csv"])
    assert history.daily["precipitation"].iloc[[40, 41]].isna().all()
    said = "2 values of precipitation outside 0 to 1825 mm removed: 2000-02-10, 2000-02-11."
    assert said in history.provenance.notes


def test_a_broken_letter_of_an_element_is_a_damaged_line() -> None:
    days = "".join(f"{value:5d}   " for value in [120] * 31)
    good = [f"USW00014839200001{name}{days}" for name in ("TMAX", "TMIN", "WT01", "TAVG")]
    assert len(read_dly("\n".join(good), "a.dly")) == 1
    with pytest.raises(InputError, match=r"line 3 of 'a\.dly' is not of the GHCN-Daily layout"):
        read_dly("\n".join([*good[:2], good[0].replace("TMAX", "TMQX")]), "a.dly")
