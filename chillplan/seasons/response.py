"""The response of seed to one day's temperature, for a single number and without numpy.

The journal asks this for a few hundred days at a time and must start quickly; the array form stands in
`chillplan.seasons.chill` and both give the same share.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["EDGES", "REVERSAL_LOSS", "USUAL", "Corners", "Edge", "response_share"]

Corners = tuple[float, float, float, float]
"""Zero below, full from, full to, zero above; rising order. [°C]"""

USUAL: Corners = (-2.0, 1.0, 7.0, 12.0)
"""How a day counts as moist chill unless a source says otherwise: an assumption of ours that brackets published optima
(it works at about 0 to 10 °C, best near 5 °C), shown as an assumption wherever it is used. [°C]"""

REVERSAL_LOSS = 0.7
"""Chill that a day above the reversal temperature undoes.

Of unfinished seed: 28 days at 10/20 °C (mean 15) in the middle of 84 cold days undid 18 to 22 of them in 14 of 14
species of one genus, and nothing before the cold (figures as given to us; the paper itself was not read). Of finished
seed: 78 % of Korean pine came up after a month at 5 °C, 55 % after one at 15 °C (Pinus koraiensis, abstract read); 21
days less bring a usual lot (its seeds differ by 36 days) from 78 to 57 %. After a month at 20 °C the pine was down
to 10 %: there the rule takes too little. [day]"""


class Edge(NamedTuple):
    """An edge of the response to cold where it may as well lie.

    Attributes
    ----------
    side : str
        ``cold`` or ``warm``.
    words : str
        What would be so, as the end of a sentence.
    zero, full : float
        Nothing counts beyond the first, a full day does from the second inwards. [°C]
    """

    side: str
    words: str
    zero: float
    full: float

    def moved(self, corners: Corners) -> Corners:
        """A response with this edge in place of its own."""
        zero_low, full_low, full_high, zero_high = corners
        if self.side == "cold":
            return (self.zero, self.full, full_high, zero_high)
        return (zero_low, full_low, self.full, self.zero)


EDGES = (
    Edge("cold", "chill counted down to -5 °C", -5.0, 0.0),
    Edge("warm", "8 to 10 °C counted in full", 12.0, 10.0),
    Edge("warm", "8 to 10 °C counted little", 9.0, 7.0),
)
"""Where the edges of the usual response may as well lie. That nothing counts below -2 °C rests on one species and on
burial outdoors at two depths (as given to us, not read). At 10 °C flowering dogwood did better than at 5 °C (Davis
1927, read in a table of trials); apples gained nothing above 9 °C (abstract read). The rest is our choice."""


def response_share(temperature: float, response: Corners) -> float:
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
