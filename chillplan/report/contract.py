"""The JSON of the command line: keys stay, new ones may be added."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.outlook import percentiles_of
from chillplan.advice.result import Fridge, Outdoors, Plan, SpeciesAdvice, Step, Task, TopUp, Visit
from chillplan.advice.wording import coat_words, phase_words, recipe_words
from chillplan.report.record import RECENT, Source, frost_risk_json
from chillplan.seasons.cut import Seasons, season_label
from chillplan.seasons.summary import Winters
from chillplan.seasons.trend import trend
from chillplan.seeds.recipe import Recipe
from chillplan.site import Site

__all__ = ["plan_json", "winter_answer", "winter_json"]

FloatArray = NDArray[np.floating]
Json = dict[str, Any]

SCHEMA = 1


def plan_json(plan: Plan, source: Source) -> Json:
    """The answer of ``plan``."""
    return {
        "schema": SCHEMA,
        "site": site_json(plan.site),
        "weather": weather_json(source, plan.seasons),
        "winter": winter_json(plan.winters, plan.seasons, plan.season),
        "rests_on": None if plan.rests_on is None else plan.rests_on.as_json,
        "logger_settles": list(plan.logger_settles),
        "season": plan.season,
        "today": plan.today.isoformat(),
        "accept": plan.accept,
        "target": plan.target,
        "warming": plan.warming,
        "species": [species_json(advice) for advice in plan.species],
        "tasks": [task_json(task) for task in plan.tasks],
        "visits": [visit_json(visit) for visit in plan.visits],
        "uncovered": list(plan.uncovered),
        "notes": list(plan.notes),
    }


def winter_answer(site: Site, source: Source, seasons: Seasons, winters: Winters, season: int, warming: float) -> Json:
    """The answer of ``winter``: the same blocks as in a plan."""
    return {
        "schema": SCHEMA,
        "site": site_json(site),
        "weather": weather_json(source, seasons),
        "winter": winter_json(winters, seasons, season),
        "season": season,
        "warming": warming,
    }


def site_json(site: Site) -> Json:
    """The site as it was used."""
    return {
        "name": site.name,
        "latitude": site.latitude,
        "longitude": site.longitude,
        "elevation_m": site.elevation,
        "slope_deg": site.slope,
        "aspect_deg": site.aspect,
        "cover": site.cover,
        "terrain": site.terrain,
        "depth_cm": site.depth_cm,
    }


def weather_json(source: Source, seasons: Seasons) -> Json:
    """Where the history came from and what it covers."""
    return {
        "source": source.source,
        "station": source.station,
        "first": source.first.isoformat(),
        "last": source.last.isoformat(),
        "winters": int(seasons.years.size),
        "coverage": round(source.coverage, 4),
        "distance_km": _rounded(source.distance_km, 1),
        "height_difference_m": _rounded(source.height_difference_m, 0),
        "invented": source.invented,
        "left_out": {season_label(year): why for year, why in seasons.left_out.items()},
        "precipitation_guessed_days": {season_label(year): days for year, days in seasons.guessed_water.items()},
        "notes": list(source.notes),
        "licence": source.licence,
    }


def winter_json(winters: Winters, seasons: Seasons, season: int) -> Json:
    """Chill, frost and soil warming, by season and as percentiles.

    Parameters
    ----------
    season : int
        Season in which percentile dates are written.
    """
    south = seasons.southern

    def dates(values: FloatArray) -> Json:
        return {key: _date(value, season, south) for key, value in zip(KEYS, percentiles_of(values), strict=True)}

    def by_threshold(table: Mapping[float, FloatArray]) -> Json:
        return {f"{limit:g}": {**dates(values), **_counted(values)} for limit, values in table.items()}

    def frosts(table: Mapping[float, FloatArray], last: bool) -> Json:
        return {
            limit: {**entry, **frost_risk_json(table[float(limit)], season, south, last)}
            for limit, entry in by_threshold(table).items()
        }

    return {
        "chill_days": _spread(winters.chill_days),
        "effective_chill": _spread(winters.effective_chill),
        "cold_days_at_or_below_5c": _spread(winters.cold_days),
        "by_season": [_season_json(winters, index, south) for index in range(winters.years.size)],
        "last_spring_frost": {
            **dates(winters.last_spring_frost[0.0]),
            "by_threshold_c": frosts(winters.last_spring_frost, last=True),
        },
        "first_autumn_frost": {
            **dates(winters.first_autumn_frost[0.0]),
            "by_threshold_c": frosts(winters.first_autumn_frost, last=False),
        },
        "soil_warm": by_threshold(winters.soil_warm),
        "winters_without_frost": int(np.isinf(winters.last_spring_frost[0.0]).sum()),
        "trend_per_decade": trend_json(winters),
        "recent": recent_json(winters, season, south),
    }


KEYS = ("p10", "p50", "p90")


def trend_json(winters: Winters) -> Json:
    """Sen slopes per decade, with the two-sided probability of the Mann-Kendall test beside each."""
    found: Json = {}
    for name, values in (
        ("chill_days", winters.chill_days),
        ("effective_chill", winters.effective_chill),
        ("mean_temperature_c", winters.mean_temperature),
    ):
        change = trend(values, winters.years.astype(float))
        found[name] = _rounded(change.per_decade, 2)
        found[f"{name}_probability"] = _rounded(change.probability, 4)
    return found


def recent_json(winters: Winters, season: int, south: bool) -> Json:
    """The last 15 winters beside the whole record; verdicts rest on the whole record."""
    latest = winters.latest(RECENT)
    dates = percentiles_of(latest.last_spring_frost[0.0])
    return {
        "winters": int(latest.years.size),
        "first_season": int(latest.years[0]),
        "last_season": int(latest.years[-1]),
        "chill_days": _spread(latest.chill_days),
        "effective_chill": _spread(latest.effective_chill),
        "last_spring_frost": {key: _date(day, season, south) for key, day in zip(KEYS, dates, strict=True)},
        "verdicts_rest_on": f"all {winters.years.size} winters used; --years takes a part of them",
    }


def _season_json(winters: Winters, index: int, south: bool) -> Json:
    year = int(winters.years[index])
    return {
        "season": year,
        "chill_days": _rounded(winters.chill_days[index], 0),
        "effective_chill": _rounded(winters.effective_chill[index], 1),
        "cold_days_at_or_below_5c": _rounded(winters.cold_days[index], 0),
        "last_spring_frost": _date(winters.last_spring_frost[0.0][index], year, south),
        "first_autumn_frost": _date(winters.first_autumn_frost[0.0][index], year, south),
        "soil_5c_date": _date(winters.soil_warm[5.0][index], year, south),
        "soil_10c_date": _date(winters.soil_warm[10.0][index], year, south),
        "soil_15c_date": _date(winters.soil_warm[15.0][index], year, south),
        "mean_temperature_c": _rounded(winters.mean_temperature[index], 2),
    }


def species_json(advice: SpeciesAdvice) -> Json:
    """One species."""
    species = advice.species
    return {
        "name": species.name,
        "common_name": species.common_name,
        "lot": _lot(advice),
        "verdict": advice.verdict,
        "frozen_winters": advice.frozen,
        "killed": advice.killed,
        "good_winters": advice.good,
        "winters": advice.winters,
        "interval": [round(end, 4) for end in advice.interval],
        "chance": _rounded(advice.chance, 4),
        "chance_range": [_rounded(end, 4) for end in advice.chance_range],
        "borderline": advice.borderline,
        "thin": advice.thin,
        "share_up": _keyed(advice.share_up),
        "reason": advice.reason,
        "changes": list(advice.changes),
        "hangs_on_edges": [at.as_json for at in advice.hangs_on],
        "notes": list(advice.notes),
        "requirement": _requirement(advice.recipe),
        "source": species.source,
        "evidence": species.evidence,
        "outdoors": _outdoors(advice.outdoors),
        "fridge": _fridge(advice.fridge),
        "top_up": _top_up(advice.top_up),
        "cautions": list(advice.cautions),
    }


def _requirement(recipe: Recipe) -> Json:
    return {
        "text": recipe_words(recipe),
        "coat": [coat_words(step) for step in recipe.coat],
        "phases": [
            {
                "kind": phase.kind,
                "days": list(phase.days),
                "temperature_c": list(phase.temperature) if phase.temperature else None,
                "text": phase_words(phase),
                "spread_assumed": phase.spread_assumed,
            }
            for phase in recipe.phases
        ],
    }


def _lot(advice: SpeciesAdvice) -> Json | None:
    """The seed that a row is for: what was said of it, and when it is there."""
    if advice.lot is None:
        return None
    ready = advice.ready.isoformat() if advice.ready else None
    ripe = [day.isoformat() for day in advice.ripe] if advice.ripe else None
    return {**advice.lot.cells(), "ready": ready, "kept_moist": advice.moist, "ripe": ripe}


def _outdoors(way: Outdoors | None) -> Json | None:
    if way is None:
        return None
    return {
        "sow_from": way.sow_from.isoformat(),
        "sow_to": way.sow_to.isoformat(),
        "best": way.best.isoformat(),
        "depth_cm": list(way.depth_cm),
        "outcomes": {fate: round(share, 4) for fate, share in way.outcomes.items()},
        "good_winters": way.good,
        "winters": way.winters,
        "share_up": _keyed(way.share_up),
        "effective_chill_after_sowing": _keyed(way.chill, 1),
        "meets_accepted_risk": way.meets,
        "spring": way.spring,
        "up_in": way.up_in,
        "autumn_as_well": [day.isoformat() for day in way.autumn] if way.autumn else None,
        "steps": _steps(way.steps),
    }


def _fridge(way: Fridge | None) -> Json | None:
    if way is None:
        return None
    return {
        "prepare": way.prepare.isoformat(),
        "into_cold": way.into_cold.isoformat() if way.into_cold else None,
        "checks": [day.isoformat() for day in way.checks],
        "plant_out": way.plant_out.isoformat(),
        "steps": _steps(way.steps),
        "good_winters": way.good,
        "winters": way.winters,
        "share_up": _keyed(way.share_up),
        "outcomes": {fate: round(share, 4) for fate, share in way.outcomes.items()},
    }


def _top_up(way: TopUp | None) -> Json | None:
    if way is None:
        return None
    return {
        "sow": way.sow.isoformat(),
        "sow_to": way.sow_to.isoformat(),
        "lift_from": way.lift_from.isoformat(),
        "lift": way.lift.isoformat(),
        "checks": [day.isoformat() for day in way.checks],
        "plant_out": way.plant_out.isoformat(),
        "owed_days": _keyed(way.owed_days, 1),
        "spared_days": _rounded(way.spared_days, 1),
        "good_winters": way.good,
        "winters": way.winters,
        "share_up": _keyed(way.share_up),
        "steps": _steps(way.steps),
    }


def _steps(steps: Iterable[Step]) -> list[Json]:
    return [_dated(step) for step in steps]


def task_json(task: Task) -> Json:
    """One task."""
    return _dated(task)


def _dated(one: Step | Task) -> Json:
    """All that a step or task holds, by its own names."""
    return {**vars(one), "date_from": one.date_from.isoformat(), "date_to": one.date_to.isoformat()}


def visit_json(visit: Visit) -> Json:
    """One visit."""
    return {
        "date": visit.date.isoformat(),
        "daylight_from": visit.daylight_from,
        "daylight_to": visit.daylight_to,
        "minutes": sum(task.minutes for task in visit.tasks),
        "tasks": [task_json(task) for task in visit.tasks],
    }


def _spread(values: FloatArray) -> Json:
    return _keyed(percentiles_of(values), 1)


def _keyed(values: tuple[float, float, float], digits: int = 4) -> Json:
    return {key: _rounded(value, digits) for key, value in zip(KEYS, values, strict=True)}


def _counted(values: FloatArray) -> Json:
    return {
        "winters": int(values.size),
        "with_date": int(np.isfinite(values).sum()),
        "earlier_than_any": int(np.isneginf(values).sum()),
        "later_than_any": int(np.isposinf(values).sum()),
    }


def _date(index: float, season: int, south: bool) -> str | None:
    day = _day(index, season, south)
    return day.isoformat() if day else None


def _day(index: float, season: int, south: bool) -> date | None:
    return date_of(index, season, south) if math.isfinite(index) else None


def _rounded(value: float | None, digits: int) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    rounded = round(float(value), digits)
    return int(rounded) if digits == 0 else rounded
