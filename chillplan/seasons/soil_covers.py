"""Which ground cover a soil thermometer's record looks like: the model under each, held against it.

Measured on 76 stations in short grass, each year in turn, with parameters fitted without the station
(``examples/seed_zone_model/covers.py``): a cover that one year called clearly better made the other years better in 80
of 100 cases (mean error of all 1.52 to 1.45 °C), their chill neither better nor worse; and 21 of 100 years called
another cover than grass. So it says what the ground acts like, not what grows on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from chillplan.physics.parameters import COVER_TABLE
from chillplan.seasons.soil_stations import ENOUGH_OF_A_YEAR, YEAR, Checked, check_stations
from chillplan.seasons.soilcheck import SoilCheck

__all__ = ["CLEARLY", "CoverTrial", "try_covers"]

CLEARLY = 0.5
"""Error by which a cover must beat the stated one before it is suggested. [°C]

From 0 to 0.6 tried as above: with less, more than a third of the years call grass another cover for 0.01 °C of gain;
with more, the gain falls.
"""


REFERENCE = "short grass"


@dataclass(frozen=True)
class CoverTrial:
    """The model of one station under every cover, against its thermometer.

    Attributes
    ----------
    stated : str
        Cover of the site.
    checks : dict of str to SoilCheck
        By cover, in the order of the table of covers.
    """

    stated: str
    checks: dict[str, SoilCheck]

    @property
    def best(self) -> str:
        """The cover of the least error."""
        return min(self.checks, key=lambda cover: self.checks[cover].rmse)

    @property
    def suggested(self) -> str | None:
        """The best cover where it is clearly better than the stated one."""
        return self.best if self.checks[self.stated].rmse - self.checks[self.best].rmse >= CLEARLY else None


def try_covers(checked: Sequence[Checked], depth_cm: float) -> list[CoverTrial | None]:
    """Hold each station's thermometer against the model under every ground cover.

    Parameters
    ----------
    checked : sequence of Checked
    depth_cm : float
        Of the thermometers. [cm]

    Returns
    -------
    list of CoverTrial or None
        None where nothing can be told: the soil record lacks most of a year, is in another unit, or the site was
        calibrated, which takes the place of a cover.
    """
    able = [one for one in checked if _can_be_told(one)]
    runs = [
        check_stations([replace(one.station, site={**one.station.site, "cover": cover.name}) for one in able], depth_cm)
        for cover in COVER_TABLE
    ]
    under = iter(zip(*runs, strict=True))
    return [_trial(one, next(under)) if _can_be_told(one) else None for one in checked]


def _trial(one: Checked, under: Sequence[Checked]) -> CoverTrial:
    stated = one.station.site.get("cover", REFERENCE)
    return CoverTrial(stated, {cover.name: run.check for cover, run in zip(COVER_TABLE, under, strict=True)})


def _can_be_told(one: Checked) -> bool:
    days_of_year = np.unique(one.station.day_of_year[one.faults.possible])
    return not one.station.site.get("calibration") and days_of_year.size >= ENOUGH_OF_A_YEAR * YEAR
