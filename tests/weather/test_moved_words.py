"""What is read when a record is carried to the site, filled, checked or taken from the store: every sentence whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.errors import ChillplanError
from chillplan.site import Site
from chillplan.weather.check import snow_fault
from chillplan.weather.fill import fill_from_neighbours, fill_short_gaps
from chillplan.weather.get import Fetching, history_at, station_list, update_station
from chillplan.weather.history import History, Provenance
from chillplan.weather.move import LAPSE_RATES, move_to_site, refuse_other_climate
from chillplan.weather.quality import _biweight, quality_notes
from chillplan.weather.store import FetchedYear, Store, StoredStation, history_of_stored
from chillplan.weather.tie import fit_tie
from tests.weather.made_weather import daily_frame

FRAME = daily_frame("2001-01-01", "2003-12-31").set_index("date")


def refusal(do: Callable[[], object]) -> tuple[str, ...]:
    with pytest.raises(ChillplanError) as refused:
        do()
    return refused.value.problems


def record(height: float | None = 100.0, latitude: float | None = 44.0, **columns: object) -> History:
    daily = FRAME.assign(tmin_flag="", tmax_flag="", **columns)
    return History(daily, Provenance("made", "farm", latitude, None if latitude is None else -72.0, height))


def site(**changes: object) -> Site:
    return Site(**{"latitude": 44.0, "longitude": -72.0, "elevation": 100.0, **changes})  # type: ignore[arg-type]


def moved(history: History, there: Site) -> tuple[str, ...]:
    return move_to_site(history, there).provenance.notes


TMIN, TMAX = (float(np.mean(LAPSE_RATES[name])) for name in ("tmin", "tmax"))
"""Of the months together. [°C/km]"""
FAR = "The station is far from the site in height: compare your own readings (`chillplan weather tie`)."


@pytest.mark.parametrize(
    ("station", "there", "notes"),
    [
        (100.0, site(), ()),
        (100.0, site(elevation=109.9), ()),
        (None, site(), ("Not corrected for height: the station's height is not known (pass --station-elevation).",)),
        (
            100.0,
            site(elevation=None),
            ("Not corrected for height: the site's height is not known (pass --elevation).",),
        ),
        (
            100.0,
            site(elevation=600.0),
            (f"Moved 500 m up: tmax by {-0.5 * TMAX:.1f} °C, tmin by {-0.5 * TMIN:.1f} °C on average (assumed).",),
        ),
        (
            700.0,
            site(),
            (
                f"Moved 600 m down: tmax by +{0.6 * TMAX:.1f} °C, tmin by +{0.6 * TMIN:.1f} °C on average (assumed).",
                FAR,
            ),
        ),
        (
            100.0,
            site(terrain="valley floor"),
            ("On a valley floor clear nights are taken to be up to 3 °C colder (assumed).",),
        ),
        (
            100.0,
            site(terrain="crest"),
            ("On a crest clear nights are taken to be up to 1 °C warmer (assumed).",),
        ),
        (
            100.0,
            site(tie={"tmin_mean": 1.0}),
            ("The offset fitted to the site's own readings was added.",),
        ),
    ],
)
def test_what_was_added_on_the_way_to_the_site(station: float | None, there: Site, notes: tuple[str, ...]) -> None:
    assert moved(record(station), there) == notes


SIGN = "is the sign of {} wrong? (south and west are negative)"


@pytest.mark.parametrize(
    ("there", "mend"),
    [
        (site(longitude=72.0), SIGN.format("longitude")),
        (site(latitude=-44.0), SIGN.format("latitude")),
        (site(latitude=-44.0, longitude=72.0), SIGN.format("latitude and longitude")),
        (site(longitude=-52.0), "check the place, or give a record from nearer"),
    ],
)
def test_a_station_on_another_side_of_the_globe(there: Site, mend: str) -> None:
    (problem,) = refusal(lambda: moved(record(), there))
    opening, rest = problem.split(" is ", 1)
    assert opening == f"the site at latitude {there.latitude:g}, longitude {there.longitude:g}"
    assert rest.split(" km ", 1)[1] == f"from station 'farm' at 44, -72: {mend}"


def test_heights_that_cannot_be() -> None:
    assert refusal(lambda: moved(record(100.0), site(elevation=4000.0))) == (
        "the site is at 4000 m, station 'farm' at 100 m: more than 3000 m cannot be bridged; check both heights (in "
        "metres), or give another record",
    )
    assert refusal(lambda: moved(record(None), site(elevation=-440.0))) == (
        "elevation -440 m is below the lowest land, -430 m: check the sign",
    )


def test_a_record_of_the_other_half_of_the_globe() -> None:
    southern = record(latitude=None)
    (problem,) = refusal(lambda: moved(southern, site(latitude=-44.0)))
    assert problem == (
        "latitude -44 lies south of the equator, but the record is 15 °C warmer from May to October: check the sign of "
        "the latitude, and the record"
    )


def test_a_climate_that_no_place_has() -> None:
    def climate(history: History, height: float | None = 100.0) -> tuple[str, ...]:
        return refusal(lambda: refuse_other_climate(history, site(elevation=height)))

    assert climate(record(precipitation=100.0)) == (
        "record 'farm': 36525 mm of precipitation a year; no place is that wet: check its unit (name the column "
        "precipitation_mm, _cm or _in), and whether each day has its own amount, not the sum so far",
    )
    unit = "check the unit of the temperatures (--weather-units, the header)"
    for by, word, height, known in (
        (40.0, "warm", 100.0, "at 100 m"),
        (-60.0, "cold", None, "near sea level (its height is not known)"),
    ):
        history = record(height, tmin=FRAME["tmin"] + by, tmax=FRAME["tmax"] + by)
        mean = ((FRAME["tmin"] + FRAME["tmax"]) / 2.0).groupby(FRAME.index.month).mean().mean() + by
        wide = (FRAME["tmax"] - FRAME["tmin"]).median()
        assert climate(history, height) == (
            f"record 'farm': yearly mean {mean:.1f} °C, median daily range {wide:.1f} °C; no place at latitude 44 "
            f"{known} is that {word}: {unit[:-1]}), the latitude, and --station-elevation",
        )
    even = record(tmin=FRAME["tmax"] - 0.5)
    assert climate(even)[0].endswith(f"median daily range 0.5 °C; no place is that even: {unit}")


def test_gaps_and_what_filled_them() -> None:
    holes = FRAME["tmin"].mask(FRAME.index.isin(pd.date_range("2002-01-01", "2002-01-05")))
    (note,) = fill_short_gaps(record(tmin=holes)).provenance.notes
    assert note == "5 values in gaps of at most 5 days interpolated."
    assert fill_short_gaps(record(tmin=holes), 4).provenance.notes == ()
    assert refusal(lambda: fill_short_gaps(record(), 6)) == (
        "a gap of 6 days is too long for a straight line: give 0 to 5",
    )
    other = replace(record(), provenance=Provenance("made", "meadow"))
    (note,) = fill_from_neighbours(record(tmin=holes), [other]).provenance.notes
    assert note == "5 values filled from neighbours: meadow (5)."
    assert refusal(lambda: fill_from_neighbours(record(), [other], 0.6)) == (
        "a share of 0.6 filled days is too much to call it a record: give 0 to 0.5",
    )


def test_too_few_readings_of_the_site() -> None:
    readings = replace(record(), daily=record().daily.head(13))
    assert refusal(lambda: fit_tie(record(), readings)) == (
        "station and readings share 13 days with tmin and tmax: at least 14 are needed; give longer readings or a "
        "station record that reaches to the same days",
    )
    assert fit_tie(record(), replace(record(), daily=record().daily.head(14))).days == 14


def test_days_that_look_wrong_are_counted_and_the_first_are_named() -> None:
    spoiled = FRAME.copy()
    assert quality_notes(spoiled) == []
    spoiled.loc["2002-02-03", ["tmin", "tmax"]] = 0.0
    end = "nothing was changed: see `chillplan weather check`."
    assert quality_notes(spoiled) == [f"1 day looks wrong (2002-02-03); {end}"]
    spoiled.loc["2002-02-05", ["tmin", "tmax"]] = 0.0
    assert quality_notes(spoiled) == [f"2 days look wrong (2002-02-03, 2002-02-05); {end}"]


def test_the_robust_mean_and_spread_are_those_of_the_formula() -> None:
    """Lanzante 1996, by hand: median 3, median distance 1, u = (x - 3) / 7.5."""
    u = [-2 / 7.5, -1 / 7.5, 0.0, 1 / 7.5, 7 / 7.5]
    weight = [(1 - one**2) ** 2 for one in u]
    mean = 3.0 + 7.5 * sum(one * heavy for one, heavy in zip(u, weight, strict=True)) / sum(weight)
    above = sum((7.5 * one) ** 2 * (1 - one**2) ** 4 for one in u)
    below = sum((1 - one**2) * (1 - 5 * one**2) for one in u)
    found = _biweight(np.array([1.0, 2.0, 3.0, 4.0, 10.0]))
    assert found == pytest.approx((mean, (5 * above) ** 0.5 / abs(below)))


def snowy(depth: list[float], water: float = 5.0) -> str | None:
    """Falls on every third day, ten of them; depths of the three days repeat."""
    daily = pd.DataFrame({"tmax": -5.0, "precipitation": [0.0, water, 0.0] * 10, "snow_depth": depth * 10})
    return snow_fault(daily)


@pytest.mark.parametrize(
    ("depth", "words"),
    [
        ([0.0, 50.0, 0.0], None),
        (
            [0.0, 5.0, 0.0],
            "Observed snow depth gains 1.0 mm a mm of water in frost where about 10 are usual: it looks 10 times too "
            "small, so it is not used (name the column with its unit, such as snow_depth_cm).",
        ),
        (
            [0.0, 1270.0, 0.0],
            "Observed snow depth gains 254.0 mm a mm of water in frost where about 10 are usual: it looks 25.4 times "
            "too large, so it is not used (name the column with its unit, such as snow_depth_cm).",
        ),
        (
            [100.0, 100.0, 100.0],
            "Observed snow depth gains 0.0 mm a mm of water in frost where about 10 are usual: it does not follow the "
            "snowfall, so it is not used (name the column with its unit, such as snow_depth_cm).",
        ),
    ],
)
def test_an_observed_snow_depth_that_cannot_be(depth: list[float], words: str | None) -> None:
    assert snowy(depth) == words


def test_snow_that_is_missing_as_zero() -> None:
    daily = pd.DataFrame({"tmax": -5.0, "precipitation": [0.0, 5.0, 0.0] * 12, "snow_depth": [0.0, 80.0, 0.0] * 12})
    daily.loc[:11, "snow_depth"] = 0.0
    assert snow_fault(daily) == (
        "Observed snow depth is 0 after 4 of 12 heavy snowfalls in frost: missing values seem to stand as 0, so it is "
        "not used (leave them blank)."
    )
    daily.loc[:2, "snow_depth"] = [0.0, 80.0, 0.0]
    assert snow_fault(daily) is None  # a quarter may be so


WHEN = datetime(2014, 6, 1, tzinfo=UTC)
PLACE = {"station": "10001", "name": "Valley Farm", "latitude": 44.0, "longitude": -72.0, "elevation": 120.0}


def stored(states: dict[int, str], modelled: int = 0) -> StoredStation:
    years = {year: FetchedYear(WHEN, state) for year, state in states.items()}
    frame = FRAME.assign(precipitation=np.nan, snow_depth=np.nan)
    for name in ("tmin", "tmax", "precipitation", "snow_depth"):
        frame[f"{name}_modelled"] = False
    frame.iloc[400 : 400 + modelled, frame.columns.get_indexer(["tmin_modelled"])] = True
    return StoredStation(dict(PLACE), frame, years, ["ghcnd"])


def test_what_is_told_of_a_stored_station() -> None:
    assert history_of_stored(stored({2001: "kept"})).provenance.notes == ("Fetched 2014-06-01.",)
    gaps = stored({2001: "kept", 2002: "absent", 2003: "no temperatures"}, modelled=7)
    gaps.years[2001] = FetchedYear(datetime(2014, 5, 30, tzinfo=UTC), "kept")
    left = "7 values filled by a weather model left out (--with-model keeps them)."
    opening = ("Fetched between 2014-05-30 and 2014-06-01.", "The source has no file of 2002.")
    assert history_of_stored(gaps).provenance.notes == (*opening, left)
    kept = "7 values filled by a weather model kept and flagged."
    assert history_of_stored(gaps, with_model=True).provenance.notes == (*opening, kept)
    assert history_of_stored(gaps).provenance.source == "Meteostat daily (ghcnd)"
    bare = stored({2001: "kept"})
    bare.frame["tmin"] = np.nan
    assert refusal(lambda: history_of_stored(bare)) == (
        "station '10001' has no daily minimum and maximum: choose another station",
    )


def test_what_cannot_be_had_without_a_network(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    store, offline = Store(Path("held")), Fetching(WHEN, offline=True)
    assert refusal(lambda: station_list(store, offline)) == (
        "the store 'held' has no list of stations and --offline was given: run `chillplan weather find` once while "
        "connected",
    )
    assert refusal(lambda: update_station(PLACE, store, offline)) == (
        "station '10001' is not in the store and --offline was given: run `chillplan weather fetch` while connected",
    )
    old = {**PLACE, "first": 1950.0, "last": 1980.0}
    assert refusal(lambda: update_station(old, store, Fetching(WHEN, first_year=1990))) == (
        "station '10001' has no year to fetch: its record runs from 1950 to 1980, and 1990 was the first "
        "year asked for",
    )
    older = {**PLACE, "first": 1900.0, "last": 1950.0}
    assert refusal(lambda: update_station(older, store, Fetching(WHEN))) == (
        "station '10001' has no year to fetch: its record runs from 1900 to 1950, and sixty years back was the first "
        "year asked for",
    )
    listed = pd.DataFrame([{**PLACE, "country": "US", "first": 2001.0, "last": 2003.0, "coverage": 0.9}])
    store.save_list(listed, WHEN)
    assert refusal(lambda: history_at(44.0, -72.0, None, offline, store)) == (
        "the store 'held' has no station within 300 km of 44, -72 and --offline was given: run `chillplan weather "
        "fetch` while connected",
    )
    assert refusal(lambda: history_at(44.0, -72.0, None, offline, store, station="77")) == (
        "station '77' is not in the list: `chillplan weather find` shows those near",
    )
    short = stored({2001: "kept"})
    short.frame = short.frame.head(1000)
    store.save(short)
    assert refusal(lambda: history_at(44.0, -72.0, None, offline, store)) == (
        "station '10001' has less than three years of temperatures: choose another",
    )
