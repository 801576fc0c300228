"""The answers of the soil check: JSON by contract, CSV, a table, and a picture of one winter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from chillplan.report.rows import csv_text
from chillplan.seasons.soil_covers import CLEARLY, CoverTrial
from chillplan.seasons.soil_stations import Calibrated, Checked
from chillplan.seasons.soilcheck import COLD_EDGE, SoilCheck, WinterChill

__all__ = ["Found", "csv_of", "json_of", "summary_of"]


@dataclass(frozen=True)
class Found:
    """What the check found at one station.

    Attributes
    ----------
    checked : Checked
    covers : CoverTrial or None
    tuned : Calibrated or None
    """

    checked: Checked
    covers: CoverTrial | None = None
    tuned: Calibrated | None = None

    @property
    def wet(self) -> bool:
        """Whether the station's precipitation was used."""
        return self.checked.station.precipitation is not None


def json_of(stations: Sequence[Found], depth_cm: float) -> dict[str, Any]:
    """The answer by contract: one row a station, and the figures over all of them.

    Parameters
    ----------
    stations : sequence of Found
    depth_cm : float
        [cm]

    Returns
    -------
    dict
    """
    rows = []
    for found in stations:
        one, tuned = found.checked, found.tuned
        row: dict[str, Any] = {"station": one.station.name, **_figures(one.check)}
        row |= {
            "winters": len(one.check.winters),
            "lag_days": one.check.lag,
            "precipitation_used": found.wet,
            "precipitation_guessed_days": one.station.guessed_days,
            "notes": list(one.faults.notes),
            "covers": None if found.covers is None else _covers_json(found.covers),
        }
        if tuned is not None:
            row["calibration"] = {
                "parameters": {name: round(value, 4) for name, value in tuned.parameters.items()},
                "fitted_from": str(tuned.first),
                "fitted_to": str(tuned.last),
                "days_in_turn": tuned.blocks,
                "before": _figures(tuned.before),
                "after": _figures(tuned.after),
            }
        rows.append(row)
    answer: dict[str, Any] = {"schema": 1, "depth_cm": depth_cm, "stations": rows}
    answer |= summary_of([found.checked.check for found in stations])
    tuned_ones = [found.tuned for found in stations if found.tuned is not None]
    if tuned_ones:
        answer["calibrated"] = {
            "before": summary_of([tuned.before for tuned in tuned_ones]),
            "after": summary_of([tuned.after for tuned in tuned_ones]),
        }
    return answer


def _covers_json(trial: CoverTrial) -> dict[str, Any]:
    return {
        "stated": trial.stated,
        "suggested": trial.suggested,
        "clearly_better_c": CLEARLY,
        "tried": [{"cover": cover, **_figures(check)} for cover, check in trial.checks.items()],
    }


def summary_of(checks: Sequence[SoilCheck]) -> dict[str, Any]:
    """Median, mean and 90th percentile of the stations' errors; chill error and agreement over all their winters."""
    errors = np.array([check.rmse for check in checks if math.isfinite(check.rmse)])
    return {
        "median_rmse_c": _rounded(np.median(errors) if errors.size else math.nan),
        "mean_rmse_c": _rounded(errors.mean() if errors.size else math.nan),
        "p90_rmse_c": _rounded(np.percentile(errors, 90) if errors.size else math.nan),
        **_chill_figures(_together([check.chill for check in checks])),
        "cold_edge": _at_cold_edge(_together([check.chill_to_cold_edge for check in checks])),
    }


def _together(each: Sequence[WinterChill]) -> WinterChill:
    return WinterChill(np.concatenate([one.model for one in each]), np.concatenate([one.soil for one in each]))


def csv_of(stations: Sequence[Found]) -> str:
    """One row a station; empty cells where there is nothing to tell."""
    names = ["days", "rmse_c", "bias_c", "chill_mae_days", "agreement"]
    rows = []
    for found in stations:
        one, tuned = found.checked, found.tuned
        figures = _figures(one.check)
        after = _figures(tuned.after) if tuned is not None else {}
        cells: list[object] = [figures[name] for name in names]
        cells += [len(one.check.winters), one.check.lag, after.get("rmse_c"), after.get("chill_mae_days")]
        cells += [None if found.covers is None else found.covers.suggested, figures["cold_edge"]["chill_mae_days"]]
        rows.append([one.station.name, *cells])
    extra = ["winters", "lag_days", "calibrated_rmse_c", "calibrated_chill_mae_days", "suggested_cover"]
    extra += ["chill_mae_days_to_cold_edge"]
    return csv_text(["station", *names, *extra], rows)


def _figures(check: SoilCheck) -> dict[str, Any]:
    return {
        "days": check.days,
        "rmse_c": _rounded(check.rmse),
        "bias_c": _rounded(check.bias),
        **_chill_figures(check.chill),
        "cold_edge": _at_cold_edge(check.chill_to_cold_edge),
    }


def _chill_figures(chill: WinterChill) -> dict[str, float | None]:
    return {"chill_mae_days": _rounded(chill.error), "agreement": _rounded(chill.agreement, 4)}


def _at_cold_edge(chill: WinterChill) -> dict[str, float | None]:
    return {"zero_c": COLD_EDGE.zero, "full_c": COLD_EDGE.full, **_chill_figures(chill)}


def _rounded(value: float, digits: int = 3) -> float | None:
    return round(float(value), digits) if math.isfinite(value) else None
