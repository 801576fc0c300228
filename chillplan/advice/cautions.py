"""The usual cautions for what a recipe asks for."""

from __future__ import annotations

from chillplan.seeds.recipe import Recipe, Species

__all__ = ["FOR_ALL", "cautions_for"]

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
