"""A recipe as sentences that can be followed: what, how much, how long, what to look for."""

from __future__ import annotations

from chillplan.seeds.quantities import trimmed
from chillplan.seeds.recipe import CoatStep, Phase, Recipe, Species

__all__ = [
    "coat_instruction",
    "depth_instruction",
    "phase_instruction",
    "steps_of",
    "storage_instruction",
    "waiting_for",
]

# Handling below is common practice without one source, but for the figures named beside it.
_SCARIFY = (
    "Scarify: hold each seed in a clamp and sand, file or nick it on the side away from the scar until the paler "
    "inside just shows, no deeper; for many small seeds rub them between two sheets of medium sandpaper until they "
    "look dull. "
    "A treated seed swells within a day in water: try ten first"
)
_INSTRUCTIONS = {
    "scarify": _SCARIFY,
    "crack": "Crack: squeeze the stone in a vice across its seam until it just gives; do not crush the kernel",
    "remove pulp": "Clean: rub the pulp off under water, on a sieve, on the day of picking or after soaking it soft",
    "remove hull": "Remove the hull or husk; wear gloves where it stains",
    "float test": (
        "Float test: tip the seed into a bucket of water, wait an hour, throw out what floats, and cut a few floaters "
        "open to be sure that they are empty"
    ),
}
DAILY_CHANGE = 24.0  # soaks at least this long get fresh water every day; common practice [h]
_WATER_SHARE = "four to five times as much water as seed by volume"  # from memory
_SMOKE_DILUTION = "one part smoke water in ten to a hundred parts water"  # common practice
_PEROXIDE = "one part 3 % peroxide in three parts water"  # Native Plant Network protocol 195


def coat_instruction(step: CoatStep) -> str:
    """One coat step as a sentence."""
    time = _time(step)
    held = "" if step.temperature is None else f"{_span(step.temperature)} °C"
    text = _INSTRUCTIONS.get(step.action, "")
    if step.action == "hot water":
        text = _hot_water(step, time)
    elif step.action == "soak":
        change = "; change the water every day" if step.hours and step.hours[1] >= DAILY_CHANGE else ""
        text = f"Soak in water at room temperature, {time}{change}; do not leave it longer"
    elif step.action == "rinse":
        text = f"Rinse in running or often changed water, {time}"
    elif step.action == "smoke water":
        text = (
            f"Soak in diluted smoke water ({_SMOKE_DILUTION}), {time}; buy it ready made, or burn only as local fire "
            "rules allow"
        )
    elif step.action == "peroxide rinse":
        text = f"Rinse in {_PEROXIDE}, {time}, then in clean water; gloves and eye protection"
    elif step.action == "dry heat":
        text = f"Dry heat: spread the seed thinly in an oven that stands steady at {held}{', ' + time if time else ''}"
    return f"{text} ({step.detail})." if step.detail else f"{text}."


def phase_instruction(phase: Phase, last: bool = True, sprouts_cold: bool = False) -> str:
    """One phase indoors as sentences.

    Parameters
    ----------
    phase : Phase
    last : bool
        Whether germination follows.
    sprouts_cold : bool
        The seed sprouts while it is still in the cold.
    """
    low, high = phase.days
    held = _span(phase.temperature or ((1.0, 5.0) if phase.kind == "cold" else (20.0, 25.0)))
    length = f"up to {trimmed(high)} days" if low == 0 else f"{trimmed(high)} days"
    length += f" ({trimmed(low)} serve the quickest seed)" if 0 < low < high else ""
    if phase.kind == "warm":
        return (
            f"Warm and moist: mixed with its own volume or more of wrung-out-moist sand or sand and peat in a bag with "
            f"air, at {held} °C, {length}; look weekly."
        )
    watch = (
        "look every 2 to 3 days from half the time on, since it sprouts in the cold"
        if sprouts_cold
        else "look weekly, and every 2 to 3 days from two thirds of the time on"
    )
    after = "" if last else " Then on to the next phase."
    return (
        f"Cold and moist: mixed with its own volume or more of wrung-out-moist sand or sand and peat in a labelled bag "
        f"with air, in a refrigerator (not the freezer, not beside fruit) at {held} °C measured in the bag, {length}; "
        f"{watch}.{after}"
    )


def steps_of(species: Species, recipe: Recipe) -> tuple[str, ...]:
    """Every step of a recipe indoors, in order, up to the seedling."""
    cold = species.germination.base_temperature <= 1.0
    steps = [coat_instruction(step) for step in recipe.coat]
    for number, phase in enumerate(recipe.phases):
        steps.append(phase_instruction(phase, number == len(recipe.phases) - 1, cold))
    held = species.germination.temperature
    indoors = "" if held is None else f"under cover at {_span(held)} °C, or "
    steps.append(f"Sow {indoors}outdoors once the frost allows; {depth_instruction(species)}.")
    return tuple(steps)


def depth_instruction(species: Species) -> str:
    """How deep, and what that means for light."""
    low, high = species.depth_cm
    if high == 0.0:
        return "press the seed into the surface and leave it uncovered; keep it moist, by mist or from below"
    light = ", no deeper, since it needs light" if species.light == "needed" else ""
    return f"{_span((low, high))} cm deep{light}"


def storage_instruction(species: Species) -> str:
    """How the seed is kept until it is treated or sown."""
    if species.storage == "never dry":
        return (
            "Dies when it dries: sow at once, or hold it in moist sand or sphagnum with air at 1 to 4 °C, and use it "
            "within the season."
        )
    if species.storage == "short-lived":
        return "Keeps poorly when dry: sow fresh, or hold it slightly moist at 1 to 5 °C, and use it within the year."
    return "Keeps dry: 5 to 8 % moisture, sealed, at 1 to 5 °C, for years."


def waiting_for(species: Species, recipe: Recipe) -> str:
    """What the seed is waiting for, in one or two sentences."""
    parts = []
    if species.hard_coat:
        parts.append("for a way through its coat, which lets no water in until it is opened")
    parts += [_wait(number, phase, recipe, species.shoot_waits) for number, phase in enumerate(recipe.phases)]
    if species.light == "needed":
        parts.append("for light")
    if not parts:
        return "For nothing but moisture and warmth: it grows as soon as it has both."
    text = f"It waits {', then '.join(parts)}."
    if species.hard_coat:
        share = species.trickle_share * 100
        text += f" Left untreated, about {share:.0f} % (assumed) open in a winter, so that it comes up over years."
    return text


def _wait(number: int, phase: Phase, recipe: Recipe, shoot_waits: bool) -> str:
    last = number == len(recipe.phases) - 1
    days = f"up to {trimmed(phase.days[1])}" if phase.days[0] == 0 else _span(phase.days)
    few = " (some seeds need none)" if phase.days[0] == 0 else ""
    if shoot_waits and last:
        return f"for {days} days of moist cold, which wakes the shoot after the root is out{few}"
    if phase.kind == "cold":
        return f"for {days} days of moist cold{few}"
    return f"for {days} days of moist warmth{', in which the root or embryo grows' if not last else ''}{few}"


def _hot_water(step: CoatStep, time: str) -> str:
    temperature = step.temperature or (80.0, 80.0)
    hot = "boiling water" if temperature[1] >= 99.0 else f"water at {_span(temperature)} °C"
    pour = f"Hot water: bring {_WATER_SHARE} to heat, take it off the stove, pour {hot} over the seed"
    if step.hours is None or step.hours[1] >= 1.0:
        return f"{pour} and let it cool, {time or '12 to 24 hours'}; treat again what has not swollen"
    return f"{pour}, {time}, then into cold water at once"


def _time(step: CoatStep) -> str:
    if step.hours is None:
        return ""
    low, high = step.hours
    for unit, length, least in (("days", 24.0, 48.0), ("hours", 1.0, 1.0), ("minutes", 1.0 / 60.0, 0.0)):
        if high >= least:
            text = _span((round(low / length, 1), round(high / length, 1)))
            return f"{text} {unit[:-1] if text == '1' else unit}"
    return ""


def _span(span: tuple[float, float]) -> str:
    low, high = trimmed(span[0]), trimmed(span[1])
    return low if low == high else f"{low} to {high}"
