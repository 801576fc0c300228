"""The main job: from seasons and a seed list to decisions, dates and tasks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Literal

from chillplan import verdicts
from chillplan.advice.outlook import ease_of, percentiles_of
from chillplan.advice.reasons import Elsewhere, changes_of, reason_of, try_scenarios, wants_changes
from chillplan.advice.rests_on import hangs_on, rests_on, turns
from chillplan.advice.result import ByDate, Fridge, Plan, SpeciesAdvice
from chillplan.advice.rules import members_of, possibilities, sides_of
from chillplan.advice.tasks import (
    When,
    begun_way,
    chosen_notes,
    fridge_way,
    left_way,
    outdoor_way,
    second_spring_way,
    spring_way,
    tasks_of,
    top_up_way,
)
from chillplan.advice.top_up import lift_day
from chillplan.advice.verdict import Case, Decision, Judge, SeedAt, decide
from chillplan.advice.wording import cautions_for, winters_words
from chillplan.errors import InputError
from chillplan.lot import COLD_STORE
from chillplan.physics.model_error import ModelError, model_error
from chillplan.seasons.chance import jeffreys_interval
from chillplan.seasons.cut import DAYS, MIDWINTER, Seasons, day_index, season_of, season_start
from chillplan.seasons.summary import Ground, Winters, ground_of, winters_of
from chillplan.seeds.recipe import Species
from chillplan.seeds.two_winters import two_winters
from chillplan.site import Site

__all__ = ["Request", "default_season", "error_of", "make_plan", "plant_out_index", "season_asked"]

THIN = 10  # fewer winters make a thin verdict
LAST_PLANNING_DAY = 240  # later in a season than this, the next one is planned


@dataclass(frozen=True)
class Request:
    """What the user asks for besides the place and the seed list.

    Attributes
    ----------
    season : int or None
        None takes that of the planting date; without one the current one, or the next from April (October in the
        south) on.
    accept, target : float
        Share of winters that must be good, and share up that makes a winter good. [-]
    warming : float
        [°C]
    changes : {'near', 'all', 'none'}
        Verdicts for which to show what would change them: those near the line, all or none.
    seeds : mapping of str to SeedAt
        When the seed of a species is there, by its name; where nothing is said it is there all season.
    """

    today: date
    season: int | None = None
    accept: float = 0.8
    target: float = 0.5
    plant_out: date | None = None
    warming: float = 0.0
    changes: Literal["near", "all", "none"] = "near"
    seeds: Mapping[str, SeedAt] = field(default_factory=dict)


def default_season(today: date, southern: bool) -> int:
    """Season a plan made today is for."""
    current = season_of(today, southern)
    return current if day_index(today, southern) <= LAST_PLANNING_DAY else current + 1


def plant_out_index(plant_out: date, season: int, southern: bool, today: date) -> int:
    """Plant-out date as a day index.

    Raises
    ------
    InputError
        If it is past, or outside the spring and summer of the season planned for.
    """
    index = (plant_out - season_start(season, southern)).days
    if plant_out < today:
        raise InputError(f"plant-out date {plant_out} is before today, {today}: give a date to come")
    if not MIDWINTER <= index < DAYS:
        first, last = (season_start(season, southern).toordinal() + offset for offset in (MIDWINTER, DAYS - 1))
        raise InputError(
            f"plant-out date {plant_out} is outside the planting time of season {season}, "
            f"{date.fromordinal(first)} to {date.fromordinal(last)}: change it or pass --season"
        )
    return index


def make_plan(
    seasons: Seasons,
    site: Site,
    species: Sequence[Species],
    request: Request,
    progress: Callable[[str], None] = lambda _: None,
) -> Plan:
    """Decide for every species and lay out the year.

    Parameters
    ----------
    progress : callable
        Told how far the work is, in words.

    Raises
    ------
    InputError
        If the plant-out date does not fit, or the season is over.
    """
    season = season_asked(request, seasons.southern)
    ground = ground_of(seasons, site, request.warming)
    winters = winters_of(seasons, ground, request.warming)
    judge = _judge(seasons, site, ground, winters, request, season)
    when = When(season, seasons.southern, request.today)

    decisions = []
    for number, one in enumerate(species, start=1):
        progress(f"{number} of {len(species)}: {one.name}")
        decisions.append(decide(judge, one))
    every, none = request.changes == "all", request.changes == "none"
    near = [decision for decision in decisions if not none and (every or wants_changes(judge, decision))]
    tried = try_scenarios(
        near, site, request.warming, lambda place, degrees: _judge_at(seasons, place, request, degrees), progress
    )
    advices = [_advise(judge, decision, when, tried.get(decision.case.species.name, ())) for decision in decisions]
    return Plan(
        site=site,
        seasons=seasons,
        ground=ground,
        winters=winters,
        species=tuple(advices),
        tasks=tasks_of(advices, request.today),
        season=season,
        today=request.today,
        accept=request.accept,
        target=request.target,
        warming=request.warming,
        rests_on=rests_on(seasons, site, winters, request.warming),
        logger_settles=tuple(
            decision.case.species.name for decision in decisions if _logger_settles(seasons, site, judge, decision)
        ),
    )


def season_asked(request: Request, southern: bool) -> int:
    """The season to plan for: the one named, else that of the planting date, else the usual one.

    Raises
    ------
    InputError
        If it is over.
    """
    if request.season is None and request.plant_out is not None:
        return season_of(request.plant_out, southern)
    if request.season is None:
        return default_season(request.today, southern)
    following = season_start(request.season + 1, southern)
    if following <= request.today:
        raise InputError(
            f"season {request.season} ended on {following - timedelta(days=1)}, before today, {request.today}: pass a "
            "later --season, or the day to plan on with --today"
        )
    return request.season


def error_of(seasons: Seasons, site: Site) -> ModelError:
    """Error of the seed-zone model to expect at a site."""
    return model_error("precipitation" in seasons.daily, calibrated=bool(site.calibration))


def _judge_at(seasons: Seasons, site: Site, request: Request, warming: float) -> Judge:
    """The judge of the same winters at another site or warming."""
    season = season_asked(request, seasons.southern)
    ground = ground_of(seasons, site, warming)
    return _judge(seasons, site, ground, winters_of(seasons, ground, warming), request, season)


def _judge(seasons: Seasons, site: Site, ground: Ground, winters: Winters, request: Request, season: int) -> Judge:
    pair = two_winters(seasons, ground, lead=any(seed.ready < 0 for seed in request.seeds.values()))
    left = any(seed.left for seed in request.seeds.values())
    fixed = request.plant_out
    deviation = error_of(seasons, site).together
    return Judge(
        winters=pair,
        members=members_of(pair, possibilities(deviation)),
        sides=sides_of(pair, deviation),
        ease=ease_of(ground, winters.soil_warm),
        lift={limit: int(lift_day(days)) for limit, days in winters.soil_warm.items()},
        accept=request.accept,
        target=request.target,
        plant_out=None if fixed is None else plant_out_index(fixed, season, seasons.southern, request.today),
        seeds=request.seeds,
        longer=two_winters(seasons, ground, pair.lead > 0, springs=3) if left else None,
    )


def _logger_settles(seasons: Seasons, site: Site, judge: Judge, decision: Decision) -> bool:
    """Whether a borderline verdict would not be one with the error that is left after a year of a thermometer."""
    if not decision.borderline or site.calibration:
        return False
    deviation = model_error("precipitation" in seasons.daily, calibrated=True).together
    pair = judge.winters
    surer = replace(judge, members=members_of(pair, possibilities(deviation)), sides=sides_of(pair, deviation))
    return not decide(surer, decision.case.species).borderline


def _advise(judge: Judge, decision: Decision, when: When, elsewhere: Sequence[Elsewhere]) -> SpeciesAdvice:
    case = decision.case
    hangs = hangs_on(judge, decision) if elsewhere else ()
    when = when.later(judge.seed(case.species).later)
    ways = {verdicts.SPRING: spring_way, verdicts.TWO_WINTERS: second_spring_way}
    outdoors = ways.get(decision.verdict, outdoor_way)(judge, case, when)
    helped = decision.verdict == verdicts.BEGUN
    top_up = top_up_way(case.finish, decision, when) if helped and case.finish is not None else None
    if top_up is not None and case.finish is not None:
        outdoors = begun_way(judge, case, case.finish.begun, when)
    seed, advised = judge.seed(case.species), outdoors
    if seed.left and not advised.meets:
        outdoors = left_way(judge, case, when)
    indoors = fridge_way(judge, case, when)
    dates = {
        "sow_from": advised.sow_from,
        "sow_to": advised.sow_to,
        "best": when.day(case.day(case.autumn.best)),
        "plant_out": top_up.plant_out if top_up else indoors.plant_out,
    }
    if top_up is not None:
        dates["lift"] = top_up.lift
    return SpeciesAdvice(
        species=case.species,
        recipe=case.recipe,
        verdict=decision.verdict,
        good=decision.good,
        winters=decision.winters,
        interval=jeffreys_interval(decision.good, decision.winters),
        chance=decision.chance,
        chance_range=decision.chance_range,
        borderline=decision.borderline,
        share_up=percentiles_of(decision.share_up),
        reason=reason_of(judge, decision, dates),
        outdoors=outdoors if outdoors.meets or helped or (seed.left and case.left is not None) else None,
        fridge=indoors if case.recipe.phases and indoors.meets else None,
        top_up=top_up,
        cautions=cautions_for(case.species, case.recipe, lifted=helped),
        by_date=_by_date(judge, case),
        changes=(*changes_of(judge, decision, elsewhere), *turns(hangs)),
        hangs_on=hangs,
        notes=(*chosen_notes(judge, case, outdoors), *_notes(decision, advised.sow_from, indoors, when, seed.chosen)),
        thin=decision.winters < THIN,
        by_winter=tuple(float(share) for share in decision.share_up),
    )


def _by_date(judge: Judge, case: Case) -> ByDate:
    """Outcomes of the candidate dates of the season itself."""
    inside, fates = case.starts >= 0, case.fates
    good = (fates.share_up >= judge.target).sum(axis=1)
    return ByDate(case.starts[inside], fates.shares.mean(axis=2)[:, inside], good[inside])


def _begun_notes(sow_from: date, indoors: Fridge, when: When) -> list[str]:
    """What else can be done where seed is begun outdoors, and that the cold owed differs."""
    notes = []
    following = season_start(when.season + 1, when.southern)
    if indoors.prepare >= when.today:
        count = winters_words(indoors.good, indoors.winters)
        closed = sow_from >= following > indoors.plant_out
        instead = (
            "This season it can still be chilled" if closed else "Where no visit in late winter is possible, chill it"
        )
        notes.append(
            f"{instead} wholly indoors: from {indoors.prepare}, planted out {indoors.plant_out}, good in {count}."
        )
    notes.append(
        "How much cold is owed differs from winter to winter: before lifting, ask chillplan season whether it is "
        "needed and for how long."
    )
    return notes


def _notes(decision: Decision, sow_from: date, indoors: Fridge, when: When, chosen: frozenset[str]) -> tuple[str, ...]:
    notes = []
    following = season_start(when.season + 1, when.southern)
    if decision.verdict not in {verdicts.REFRIGERATOR, verdicts.NOT_HERE} and sow_from >= following:
        notes.append("The outdoor window of this season has closed; the dates outdoors are for the next season.")
    missed = decision.verdict == verdicts.BEGUN and sow_from >= following
    asked = COLD_STORE in chosen or decision.case.left is None or not chosen
    treated = asked and bool(decision.case.recipe.phases) and (decision.verdict in verdicts.INDOORS or missed)
    if treated and indoors.plant_out >= following:
        notes.append(
            "There is no time left to treat seed indoors for this spring; those dates are for the next season."
        )
    if treated and indoors.prepare < when.today:
        ready = when.today + (indoors.plant_out - indoors.prepare)
        notes.append(
            f"For planting out on {indoors.plant_out} the treatment had to begin on {indoors.prepare}: too late, "
            f"unless your seed is in it already. Begun today it is ready on {ready}."
        )
    if missed and decision.case.finish is not None:
        lift = when.day(decision.case.finish.begun.lift)
        if when.today <= lift:
            notes.append(
                f"Seed that was sown in this season's window is still to be lifted, by {lift}: chillplan season says "
                "how much cold it owes."
            )
    if decision.verdict == verdicts.BEGUN:
        notes += _begun_notes(sow_from, indoors, when)
    if decision.borderline:
        notes.append("Borderline: the error of the seed-zone estimate alone could turn this verdict.")
    return tuple(notes)
