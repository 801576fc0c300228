"""Ground covers: how each changes sun, insulation, evaporation and the night sky over the seed.

Short grass is what the model was fitted and checked on. The other rows are assumptions of ours, set from the order of
magnitude that textbooks give for the material (conductivity of loose straw or leaves about 0.07 to 0.1 W m-1 K-1, from
memory); no thermometer record under them was used. Calibrating with a logger replaces them.
"""

from __future__ import annotations

from dataclasses import dataclass

from chillplan.errors import InputError, quoted

__all__ = ["COVER_TABLE", "Cover", "cover_named"]


@dataclass(frozen=True)
class Cover:
    """A ground cover relative to short grass.

    Attributes
    ----------
    name : str
    sun : float
        Share of the sun's warming that reaches the surface. [-]
    insulation : float
        Added thermal resistance. [m2 K W-1]
    exchange : float
        Factor on the resistance of the grass. [-]
    evaporation : float
        Share of the evaporation demand. [-]
    arriving : float
        Share of the precipitation that reaches the ground. [-]
    sky : float
        Share of the night sky the ground sees. [-]
    measured : bool
        Whether the row rests on thermometer records.
    note : str
        What it stands for.
    """

    name: str
    sun: float
    insulation: float
    exchange: float
    evaporation: float
    arriving: float
    sky: float
    measured: bool
    note: str


COVER_TABLE = (
    Cover("bare", 1.2, 0.0, 0.8, 0.8, 1.0, 1.0, False, "no plants; more sun, less between air and soil"),
    Cover("short grass", 1.0, 0.0, 1.0, 1.0, 1.0, 1.0, True, "mown grass, open plot: 76 stations at 5 cm"),
    Cover("tall grass", 0.6, 0.05, 1.2, 1.1, 0.95, 0.7, False, "sward of 20 to 40 cm"),
    Cover("leaf mulch", 0.6, 0.5, 1.0, 0.5, 0.95, 1.0, False, "5 cm of loose leaves"),
    Cover("straw mulch", 0.6, 1.0, 1.0, 0.4, 0.95, 1.0, False, "8 cm of loose straw"),
    Cover("tree canopy", 0.35, 0.1, 1.0, 0.5, 0.8, 0.3, False, "closed trees over thin litter"),
)
"""All covers, short grass being the reference. [see :class:`Cover`]"""


def cover_named(name: str) -> Cover:
    """The row of the table with that name.

    Raises
    ------
    InputError
        If the name is not in the table.
    """
    for cover in COVER_TABLE:
        if cover.name == name:
            return cover
    known = ", ".join(cover.name for cover in COVER_TABLE)
    raise InputError(f"cover {quoted(name)} is not known: use one of {known}")
