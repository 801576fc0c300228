"""What to do with a batch in the cold: when to look, and what to do about mould and drying.

Plain values in, plain sentences out. Every piece of advice carries its standing: a source that was read, or
``common practice, no source``.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["COMMON_PRACTICE", "Advice", "check_interval", "drying_advice", "mould_advice"]

COMMON_PRACTICE = "common practice, no source"

CLOSE_LOOK_SHARE = 2 / 3
"""Share of the planned cold after which sprouts are looked for more often. Common practice, no source. [-]"""
CLOSE_LOOK_DAYS = 3
"""Interval then; every 2 to 3 days is common practice, no source. [day]"""
TROUBLE_DAYS = 2
"""Interval after mould or drying was found. Common practice, no source. [day]"""

_RINSE_SOURCE = (
    "rinse as in two federal nursery protocols (Reforestation, Nurseries and Genetic Resources, Prunus; "
    "Native Plant Network protocol 179); the rest common practice, no source"
)


@dataclass(frozen=True)
class Advice:
    """One thing to do.

    Attributes
    ----------
    action : str
        What to do, one or two sentences.
    reason : str
        Why, or when it applies.
    standing : str
        Source, or `COMMON_PRACTICE`.
    """

    action: str
    reason: str
    standing: str = COMMON_PRACTICE


def check_interval(share_done: float, last_finding: str | None, usual: int = 7) -> int:
    """Days until the next look at a batch.

    Parameters
    ----------
    share_done : float
        Chill done as a share of the days needed; NaN counts as none done. [-]
    last_finding : str or None
        What the last look found: ``fine``, ``dry``, ``mould``, ``sprouted``, or None where there was none.
    usual : int
        Interval while nothing happens; weekly is common practice. [day]

    Returns
    -------
    int
        At most `usual`. [day]

    References
    ----------
    Common practice, no source, except that some growers' pages name a week or a few days.
    """
    interval = usual
    if share_done >= CLOSE_LOOK_SHARE or last_finding == "sprouted":
        interval = min(interval, CLOSE_LOOK_DAYS)
    if last_finding in {"dry", "mould"}:
        interval = min(interval, TROUBLE_DAYS)
    return interval


def mould_advice(times_found: int = 1) -> tuple[Advice, ...]:
    """What to do about mould in a batch.

    Parameters
    ----------
    times_found : int
        How many looks in a row found it, this one included.
    """
    steps = [
        Advice(
            "Open the bag outdoors or under a hood, with gloves and a mask, and not beside food.",
            "Spores irritate lungs and eyes; people with asthma or weak immunity leave this to others.",
        ),
        Advice(
            "Take out every soft or hollow seed. Press the rest: a firm seed with mould on its skin is often sound; "
            "cut one to see white inside.",
            "Mould lives first on dead seed, pulp and dirty medium.",
        ),
        Advice(
            "Rinse the firm seed; at choice soak it 10 to 20 minutes in 1 part household peroxide (3 %) to 3 parts "
            "water, with gloves and eye protection, then rinse well.",
            "Stronger peroxide burns skin and harms seed.",
            _RINSE_SOURCE,
        ),
        Advice(
            "Put it into fresh, clean medium as wet as a wrung-out cloth, in a clean bag with air in it; back into the "
            f"cold the same day, and look again in {TROUBLE_DAYS} days.",
            "Too wet and too little air feed the next mould; the chill done so far stands.",
        ),
    ]
    if times_found > 1:
        steps.append(
            Advice(
                "Cut ten seeds. If most are brown or empty, close the batch and start another from the same lot.",
                f"Mould was found at {times_found} looks in a row: much of the seed may be dead.",
            )
        )
    return tuple(steps)


def drying_advice(share_done: float) -> tuple[Advice, ...]:
    """What to do about a batch that was found dry.

    Parameters
    ----------
    share_done : float
        Chill done as a share of the days needed. [-]
    """
    steps = [
        Advice(
            "Moisten with cold water a little at a time until the medium is as wet as a wrung-out cloth and no water "
            "runs when it is squeezed; close the bag better, leaving air in it.",
            "Only moist seed chills: days spent dry do not count.",
        )
    ]
    if share_done > 0.5:
        steps.append(
            Advice(
                "Add the days it may have lain dry to the cold, and cut a few seeds to see whether they are sound.",
                "Seed that dries late in its chilling can die or go back into deeper dormancy.",
                "reported by a native seed nursery (Western Native Seed, germination tips); no figure in it",
            )
        )
    return tuple(steps)
