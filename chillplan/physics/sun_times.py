"""Clock times of dawn and dusk, for people who need light to work by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone, tzinfo
from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from astral import Observer
from astral.sun import dawn, dusk, elevation, noon

from chillplan.errors import InputError, quoted

__all__ = ["SunTimes", "clock_of", "clock_words", "sun_times"]

CIVIL_TWILIGHT = 6.0  # the sun's centre below the horizon at which people can still work outdoors [degrees]
DAY_MINUTES = 24 * 60
Light = Literal["day and night", "light all day", "dark all day"]


@dataclass(frozen=True)
class SunTimes:
    """Working light of one date.

    Attributes
    ----------
    begins, ends : datetime.datetime or None
        Civil dawn and civil dusk in the site's clock; dusk may fall after midnight. None where the sun does not
        cross 6 degrees below the horizon that day.
    minutes : int
        Length of the working light, 0 to 1440. [minute]
    light : str
        ``day and night``, ``light all day`` or ``dark all day``.
    """

    begins: datetime | None
    ends: datetime | None
    minutes: int
    light: Light

    @property
    def words(self) -> tuple[str, str]:
        """Begin and end as ``HH:MM``; ``00:00`` to ``24:00`` where it is light all day, dashes where it is dark."""
        if self.begins is None or self.ends is None:
            return ("00:00", "24:00") if self.light == "light all day" else ("–", "–")
        return self.begins.strftime("%H:%M"), self.ends.strftime("%H:%M")


def clock_of(longitude: float, time_zone: str | None) -> tzinfo:
    """The clock a site goes by: its time zone, or local mean solar time where none is given.

    Parameters
    ----------
    longitude : float
        East positive. [degrees]
    time_zone : str or None
        IANA name.

    Raises
    ------
    InputError
        If the name is not known.
    """
    if time_zone is None:
        return timezone(timedelta(minutes=round(longitude * 4.0)), "local mean solar time")
    try:
        return ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError(
            f"time zone {quoted(time_zone)} is not known: give an IANA name such as Europe/Rome, or leave it out"
        ) from error


def clock_words(time_zone: str | None) -> str:
    """Which clock the times are in: ``time of Europe/Rome``, or local mean solar time."""
    return f"time of {time_zone}" if time_zone else "local mean solar time, since the site states no time zone"


def sun_times(latitude: float, longitude: float, day: date, time_zone: str | None = None) -> SunTimes:
    """Civil dawn and dusk on a date of the site's own clock.

    Parameters
    ----------
    latitude, longitude : float
        North and east positive. [degrees]
    day : datetime.date
    time_zone : str, optional
        IANA name; None takes local mean solar time.

    Returns
    -------
    SunTimes
        Above the polar circle a day without dawn is an answer: light all day, or dark all day.

    Raises
    ------
    InputError
        If the time zone is not known.

    Notes
    -----
    Each event is moved by whole days to within 12 hours of the noon of the date, so that dawn and dusk belong to the
    same day west of Greenwich too.
    """
    clock = clock_of(longitude, time_zone)
    observer = Observer(latitude=min(max(latitude, -89.99), 89.99), longitude=longitude)
    midday = _near(noon(observer, date=day, tzinfo=clock), datetime(day.year, day.month, day.day, 12, tzinfo=clock))
    try:
        begins = dawn(observer, date=day, depression=CIVIL_TWILIGHT, tzinfo=clock)
        ends = dusk(observer, date=day, depression=CIVIL_TWILIGHT, tzinfo=clock)
    except ValueError:
        if elevation(observer, midday, with_refraction=False) > -CIVIL_TWILIGHT:
            return SunTimes(None, None, DAY_MINUTES, "light all day")
        return SunTimes(None, None, 0, "dark all day")
    begins = _near(begins, midday - timedelta(hours=6))
    ends = _near(ends, midday + timedelta(hours=6))
    return SunTimes(begins, ends, int((ends - begins).total_seconds() // 60), "day and night")


def _near(moment: datetime, target: datetime) -> datetime:
    """Move a moment by whole days to within half a day of a target."""
    days = round((target - moment).total_seconds() / 86400.0)
    return moment + timedelta(days=days)
