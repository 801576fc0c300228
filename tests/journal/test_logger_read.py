"""Logger files of many layouts give the same readings. The layouts are our own, after common ways to write a table."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.journal.logger_columns import number_of, split_moment
from chillplan.journal.logger_read import parse_logger, read_logger

EXPECTED = [
    (datetime(2027, 1, 30, 23, 30), 4.5),
    (datetime(2027, 1, 31, 0, 0), -0.5),
    (datetime(2027, 1, 31, 0, 30), 12.0),
]

LAYOUTS = {
    "iso, one column": "time,temperature\n2027-01-30 23:30,4.5\n2027-01-31 00:00,-0.5\n2027-01-31 00:30,12.0\n",
    "iso with T and zone": "at,temp_c\n2027-01-30T23:30:00Z,4.5\n2027-01-31T00:00:00Z,-0.5\n2027-01-31T00:30:00Z,12\n",
    "no header": "2027-01-30 23:30,4.5\n2027-01-31 00:00,-0.5\n2027-01-31 00:30,12.0\n",
    "semicolon and decimal comma": (
        "Datum;Temperatur (°C)\n30.01.2027 23:30;4,5\n31.01.2027 00:00;-0,5\n31.01.2027 00:30;12,0\n"
    ),
    "fahrenheit, month first, am and pm": (
        'No.,Date Time,"Temp (°F)"\n1,01/30/2027 11:30:00 PM,40.1\n2,01/31/2027 12:00:00 AM,31.1\n'
        "3,01/31/2027 12:30:00 AM,53.6\n"
    ),
    "date and time apart, humidity beside": (
        "Serial,12345\nPlace,cold store\n\nDate,Time,Humidity %,Temperature C,Dew point C\n"
        "30/01/2027,23:30,80,4.5,1.0\n31/01/2027,00:00,81,-0.5,-3\n31/01/2027,00:30,82,12.0,8\n"
    ),
    "tab, month names": "When\tCelsius\n30-Jan-2027 23:30\t4.5\n31-Jan-2027 00:00\t-0.5\n31-Jan-2027 00:30\t12.0\n",
    "named month first, quoted comma": (
        '"Jan 30, 2027 11:30 PM","4,5"\n"Jan 31, 2027 12:00 AM","-0,5"\n"Jan 31, 2027 12:30 AM","12,0"\n'
    ),
    "kelvin": "time;T [K]\n2027-01-30 23:30;277.65\n2027-01-31 00:00;272.65\n2027-01-31 00:30;285.15\n",
    "unit in the cell, minus sign": (
        "time,t\n2027-01-30 23:30,4.5 °C\n2027-01-31 00:00,−0.5 °C\n2027-01-31 00:30,12.0 °C\n"
    ),
    "newest first": "time|temperature\n2027-01-31 00:30|12.0\n2027-01-31 00:00|-0.5\n2027-01-30 23:30|4.5\n",
    "two-digit year first": "at,temp\n27-01-30 23:30,4.5\n27-01-31 00:00,-0.5\n27-01-31 00:30,12\n",
    "alarm limits and a name beside": (
        "Cool box,Time,Celsius(°C),High Alarm,Low Alarm,Serial Number\n1,2027-01-30 23:30:00,4.5,30.0,0.0,1001\n"
        "2,2027-01-31 00:00:00,-0.5,30.0,0.0,\n3,2027-01-31 00:30:00,12.0,30.0,0.0,\n"
    ),
    "zone behind the time": (
        "time,temp\n2027-01-30 23:30:00 -0500,4.5\n2027-01-31 00:00:00 -0500,-0.5\n2027-01-31 00:30:00 -0500,12\n"
    ),
    "two-digit year": "Date;Temp °C\n30/01/27 23:30;4,5\n31/01/27 00:00;-0,5\n31/01/27 00:30;12\n",
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_layout_gives_the_same_readings(layout: str) -> None:
    record = parse_logger(LAYOUTS[layout])
    assert [(reading.at, pytest.approx(reading.temperature, abs=1e-3)) for reading in record.readings] == EXPECTED


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_every_usual_encoding_is_read(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "Kühl box 'A'.csv"
    path.write_text(LAYOUTS["semicolon and decimal comma"], encoding=encoding)
    assert [reading.temperature for reading in read_logger(path).readings] == [4.5, -0.5, 12.0]


def test_rows_without_a_temperature_are_counted() -> None:
    record = parse_logger(
        "time,temp\n2027-01-30 23:30,4.5\n2027-01-31 00:00,\n2027-01-31 00:30,Err\n2027-01-31 01:00,5\n"
    )
    assert (len(record.readings), record.skipped) == (2, 2)


def test_fahrenheit_without_a_unit_is_taken_by_size_and_said() -> None:
    record = parse_logger("time,temp\n2027-01-30 23:30,39.2\n2027-01-31 00:00,41\n")
    assert [reading.temperature for reading in record.readings] == [4.0, 5.0]
    assert "no unit in the header: taken for °F by the size of the values" in record.notes
    kept = parse_logger("time,temp\n2027-01-30 23:30,39.2\n2027-01-31 00:00,41\n", unit="C")
    assert [reading.temperature for reading in kept.readings] == [39.2, 41.0]


@pytest.mark.parametrize(("layout", "said"), [("kelvin", "kelvin"), ("fahrenheit, month first, am and pm", "°F")])
def test_what_was_converted_is_said_and_nothing_else(layout: str, said: str) -> None:
    assert f"converted from {said}" in parse_logger(LAYOUTS[layout]).notes
    plain = parse_logger("time,temp (°C)\n2027-01-30 23:30,4\n2027-01-31 00:00,5\n")
    assert not [note for note in plain.notes if note.startswith("converted")]


def test_dates_that_can_be_read_both_ways_are_asked_about() -> None:
    text = "time,temp\n03/02/2027 10:00,4\n03/02/2027 12:00,5\n"
    with pytest.raises(InputError, match=r"such as '03/02/2027 10:00' .*can be read both ways: pass --date-order"):
        parse_logger(text)
    assert parse_logger(text, date_order="day first").readings[0].at == datetime(2027, 2, 3, 10)
    assert parse_logger(text, date_order="month first").readings[0].at == datetime(2027, 3, 2, 10)


def test_the_order_of_time_decides_between_day_and_month() -> None:
    text = "time,temp\n" + "".join(f"{day:02d}/02/2027 10:00,4\n" for day in range(1, 11))
    assert parse_logger(text).readings[-1].at == datetime(2027, 2, 10, 10)


def test_two_possible_columns_are_asked_about() -> None:
    text = "time,Temp inside °C,Temp outside °C\n2027-01-30 23:30,4.5,-6\n2027-01-31 00:00,4.6,-7\n"
    with pytest.raises(InputError, match=r"several columns .*Temp inside °C, Temp outside °C.* --column"):
        parse_logger(text)
    assert parse_logger(text, column="temp outside °c").readings[0].temperature == -6.0
    assert parse_logger(text, column="2").readings[0].temperature == 4.5
    with pytest.raises(InputError, match="column 'cellar' is not in"):
        parse_logger(text, column="cellar")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is not a table"),
        ("hello\nworld\n", "is not a table"),
        ("a,b\n1,2\n3,4\n", "holds no column of dates"),
        ("time,name\n2027-01-30,x\n2027-01-31,y\n", "holds no column of temperatures"),
        ("Datum,Temp\n2027-01-30 23:30,4,5\n2027-01-31 00:00,5,0\n", "rows of 3 cells under a header of 2"),
        ("time,temp °C\n2027-01-30,4\n2027-01-31,451\n", "451.0 °C at 2027-01-31 12:00 and 0 more outside"),
    ],
)
def test_a_file_that_is_no_logger_is_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_logger(text)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read: No such file"):
        read_logger(tmp_path / "none.csv")


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_but_never_breaks(text: str) -> None:
    try:
        parse_logger(text)
    except InputError as error:
        assert str(error)


@given(st.datetimes(datetime(1990, 1, 1), datetime(2060, 1, 1)).map(lambda moment: moment.replace(microsecond=0)))
def test_a_moment_written_in_iso_comes_back(moment: datetime) -> None:
    assert split_moment(moment.isoformat(), "day first") == moment
    assert split_moment(moment.strftime("%d/%m/%Y %H:%M:%S"), "day first") == moment
    assert split_moment(moment.strftime("%m/%d/%Y %I:%M:%S %p"), "month first") == moment


@given(st.floats(-60, 70).map(lambda value: round(value, 2)))
def test_a_number_with_point_or_comma_comes_back(value: float) -> None:
    assert number_of(f"{value:.2f}") == value
    assert number_of(f"{value:.2f}".replace(".", ",")) == value
