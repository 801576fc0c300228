"""Picks one history of several: by station name, else the nearest."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

import numpy as np

from chillplan.errors import InputError, quoted
from chillplan.weather.history import History
from chillplan.weather.nearness import distance_km

__all__ = ["pick_station"]

_SHOWN = 12
_FAR_KM = 100.0
_SAME_PLACE_KM = 1.0  # of records that near to each other the longest is taken


def pick_station(
    histories: Sequence[History],
    station: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
) -> History:
    """One history of several.

    Parameters
    ----------
    histories : sequence of History
    station : str or None
        Name or identifier, any case; part of a name will do if only one station has it.
    latitude, longitude : float or None
        Of the site: the nearest station is taken where no name is given, of several at one place the longest
        record. [degrees]

    Returns
    -------
    History
        With a note where others were passed over, or where it is more than 100 km away.

    Raises
    ------
    InputError
        If there is none, the name fits none or several, or several remain and nothing tells them apart.
    """
    if not histories:
        raise InputError("there is no weather record to choose from: pass --weather with a file or a folder")
    if station is not None:
        return _named(histories, station)
    if len(histories) == 1:
        return histories[0]
    placed = [
        history
        for history in histories
        if history.provenance.latitude is not None and history.provenance.longitude is not None
    ]
    if latitude is None or longitude is None or not placed:
        raise InputError(
            f"the weather has {len(histories)} stations ({_listed(histories)}): pass --station with one of them"
        )
    return _nearest(placed, latitude, longitude, len(histories))


def _nearest(placed: Sequence[History], latitude: float, longitude: float, count: int) -> History:
    far = distance_km(
        latitude,
        longitude,
        [history.provenance.latitude or 0.0 for history in placed],
        [history.provenance.longitude or 0.0 for history in placed],
    )
    here = np.flatnonzero(far <= far.min() + _SAME_PLACE_KM).tolist()
    at = max(here, key=lambda index: len(placed[index].daily))
    notes = [f"Nearest of {count} stations, {far[at]:.0f} km from the site."]
    if far[at] > _FAR_KM:
        notes.append(f"The station is {far[at]:.0f} km away: its weather may differ from the site's.")
    return placed[at].noted(*notes)


def _named(histories: Sequence[History], station: str) -> History:
    wanted = _plain(station)
    exact = [history for history in histories if _plain(history.provenance.station) == wanted]
    found = exact or [history for history in histories if wanted and wanted in _plain(history.provenance.station)]
    if len(found) > 1 and exact:
        return max(found, key=lambda history: len(history.daily)).noted(
            f"{len(found)} records carry this name; the longest was taken."
        )
    if len(found) > 1:
        raise InputError(
            f"station {quoted(station)} fits {len(found)} stations ({_listed(found)}): give the whole name"
        )
    if found:
        return found[0]
    names = [history.provenance.station for history in histories]
    near = difflib.get_close_matches(station, names, n=3, cutoff=0.4)
    hint = f"did you mean {', '.join(near)}?" if near else f"use one of {_listed(histories)}"
    raise InputError(f"station {quoted(station)} is not in the weather: {hint}")


def _plain(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


def _listed(histories: Sequence[History]) -> str:
    names = [history.provenance.station for history in histories]
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(quoted(name)[1:-1] for name in names[:_SHOWN]) + more
