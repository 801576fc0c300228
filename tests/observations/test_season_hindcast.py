"""Forecasts of past winters on real records beat the record of the other winters, and their chances come true."""

from __future__ import annotations

import runpy
from datetime import date
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from chillplan.advice.plan import error_of
from chillplan.advice.rules import POINTS
from chillplan.physics.model_error import perturbations
from chillplan.seasons.cut import cut_seasons, day_index
from chillplan.site import Site
from chillplan.weather.read import load_history
from examples.season_hindcast.splices import Hindcast, brier_skill, hindcast, reliability
from tests.records import observations

SITES = {
    "milwaukee_WI_noaa_export_fahrenheit.csv": Site(42.95, -87.90, elevation=204.0),
    "seatac_WA.csv": Site(47.45, -122.31, elevation=113.0),
    "cary_millbrook_NY.csv": Site(41.786, -73.741, elevation=128.0),
}
YEARS = (1976, 2024)  # enough winters, and not too many pairs of them
SOWN = day_index(date(2021, 10, 15), southern=False)


@pytest.fixture(scope="module")
def february() -> dict[str, Hindcast]:
    """Issued on 1 February for 1 March, 1 April and 1 May."""
    issued = day_index(date(2022, 2, 1), southern=False)
    deadlines = [day_index(date(2022, month, 1), southern=False) for month in (3, 4, 5)]
    found = {}
    for name, site in SITES.items():
        history = load_history([observations() / name], latitude=site.latitude, longitude=site.longitude)
        found[name] = hindcast(cut_seasons(history.daily, southern=False, years=YEARS), site, issued, SOWN, deadlines)
    return found


def test_a_forecast_of_1_february_has_skill_above_0_3(february: dict[str, Hindcast]) -> None:
    assert sum(one.years.size for one in february.values()) > 110
    for one in february.values():
        assert brier_skill(one.forecast, one.climatology, one.happened) > 0.3
        still_open = ~one.decided
        assert brier_skill(one.forecast[still_open], one.climatology[still_open], one.happened[still_open]) > 0.3


def test_a_chance_comes_true_about_as_often_as_it_says(february: dict[str, Hindcast]) -> None:
    still_open = [~one.decided for one in february.values()]
    chances = np.concatenate([one.forecast[mask] for one, mask in zip(february.values(), still_open, strict=True)])
    happened = np.concatenate([one.happened[mask] for one, mask in zip(february.values(), still_open, strict=True)])
    rows = reliability(chances, happened, classes=4)
    assert len(rows) == 4
    for row in rows:
        # Twice the standard error of a share, and the deadlines and thresholds of one winter are not independent.
        slack = 0.05 + 4.0 * np.sqrt(0.25 / row.forecasts)
        assert abs(row.mean_forecast - row.share_observed) < slack, row


def test_a_forecast_of_1_february_beats_the_thermometers_own_record(monkeypatch: pytest.MonkeyPatch) -> None:
    example = Path(__file__).parents[2] / "examples" / "season_hindcast"
    monkeypatch.syspath_prepend(str(example))
    script = runpy.run_path(str(example / "hindcast.py"))
    issued = day_index(date(2022, 2, 1), southern=False)
    deadlines = [day_index(date(2022, month, 1), southern=False) for month in (3, 4, 5)]
    forecasts, references, outcomes = [], [], []
    for _, site, seasons, soil in islice(script["network"](observations()), 0, None, 3):
        happened, reference, usable = script["measured"](soil, deadlines)
        offsets = list(zip(*perturbations(error_of(seasons, site).together, POINTS), strict=True))
        found = hindcast(seasons, site, issued, SOWN, deadlines, offsets=offsets, dry_counts=True)
        forecasts.append(found.forecast[:, :, usable])
        references.append(reference)
        outcomes.append(happened if usable.any() else happened[:, :, :0])
    forecast, reference, outcome = (script["pooled"](arrays) for arrays in (forecasts, references, outcomes))
    assert outcome.size > 1000
    assert brier_skill(forecast, reference, outcome) > 0.0
    for row in reliability(forecast, outcome, classes=4):
        assert abs(row.mean_forecast - row.share_observed) < 0.05 + 4.0 * np.sqrt(0.25 / row.forecasts), row
