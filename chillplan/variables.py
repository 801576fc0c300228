"""The variables of a history, declared once: name, unit, plausible range, CF standard name."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["VARIABLES", "Variable"]


@dataclass(frozen=True)
class Variable:
    """One daily variable.

    Attributes
    ----------
    name : str
        Column name in a history.
    unit : str
        House unit.
    low, high : float
        Plausible range, ends included; outside is a fault of the record. [house unit]
    standard_name : str
        Climate and Forecast (CF) convention name; a minimum or maximum is told by cell methods.
    description : str
        What it is, in words.
    """

    name: str
    unit: str
    low: float
    high: float
    standard_name: str
    description: str


# Bounds of temperature: world records as used by the GHCN-Daily bounds check (Durre et al. 2010),
# -89.4 and 57.7 °C. Rain: 1,825 mm in a day is the world record (WMO). The others are generous.
VARIABLES: dict[str, Variable] = {
    variable.name: variable
    for variable in (
        Variable("tmin", "°C", -89.4, 57.7, "air_temperature", "daily minimum air temperature"),
        Variable("tmax", "°C", -89.4, 57.7, "air_temperature", "daily maximum air temperature"),
        Variable("precipitation", "mm", 0.0, 1825.0, "precipitation_amount", "daily rain and melted snow"),
        Variable("snow_depth", "mm", 0.0, 12000.0, "surface_snow_thickness", "depth of snow lying"),
        Variable("soil_temperature", "°C", -60.0, 70.0, "soil_temperature", "daily mean soil temperature"),
        Variable(
            "soil_moisture",
            "m3/m3",
            0.0,
            0.8,
            "volume_fraction_of_condensed_water_in_soil",
            "daily mean soil moisture by volume",
        ),
    )
}
