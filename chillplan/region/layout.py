"""What a map holds: its variables, their dimensions and their attributes after the CF conventions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan import __version__
from chillplan.region.decide import SHARES
from chillplan.region.ground import FROSTS
from chillplan.region.places import Ask
from chillplan.verdicts import VERDICTS

__all__ = ["LABELS", "NUMBERS", "Layout", "Number", "labelled"]

FloatArray = NDArray[np.floating]

DAY_OF_SEASON = "days after 1 August (north of the equator) or 1 February (south of it)"
NO_FROST = "infinite where the percentile falls among winters without such a frost"
ASSUMED = (
    "effective chill follows a trapezoid of the seed-zone temperature, an assumption that brackets published optima"
)
CHANCE = (
    "modelled: the mean share of good winters over the possible errors of the seed-zone temperature, for the way the "
    "verdict names, and for treatment indoors where it names none"
)
INTERVAL = (
    "Jeffreys, 95 %, from the winters counted (Brown, Cai and DasGupta 2001); the error of the model is not in it"
)


@dataclass(frozen=True)
class Number:
    """One variable of a map."""

    dims: tuple[str, ...]  # dimensions before those of space, without period and warming
    unit: str
    words: str  # what it is
    comment: str = ""


NUMBERS: dict[str, Number] = {
    "verdict": Number(("species",), "1", "where the seed is best chilled and sown"),
    "good": Number(("species",), "1", "winters that are good in the way the verdict names"),
    "winters": Number(("species",), "1", "winters counted for that way"),
    "chance": Number(
        ("species",), "percent", "chance of a good winter, over the error of the seed zone and how lots differ", CHANCE
    ),
    "interval_low": Number(
        ("species",), "percent", "lower end of the interval of the true share of good winters", INTERVAL
    ),
    "interval_high": Number(
        ("species",), "percent", "upper end of the interval of the true share of good winters", INTERVAL
    ),
    "sow_from": Number(("species",), "day", "first day of the window for sowing outdoors", DAY_OF_SEASON),
    "sow_to": Number(("species",), "day", "last day of the window for sowing outdoors", DAY_OF_SEASON),
    "plant_out": Number(
        ("species",), "day", "best day to plant out seed that was treated, or finished, indoors", DAY_OF_SEASON
    ),
    "chill_days": Number(("percentile",), "day", "days of a season with a moist seed zone between 0 and 10 degrees C"),
    "effective_chill": Number(("percentile",), "day", "effective chill of a season", ASSUMED),
    "cold_days": Number(("percentile",), "day", "days of a season with a seed zone at or below 5 degrees C"),
    "last_spring_frost": Number(
        ("frost", "percentile"), "day", "last air frost before the season ends", f"{DAY_OF_SEASON}; {NO_FROST}"
    ),
    "first_autumn_frost": Number(
        ("frost", "percentile"), "day", "first air frost of the season", f"{DAY_OF_SEASON}; {NO_FROST}"
    ),
    "seasons": Number((), "1", "seasons with enough data"),
}
LABELS = {"period": "period_name", "species": "species_name"}
"""Names of the dimensions that are told by words; after the conventions (section 6.1) a label has a name of its own."""

WHOLE = {"verdict": "int8", "good": "int16", "winters": "int16", "seasons": "int16"}


@dataclass(frozen=True)
class Layout:
    """Dimensions of a map beside those of space."""

    periods: tuple[str, ...]  # names such as ``1991-2020``, or ``all``
    warmings: tuple[float, ...]  # [°C]
    ask: Ask

    @property
    def sizes(self) -> dict[str, int]:
        """Lengths of the dimensions."""
        return {
            "period": len(self.periods),
            "warming": len(self.warmings),
            "species": len(self.ask.species),
            "percentile": len(SHARES),
            "frost": len(FROSTS),
        }

    def shape(self, name: str) -> tuple[int, ...]:
        """Shape of a variable of one period and warming, without space."""
        return tuple(self.sizes[dim] for dim in NUMBERS[name].dims)

    @property
    def count(self) -> int:
        """Numbers a place has, over all variables, periods and warmings."""
        each = sum(int(np.prod(self.shape(name))) for name in NUMBERS)
        return each * len(self.periods) * len(self.warmings)

    def pack(self, answers: Mapping[str, FloatArray]) -> NDArray[np.float32]:
        """Numbers of one period and warming in one row a number, shape (number, place)."""
        scale = {name: 100.0 if number.unit == "percent" else 1.0 for name, number in NUMBERS.items()}
        return np.concatenate(
            [(scale[name] * answers[name]).reshape(-1, answers[name].shape[-1]).astype(np.float32) for name in NUMBERS]
        )

    def unpack(self, packed: NDArray[np.float32]) -> dict[str, tuple[tuple[str, ...], FloatArray]]:
        """Undo `pack` for all periods and warmings, shape (..., number); space stays in front and comes last."""
        outer = (len(self.periods), len(self.warmings))
        table = np.moveaxis(packed, -1, 0).reshape(*outer, -1, *packed.shape[:-1])
        result: dict[str, tuple[tuple[str, ...], FloatArray]] = {}
        begin = 0
        for name, number in NUMBERS.items():
            length = int(np.prod(self.shape(name)))
            part = table[:, :, begin : begin + length]
            begin += length
            values = part.reshape(*outer, *self.shape(name), *packed.shape[:-1])
            if name in WHOLE:
                values = np.where(np.isnan(values), -1, values).astype(WHOLE[name])
            result[name] = (("period", "warming", *number.dims), values)
        return result

    def coordinates(self) -> dict[str, xr.Variable]:
        """Coordinates of the dimensions beside space."""
        species, common = ([getattr(one, key) for one in self.ask.species] for key in ("name", "common_name"))
        return {
            LABELS["period"]: xr.Variable(
                "period", list(self.periods), {"long_name": "winters used, by the year they begin in"}
            ),
            "warming": xr.Variable(
                "warming",
                list(self.warmings),
                {
                    "units": "K",
                    "units_metadata": "temperature: difference",
                    "long_name": "added to every air temperature",
                },
            ),
            LABELS["species"]: xr.Variable(
                "species", species, {"standard_name": "biological_taxon_name", "long_name": "scientific name"}
            ),
            "common_name": xr.Variable("species", common, {"long_name": "common name"}),
            "percentile": xr.Variable(
                "percentile",
                [100.0 * share for share in SHARES],
                {"units": "percent", "long_name": "percentile of winters"},
            ),
            "frost": xr.Variable(
                "frost",
                list(FROSTS),
                {
                    "units": "degree_Celsius",
                    "units_metadata": "temperature: on_scale",
                    "standard_name": "air_temperature_threshold",
                    "long_name": "daily minimum of the air that counts as a frost",
                },
            ),
        }

    def attributes(self, name: str) -> dict[str, object]:
        """Attributes of a variable."""
        number = NUMBERS[name]
        result: dict[str, object] = {"units": number.unit, "long_name": number.words}
        if number.comment:
            result["comment"] = number.comment
        if name == "verdict":
            result["flag_values"] = np.arange(len(VERDICTS), dtype=np.int8)
            result["flag_meanings"] = " ".join(VERDICTS)
            result["ancillary_variables"] = "good winters chance interval_low interval_high"
        return result

    def title(self, source: str, notes: tuple[str, ...]) -> dict[str, object]:
        """Attributes of the whole map."""
        zone = f"Modelled snow and seed zone under {self.ask.cover} at {self.ask.depth_cm:g} cm"
        if self.ask.calibration:
            zone += ", calibrated with a soil thermometer of the region"
        return {
            "Conventions": "CF-1.11",
            "title": "Where seed is chilled by the winter, and where it must be chilled indoors",
            "source": f"chillplan {__version__}, from {source}; {'; '.join(notes)}",
            "comment": (
                f"{zone}. A verdict holds where at least {100 * self.ask.accept:g} % of winters are good. "
                f"{ASSUMED[0].upper()}{ASSUMED[1:]}."
            ),
        }


def labelled(data: xr.Dataset) -> xr.Dataset:
    """A map whose periods and species are found by their names: ``data.sel(species="Tilia americana")``."""
    return data.set_index({dim: label for dim, label in LABELS.items() if label in data.variables})
