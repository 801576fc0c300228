"""What to do with a batch in the cold: when to look, and what to do about mould and drying.

Plain values in, plain sentences out. Every piece of advice carries its standing: a source that was read, or
``common practice, no source``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

from chillplan.advice.wording import number_range
from chillplan.errors import counted
from chillplan.seasons.response import response_share
from chillplan.seeds.recipe import Phase, Recipe

__all__ = [
    "COMMON_PRACTICE",
    "Advice",
    "check_interval",
    "drying_advice",
    "mould_advice",
    "place_note",
    "sprout_advice",
    "start_notes",
]

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


SOON = 21
"""Longest time a sprout is held back in the cold. Common practice, no source. [day]"""
WHOLE_BATCH_SHARE = 1 / 3
"""Sprouted share from which the whole batch counts as ready. Our assumption. [-]"""


def sprout_advice(
    stage: str,
    sprouted: int,
    seeds: int | None,
    today: date,
    frost_free: date | None,
    plant_out: date | None = None,
) -> tuple[Advice, ...]:
    """What to do with early sprouts.

    Parameters
    ----------
    stage : {'root tip', 'root', 'shoot', ''}
        How far they are; empty is treated as a root tip.
    sprouted : int
        Sprouted so far in this batch.
    seeds : int or None
        Seeds of the batch where known.
    frost_free : datetime.date or None
        Day after which killing frost is unlikely (the late date, exceeded in one year of ten).
    plant_out : datetime.date or None
        Planned planting; stands in where `frost_free` is not known.

    Returns
    -------
    tuple of Advice
        In order.
    """
    safe_from = frost_free or plant_out
    outlook = "Killing frost is unlikely only" if frost_free else "The planned planting is"
    return (_sprouted(stage, today, safe_from, outlook), *_others(sprouted, seeds), _handling(stage))


def _sprouted(stage: str, today: date, safe_from: date | None, outlook: str) -> Advice:
    if safe_from is None:
        return Advice(
            "Pot the sprouted seed up, root down, and keep it at 2 to 10 °C in bright light, frost-free.",
            "No frost date is known for this batch: potting is safe either way. Give one with --frost-free to have the "
            "outlook weighed.",
        )
    days = (safe_from - today).days
    if days <= 0:
        return Advice(
            "Sow the sprouted seed now, outdoors, at its usual depth into moist ground; do not let it dry on the way.",
            f"{safe_from}, from when it was thought safe, has come; look at this week's forecast first.",
        )
    if days <= SOON and stage != "shoot":
        return Advice(
            f"Hold the sprouted seed at 0.5 to 2 °C, moist and with air, until {safe_from}, then sow it; look every "
            "2 to 3 days and pot it up when roots pass about 1 cm.",
            f"{outlook} in {days} days; near freezing the root hardly grows.",
        )
    if days <= SOON:
        return Advice(
            f"Pot the shoots up at 2 to 10 °C in bright light; plant out from {safe_from} and have a cover ready.",
            f"{outlook} in {days} days; a shoot cannot be held in the dark.",
        )
    return Advice(
        "Pot the sprouted seed up, root down, and keep it at 2 to 10 °C in bright light, frost-free, as cool as it "
        f"grows on; plant out from {safe_from}. Do not put it into a warm room and do not sow it outdoors now.",
        f"{outlook} in {days} days: too long to hold a sprout in the dark.",
    )


def _others(sprouted: int, seeds: int | None) -> tuple[Advice, ...]:
    if seeds and sprouted / seeds >= WHOLE_BATCH_SHARE:
        return (
            Advice(
                "Treat the rest as ready too: plan to sow or pot the whole batch within a week or two.",
                f"{sprouted} of {seeds} have sprouted; the others follow soon, and roots grow too long in the cold.",
                "long roots after over-long cold: Tree Planters' Notes 49(3), hawthorn; the share is our assumption",
            ),
        )
    if seeds:
        return (
            Advice(
                "Pick the sprouted seed out and leave the rest in the cold.",
                f"{sprouted} of {seeds} have sprouted: the others still need their days.",
            ),
        )
    return (
        Advice(
            "Pick the sprouted seed out; leave the rest in the cold unless about a third has sprouted.",
            "The number of seeds in this batch is not recorded.",
        ),
    )


def _handling(stage: str) -> Advice:
    if stage == "shoot":
        return Advice(
            "Give light the same day and shade from strong sun for the first week.", "Shoots grown in the dark burn."
        )
    return Advice(
        "Lift each sprout with its medium, never by the root, and plant with the root down; never let it dry.",
        "A root tip that breaks or dries is seldom replaced.",
    )


POOR_DAY = 0.5  # a place that gives a phase less than this share of a day is told. Our choice. [-]
LONG_WAIT = 14  # days in the cold beyond what nine seeds in ten need that are told. Our choice. [day]


def start_notes(
    recipe: Recipe, set_temperature: float, begun: date, plant_out: date | None, base_temperature: float = 0.0
) -> tuple[str, ...]:
    """Sentences on a place that does not suit and a planting date that does not fit.

    Parameters
    ----------
    set_temperature : float
        Of the place. [°C]
    begun : datetime.date
        First day of the first phase.
    plant_out : datetime.date or None
        Planting date wanted.
    base_temperature : float
        At or below which the seed does not sprout. [°C]
    """
    phases = [phase for phase in recipe.phases if phase.days[1] > 0]
    if not phases:
        return (
            "It needs neither cold nor warmth: sow it once its coat is treated; a batch in the cold gains nothing.",
        )
    first = phases[0]
    notes = [place_note(first.kind, response_of(first), first.temperature, set_temperature)]
    if plant_out is not None:
        days = sum(math.ceil(phase.days[1]) for phase in phases)
        notes.append(_date_words(days, begun, plant_out, sprouts=base_temperature < set_temperature))
    return tuple(note for note in notes if note)


def place_note(
    kind: str,
    response: tuple[float, float, float, float],
    asked: tuple[float, float] | None,
    set_temperature: float,
) -> str:
    """A sentence where a place does not suit a phase; empty where it does.

    Parameters
    ----------
    kind : str
        ``cold`` or ``warm``.
    response : tuple of four floats
        [°C]
    asked : tuple of float or None
        Range to hold. [°C]
    set_temperature : float
        Of the place. [°C]
    """
    share = response_share(set_temperature, response)
    if share >= POOR_DAY:
        return ""
    asks = f"; it asks for {number_range(*asked, '°C')}" if asked else ""
    return (
        f"At {set_temperature:g} °C a day counts {share:.0%} of a day for its {kind} phase{asks}. If it lies "
        "elsewhere, take the entry back (`chillplan batch undo`) and name the place with --place and --set."
    )


def response_of(phase: Phase) -> tuple[float, float, float, float]:
    """The corners of a phase's response. [°C]"""
    response = phase.response
    return response.zero_low, response.full_low, response.full_high, response.zero_high


def _date_words(days: int, begun: date, plant_out: date, sprouts: bool) -> str:
    ready = begun + timedelta(days=days)
    wait = (plant_out - ready).days
    if wait < 0:
        return (
            f"Nine seeds in ten are ready about {ready}, {counted(-wait, 'day')} after the planting date {plant_out}: "
            "plant later, or expect fewer."
        )
    if wait > LONG_WAIT:
        return (
            f"Nine seeds in ten are ready about {ready}, {wait} days before the planting date {plant_out}"
            f"{', and may sprout in the bag' if sprouts else ''}: begin about {plant_out - timedelta(days=days)} "
            "instead, or plant earlier."
        )
    return ""
