"""Treatments in words and numbers."""

from __future__ import annotations

from chillplan.seeds.recipe import CoatStep, Phase, Recipe

__all__ = ["coat_words", "number_range", "phase_words", "recipe_words", "verdict_words", "winters_words"]


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
