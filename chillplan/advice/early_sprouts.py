"""What to do with seed that sprouts before its time, by the stage of the sprout and by the frost outlook."""

from __future__ import annotations

from datetime import date

from chillplan.advice.care import Advice

__all__ = ["sprout_advice"]

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
