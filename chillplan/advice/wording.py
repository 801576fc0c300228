"""Treatments and their cautions in words and numbers."""

from __future__ import annotations

from chillplan.seeds.recipe import CoatStep, Phase, Recipe, Species

__all__ = [
    "FOR_ALL",
    "cautions_for",
    "coat_words",
    "number_range",
    "phase_words",
    "recipe_words",
    "verdict_words",
    "winters_words",
]


def number_range(low: float, high: float, unit: str) -> str:
    """``60 to 90 days``, ``45 days``."""
    if low == high:
        return f"{low:g} {unit}"
    return f"{low:g} to {high:g} {unit}"


def phase_words(phase: Phase) -> str:
    """``cold moist, 60 to 90 days, 1 to 5 °C``."""
    low, high = phase.days
    days = f"{high:g} days" if phase.spread_assumed else number_range(low, high, "days")
    temperature = f", {number_range(*phase.temperature, '°C')}" if phase.temperature else ""
    return f"{phase.kind} moist, {days}{temperature}"


def coat_words(step: CoatStep) -> str:
    """``soak, 24 hours (change the water daily)``; hot water says that it is not kept hot."""
    parts = [step.action]
    if step.temperature:
        parts.append(number_range(*step.temperature, "°C"))
    if step.action == "hot water":
        parts.append("off the stove and left to cool")
    if step.hours:
        low, high = step.hours
        unit, scale = ("hours", 1.0) if high >= 1.0 else ("minutes", 60.0)
        parts.append(number_range(round(low * scale, 2), round(high * scale, 2), unit))
    detail = f" ({step.detail})" if step.detail else ""
    return ", ".join(parts) + detail


def recipe_words(recipe: Recipe) -> str:
    """All steps and phases in order, or ``no pretreatment``."""
    parts = [coat_words(step) for step in recipe.coat] + [phase_words(phase) for phase in recipe.phases]
    return "; ".join(parts) or "no pretreatment"


def verdict_words(verdict: str) -> str:
    """``chill in fridge``."""
    return verdict.replace("-", " ")


def winters_words(good: int, winters: int) -> str:
    """``27 of 30 winters``."""
    return f"{good} of {winters} winters"


# Common practice, no source; local codes and licensed practice come first wherever they say more.
BY_ACTION = {
    "scarify": "Blade, file or sandpaper: hold the seed in a clamp, cut away from the hand and away from the embryo,"
    " wear eye protection.",
    "crack": "Cracking: wear eye protection, keep fingers clear of the vice, stop when the shell gives.",
    "hot water": "Boiling water scalds: take the pot off the heat first, pour slowly, keep children away, let it cool.",
    "dry heat": "Dry heat: use an oven with a thermometer, never an open fire; follow local fire rules.",
    "smoke water": "Smoke: use bought smoke water where you can; a fire outdoors only as local fire rules allow.",
    "peroxide rinse": "Peroxide bleaches and burns: gloves and eye protection, follow the label.",
}
MOULD = "Mould in the bag: open it outdoors or by a window, do not breathe the dust, throw out what is soft."
LIFTING = (
    "Lifting: wear gloves, take bag or tray up whole, never force it from frozen ground; keep it moist and cool on the"
    " way, and plant at once what has sprouted."
)
COLLECTING = "Collect wild seed only where local law and the landowner allow it; many species are protected."
FOR_ALL = (MOULD, COLLECTING)
"""Cautions that hold whatever the species is."""


def cautions_for(species: Species, recipe: Recipe, lifted: bool = False) -> tuple[str, ...]:
    """Cautions in the order in which they matter.

    Parameters
    ----------
    lifted : bool
        Whether it is begun outdoors and lifted.

    Returns
    -------
    tuple of str
        Those of the species first, then those of its treatments.
    """
    found = [*species.cautions]
    found += [BY_ACTION[step.action] for step in recipe.coat if step.action in BY_ACTION]
    if lifted:
        found.append(LIFTING)
    if recipe.phases:
        found.append(MOULD)
    found.append(COLLECTING)
    return tuple(dict.fromkeys(found))
