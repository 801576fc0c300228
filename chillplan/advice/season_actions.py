"""What to do in mid-winter about a sowing outdoors: wait, lift and finish in the cold, start spare seed, cover."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

from chillplan.errors import counted

__all__ = ["Action", "Lift", "actions_for", "season_over"]

YEAR = 365
HARM_LIMIT = 0.2
"""Share of endings with harm by frost from which a cover is advised. Our choice. [-]"""


@dataclass(frozen=True)
class Action:
    """One thing to do.

    Attributes
    ----------
    kind : str
        ``wait``, ``lift``, ``spare seed`` or ``cover``.
    by : datetime.date or None
        Latest day; None where there is no hurry.
    """

    kind: str
    by: date | None
    text: str
    reason: str


@dataclass(frozen=True)
class Lift:
    """Lifting seed and finishing it in the refrigerator, and the alternative of spare seed.

    Attributes
    ----------
    on : datetime.date
        Before the soil warms.
    owed : tuple of float
        Days of cold owed then: in a median ending, and exceeded in one of ten. NaN where not known. [day]
    plant_out : datetime.date
        Best day to plant out lifted seed, from when the cold owed is done in nine endings of ten; that of spare seed
        where what is owed is not known.
    good, endings : int
        Endings in which seed finished and planted out then does well; 0 where what is owed is not known.
    spare_days : int
        Days spare seed needs indoors from the start. [day]
    spare_out : datetime.date
        Best day to plant out spare seed.
    spare_by : datetime.date
        Last day to start it for `spare_out`.
    spare_good : int
        Endings in which spare seed planted out then does well.
    cold : tuple of float
        Range to hold. [°C]
    latest : datetime.date
        Last day on which a plan of this season plants out.
    """

    on: date
    owed: tuple[float, float]
    plant_out: date
    good: int
    endings: int
    spare_days: int
    spare_out: date
    spare_by: date
    spare_good: int
    cold: tuple[float, float]
    latest: date


def actions_for(
    today: date,
    chance: float,
    accept: float,
    harmed: float,
    complete: bool,
    later: int,
    lift: Lift | None,
    cover: tuple[date, date] | None,
) -> tuple[Action, ...]:
    """Decide what to do about a sowing.

    Parameters
    ----------
    chance, accept : float
        Chance of a good ending, and the chance that is enough. [-]
    harmed : float
        Share of endings in which frost takes much of the lot. [-]
    complete : bool
        The chill is done already.
    later : int
        Year of the later spring by which seed sown on this day usually comes up, 0 where it does not; it is left to
        that unless lifting it is good enough.
    cover : tuple of datetime.date or None
        First day on which seedlings may stand, and the late day of the last killing frost.
    """
    actions = []
    if chance >= accept or lift is None:
        actions.append(_wait(chance, accept, complete))
    elif later and not complete and not (_owes(lift) and lift.good >= accept * lift.endings):
        actions.append(_later(later))
    elif max(lift.good, lift.spare_good) / lift.endings <= chance:
        actions.append(_no_better(chance, lift))
    else:
        actions += _rescue(today, chance, accept, lift, later)
    if harmed >= HARM_LIMIT and cover is not None:
        actions.append(_cover(harmed, *cover))
    return tuple(actions)


def _wait(chance: float, accept: float, complete: bool) -> Action:
    done = "Half of the lot has all the chill it needs. " if complete else ""
    if chance >= accept:
        reason = f"{done}The chance that it comes up as hoped is {chance:.0%}."
        return Action("wait", None, "Leave it where it lies.", reason)
    return Action(
        "wait",
        None,
        "Leave it where it lies; cold in a refrigerator would not help it.",
        f"{done}The chance that it comes up as hoped is only {chance:.0%}, but its recipe does not end with cold.",
    )


def season_over(chance: float, accept: float) -> Action:
    """What to do when the planting time of the season is past."""
    if chance >= accept:
        return _wait(chance, accept, complete=False)
    return Action(
        "wait",
        None,
        "Leave the bed as it is, marked, until the next spring.",
        f"This season's planting time is over. The chance that it came up as hoped is {chance:.0%}; what lies dormant "
        "may come in the next spring.",
    )


def unsown(sown: date, chance: float) -> Action:
    """What to do with seed that is not sown yet, and would not come up."""
    return Action(
        "wait",
        None,
        f"Do not sow it on {sown}.",
        f"The chance that it would come up as hoped is {chance:.0%}. When to sow it, or to chill it indoors, says "
        "chillplan plan.",
    )


def _no_better(chance: float, lift: Lift) -> Action:
    if _owes(lift):
        other = (
            f"finished in the cold and planted out on {lift.plant_out} it would do no better ({lift.good} of "
            f"{lift.endings} endings), nor would spare seed."
        )
    else:
        other = (
            "its last cold has not begun, so lifting it cannot be estimated, and spare seed would do no better "
            f"({lift.spare_good} of {lift.endings} endings)."
        )
    reason = f"The chance that it comes up as hoped is {chance:.0%}; {other}"
    return Action("wait", None, "Leave it where it lies.", reason)


def _later(year: int) -> Action:
    return Action(
        "wait",
        None,
        "Leave it where it lies, marked, moist and safe from mice.",
        f"Sown on this day it usually comes up in spring {year}: nothing is lost yet.",
    )


def _owes(lift: Lift) -> bool:
    """Whether its cold phase has begun, so that what it owes is known."""
    return math.isfinite(lift.owed[0])


def _rescue(today: date, chance: float, accept: float, lift: Lift, later: int) -> list[Action]:
    low, high = lift.cold
    why = f"The chance that it comes up as hoped outdoors is {chance:.0%}; {accept:.0%} is wanted."
    if later:
        why += f" Left where it lies it usually comes up in spring {later}."
    actions = []
    median, most = lift.owed
    if _owes(lift) and lift.good / lift.endings > chance:
        then = f"plant out from {lift.plant_out}, which does well in {lift.good} of {lift.endings} endings."
        moist = f"moist at {low:g} to {high:g} °C" if low < high else f"moist at {low:g} °C"
        actions.append(Action("lift", lift.on, f"{_lift_words(lift.on, median, most)}, {moist}; {then}", why))
    opening = "Or start" if actions else "Start"
    spare = f"{opening} a batch of spare seed in the cold, {lift.spare_days} days before planting out"
    if lift.spare_by >= today:
        actions.append(Action("spare seed", lift.spare_by, f"{spare} on {lift.spare_out}: by {lift.spare_by}.", why))
        return actions
    ready = today + timedelta(days=lift.spare_days)
    if ready > lift.latest:
        next_year = lift.spare_by + timedelta(days=YEAR)
        words = f"begun today it would be ready on {ready}, after this year's planting time."
        text = f"{'Keep' if not actions else 'Or keep'} spare seed for next spring and begin it by {next_year}: {words}"
        actions.append(Action("spare seed", next_year, text, why))
    else:
        actions.append(
            Action(
                "spare seed",
                today,
                f"{spare}: started today it is ready on {ready}, later than the best day, {lift.spare_out}.",
                why,
            )
        )
    return actions


def _lift_words(on: date, median: float, most: float) -> str:
    opening = f"If it lies in a bag or tray, lift it by {on} and"
    if most < 1.0:
        return f"{opening} keep it in the cold until it is planted out, watching for sprouts"
    days = counted(median, "day") + ("" if round(most) == round(median) else f", {most:.0f} at most")
    return f"{opening} give it the cold still owed, {days}"


def _cover(harmed: float, first: date, last: date) -> Action:
    return Action(
        "cover",
        first,
        f"Have fleece or a deep mulch ready from {first} until {last} and cover on nights of hard frost "
        "(common practice, no source).",
        f"In {harmed:.0%} of the endings it wakes early and frost takes at least a quarter of it.",
    )
