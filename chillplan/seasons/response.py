"""The response of seed to one day's temperature, for a single number and without numpy.

The journal asks this for a few hundred days at a time and must start quickly; the array form stands in
`chillplan.seasons.chill` and both give the same share.
"""

from __future__ import annotations

__all__ = ["REVERSAL_LOSS", "response_share"]

REVERSAL_LOSS = 0.7
"""Progress of an unfinished cold phase that a day above its reversal temperature undoes: 28 days at 10/20 °C (mean 15)
in the middle of 84 cold days undid 18 to 22 of them in 14 of 14 species of one genus, and nothing before the cold
(figures as given to us; the paper itself was not read). [day]"""


def response_share(temperature: float, response: tuple[float, float, float, float]) -> float:
    """Share of a day that counts towards a phase.

    Parameters
    ----------
    temperature : float
        Daily mean at the seed. NaN gives 0. [°C]
    response : tuple of four floats
        Zero below, full from, full to, zero above; rising order. [°C]

    Returns
    -------
    float
        0 to 1. [-]

    Examples
    --------
    >>> response_share(4.0, (-2.0, 1.0, 7.0, 12.0)), response_share(9.5, (-2.0, 1.0, 7.0, 12.0))
    (1.0, 0.5)
    """
    zero_low, full_low, full_high, zero_high = response
    if full_low <= temperature <= full_high:
        return 1.0
    if zero_low < temperature < full_low:
        return (temperature - zero_low) / (full_low - zero_low)
    if full_high < temperature < zero_high:
        return (zero_high - temperature) / (zero_high - full_high)
    return 0.0
