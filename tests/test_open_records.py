"""Daily temperatures that a package of the public registry ships: Champion, Nebraska, and Brussels.

The files belong to the package aquacrop (Apache 2.0), made for crop modelling; only its weather is used here.
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seasons.cut import cut_seasons
from chillplan.seasons.summary import ground_of, winters_of
from chillplan.seeds.catalogue import find_species
from chillplan.site import Site

PLACES = {
    "champion_climate.txt": (Site(40.40, -101.72, elevation=1029.0), "1982-01-01", "2018-12-31"),
    "brussels_climate.txt": (Site(50.80, 4.36, elevation=104.0), "1976-01-01", "2005-12-31"),
}


def record(name: str) -> pd.DataFrame:
    spec = find_spec("aquacrop")
    if spec is None or spec.origin is None:
        pytest.skip("the package aquacrop is not installed: pip install 'chillplan[test]'")
    table = pd.read_csv(Path(spec.origin).parent / "data" / name, sep=r"\s+", header=0)
    table.columns = [column.strip().lower() for column in table.columns]
    dates = pd.to_datetime(table[["year", "month", "day"]])
    columns = {"tmin(c)": "tmin", "tmax(c)": "tmax", "mintemp": "tmin", "maxtemp": "tmax"}
    return table.rename(columns=columns).set_index(dates)[["tmin", "tmax"]].asfreq("D")


@pytest.mark.parametrize("name", PLACES)
def test_the_record_is_what_it_is_said_to_be(name: str) -> None:
    _, first, last = PLACES[name]
    daily = record(name)
    assert str(daily.index[0].date()) == first
    assert str(daily.index[-1].date()) == last


# Climate summaries, from memory: both have regular winter frost, the high plains a much colder one than Brussels.
def test_the_high_plains_are_colder_in_winter_than_brussels() -> None:
    cold = {}
    for name, (site, _, _) in PLACES.items():
        seasons = cut_seasons(record(name), southern=False)
        winters = winters_of(seasons, ground_of(seasons, site))
        cold[name] = float(np.median(winters.cold_days))
        assert np.isfinite(winters.last_spring_frost[0.0]).all()
        assert 60 <= np.median(winters.effective_chill) <= 220
    assert cold["champion_climate.txt"] > cold["brussels_climate.txt"]


# Common practice, no source: cold moist stratification usually lasts 30 to 60 days; both places are known to give it
# to seed sown in autumn. On the high plains late frost after early sprouting may still speak for the refrigerator.
@pytest.mark.parametrize("name", PLACES)
def test_sixty_days_of_chill_are_had_outdoors(name: str) -> None:
    site, _, _ = PLACES[name]
    species = [find_species(built_in_catalogue(), "Silphium laciniatum")]
    seasons = cut_seasons(record(name), southern=False)
    made = make_plan(seasons, site, species, Request(pd.Timestamp("2026-09-01").date()))
    advice = made.species[0]
    assert np.median(winters_of(seasons, ground_of(seasons, site)).effective_chill) >= 60
    if name == "brussels_climate.txt":
        assert advice.outdoors is not None
        assert advice.outdoors.chill[1] >= 60
        assert advice.verdict in {"sow-in-autumn", "either"}
    else:
        assert advice.verdict != "not-here"
