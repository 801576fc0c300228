"""Places side by side, and what the user asks of each of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from chillplan.physics.climate import filled_precipitation
from chillplan.seeds.recipe import Species

__all__ = ["Ask", "Places"]

FloatArray = NDArray[np.float32]


@dataclass(frozen=True)
class Places:
    """Daily weather of many places; the last axis is the place.

    Attributes
    ----------
    tmin, tmax : numpy.ndarray of float32, shape (time, place)
        NaN is missing. [°C]
    precipitation : numpy.ndarray of float32 or None, shape (time, place)
        [mm]
    latitude, elevation, slope, aspect : numpy.ndarray, shape (place,)
        [degrees, m, degrees, degrees]
    first : int
        Column of the daily arrays at which the places begin; more columns may lie to both sides.
    """

    tmin: FloatArray
    tmax: FloatArray
    precipitation: FloatArray | None
    latitude: NDArray[np.float64]
    elevation: NDArray[np.float64]
    slope: NDArray[np.float64]
    aspect: NDArray[np.float64]
    first: int = 0

    def __len__(self) -> int:
        return int(self.latitude.size)

    def at(self, where: NDArray[np.int_] | slice) -> Places:
        """Some of the places."""
        return Places(
            np.ascontiguousarray(self.own(self.tmin)[:, where]),
            np.ascontiguousarray(self.own(self.tmax)[:, where]),
            None if self.precipitation is None else np.ascontiguousarray(self.own(self.precipitation)[:, where]),
            self.latitude[where],
            self.elevation[where],
            self.slope[where],
            self.aspect[where],
        )

    def window(self, begin: int, end: int) -> Places:
        """Neighbouring places, their daily weather left where it is."""
        return replace(
            self,
            latitude=self.latitude[begin:end],
            elevation=self.elevation[begin:end],
            slope=self.slope[begin:end],
            aspect=self.aspect[begin:end],
            first=self.first + begin,
        )

    def own(self, values: FloatArray) -> FloatArray:
        """The columns of a daily array that are of these places."""
        return values[:, self.first : self.first + len(self)]

    def filled(self) -> Places:
        """The same places with missing precipitation guessed."""
        if self.precipitation is None or not np.isnan(self.own(self.precipitation)).any():
            return self
        low, high, water = (self.own(values) for values in (self.tmin, self.tmax, self.precipitation))
        return replace(self, tmin=low, tmax=high, precipitation=filled_precipitation(low, high, water), first=0)

    def dry(self) -> Places:
        """The same places without their precipitation."""
        return replace(self, precipitation=None)


@dataclass(frozen=True)
class Ask:
    """What is asked of every place.

    Attributes
    ----------
    species : tuple of Species
    cover : str
    depth_cm : float
        [cm]
    accept, target : float
        Share of winters that must be good, and share up that makes a winter good. [-]
    warming : float
        Added to every temperature. [°C]
    calibration : mapping of str to float
        Site parameters of the seed-zone model.
    """

    species: tuple[Species, ...]
    cover: str = "short grass"
    depth_cm: float = 2.0
    accept: float = 0.8
    target: float = 0.5
    warming: float = 0.0
    calibration: Mapping[str, float] = field(default_factory=dict)
