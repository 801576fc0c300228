"""Which of several records are near enough to fill another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from chillplan.weather.history import History
from chillplan.weather.nearness import distance_km

__all__ = ["WITHIN_KM", "neighbours_of"]

WITHIN_KM = 100.0


def neighbours_of(history: History, others: Sequence[History], within_km: float = WITHIN_KM) -> list[History]:
    """Records of other stations near one.

    Parameters
    ----------
    history : History
    others : sequence of History
        May hold the record itself.
    within_km : float
        [km]

    Returns
    -------
    list of History
        Nearest first; records without coordinates are no neighbours.
    """
    origin = history.provenance
    if origin.latitude is None or origin.longitude is None:
        return []
    placed = [
        other
        for other in others
        if other is not history
        and other.provenance.station != origin.station
        and other.provenance.latitude is not None
        and other.provenance.longitude is not None
    ]
    far = distance_km(
        origin.latitude,
        origin.longitude,
        [other.provenance.latitude or 0.0 for other in placed],
        [other.provenance.longitude or 0.0 for other in placed],
    )
    return [placed[at] for at in np.argsort(far, kind="stable") if far[at] <= within_km]
