"""Weather files of every format are read; what cannot be right is refused with a sentence."""

from __future__ import annotations

import gzip
import os
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.weather.history import History
from chillplan.weather.read import load_history, pick_station, read_weather
from tests.weather.made_weather import daily_frame


def write(folder: Path, frame: pd.DataFrame, name: str = "farm.csv", **options: object) -> Path:
    path = folder / name
    frame.to_csv(path, index=False, **options)
    return path


def fahrenheit(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.assign(tmin=(frame.tmin * 1.8 + 32).round(0), tmax=(frame.tmax * 1.8 + 32).round(0))


def test_a_plain_table_is_read_as_it_stands(tmp_path: Path, frame: pd.DataFrame) -> None:
    (history,) = read_weather([write(tmp_path, frame)])
    assert history.provenance.station == "farm"
    assert history.provenance.files == ("farm.csv",)
    np.testing.assert_allclose(history.daily["tmin"], frame["tmin"])
    assert (history.daily["tmin_flag"] == "").all()
    assert history.coverage == 1.0
    assert history.daily.index.name == "date"


@pytest.mark.parametrize(
    "headers",
    [
        ("date", "tmin_c", "tmax_c"),
        ("DATE", "TMIN (°C)", "TMAX (°C)"),
        ("time", "temperature_2m_min (°C)", "temperature_2m_max (°C)"),
        ("Date", "Min Temp [degC]", "Max Temp [degC]"),
        ("day", "low", "high"),
    ],
)
def test_common_headers_are_known(tmp_path: Path, frame: pd.DataFrame, headers: tuple[str, str, str]) -> None:
    renamed = frame.set_axis(list(headers), axis=1)
    (history,) = read_weather([write(tmp_path, renamed)])
    np.testing.assert_allclose(history.daily["tmax"], frame["tmax"])


@pytest.mark.parametrize(
    "form", ["%Y-%m-%d", "%Y/%m/%d", "%m/%d/%Y", "%d/%m/%Y", "%d.%m.%Y", "%Y%m%d", "%Y-%m-%dT00:00"]
)
def test_one_date_format_of_many(tmp_path: Path, frame: pd.DataFrame, form: str) -> None:
    (history,) = read_weather([write(tmp_path, frame.assign(date=frame.date.dt.strftime(form)))])
    assert history.daily.index[0] == pd.Timestamp("2000-01-01")
    assert history.daily.index[-1] == pd.Timestamp("2009-12-31")


def test_days_below_thirteen_only_are_told_by_the_step_of_one_day(tmp_path: Path, frame: pd.DataFrame) -> None:
    short = frame[(frame.date >= "2001-03-01") & (frame.date <= "2001-03-12")]
    (history,) = read_weather([write(tmp_path, short.assign(date=short.date.dt.strftime("%d/%m/%Y")))])
    assert history.daily.index[-1] == pd.Timestamp("2001-03-12")


def test_year_month_day_columns_and_semicolons_with_decimal_commas(tmp_path: Path, frame: pd.DataFrame) -> None:
    split = pd.DataFrame({"Year": frame.date.dt.year, "Month": frame.date.dt.month, "Day": frame.date.dt.day})
    split["Tmin(C)"], split["Tmax(C)"] = frame.tmin, frame.tmax
    (history,) = read_weather([write(tmp_path, split, sep=";", decimal=",")])
    np.testing.assert_allclose(history.daily["tmin"], frame["tmin"])


def test_fahrenheit_named_in_the_header_is_converted(tmp_path: Path, frame: pd.DataFrame) -> None:
    table = fahrenheit(frame).set_axis(["date", "tmin_f", "tmax_f"], axis=1).assign(precip_in=1.0, snow_depth_in=2.0)
    (history,) = read_weather([write(tmp_path, table)], repair=False)
    np.testing.assert_allclose(history.daily["tmax"], frame["tmax"], atol=0.28)
    assert history.daily["precipitation"].iloc[0] == pytest.approx(25.4)
    assert history.daily["snow_depth"].iloc[0] == pytest.approx(50.8)


def test_unlabelled_fahrenheit_is_refused_and_read_when_asked(tmp_path: Path, frame: pd.DataFrame) -> None:
    path = write(tmp_path, fahrenheit(frame))
    with pytest.raises(InputError, match=r"looks like Fahrenheit; pass --weather-units fahrenheit or convert it"):
        read_weather([path])
    (history,) = read_weather([path], units="fahrenheit")
    np.testing.assert_allclose(history.daily["tmin"], frame["tmin"], atol=0.28)


def test_unlabelled_tenths_are_refused_and_read_when_asked(tmp_path: Path, frame: pd.DataFrame) -> None:
    path = write(tmp_path, frame.assign(tmin=(frame.tmin * 10).round(), tmax=(frame.tmax * 10).round()))
    with pytest.raises(InputError, match="tenths of a degree; pass --weather-units tenths"):
        read_weather([path])
    (history,) = read_weather([path], units="tenths")
    np.testing.assert_allclose(history.daily["tmin"], frame["tmin"])


def test_kelvin_is_converted_only_where_the_header_says_so(tmp_path: Path, frame: pd.DataFrame) -> None:
    kelvin = frame.assign(tmin=frame.tmin + 273.15, tmax=frame.tmax + 273.15)
    with pytest.raises(
        InputError, match="looks like kelvin: convert the file to °C, or name the columns tmin_k and tmax_k"
    ):
        read_weather([write(tmp_path, kelvin)])
    (history,) = read_weather([write(tmp_path, kelvin.set_axis(["date", "tmin_k", "tmax_k"], axis=1))])
    np.testing.assert_allclose(history.daily["tmin"], frame["tmin"], atol=1e-9)


def test_header_and_option_may_not_disagree(tmp_path: Path, frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match="says °C but fahrenheit was asked for"):
        read_weather([write(tmp_path, frame.set_axis(["date", "tmin_c", "tmax_c"], axis=1))], units="fahrenheit")


def test_fahrenheit_under_a_celsius_header_is_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match="impossible in °C"):
        read_weather([write(tmp_path, fahrenheit(frame).set_axis(["date", "tmin_c", "tmax_c"], axis=1))])


def test_units_changing_within_a_file_are_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    late = frame.date >= "2007-01-01"
    mixed = frame.where(~late, fahrenheit(frame))
    with pytest.raises(InputError, match="the unit seems to change"):
        read_weather([write(tmp_path, mixed)])


def test_exchanged_columns_are_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match="the columns tmin and tmax are exchanged; rename them"):
        read_weather([write(tmp_path, frame.rename(columns={"tmin": "tmax", "tmax": "tmin"}))])


def test_a_noaa_table_in_each_unit_gives_the_same_history(tmp_path: Path, frame: pd.DataFrame) -> None:
    base = pd.DataFrame({"STATION": "USW1", "DATE": frame.date, "NAME": "A, TOWN", "PRCP": 25.4})
    celsius = base.assign(TMAX=frame.tmax, TMIN=frame.tmin)
    tenths = base.assign(TMAX=(frame.tmax * 10).round(), TMIN=(frame.tmin * 10).round(), PRCP=254)
    us = base.assign(TMAX=(frame.tmax * 1.8 + 32).round(2), TMIN=(frame.tmin * 1.8 + 32).round(2), PRCP=1.0)
    for table in (celsius, tenths, us):
        (history,) = read_weather([write(tmp_path, table)])
        np.testing.assert_allclose(history.daily["tmin"], frame["tmin"], atol=0.01)
        np.testing.assert_allclose(history.daily["precipitation"], 25.4)
        assert history.provenance.station == "USW1 A, TOWN"


def test_quality_flags_in_attribute_columns_remove_the_value(tmp_path: Path, frame: pd.DataFrame) -> None:
    table = pd.DataFrame({"STATION": "USW1", "DATE": frame.date, "TMAX": frame.tmax, "TMAX_ATTRIBUTES": ",,W"})
    table["TMIN"], table["TMIN_ATTRIBUTES"] = frame.tmin, ",,W"
    table.loc[100, "TMIN_ATTRIBUTES"] = ",I,W"
    (history,) = read_weather([write(tmp_path, table)], repair=False)
    assert history.daily["tmin_flag"].tolist().count("removed") == 1
    assert np.isnan(history.daily["tmin"].iloc[100])


@pytest.mark.parametrize("missing", ["-9999", "NA", "", "-99.9", "999.9", "M"])
def test_missing_values_are_missing_and_short_gaps_are_flagged(
    tmp_path: Path, frame: pd.DataFrame, missing: str
) -> None:
    text = frame.astype(str)
    text.loc[50:54, "tmin"] = missing
    text.loc[200:205, "tmin"] = missing
    (history,) = read_weather([write(tmp_path, text)])
    assert (history.daily["tmin_flag"].iloc[50:55] == "interpolated").all()
    assert history.daily["tmin"].iloc[50:55].notna().all()
    assert history.daily["tmin"].iloc[200:206].isna().all()


def test_a_straight_line_is_drawn_over_a_gap(tmp_path: Path, frame: pd.DataFrame) -> None:
    holed = frame.copy()
    holed.loc[10:13, "tmax"] = np.nan
    (history,) = read_weather([write(tmp_path, holed)])
    steps = np.diff(history.daily["tmax"].iloc[9:15])
    np.testing.assert_allclose(steps, steps[0], atol=1e-5)  # bridged in single precision


def test_tmin_above_tmax_now_and_then_is_removed_and_said(tmp_path: Path, frame: pd.DataFrame) -> None:
    wrong = frame.copy()
    wrong.loc[30, ["tmin", "tmax"]] = [20.0, 10.0]
    (history,) = read_weather([write(tmp_path, wrong)], repair=True)
    assert any("1 day with tmin above tmax removed: 2000-01-31" in note for note in history.provenance.notes)


def test_a_value_that_stands_still_is_removed(tmp_path: Path, frame: pd.DataFrame) -> None:
    stuck = frame.copy()
    stuck.loc[100:121, "tmin"] = 3.3
    stuck.loc[100:121, "tmax"] = np.maximum(stuck.loc[100:121, "tmax"], 5.0)
    (history,) = read_weather([write(tmp_path, stuck)])
    assert history.daily["tmin"].iloc[100:122].isna().all()
    assert any("22 days of tmin in runs of 20 or more equal values" in note for note in history.provenance.notes)


def test_many_stations_in_one_parquet(tmp_path: Path, frame: pd.DataFrame) -> None:
    north = frame.assign(station="North", latitude=60.0, longitude=10.0, elevation_m=5.0, soil_temp_5cm_c=4.0)
    south = frame.assign(station="South", latitude=40.0, longitude=10.0, elevation_m=50.0, soil_temp_5cm_c=np.nan)
    both = pd.concat([south, north]).assign(soil_temp_10cm_c=6.0, soil_moisture_5cm=0.3)
    path = tmp_path / "both.parquet"
    both.to_parquet(path)
    histories = read_weather([path])
    assert [history.provenance.station for history in histories] == ["North", "South"]
    assert histories[0].soil_depth_cm == 5.0
    assert histories[1].soil_depth_cm is None
    assert set(histories[0].daily) >= {"soil_temperature", "soil_temperature_10cm", "soil_moisture"}
    assert load_history([path], latitude=41.0, longitude=11.0).provenance.elevation == 50.0
    assert load_history([path], station="nor").provenance.station == "North"
    with pytest.raises(InputError, match="2 stations"):
        load_history([path])
    with pytest.raises(InputError, match="did you mean North"):
        load_history([path], station="Norht")


def uscrn_line(day: str, tmax: float, tmin: float, soil: float = 4.0) -> str:
    values = [tmax, tmin, (tmax + tmin) / 2, (tmax + tmin) / 2, 0.0, 8.68]
    surface, humidity = "C 5.0 1.0 3.0", "90.0 60.0 70.0"
    return (
        f"64756 {day}  2.622  -73.74   41.79 " + " ".join(f"{v:.1f}" for v in values) + f" {surface} {humidity} "
        f"0.351 -99.000 0.311 0.323 0.394 {soil:.1f} {soil + 1:.1f} 7.6 8.3 -9999.0"
    )


def test_reference_network_files_of_several_years_become_one_history(tmp_path: Path) -> None:
    for year in (2019, 2020):
        days = pd.date_range(f"{year}-01-01", f"{year}-12-31")
        lines = [uscrn_line(f"{day:%Y%m%d}", 8 + day.day % 7, -1 - day.day % 5, day.month) for day in days]
        (tmp_path / f"CRND0103-{year}-NY_Millbrook_3_W.txt").write_text("\n".join(lines) + "\n")
    (history,) = read_weather([tmp_path])
    assert history.provenance.station == "NY_Millbrook_3_W"
    assert (history.provenance.latitude, history.provenance.longitude) == (41.79, -73.74)
    assert len(history.daily) == 731
    assert history.daily["soil_temperature"].iloc[-1] == 12.0
    assert history.daily["soil_temperature_10cm"].iloc[-1] == 13.0
    assert "soil_moisture_10cm" not in history.daily
    assert history.soil_depth_cm == 5.0


def dly_line(station: str, year: int, month: int, element: str, values: list[int], flags: dict[int, str]) -> str:
    days = [f"{value:5d} {flags.get(day, ' ')}S" for day, value in enumerate(values)]
    days += ["-9999   "] * (31 - len(values))
    return f"{station}{year}{month:02d}{element}" + "".join(days)


def test_fixed_width_files_keep_quality_flags(tmp_path: Path) -> None:
    lines = []
    for month, days in ((1, 31), (2, 29)):
        lines.append(dly_line("USW00014839", 2020, month, "TMAX", [50 + day for day in range(days)], {}))
        lines.append(dly_line("USW00014839", 2020, month, "TMIN", [-100 + day for day in range(days)], {4: "I"}))
        lines.append(dly_line("USW00014839", 2020, month, "PRCP", [12] * days, {}))
        lines.append(dly_line("USW00014839", 2020, month, "AWND", [12] * days, {}))
    path = tmp_path / "USW00014839.dly"
    path.write_text("\n".join(lines) + "\n")
    (history,) = read_weather([path], repair=False)
    assert len(history.daily) == 60
    assert history.daily["tmin"].iloc[0] == -10.0
    assert history.daily["precipitation"].iloc[-1] == pytest.approx(1.2)
    assert history.daily.index[history.daily["tmin_flag"] == "removed"].strftime("%m-%d").tolist() == ["01-05", "02-05"]


def test_one_element_a_line_is_read(tmp_path: Path) -> None:
    lines = [
        f"USW00014839,{day:%Y%m%d},{element},{value},,{'X' if day.day == 9 else ''},W,"
        for day in pd.date_range("2020-01-01", "2020-01-31")
        for element, value in (("TMAX", 56), ("TMIN", -day.day), ("PRCP", 3))
    ]
    path = tmp_path / "USW00014839.csv"
    path.write_text("\n".join(lines))
    (history,) = read_weather([path], repair=False)
    assert history.daily["tmin"].iloc[4] == -0.5
    assert history.daily["tmin_flag"].iloc[8] == "removed"


def test_a_compressed_file_is_read(tmp_path: Path, frame: pd.DataFrame) -> None:
    path = tmp_path / "farm.csv.gz"
    path.write_bytes(gzip.compress(frame.to_csv(index=False).encode()))
    assert len(read_weather([path])[0].daily) == len(frame)
    path.write_bytes(path.read_bytes()[:-200])
    with pytest.raises(InputError, match="damaged gzip file"):
        read_weather([path])


def test_reading_does_not_depend_on_the_working_folder(
    tmp_path: Path, frame: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, frame)
    before = read_weather([tmp_path / "farm.csv"])[0]
    monkeypatch.chdir(tmp_path)
    assert read_weather([Path("farm.csv")])[0].provenance == before.provenance


def test_dates_out_of_order_are_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    mixed = frame.copy()
    mixed.loc[[100, 200]] = mixed.loc[[200, 100]].to_numpy()
    with pytest.raises(InputError, match=r"out of order: 2000-04-11 follows 2000-07-19; sort the rows"):
        read_weather([write(tmp_path, mixed)])


def test_newest_first_is_turned_round(tmp_path: Path, frame: pd.DataFrame) -> None:
    (history,) = read_weather([write(tmp_path, frame[::-1])])
    np.testing.assert_allclose(history.daily["tmin"], frame["tmin"])
    assert any("turned round" in note for note in history.provenance.notes)


def test_identical_doubles_are_dropped_and_contradictions_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    doubled = pd.concat([frame, frame.iloc[40:42]]).sort_values("date", kind="stable")
    (history,) = read_weather([write(tmp_path, doubled)])
    assert len(history.daily) == len(frame)
    assert any(note.startswith("2 rows that repeat a day") for note in history.provenance.notes)
    doubled.iloc[41, 1] -= 2.0
    with pytest.raises(InputError, match="two different temperatures for one day: 2000-02-10"):
        read_weather([write(tmp_path, doubled)])


def test_two_date_formats_are_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    text = frame.assign(date=frame.date.dt.strftime("%Y-%m-%d"))
    text.loc[800:, "date"] = frame.date[800:].dt.strftime("%m/%d/%Y")
    with pytest.raises(InputError, match="in two formats: most are month/day/year, but data row 1 has"):
        read_weather([write(tmp_path, text)])


def test_a_day_that_does_not_exist_is_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    text = frame.assign(date=frame.date.dt.strftime("%Y-%m-%d"))
    text.loc[58, "date"] = "2001-02-29"
    with pytest.raises(InputError, match=r"'2001-02-29' in data row 59 of 'farm.csv' does not exist"):
        read_weather([write(tmp_path, text)])


@pytest.mark.parametrize(
    ("form", "message"),
    [("%m/%d/%y", "has a year of two digits"), ("%j-%Y", "in no known format"), ("2150-%m-%d", "does not exist")],
)
def test_dates_that_cannot_be_told_are_refused(tmp_path: Path, frame: pd.DataFrame, form: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_weather([write(tmp_path, frame.assign(date=frame.date.dt.strftime(form)))])


def test_day_numbers_of_a_spreadsheet_are_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match=r"'36526' in 'farm.csv' is a spreadsheet's day number"):
        read_weather([write(tmp_path, frame.assign(date=range(36526, 36526 + len(frame))))])


def test_a_part_of_a_year_that_may_be_fahrenheit_is_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    """Winter months alone never look impossible in °C; their daily range does."""
    winter = frame.date.dt.month.isin([12, 1, 2])
    path = write(tmp_path, fahrenheit(frame[winter]))
    with pytest.raises(InputError, match="fits no unit for certain: pass --weather-units"):
        read_weather([path])
    assert len(read_weather([path], units="fahrenheit")) == 1
    assert len(read_weather([write(tmp_path, frame[winter], "celsius.csv")])) == 1


def test_a_record_that_stands_still_throughout_is_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match=r"no tmin of 'farm' can be right .*3653 days of tmin in runs"):
        read_weather([write(tmp_path, frame.assign(tmin=5.0, tmax=frame.tmax.clip(lower=6.0)))])


def test_a_station_off_the_globe_is_refused(tmp_path: Path, frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match=r"latitude 400 in 'farm.csv' is outside -90 to 90"):
        read_weather([write(tmp_path, frame.assign(station="A", latitude=400.0, longitude=2.0))])


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
def test_line_ends_and_marks_of_other_systems(tmp_path: Path, frame: pd.DataFrame, ending: str) -> None:
    path = tmp_path / "farm.csv"
    path.write_bytes(("\ufeff" + frame.to_csv(index=False, lineterminator=ending)).encode())
    assert len(read_weather([path])[0].daily) == len(frame)
    path.write_bytes(frame.to_csv(index=False, sep="|", lineterminator=ending).encode("utf-16"))
    assert len(read_weather([path])[0].daily) == len(frame)


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_damaged_bytes_never_escape_as_another_error(data: st.DataObject) -> None:
    """Whatever is done to a good file, it is read or refused in sentences."""
    content = bytearray(daily_frame("2001-01-01", "2001-03-31").to_csv(index=False).encode())
    for _ in range(data.draw(st.integers(1, 25))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "farm.csv"
        path.write_bytes(bytes(content[: data.draw(st.integers(1, len(content)))]))
        try:
            load_history([path])
        except InputError as error:
            assert all(problem and "\n" not in problem for problem in error.problems)


def test_hourly_rows_are_refused(tmp_path: Path) -> None:
    hours = pd.DataFrame({"date": pd.date_range("2020-01-01", periods=400, freq="h"), "tmin": 1.0, "tmax": 2.0})
    with pytest.raises(InputError, match="several hours a day"):
        read_weather([write(tmp_path, hours)])


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("empty.csv", b"", "is empty"),
        ("blank.csv", b"\n \n", "is empty"),
        ("letter.csv", b"Dear grower,\nplease find enclosed\n", "not a weather file that can be read"),
        ("header.csv", b"date,tmin,tmax\n", "no rows"),
        ("mean.csv", b"date,temperature\n2020-01-01,4\n", "no column for tmin, tmax"),
        ("two.csv", b"date,tmin,tmax\n2020-01-01,1,4\n2020-01-02,2,5\n", "has 2 days: at least 10"),
        ("word.csv", b"date,tmin,tmax\n2020-01-01,mild,4\n2020-01-02,2,5\n", "'mild' in column 'tmin', data row 1"),
        ("none.csv", b"date,tmin,tmax\n2020-01-01,,\n2020-01-02,,\n", "no temperatures"),
        ("photo.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00", "is not text"),
        ("book.csv", b"PK\x03\x04\x14\x00", "save the table as CSV"),
        ("grid.csv", b"\x89HDF\r\n\x1a\n", "gridded file"),
        ("cut.parquet", b"PAR1broken", "damaged parquet"),
        (
            "short.csv",
            b"date,tmin,tmax\n2020-01-01,1,4,9,9,9\n1",
            "'1' in data row 2 .* does not exist",
        ),
        ("nodate.csv", b"date,tmin,tmax\n2020-01-01,1,4\n,2,5\n", "row 2 of 'nodate.csv' has no date"),
        ("weird.csv", b"date,tmin,tmax\nfirst,1,4\nsecond,2,5\n", "in no known format"),
    ],
)
def test_what_is_not_weather_is_refused_in_a_sentence(tmp_path: Path, name: str, content: bytes, message: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(InputError, match=message) as caught:
        read_weather([path])
    assert all("\n" not in problem and len(problem) < 500 for problem in caught.value.problems)


def test_every_bad_file_is_named_at_once(tmp_path: Path) -> None:
    (tmp_path / "empty.csv").write_text("")
    with pytest.raises(InputError) as caught:
        read_weather([tmp_path / "empty.csv", tmp_path / "nowhere.csv"])
    assert len(caught.value.problems) == 2
    assert "does not exist" in caught.value.problems[1]


def test_a_folder_without_weather_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="has no weather files"):
        read_weather([tmp_path])


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read every file")
def test_a_file_that_may_not_be_read_is_named(tmp_path: Path, frame: pd.DataFrame) -> None:
    path = write(tmp_path, frame)
    path.chmod(0)
    with pytest.raises(InputError, match="cannot be read"):
        read_weather([path])


@pytest.mark.parametrize(
    ("name", "first", "last"), [("champion", "1982-01-01", "2018"), ("brussels", "1976-01-01", "2005")]
)
def test_real_station_files_of_a_registry_package(name: str, first: str, last: str) -> None:
    """Daily records that the package aquacrop ships: Champion, Nebraska, and Brussels."""
    import aquacrop

    path = Path(aquacrop.__file__).parent / "data" / f"{name}_climate.txt"
    (history,) = read_weather([path])
    assert f"{history.daily.index[0]:%Y-%m-%d}" == first
    assert f"{history.daily.index[-1]:%Y}" == last
    assert history.coverage > 0.99
    assert "precipitation" in history.daily


def test_the_observed_records_are_read(observations: Path) -> None:
    (milwaukee,) = read_weather([observations / "milwaukee_WI_noaa_export_fahrenheit.csv"])
    # Lowest and highest of the record from the file itself, -25.96 °F and 102.92 °F.
    assert milwaukee.daily["tmin"].min() == pytest.approx(-32.2, abs=0.05)
    assert milwaukee.daily["tmax"].max() == pytest.approx(39.4, abs=0.05)
    assert any("°F" in note for note in milwaukee.provenance.notes)
    (gainesville,) = read_weather([observations / "gainesville_FL_ghcnd_tenths.csv"])
    assert gainesville.coverage == pytest.approx(0.79, abs=0.005)
    assert any("tenths" in note for note in gainesville.provenance.notes)
    assert len(read_weather([observations / "seatac_WA.csv"])[0].daily) > 25_000
    assert len(read_weather([observations / "cary_millbrook_NY.csv"])[0].daily) > 13_800
    stations = read_weather([observations / "uscrn_soil_development.parquet"])
    assert len(stations) == 38
    assert all(station.soil_depth_cm == 5.0 and station.provenance.latitude for station in stations)
    raw = read_weather([observations / "uscrn_raw"])
    assert [history.provenance.station for history in raw] == ["AR_Batesville_8_WNW", "NY_Ithaca_13_E"]


def test_raw_files_and_parquet_of_one_station_agree(observations: Path) -> None:
    raw = load_history([observations / "uscrn_raw"], station="NY_Ithaca_13_E")
    table = load_history([observations / "uscrn_soil_development.parquet"], station="NY_Ithaca_13_E")
    shared = raw.daily.index.intersection(table.daily.index)
    assert len(shared) > 1400
    for name in ("tmin", "tmax", "soil_temperature", "soil_moisture"):
        np.testing.assert_allclose(raw.daily.loc[shared, name], table.daily.loc[shared, name], atol=1e-4)


def test_daily_files_of_national_services(tmp_path: Path, frame: pd.DataFrame) -> None:
    """Column names as the services of Canada and Germany publish them, and of a grid cell cut out as a table."""
    day = frame.date.dt
    canada = pd.DataFrame({"Longitude (x)": -72.0, "Latitude (y)": 45.0, "Climate ID": "7024", "Date/Time": frame.date})
    canada["Year"], canada["Month"], canada["Day"] = day.year, day.month, day.day
    canada["Max Temp (°C)"], canada["Max Temp Flag"], canada["Min Temp (°C)"] = frame.tmax, "E", frame.tmin
    canada["Total Precip (mm)"], canada["Snow on Grnd (cm)"] = 2.5, 4
    germany = pd.DataFrame({"STATIONS_ID": 44, "MESS_DATUM": day.strftime("%Y%m%d"), " RSK": 2.5, "SHK_TAG": 4})
    germany[" TXK"], germany[" TNK"], germany["eor"] = frame.tmax, frame.tmin, "eor"
    cell = pd.DataFrame({"year": day.year, "yday": day.day_of_year, "prcp (mm/day)": 2.5, "tmax (deg c)": frame.tmax})
    cell["tmin (deg c)"], cell["snow_depth_cm"] = frame.tmin, 4
    for table, separator in ((canada, ","), (germany, ";"), (cell, ",")):
        (history,) = read_weather([write(tmp_path, table, sep=separator)], repair=False)
        np.testing.assert_allclose(history.daily["tmin"], frame["tmin"])
        np.testing.assert_allclose(history.daily["tmax"], frame["tmax"])
        assert (history.daily["precipitation"] == 2.5).all()
        assert (history.daily["snow_depth"] == 40.0).all()
    placed = read_weather([write(tmp_path, canada)])[0].provenance
    assert (placed.latitude, placed.longitude) == (45.0, -72.0)


def test_of_two_records_at_one_place_the_longer_is_taken(tmp_path: Path, frame: pd.DataFrame) -> None:
    near = frame.iloc[:800].assign(station="Short", latitude=44.0, longitude=-72.0)
    long = frame.assign(station="Long", latitude=44.004, longitude=-72.0)
    far = frame.assign(station="Far", latitude=44.2, longitude=-72.0)
    path = tmp_path / "three.parquet"
    pd.concat([near, long, far]).to_parquet(path)
    assert load_history([path], latitude=44.0, longitude=-72.0).provenance.station == "Long"


def test_of_two_records_of_one_name_the_longer_is_taken_and_that_is_said(tmp_path: Path, frame: pd.DataFrame) -> None:
    (made,) = read_weather([write(tmp_path, frame)])

    def record(name: str, days: int) -> History:
        return replace(made, daily=made.daily.iloc[:days], provenance=replace(made.provenance, station=name))

    short, long, other = record("North Mill", 400), record("North Mill", 600), record("North Mill 2", 500)
    taken = pick_station([short, long, other], station="north mill")
    assert len(taken.daily) == 600
    assert "2 records carry this name; the longest was taken." in taken.provenance.notes
    alone = pick_station([short, other], station="North Mill")
    assert len(alone.daily) == 400
    assert not [note for note in alone.provenance.notes if "carry this name" in note]
    with pytest.raises(InputError, match="fits 3 stations"):
        pick_station([short, long, other], station="north")


def test_the_list_of_stations_gives_places_to_files_without(tmp_path: Path) -> None:
    """Two lines of the published list, as its readme lays them out."""
    (tmp_path / "ghcnd-stations.txt").write_text(
        "USW00014839  42.9550  -87.9044  204.2 WI MILWAUKEE MITCHELL AP                   72640\n"
        "USW00012816  29.6919  -82.2756 -999.9 FL GAINESVILLE RGNL AP\n"
    )
    with pytest.raises(InputError, match="holds places only"):
        read_weather([tmp_path / "ghcnd-stations.txt"])
    for station in ("USW00014839", "USW00012816"):
        lines = [dly_line(station, 2020, 1, name, [value + day for day in range(31)], {}) for name, value in
                 (("TMAX", 50), ("TMIN", -100))]  # fmt: skip
        (tmp_path / f"{station}.dly").write_text("\n".join(lines) + "\n")
    gainesville, milwaukee = (history.provenance for history in read_weather([tmp_path]))
    assert (milwaukee.latitude, milwaukee.longitude, milwaukee.elevation) == (42.955, -87.9044, 204.2)
    assert milwaukee.station == "USW00014839 MILWAUKEE MITCHELL AP"
    assert gainesville.elevation is None
    assert load_history([tmp_path], latitude=43.0, longitude=-88.0).provenance.station == milwaukee.station
