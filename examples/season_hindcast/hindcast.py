"""How good the forecasts of `chillplan season` would have been, on real records.

Every past winter of every station is forecast on 1 December, 1 January, 1 February and 1 March from the days known
until then and the other winters; no forecast sees its own winter's future, and the reference is the share of the other
winters that did it. Events: seed sown on 15 October has gathered 30, 60, 90 or 120 days of effective chill by the 1st
of each later month up to May. The outcome is the modelled seed zone of the whole winter; for the network's stations it
is also the thermometer at 5 cm. A second event is harm by frost: at least a quarter of a made-up species (30 to 60 days
of cold, base temperature 3 °C, 80 to 140 °C d to the shoot, killed at -2 °C) wakes early and is lost to frost.

Run: CHILLPLAN_OBSERVATIONS=FOLDER python examples/season_hindcast/hindcast.py > examples/season_hindcast/output.txt
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
from splices import (
    Hindcast,
    brier_score,
    brier_skill,
    chance,
    chill_by,
    every_splice,
    hindcast,
    others_of,
    reliability,
)

from chillplan.advice.plan import error_of
from chillplan.advice.rules import POINTS
from chillplan.errors import DataGapError
from chillplan.physics.model_error import perturbations
from chillplan.seasons.cut import DAYS, Seasons, cut_seasons, day_index
from chillplan.seasons.summary import ground_of
from chillplan.seeds.recipe import Germination, Phase
from chillplan.seeds.simulate import FATES, fates_of
from chillplan.seeds.two_winters import two_winters
from chillplan.site import Site
from chillplan.weather.read import load_history

LONG_RECORDS = (
    ("Milwaukee", "milwaukee_WI_noaa_export_fahrenheit.csv", Site(42.95, -87.90, elevation=204.0)),
    ("Sea-Tac", "seatac_WA.csv", Site(47.45, -122.31, elevation=113.0)),
    ("Millbrook", "cary_millbrook_NY.csv", Site(41.786, -73.741, elevation=128.0)),
)
NETWORK = "uscrn_soil_development.parquet"
ISSUES = tuple(date(2021 + (month < 8), month, 1) for month in (12, 1, 2, 3))
SOWN = day_index(date(2021, 10, 15), southern=False)
DEADLINES = tuple(date(2022, month, 1) for month in (1, 2, 3, 4, 5))
THRESHOLDS = (30.0, 60.0, 90.0, 120.0)
MISSING_ALLOWED = 0.03
MADE_UP = (Phase("cold", (30.0, 60.0)),), Germination(3.0, (80.0, 140.0)), -2.0
HARM = 0.25


def long_records(folder: Path) -> Iterator[tuple[str, Site, Seasons]]:
    """The three long records."""
    for name, file, site in LONG_RECORDS:
        history = load_history([folder / file], latitude=site.latitude, longitude=site.longitude)
        yield name, site, cut_seasons(history.daily, southern=False)


def network(folder: Path) -> Iterator[tuple[str, Site, Seasons, np.ndarray]]:
    """Every station of the network with its soil thermometer at 5 cm, shape (day, season). [°C]"""
    table = pd.read_parquet(folder / NETWORK)
    for name, group in table.groupby("station"):
        dated = group.set_index(pd.to_datetime(group["date"])).sort_index()
        rows = dated[~dated.index.duplicated()].asfreq("D")
        place = rows[["latitude", "longitude", "elevation_m"]].median()
        daily = rows.rename(columns={"tmin_c": "tmin", "tmax_c": "tmax", "precip_mm": "precipitation"})
        try:
            seasons = cut_seasons(daily[["tmin", "tmax", "precipitation"]], southern=False)
        except DataGapError as error:
            print(f"{name} is left out: {error}", file=sys.stderr)
            continue
        site = Site(place["latitude"], place["longitude"], elevation=place["elevation_m"], depth_cm=5.0)
        yield str(name), site, seasons, by_season(daily["soil_temp_5cm_c"], seasons)


def by_season(values: pd.Series, seasons: Seasons) -> np.ndarray:
    """A daily series cut like the seasons, shape (day, season)."""
    starts = [pd.Timestamp(int(year), 8, 1) for year in seasons.years]
    return np.stack([values.reindex(pd.date_range(start, periods=DAYS)).to_numpy() for start in starts], axis=1)


def measured(soil: np.ndarray, deadlines: list[int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What the thermometer says: happened, the reference from its other winters, and which winters have one."""
    inside = soil[SOWN : deadlines[-1]]
    usable = np.isnan(inside).mean(axis=0) <= MISSING_ALLOWED
    filled = pd.DataFrame(soil).interpolate(limit_direction="both").to_numpy()
    chill = chill_by(filled, np.ones(soil.shape, dtype=bool), SOWN, deadlines)
    happened = chill[:, None, :] >= np.array(THRESHOLDS)[None, :, None]
    kept = happened[:, :, usable]
    count = int(usable.sum())
    reference = chance(kept[:, :, others_of(count)]) if count > 3 else np.empty((*kept.shape[:2], 0))
    return kept, reference, usable & (count > 3)


def pooled(arrays: list[np.ndarray]) -> np.ndarray:
    """Everything end to end."""
    return np.concatenate([array.ravel() for array in arrays])


def line(name: str, winters: int, found: list[Hindcast]) -> str:
    """Scores of one issue date."""
    forecast, reference = pooled([one.forecast for one in found]), pooled([one.climatology for one in found])
    happened, decided = pooled([one.happened for one in found]), pooled([one.decided for one in found])
    return (
        f"{name:<24}{winters:>8}{forecast.size:>10}{brier_score(forecast, happened):>9.4f}"
        f"{brier_score(reference, happened):>9.4f}{brier_skill(forecast, reference, happened):>8.2f}"
        f"{int((~decided).sum()):>10}"
        f"{brier_skill(forecast[~decided], reference[~decided], happened[~decided]):>8.2f}"
    )


def main() -> None:
    """Print the tables."""
    folder = Path(os.environ["CHILLPLAN_OBSERVATIONS"])
    stations = [(name, site, seasons, None) for name, site, seasons in long_records(folder)] + list(network(folder))
    print("Forecasts against the modelled winter. skill: Brier skill score over the record of the other winters;")
    print("open: only events not yet certain on the issue date.\n")
    for issue in ISSUES:
        issued = day_index(issue, southern=False)
        deadlines = [day_index(day, southern=False) for day in DEADLINES if day > issue]
        found = [hindcast(seasons, site, issued, SOWN, deadlines, THRESHOLDS) for _, site, seasons, _ in stations]
        winters = [one.years.size for one in found]
        print(f"Issued {issue:%d %B}            winters    events    Brier  of ref.   skill      open   skill")
        for place in range(len(LONG_RECORDS)):
            print(line(stations[place][0], winters[place], found[place : place + 1]))
        rest = found[len(LONG_RECORDS) :]
        print(line(f"network, {len(rest)} stations", sum(winters[len(LONG_RECORDS) :]), rest))
        print(line("all", sum(winters), found))
        print_reliability(found)
        print_measured(stations, issued, deadlines)
        print_harm([(site, seasons) for _, site, seasons, _ in stations], issued)
        print()


def print_reliability(found: list[Hindcast]) -> None:
    """Forecast chance against the share that came true, open events only."""
    decided = pooled([one.decided for one in found])
    rows = reliability(
        pooled([one.forecast for one in found])[~decided], pooled([one.happened for one in found])[~decided]
    )
    print("  forecast chance, open events: " + "  ".join(f"{row.mean_forecast:>4.0%}" for row in rows))
    print("  came true                     " + "  ".join(f"{row.share_observed:>4.0%}" for row in rows))
    print("  events                        " + "  ".join(f"{row.forecasts:>4}" for row in rows))


def print_measured(stations: list, issued: int, deadlines: list[int]) -> None:
    """The network's forecasts, with the error of the seed-zone model counted in, against its own soil thermometers.

    A thermometer does not tell wet from dry: dry days count on both sides.
    """
    forecasts, modelled, references, outcomes, winters = [], [], [], [], 0
    for _, site, seasons, soil in stations:
        if soil is None:
            continue
        happened, reference, usable = measured(soil, deadlines)
        if usable.any():
            offsets = list(zip(*perturbations(error_of(seasons, site).together, POINTS), strict=True))
            one = hindcast(seasons, site, issued, SOWN, deadlines, THRESHOLDS, offsets, dry_counts=True)
            forecasts.append(one.forecast[:, :, usable])
            modelled.append(one.climatology[:, :, usable])
            references.append(reference)
            outcomes.append(happened)
            winters += int(usable.sum())
    forecast, outcome = pooled(forecasts), pooled(outcomes)
    print(
        f"  against the thermometer at 5 cm: {len(outcomes)} stations, {winters} winters, {outcome.size} events; "
        f"Brier {brier_score(forecast, outcome):.4f};\n  skill over the modelled record of the other winters "
        f"{brier_skill(forecast, pooled(modelled), outcome):.2f}, over the thermometer's own record of them "
        f"{brier_skill(forecast, pooled(references), outcome):.2f}"
    )
    rows = reliability(forecast, outcome, classes=5)
    print(
        "  forecast chance and share that came true by the thermometer: "
        + ", ".join(f"{row.mean_forecast:.0%} {row.share_observed:.0%}" for row in rows)
    )


def harmed(seasons: Seasons, site: Site) -> np.ndarray:
    """Winters in which frost takes at least a quarter of the made-up species, shape (season,)."""
    phases, germination, limit = MADE_UP
    winters = two_winters(seasons, ground_of(seasons, site))
    shares = fates_of(winters, phases, germination, np.array([SOWN], dtype=np.int32), limit).shares[:, 0]
    return shares[FATES.index("killed by frost")] + shares[FATES.index("sprouted in autumn")] >= HARM


def print_harm(places: list[tuple[Site, Seasons]], issued: int) -> None:
    """Forecasts of waking early and freezing."""
    forecasts, references, outcomes = [], [], []
    for site, seasons in places:
        count = seasons.years.size
        happened = harmed(seasons, site)
        endings = harmed(every_splice(seasons, issued), site).reshape(count, count - 1)
        forecasts.append(chance(endings))
        references.append(chance(happened[others_of(count)]))
        outcomes.append(happened)
    forecast, reference, outcome = pooled(forecasts), pooled(references), pooled(outcomes)
    rows = reliability(forecast, outcome, classes=5)
    print(
        f"  harm by frost: {outcome.size} winters, harmed {outcome.mean():.0%}; skill "
        f"{brier_skill(forecast, reference, outcome):.2f}; forecast chance and share that came true: "
        + ", ".join(f"{row.mean_forecast:.0%} {row.share_observed:.0%}" for row in rows)
    )


if __name__ == "__main__":
    main()
