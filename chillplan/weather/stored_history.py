"""A station of the local store as a checked history."""

from __future__ import annotations

import pandas as pd

from chillplan.errors import DataGapError, quoted
from chillplan.weather.check import first_checks
from chillplan.weather.fill import fill_short_gaps
from chillplan.weather.history import History, Provenance
from chillplan.weather.quality import quality_notes
from chillplan.weather.record import counted
from chillplan.weather.store import DAILY, StoredStation

__all__ = ["history_of_stored"]


def history_of_stored(stored: StoredStation, with_model: bool = False) -> History:
    """A stored station as a checked history.

    Parameters
    ----------
    stored : StoredStation
    with_model : bool
        Keep values that a weather model filled, flagged ``modelled`` and counted; else they are left out and counted.

    Raises
    ------
    DataGapError
        If the station has no temperatures.
    """
    frame = stored.frame
    daily = frame[[name for name in frame if not str(name).endswith("_modelled")]].copy()
    count = 0
    for name in DAILY:
        modelled = frame[f"{name}_modelled"].to_numpy(dtype=bool)
        count += int(modelled.sum())
        if name in {"tmin", "tmax"}:
            daily[f"{name}_flag"] = pd.Series("", index=daily.index, dtype="str").mask(
                modelled & with_model, "modelled"
            )
        if not with_model:
            daily[name] = daily[name].mask(modelled)
    daily = daily.drop(columns=[name for name in ("precipitation", "snow_depth") if daily[name].isna().all()])
    known = daily["tmin"].notna() & daily["tmax"].notna()
    place = stored.place
    if not known.any():
        raise DataGapError(
            f"station {quoted(place['station'])} has no daily minimum and maximum: choose another station"
        )
    daily = daily[known.cummax() & known[::-1].cummax()[::-1]]
    daily = daily.reindex(pd.date_range(daily.index[0], daily.index[-1], freq="D", name="date"))
    for name in ("tmin_flag", "tmax_flag"):
        daily[name] = daily[name].fillna("")
    provenance = _provenance(stored, [*_years_without(stored, daily), *_about_models(count, with_model)])
    history = fill_short_gaps(first_checks(History(daily, provenance)))
    return history.noted(*quality_notes(history.daily))


def _about_models(count: int, kept: bool) -> list[str]:
    what = "kept and flagged" if kept else "left out (--with-model keeps them)"
    return [f"{counted(count, 'value')} filled by a weather model {what}."] if count else []


def _provenance(stored: StoredStation, notes: list[str]) -> Provenance:
    from chillplan.weather.fetch_meteostat import LICENCE

    place = stored.place
    fetched = [entry.when for entry in stored.years.values()]
    first, last = f"{min(fetched):%Y-%m-%d}", f"{max(fetched):%Y-%m-%d}"
    when = f"Fetched {last}." if first == last else f"Fetched between {first} and {last}."
    return Provenance(
        source=f"Meteostat daily ({', '.join(stored.sources) or 'source not stated'})",
        station=f"{place['station']} {place.get('name') or ''}".strip(),
        latitude=place.get("latitude"),
        longitude=place.get("longitude"),
        elevation=place.get("elevation"),
        licence=LICENCE,
        notes=(when, *notes),
    )


def _years_without(stored: StoredStation, daily: pd.DataFrame) -> list[str]:
    """Years within the record of which the source has no file, or one without temperatures."""
    first, last = pd.DatetimeIndex(daily.index)[0].year, pd.DatetimeIndex(daily.index)[-1].year
    notes = []
    for state, what in (("absent", "no file"), ("no temperatures", "a file without temperatures")):
        years = [
            str(year) for year, entry in sorted(stored.years.items()) if entry.state == state and first < year < last
        ]
        if years:
            more = f" and {len(years) - 8} more" if len(years) > 8 else ""
            notes.append(f"The source has {what} of {', '.join(years[:8])}{more}.")
    return notes
