"""What is read where no station or no file serves, and of the unit that was taken: every sentence whole."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from chillplan.errors import InputError
from chillplan.weather.history import History
from chillplan.weather.read import load_history, pick_station, read_weather
from chillplan.weather.read_noaa import read_dly, read_elements, read_uscrn
from chillplan.weather.units import decide_temperature_unit
from tests.weather.made_weather import daily_frame


def refusal(do: Callable[[], object]) -> tuple[str, ...]:
    with pytest.raises(InputError) as refused:
        do()
    return refused.value.problems


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return Path()


def write(name: str, days: int = 60, **columns: object) -> Path:
    daily_frame("2001-03-01", "2002-12-31").head(days).assign(**columns).to_csv(name, index=False)
    return Path(name)


def histories(*names: str, **place: float) -> list[History]:
    return read_weather([write(f"{name}.csv", 60 + at, **place) for at, name in enumerate(names)])


def test_files_that_cannot_be_read(here: Path) -> None:
    Path("here").mkdir()
    assert refusal(lambda: read_weather([])) == ("no weather file was given: pass --weather with a file or a folder",)
    assert refusal(lambda: read_weather([Path("gone.csv"), Path("lost.csv")])) == (
        "weather file 'gone.csv' does not exist: check the path",
        "weather file 'lost.csv' does not exist: check the path",
    )
    Path("here/notes.pdf").write_text("no weather", encoding="utf-8")
    (problem,) = refusal(lambda: read_weather([Path("here")]))
    assert problem.startswith("folder 'here' has no weather files (.") and problem.endswith("): check the path")
    Path("sheet.csv").write_bytes(b"PK\3\4rest")
    assert refusal(lambda: read_weather([Path("sheet.csv")])) == (
        "'sheet.csv' is a spreadsheet or an archive, not a weather file: save the table as CSV",
    )
    Path("cells.csv").write_bytes(b"CDF\1rest")
    assert refusal(lambda: read_weather([Path("cells.csv")])) == (
        "'cells.csv' is a gridded file: it needs the coordinates of the site to be read at a point",
    )
    Path("picture.csv").write_bytes(b"\1\0\2\0")
    assert refusal(lambda: read_weather([Path("picture.csv")])) == (
        "'picture.csv' is not text, so it is not a weather file: give CSV, parquet or a NOAA daily file",
    )
    Path("packed.csv").write_bytes(b"\x1f\x8bbroken")
    assert refusal(lambda: read_weather([Path("packed.csv")])) == (
        "'packed.csv' is a damaged gzip file: fetch it again",
    )
    Path("table.csv").write_bytes(b"PAR1broken")
    (problem,) = refusal(lambda: read_weather([Path("table.csv")]))
    assert problem.startswith("'table.csv' is a damaged parquet file: ") and problem.endswith("; fetch it again")


def test_a_grid_beside_other_weather_or_without_a_place(here: Path) -> None:
    Path("cells.nc").write_bytes(b"CDF\1rest")
    both = [Path("cells.nc"), Path("farm.csv")]
    assert refusal(lambda: load_history(both)) == (
        "gridded file 'cells.nc' cannot be joined with other weather: pass it alone",
    )
    for place in ({}, {"latitude": 44.0}, {"longitude": -72.0}):
        assert refusal(lambda place=place: load_history(both[:1], **place)) == (  # type: ignore[misc]
            "gridded file 'cells.nc' needs a place: pass --latitude and --longitude",
        )


def test_a_file_in_the_folder_that_is_no_weather_is_passed_over_and_named(here: Path) -> None:
    Path("here").mkdir()
    write("here/farm.csv")
    Path("here/picture.csv").write_bytes(b"\1\0\2\0")
    (history,) = read_weather([Path("here")])
    assert "'picture.csv' in the folder is not a weather file and was passed over." in history.provenance.notes
    Path("here/farm.csv").unlink()
    assert "is not text" in refusal(lambda: read_weather([Path("here")]))[0]


def test_one_station_of_several(here: Path) -> None:
    names = [f"farm {letter}" for letter in "abcdefghijklmn"]
    many = histories(*names)
    listed = ", ".join(names[:12])
    assert refusal(lambda: pick_station([])) == (
        "there is no weather record to choose from: pass --weather with a file or a folder",
    )
    assert refusal(lambda: pick_station(many, latitude=44.0, longitude=-72.0)) == (
        f"the weather has 14 stations ({listed} and 2 more): pass --station with one of them",
    )
    assert refusal(lambda: pick_station(many[:12])) == (
        f"the weather has 12 stations ({listed}): pass --station with one of them",
    )
    assert refusal(lambda: pick_station(many[:3], "FARM")) == (
        "station 'FARM' fits 3 stations (farm a, farm b, farm c): give the whole name",
    )
    assert refusal(lambda: pick_station(many[:2], "fram a")) == (
        "station 'fram a' is not in the weather: did you mean farm a, farm b?",
    )
    assert refusal(lambda: pick_station(many[:2], "xyz")) == (
        "station 'xyz' is not in the weather: use one of farm a, farm b",
    )
    assert pick_station(many, "Farm-B").provenance.station == "farm b"
    twice = [many[0], histories("farm a")[0], many[0]]
    assert pick_station(twice, "farm a").provenance.notes[-1] == "3 records carry this name; the longest was taken."


@pytest.mark.parametrize(("latitude", "km", "far"), [(44.5, 56, False), (44.89, 99, False), (45.0, 111, True)])
def test_the_nearest_station_and_how_far_it_is(here: Path, latitude: float, km: int, far: bool) -> None:
    """A degree of latitude is 111 km."""
    found = [*histories("near", latitude=44.0, longitude=-72.0), *histories("far", latitude=40.0, longitude=-72.0)]
    notes = pick_station(found, latitude=latitude, longitude=-72.0).provenance.notes
    told = (f"Nearest of 2 stations, {km} km from the site.",)
    beyond = (f"The station is {km} km away: its weather may differ from the site's.",) if far else ()
    assert notes[-len(told + beyond) :] == told + beyond


FIXED = "US1AAAA0001200103TMIN  {}   " + "-9999   " * 30
DLY = {
    "a broken line": (
        FIXED.format("-50").replace("TMIN", "TM!N"),
        "line 1 of 'a.dly' is not of the GHCN-Daily layout: fetch the file again",
    ),
    "no maximum": (
        FIXED.format("-50"),
        "'a.dly' has no daily minimum or no daily maximum (TMIN, TMAX): give another station",
    ),
}


@pytest.mark.parametrize("case", DLY)
def test_station_files_of_fixed_width(case: str) -> None:
    text, words = DLY[case]
    assert refusal(lambda: read_dly(text, "a.dly")) == (words,)


def test_station_files_by_element() -> None:
    lines = [f"A,200103{day:02d},{kind},{value},,," for day in (1, 2) for kind, value in (("TMIN", -50), ("TMAX", 60))]
    (record,) = read_elements("\n".join(lines), "a.csv")
    assert (record.source, record.notes) == (
        "GHCN-Daily, by element",
        ["Temperatures are in tenths of °C, as the format says."],
    )
    assert list(record.frame["tmin"]) == [-5.0, -5.0] and list(record.frame["tmax"]) == [6.0, 6.0]
    assert refusal(lambda: read_elements("\n".join([*lines, lines[0]]), "a.csv")) == (
        "TMIN on 2001-03-01 is twice in 'a.csv': remove one of the lines",
    )
    assert refusal(lambda: read_elements("\n".join([*lines, "A,20010230,TMIN,-50,,,"]), "a.csv")) == (
        "'20010230' in 'a.csv' is not a date: fetch the file again",
    )
    assert refusal(lambda: read_elements("\n".join([*lines, "B,20010301,TMIN,-50,,,"]), "a.csv")) == (
        "'a.csv' has a station without tmax: give another station",
    )
    (problem,) = refusal(lambda: read_elements("A,20010301,TMIN,cold,,,", "a.csv"))
    assert problem.startswith("'a.csv' is a damaged GHCN-Daily file: ") and problem.endswith("; fetch it again")


def test_a_damaged_file_of_the_reference_network() -> None:
    (problem,) = refusal(lambda: read_uscrn("3047 20010301 2.622 cold " + "1.0 " * 24, "a.txt"))
    assert problem.startswith("'a.txt' is a damaged USCRN daily file: ") and problem.endswith("; fetch it again")


YEAR = daily_frame("2001-03-01", "2002-12-31")
SCALED = {
    "celsius": YEAR,
    "fahrenheit": YEAR.assign(tmin=YEAR.tmin * 1.8 + 32.0, tmax=YEAR.tmax * 1.8 + 32.0),
    "tenths": YEAR.assign(tmin=YEAR.tmin * 10.0, tmax=YEAR.tmax * 10.0),
    "kelvin": YEAR.assign(tmin=YEAR.tmin + 273.15, tmax=YEAR.tmax + 273.15),
}


@pytest.mark.parametrize(
    ("scale", "stated", "asked", "three", "note"),
    [
        ("celsius", None, None, False, "Temperatures are taken as °C: no unit is stated and the range fits."),
        ("fahrenheit", None, None, True, "Temperatures are taken as °F: the range fits no other unit of this format."),
        (
            "tenths",
            None,
            None,
            True,
            "Temperatures are taken as tenths of °C: the range fits no other unit of this format.",
        ),
        ("fahrenheit", "fahrenheit", None, False, "Temperatures are in °F, as the header says."),
        ("kelvin", "kelvin", None, False, "Temperatures are in kelvin, as the header says."),
        ("tenths", None, "tenths", False, "Temperatures are in tenths of °C, as asked."),
        ("celsius", "celsius", "celsius", False, "Temperatures are in °C, as the header says."),
    ],
)
def test_the_unit_that_was_taken(scale: str, stated: str | None, asked: str | None, three: bool, note: str) -> None:
    assert decide_temperature_unit(SCALED[scale], stated, asked, three, "farm.csv") == (scale, note)


def value_of(frame: pd.DataFrame, name: str = "tmax") -> str:
    worst = frame.loc[frame["tmax"].idxmax()]
    return f"{name} {worst[name]:g} on {worst['date']:%Y-%m-%d} in 'farm.csv'"


WIDE = YEAR.assign(tmin=YEAR.tmin - 12.0, tmax=YEAR.tmax + 12.0)
MIXED = YEAR.assign(tmax=YEAR.tmax.mask(YEAR.index % 100 == 0, 70.0))


@pytest.mark.parametrize(
    ("frame", "stated", "asked", "words"),
    [
        (YEAR, None, "rankine", "unit 'rankine' is not known: use one of celsius, fahrenheit, tenths, kelvin"),
        (
            YEAR,
            "celsius",
            "fahrenheit",
            "the header of 'farm.csv' says °C but fahrenheit was asked for: correct the header or leave the option out",
        ),
        (
            SCALED["kelvin"],
            None,
            None,
            f"{value_of(SCALED['kelvin'])} looks like kelvin: convert the file to °C, or name the columns tmin_k and "
            "tmax_k",
        ),
        (
            SCALED["tenths"],
            None,
            None,
            f"{value_of(SCALED['tenths'])} is outside -89.4 to 57.7 °C: it looks like tenths of a degree; pass "
            "--weather-units tenths or convert it",
        ),
        (
            SCALED["fahrenheit"],
            None,
            None,
            f"{value_of(SCALED['fahrenheit'])} is outside -89.4 to 57.7 °C: the column looks like Fahrenheit; pass "
            "--weather-units fahrenheit or convert it",
        ),
        (
            WIDE,
            None,
            None,
            f"{value_of(WIDE)} fits no unit for certain: pass --weather-units celsius, fahrenheit or tenths",
        ),
        (
            MIXED,
            None,
            None,
            f"{value_of(MIXED)} is outside -89.4 to 57.7 °C while most values fit: the unit seems to "
            "change; use one unit",
        ),
    ],
)
def test_a_unit_that_is_not_clear(frame: pd.DataFrame, stated: str | None, asked: str | None, words: str) -> None:
    assert refusal(lambda: decide_temperature_unit(frame, stated, asked, False, "farm.csv")) == (words,)


def test_a_unit_that_cannot_be() -> None:
    frame = SCALED["fahrenheit"]
    out = int((frame["tmax"] > 57.7).sum() + (frame["tmin"] > 57.7).sum())
    first = frame[frame["tmax"] > 57.7].iloc[0]
    value = (
        f"tmax {first['tmax']:g} on {first['date']:%Y-%m-%d} in 'farm.csv' is impossible in °C, and {out} values are"
    )
    for stated, asked, because in (("celsius", None, "the header says"), (None, "celsius", "the option says")):
        assert refusal(lambda: decide_temperature_unit(frame, stated, asked, False, "farm.csv")) == (  # noqa: B023
            f"{value}: {because} °C; correct the unit",
        )


def test_a_format_of_one_unit_takes_no_other(here: Path) -> None:
    lines = [f"A{'0' * 10},200103{day:02d},{kind},50,,,0700" for day in range(1, 3) for kind in ("TMIN", "TMAX")]
    Path("a.csv").write_text("\n".join(lines), encoding="utf-8")
    assert refusal(lambda: read_weather([Path("a.csv")], units="fahrenheit")) == (
        "'a.csv' is in tenths by its format but fahrenheit was asked for: leave the option out",
    )
