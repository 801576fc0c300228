"""Units of the reader's choice."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["METRIC", "US", "Units", "inches"]

CM_PER_INCH = 2.54
MM_PER_INCH = 25.4
M_PER_FOOT = 0.3048
FINE = 0.35  # inches below which tenths are too coarse


def inches(centimetres: float) -> str:
    """A length in inches as a ruler shows it: ``0.12``, ``0.5``, ``1``."""
    value = centimetres / CM_PER_INCH
    return f"{value:.2f}" if value < FINE else f"{value:.1f}".removesuffix(".0")


@dataclass(frozen=True)
class Units:
    """Turns house units into text in the reader's units; whatever is not finite becomes an en dash."""

    us: bool

    def temperature(self, celsius: float, digits: int = 0) -> str:
        """``4 °C`` or ``39 °F``."""
        if not math.isfinite(celsius):
            return "–"
        value, unit = (celsius * 1.8 + 32.0, "°F") if self.us else (celsius, "°C")
        return f"{value:.{digits}f} {unit}"

    def difference(self, celsius: float, digits: int = 1) -> str:
        """A difference of temperatures, signed."""
        value, unit = (celsius * 1.8, "°F") if self.us else (celsius, "°C")
        return f"{value:+.{digits}f} {unit}" if math.isfinite(celsius) else "–"

    def depth(self, low_cm: float, high_cm: float) -> str:
        """Sowing depth: ``1 to 2 cm``, ``0.4 to 0.8 in``, ``surface``."""
        if high_cm <= 0.0:
            return "surface"
        unit = "in" if self.us else "cm"
        low, high = (inches(depth) if self.us else f"{depth:.1f}".removesuffix(".0") for depth in (low_cm, high_cm))
        return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"

    def height(self, metres: float | None) -> str:
        """``640 m`` or ``2100 ft``."""
        if metres is None or not math.isfinite(metres):
            return "not stated"
        return f"{metres / M_PER_FOOT:.0f} ft" if self.us else f"{metres:.0f} m"

    def water(self, millimetres: float) -> str:
        """``12 mm`` or ``0.47 in``."""
        if not math.isfinite(millimetres):
            return "–"
        return f"{millimetres / MM_PER_INCH:.2f} in" if self.us else f"{millimetres:.0f} mm"


METRIC = Units(us=False)
US = Units(us=True)
