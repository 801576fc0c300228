"""What a picture of a map can show: its numbers, one by one, and what each means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chillplan.errors import InputError
from chillplan.report.look import Colour
from chillplan.verdicts import VERDICT_TABLE

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["NO_ANSWER", "VERDICT_LOOKS", "Layer", "coordinate", "layers_of"]

NO_ANSWER = 255
VERDICT_LOOKS = {key: (str(getattr(Colour, one.colour)), one.legend) for key, one in VERDICT_TABLE.items()}


@dataclass(frozen=True)
class Layer:
    """A number of a map as it can be pictured.

    Attributes
    ----------
    group : str
        Heading under which it is offered.
    kind : {'verdict', 'share', 'date', 'days', 'change'}
    variable : str
        Of the map.
    note : str
        What it means and where it comes from.
    where : tuple of (str, float)
        Further dimensions, one place taken on each.
    none : str
        What a place with a verdict says where it has no such date.
    along : str
        Dimension a change runs along.
    """

    key: str
    label: str
    group: str
    kind: str
    variable: str
    note: str
    where: tuple[tuple[str, float], ...] = ()
    none: str = ""
    along: str = ""

    @property
    def of_species(self) -> bool:
        """Whether it differs by species."""
        return self.group == SPECIES


SPECIES, PLACE = "Of the species", "Of the place"
NO_WAY = "no date outdoors is good often enough"
LAYERS = (
    Layer("verdict", "Verdict", SPECIES, "verdict", "verdict", "Where the seed is best chilled and sown; modelled."),
    Layer(
        "chance", "Chance of a good winter", SPECIES, "share", "chance",
        "Modelled, by the way the verdict names, with the error of the seed-zone model counted in; where nothing "
        "works, for treatment indoors.",
    ),
    Layer(
        "good", "Winters that were good", SPECIES, "share", "good",
        "Good winters of all winters counted, by the way the verdict names; modelled, its error left out.",
    ),
    Layer(
        "interval", "Share of good winters at worst", SPECIES, "share", "interval_low",
        "Lower end of the 95 % interval of the true share, from the number of winters alone (Jeffreys).",
    ),
    Layer(
        "sow_from", "Sow outdoors from", SPECIES, "date", "sow_from",
        "First day of the window in which enough winters are good.", none=NO_WAY,
    ),
    Layer(
        "sow_to", "Sow outdoors until", SPECIES, "date", "sow_to",
        "Last day of the window in which enough winters are good.", none=NO_WAY,
    ),
    Layer(
        "plant_out", "Plant out after treatment indoors", SPECIES, "date", "plant_out",
        "Best day to plant out; the treatment indoors ends on it.", none="treatment indoors is not good often enough",
    ),
    Layer(
        "chill", "Effective chill, a median winter", PLACE, "days", "effective_chill",
        "Half of the winters have less. Modelled seed zone; the response to temperature is assumed.",
        (("percentile", 50.0),),
    ),
    Layer(
        "chill_low", "Effective chill, a poor winter", PLACE, "days", "effective_chill",
        "One winter in ten has less. Modelled seed zone; the response to temperature is assumed.",
        (("percentile", 10.0),),
    ),
    Layer(
        "last_frost", "Last spring frost, a late year", PLACE, "date", "last_spring_frost",
        "Minimum of the air at or below 0 °C; later in one year of ten. As in the grid.",
        (("percentile", 90.0), ("frost", 0.0)), none="no such frost",
    ),
    Layer(
        "first_frost", "First autumn frost, an early year", PLACE, "date", "first_autumn_frost",
        "Minimum of the air at or below 0 °C; earlier in one year of ten. As in the grid.",
        (("percentile", 10.0), ("frost", 0.0)), none="no such frost",
    ),
)  # fmt: skip


def layers_of(data: xr.Dataset) -> list[Layer]:
    """Layers that a map has: those of its variables, and changes between periods and warmings."""
    found = [layer for layer in LAYERS if layer.variable in data]
    ends = {along: (data[along].values[0], data[along].values[-1]) for along in ("period", "warming")}
    if data.sizes["warming"] > 1:
        then, now = (float(end) for end in ends["warming"])
        note = f"Places whose verdict differs between {then:+g} °C and {now:+g} °C."
        found.insert(1, Layer("warmer", "Changed by warming", SPECIES, "change", "verdict", note, along="warming"))
    if data.sizes["period"] > 1:
        then, now = ends["period"]
        note = f"Places whose verdict differs between the winters {then} and {now}."
        found.insert(
            1, Layer("later", "Changed between the periods", SPECIES, "change", "verdict", note, along="period")
        )
    return found


def coordinate(data: xr.Dataset, name: str) -> xr.DataArray:
    """Latitude or longitude of a map.

    Raises
    ------
    InputError
        If it has none.
    """
    unit = "degrees_north" if name == "latitude" else "degrees_east"
    for array in data.coords.values():
        if array.attrs.get("standard_name") == name or array.attrs.get("units") == unit:
            known: xr.DataArray = array
            return known
    raise InputError(f"the map has no {name}: give its grid a coordinate with the units {unit}")
