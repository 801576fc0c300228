"""Plan natural and refrigerator stratification from decades of daily temperatures.

From Python, the same way as the command ``chillplan plan``:

>>> from datetime import date
>>> from pathlib import Path
>>> import chillplan
>>> site = chillplan.Site(latitude=36.4, longitude=-81.6, elevation=430.0)
>>> history = chillplan.read_weather([Path("data/demo_weather.csv")], latitude=36.4, longitude=-81.6)
>>> seasons = chillplan.cut_seasons(chillplan.move_to_site(history, site).daily, site.southern)
>>> milkweed = chillplan.find_species(chillplan.built_in_species(), "Asclepias incarnata")
>>> plan = chillplan.make_plan(seasons, site, [milkweed], chillplan.Request(today=date(2026, 9, 1)))
>>> plan.species[0].verdict
'either'
>>> winters = chillplan.winters_of(seasons, chillplan.ground_of(seasons, site))
>>> winters.effective_chill.shape == winters.years.shape
True

Each name is imported when it is first asked for, so that ``import chillplan`` costs nothing.
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_PUBLIC = {
    "Site": "chillplan.site",
    "read_site": "chillplan.site",
    "read_weather": "chillplan.weather.read",
    "move_to_site": "chillplan.weather.move",
    "cut_seasons": "chillplan.seasons.cut",
    "ground_of": "chillplan.seasons.summary",
    "winters_of": "chillplan.seasons.summary",
    "built_in_species": "chillplan.cli.catalogue_files",
    "find_species": "chillplan.seeds.catalogue",
    "Request": "chillplan.advice.plan",
    "make_plan": "chillplan.advice.plan",
    "season_so_far": "chillplan.seasons.forecast",
    "ensemble_of": "chillplan.advice.season_ensemble",
    "sowing_outlook": "chillplan.advice.season_advice",
}
_OTHER_NAMES = {"read_weather": "load_history", "built_in_species": "built_in_catalogue"}

__all__ = ["__version__", *_PUBLIC]  # noqa: PLE0604


def __getattr__(name: str) -> Any:
    if name not in _PUBLIC:
        raise AttributeError(f"module 'chillplan' has no attribute {name!r}")
    return getattr(import_module(_PUBLIC[name]), _OTHER_NAMES.get(name, name))


def __dir__() -> list[str]:
    return sorted(__all__)
