"""This winter so far, for each sowing outdoors: when its chill completes, how likely, and what to do by when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import indoor_days
from chillplan.advice.outlook import STARTS, outlook, owed_at, percentiles_of, spring_date
from chillplan.advice.rules import Member, warm_ground
from chillplan.advice.season_actions import Action, Lift, actions_for, season_over, unsown
from chillplan.advice.season_ensemble import SeasonEnsemble
from chillplan.advice.top_up import Begun, finish_of, owed_range
from chillplan.errors import InputError
from chillplan.seasons.chance import percentiles
from chillplan.seasons.cut import DAYS, day_index, season_start
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.requirement import QUANTILES, lot_needing
from chillplan.seeds.simulate import FATES, Fates, Passage, open_share, simulate

__all__ = ["ChanceByDate", "SowingOutlook", "sowing_outlook"]

MOST_DATES = 10
LEAST_RISE = 0.005
KILLED, AUTUMN = FATES.index("killed by frost"), FATES.index("sprouted in autumn")
BEFORE_SHOOTS = 7
"""Seed is lifted this long before the first shoots may show. Common practice, no source. [day]"""
NOT_SOWN = "not sown yet"
LEAST_SHARE = 0.005
"""A spring that brings less is not named. Our choice. [-]"""
HARMED_SHARE = 0.25
"""Share of a lot lost to frost that counts as harm to the sowing. Our choice. [-]"""


@dataclass(frozen=True)
class ChanceByDate:
    """In how many endings the chill is complete by a date.

    Attributes
    ----------
    endings, of : int
        By the seed-zone model as it is.
    chance : float
        With the error of the seed-zone model counted in. [-]
    usual : float
        Share of the past seasons as they were. [-]
    """

    date: date
    endings: int
    of: int
    chance: float
    usual: float


@dataclass(frozen=True)
class SowingOutlook:
    """What is to be expected of one sowing.

    Attributes
    ----------
    label : str
        How the sowing is called.
    phase : str
        Phase that half of the lot is in today: ``warm``, ``cold``, ``complete``, or ``not sown yet``.
    owed : float
        Days of the last cold phase still owed today by the seed that needs most of nine in ten; NaN where an earlier
        phase is not complete. [day]
    complete : tuple of datetime.date or None
        10th, 50th and 90th percentile of the day on which half of the lot has its chill; None where never.
    emergence : tuple of datetime.date or None
        The same of emergence of half of the lot.
    outcomes : dict of str to float
        Mean share of the lot by fate. [-]
    good, endings : int
        Endings in which the share up reaches the target.
    chance : float
        Chance of that with the error of the seed-zone model counted in. [-]
    usual_good : float
        The same share over the past seasons as they were. [-]
    harmed : int
        Endings in which frost takes at least a quarter of the lot.
    springs : tuple of tuple
        Year, and mean share of the lot up in time in the growing season that begins in it; as many years as the
        sowing is followed through. [-]
    """

    species: Species
    recipe: Recipe
    label: str
    sown: date
    phase: str
    owed: float
    complete: tuple[date | None, date | None, date | None]
    emergence: tuple[date | None, date | None, date | None]
    chances: tuple[ChanceByDate, ...]
    outcomes: dict[str, float]
    good: int
    endings: int
    chance: float
    usual_good: float
    harmed: int
    actions: tuple[Action, ...]
    springs: tuple[tuple[int, float], ...] = ()


def sowing_outlook(
    ensemble: SeasonEnsemble,
    species: Species,
    recipe: Recipe,
    sown: date,
    label: str = "",
    accept: float = 0.8,
    target: float = 0.5,
) -> SowingOutlook:
    """Follow one sowing through every ending of this season.

    Parameters
    ----------
    sown : datetime.date
        In this season, or in one before where the ensemble holds it.
    accept, target : float
        Share of endings that must be good, and share up that makes one good. [-]

    Raises
    ------
    InputError
        If the sowing lies outside these seasons.
    """
    start = _start_of(ensemble, sown)
    starts = np.array([start], dtype=np.int32)
    passage = simulate(ensemble.endings, recipe.phases, species.germination, starts)
    usual = simulate(ensemble.past, recipe.phases, species.germination, starts)
    half = _seed_at(target)
    done, usual_done = _complete(passage, start, half), _complete(usual, start, half)
    possible = [(member.weight, *_fate(member, species, recipe, starts, half)) for member in ensemble.members]
    up = passage.emergence[half, 0]
    fates = outlook(ensemble.endings, species, recipe, starts)
    usual_fates = outlook(ensemble.past, species, recipe, starts)
    lost = (fates.shares[KILLED] + fates.shares[AUTUMN])[0]
    good = fates.share_up[0] >= target
    owed = _owed(ensemble, species, recipe, start, max(ensemble.now, start))
    first_up = _next_up(passage, ensemble.now)
    found = SowingOutlook(
        species=species,
        recipe=recipe,
        label=label or species.name,
        sown=sown,
        phase=_phase_today(passage, recipe, half, ensemble.now) if start <= ensemble.now else NOT_SOWN,
        owed=float(np.nanmedian(owed)) if np.isfinite(owed).any() else float("nan"),
        complete=_dates(ensemble, done),
        emergence=_dates(ensemble, up),
        chances=_chances(ensemble, done, usual_done, [(weight, complete) for weight, complete, _ in possible]),
        outcomes=dict(zip(FATES, fates.shares.mean(axis=2)[:, 0].tolist(), strict=True)),
        springs=_springs(ensemble, passage, fates, open_share(species, recipe)),
        good=int(good.sum()),
        endings=int(good.size),
        chance=float(sum(weight * (share >= target).mean() for weight, _, share in possible)),
        usual_good=float((usual_fates.share_up[0] >= target).mean()),
        harmed=int((lost >= HARMED_SHARE).sum()),
        actions=(),
    )
    if ensemble.now > int(STARTS[-1]):
        return replace(found, actions=(season_over(found.chance, accept),))
    later = _later_year(ensemble, _later_shares(usual_fates), target)
    return replace(found, actions=_advised(ensemble, found, start, first_up, (accept, target), later))


def _start_of(ensemble: SeasonEnsemble, sown: date) -> int:
    """Day of a sowing in the seasons that are followed."""
    so_far = ensemble.so_far
    begin = season_start(so_far.year, so_far.southern)
    start = (sown - begin).days
    if not -ensemble.endings.lead <= start < DAYS:
        raise InputError(
            f"sowing date {sown} is outside the seasons that are followed; this one began on {begin}: give one within "
            "them"
        )
    return start


def _advised(
    ensemble: SeasonEnsemble, found: SowingOutlook, start: int, first_up: float, risk: tuple[float, float], later: int
) -> tuple[Action, ...]:
    """What to do about a sowing; `risk` holds the accepted share and what makes an ending good."""
    accept, target = risk
    species, recipe = found.species, found.recipe
    frost = percentiles_of(ensemble.endings.last_killing_frost(species.seedling_limit)[0].astype(float))[2]
    cover = (ensemble.day(first_up), ensemble.day(frost)) if np.isfinite(first_up) and frost >= first_up else None
    actions = actions_for(
        today=ensemble.today,
        chance=found.chance,
        accept=accept,
        harmed=found.harmed / found.endings,
        complete=found.phase == "complete" and bool(recipe.phases),
        later=later,
        lift=_lift(ensemble, species, recipe, start, first_up, accept, target),
        cover=cover,
    )
    if found.phase == NOT_SOWN and found.chance < accept and all(action.kind == "wait" for action in actions):
        return (unsown(found.sown, found.chance),)
    return actions


def _fate(
    member: Member, species: Species, recipe: Recipe, starts: NDArray[np.int32], seed: int
) -> tuple[NDArray[np.int32], NDArray[np.floating]]:
    """Day on which one seed of the lot has its chill, and share up, in one case; shape (season,)."""
    winters, recipe = member.winters, lot_needing(recipe, member.lot)
    passage = simulate(winters, recipe.phases, species.germination, starts)
    return _complete(passage, int(starts[0]), seed), outlook(winters, species, recipe, starts).share_up[0]


def _springs(ensemble: SeasonEnsemble, passage: Passage, fates: Fates, opened: float) -> tuple[tuple[int, float], ...]:
    """Share up in time, spring by spring: those before where seed was sown by then, this one, those that follow."""
    up, seasons = passage.emergence[:, 0], ensemble.endings.lead // DAYS
    earlier = [float((up // DAYS == back).mean()) * opened for back in range(-seasons, 0)]
    this = float(fates.share_up[0].mean()) - sum(earlier)
    year = ensemble.so_far.year + (0 if ensemble.so_far.southern else 1)
    found = enumerate((*earlier, max(this, 0.0), *_later_shares(fates)), start=year - seasons)
    return tuple((when, float(share)) for when, share in found if share >= LEAST_SHARE)


def _later_year(ensemble: SeasonEnsemble, shares: NDArray[np.floating], target: float) -> int:
    """Year of the first later spring by which enough is up, 0 where none is."""
    enough = np.flatnonzero(np.cumsum(shares) >= target)
    first = ensemble.so_far.year + (1 if ensemble.so_far.southern else 2)
    return first + int(enough[0]) if enough.size else 0


def _later_shares(fates: Fates) -> NDArray[np.floating]:
    """Mean share up in each later spring over the winters that are known so long; 0 where none is."""
    known = np.isfinite(fates.later[:, 0])
    return np.asarray(np.nan_to_num(fates.later[:, 0]).sum(axis=1) / np.maximum(known.sum(axis=1), 1))


def _seed_at(share: float) -> int:
    """Position in `QUANTILES` of the seed with which a share of the lot is complete."""
    return int(np.clip(np.ceil(share * QUANTILES.size) - 1, 0, QUANTILES.size - 1))


def _complete(passage: Passage, start: int, seed: int) -> NDArray[np.int32]:
    """Day on which one seed of the lot has all its phases; shape (season,)."""
    if not passage.phase_done:
        return np.full(passage.emergence.shape[2], start, dtype=np.int32)
    done: NDArray[np.int32] = passage.phase_done[-1][seed, 0]
    return done


def _phase_today(passage: Passage, recipe: Recipe, seed: int, now: int) -> str:
    for phase, done in zip(recipe.phases, passage.phase_done, strict=True):
        if (done[seed, 0] >= now).any():
            return phase.kind
    return "complete"


def _dates(ensemble: SeasonEnsemble, days: NDArray[np.int32]) -> tuple[date | None, date | None, date | None]:
    numbers = percentiles_of(np.where(days < DAYS, days, np.inf))
    low, middle, high = (ensemble.day(round(number)) if np.isfinite(number) else None for number in numbers)
    return low, middle, high


def _chances(
    ensemble: SeasonEnsemble,
    done: NDArray[np.int32],
    usual: NDArray[np.int32],
    members: Sequence[tuple[float, NDArray[np.int32]]],
) -> tuple[ChanceByDate, ...]:
    """Today, then the 1st and 15th of each month, from the last without a chance until the chance rises no more."""
    today = ensemble.today
    chances: list[ChanceByDate] = []
    for day in (today + timedelta(days=ahead) for ahead in range(300)):
        index = day_index(day, ensemble.so_far.southern)
        if (day != today and day.day not in {1, 15}) or index < ensemble.now:
            continue
        count = int((done < index).sum())
        weighed = float(sum(weight * (one < index).mean() for weight, one in members))
        chances.append(ChanceByDate(day, count, done.size, weighed, float((usual < index).mean())))
    possible = next((place for place, chance in enumerate(chances) if chance.chance > 0.0), len(chances))
    shown = chances[max(possible - 1, 0) :][:MOST_DATES]
    while (
        len(shown) > 1 and shown[-1].chance - shown[-2].chance < LEAST_RISE and shown[-1].endings == shown[-2].endings
    ):
        shown.pop()
    return tuple(shown)


def _owed(ensemble: SeasonEnsemble, species: Species, recipe: Recipe, start: int, day: int) -> NDArray[np.floating]:
    if not recipe.phases or recipe.phases[-1].kind != "cold":
        return np.full(ensemble.years.size, np.nan)
    return owed_at(ensemble.endings, species, recipe, start, day)


def _next_up(passage: Passage, now: int) -> float:
    """Early day (one ending in ten) on which the next seedlings show; infinite where none do this season. [day]"""
    coming = np.where(
        (passage.emergence[:, 0] >= now) & (passage.emergence[:, 0] < DAYS), passage.emergence[:, 0], np.inf
    )
    return float(percentiles(coming.min(axis=0), (0.1,))[0])


def _lift(
    ensemble: SeasonEnsemble,
    species: Species,
    recipe: Recipe,
    start: int,
    first_up: float,
    accept: float,
    target: float,
) -> Lift | None:
    """Lifting the seed before the soil warms and finishing in the cold; None where the last phase is not cold."""
    if not recipe.phases or recipe.phases[-1].kind != "cold":
        return None
    last = ensemble.lift[warm_ground(species)]
    day = max(int(min(last, first_up - BEFORE_SHOOTS)) if np.isfinite(first_up) else last, ensemble.now, start)
    risk = (accept, target, ensemble.ease)
    spare = spring_date(ensemble.endings, species, recipe, *risk, earliest=day)
    finish = finish_of(ensemble.endings, Begun(species, recipe, start, start, day), recipe.phases[-1].days[1], *risk)
    days = indoor_days(recipe)
    return Lift(
        on=ensemble.day(day),
        owed=owed_range(finish)[1:] if finish else (float("nan"), float("nan")),
        plant_out=ensemble.day(finish.planting if finish else spare.day),
        good=int((finish.share >= target).sum()) if finish else 0,
        endings=ensemble.years.size,
        spare_days=days,
        spare_out=ensemble.day(spare.day),
        spare_by=ensemble.day(spare.day) - timedelta(days=days),
        spare_good=spare.good,
        cold=recipe.phases[-1].temperature or (1.0, 5.0),
        latest=ensemble.day(int(STARTS[-1])),
    )
