"""What is said about a sowing in mid-winter follows from the days known and the endings lent."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from chillplan.advice.rules import Possible
from chillplan.advice.season_actions import Action, Lift, actions_for, season_over
from chillplan.advice.season_advice import _lift, sowing_outlook
from chillplan.advice.season_ensemble import SeasonEnsemble, ensemble_of
from chillplan.errors import DataGapError, InputError
from chillplan.seasons.cut import cut_seasons
from chillplan.seasons.forecast import season_so_far
from chillplan.seeds.recipe import WARM_RESPONSE, Germination, Phase, Recipe, Species
from chillplan.site import Site
from tests.records import wave_weather

SITE = Site(44.0, -72.0, elevation=300.0)
SOWN = date(2009, 11, 1)
TODAY = date(2010, 2, 1)


def a_species(*phases: Phase, **changes: object) -> Species:
    recipe = Recipe("usual", phases=phases)
    species = Species(
        "Planta ficta", "made up", (), "Fictaceae", "physiological", False, (recipe,), Germination(5.0, (60.0, 120.0))
    )
    return replace(species, **changes)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def record() -> pd.DataFrame:
    return wave_weather(mean=9.0)


@pytest.fixture(scope="module")
def ensemble(record: pd.DataFrame) -> SeasonEnsemble:
    return ensemble_of(cut_seasons(record, southern=False), season_so_far(record, False, TODAY), SITE)


def test_a_short_chill_done_already_is_complete_in_every_ending(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("cold", (5.0, 10.0)))
    found = sowing_outlook(ensemble, species, species.recipe, SOWN)
    assert found.phase == "complete"
    assert found.owed == 0.0
    assert len(set(found.complete)) == 1
    assert found.complete[0] is not None and SOWN < found.complete[0] < TODAY
    assert [(chance.date, chance.endings) for chance in found.chances] == [(TODAY, found.endings)]
    assert found.chances[0].chance == pytest.approx(1.0)
    assert found.actions[0].kind == "wait"


def test_chill_known_today_is_the_same_in_every_ending(ensemble: SeasonEnsemble) -> None:
    known = ensemble.so_far.known
    assert np.ptp(ensemble.endings.temperature[:known], axis=1).max() == 0.0
    assert np.ptp(ensemble.endings.temperature[known + 30], axis=0) > 0.0


def test_chances_rise_and_end_in_certainty_or_the_last_date(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("cold", (80.0, 110.0)))
    found = sowing_outlook(ensemble, species, species.recipe, SOWN)
    counts = [chance.endings for chance in found.chances]
    assert counts == sorted(counts)
    assert sum(found.outcomes.values()) == pytest.approx(1.0)
    assert found.phase == "cold"
    assert 0.0 < found.owed < 110.0


def test_the_error_of_the_model_draws_chances_in(record: pd.DataFrame) -> None:
    seasons, so_far = cut_seasons(record, southern=False), season_so_far(record, False, TODAY)
    species = a_species(Phase("cold", (80.0, 110.0)))
    sure = sowing_outlook(ensemble_of(seasons, so_far, SITE, [Possible(0.0, 0.0, 1.0)]), species, species.recipe, SOWN)
    assert [chance.chance for chance in sure.chances] == pytest.approx([one.endings / one.of for one in sure.chances])
    assert sure.chance == pytest.approx(sure.good / sure.endings)
    hot = [Possible(0.0, 0.0, 0.5), Possible(30.0, 0.0, 0.5)]
    cold = sowing_outlook(ensemble_of(seasons, so_far, SITE, hot), species, species.recipe, SOWN)
    assert cold.chance == pytest.approx(sure.chance / 2.0)
    assert max(chance.chance for chance in cold.chances) <= 0.5
    own = a_species(Phase("cold", (80.0, 110.0), variation=0.35))
    needy = sowing_outlook(ensemble_of(seasons, so_far, SITE, [Possible(0.0, 2.0, 1.0)]), own, own.recipe, SOWN)
    assert needy.chance < sure.chance
    assert needy.good == sure.good


def test_too_long_a_chill_is_lifted_or_replaced_in_time(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("cold", (160.0, 190.0)))
    found = sowing_outlook(ensemble, species, species.recipe, SOWN)
    assert (found.good, found.complete) == (0, (None, None, None))
    assert [action.kind for action in found.actions] == ["lift", "spare seed"]
    lift = found.actions[0]
    assert lift.by is not None and lift.by >= TODAY
    assert "moist at 1 to 5 °C" in lift.text
    assert "in spring 2011" in lift.reason


def test_lifted_seed_goes_out_when_its_cold_is_done_in_a_poor_ending(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("cold", (150.0, 170.0)))
    lift = _lift(ensemble, species, species.recipe, 92, np.inf, 0.8, 0.5)
    assert lift is not None
    assert 0.0 < lift.owed[0] <= lift.owed[1]
    assert (lift.plant_out - lift.on).days >= lift.owed[1]
    assert lift.good >= 0.8 * lift.endings


def test_chill_that_lasts_into_the_summer_is_not_worth_lifting_for(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("cold", (300.0, 320.0)))
    found = sowing_outlook(ensemble, species, species.recipe, SOWN)
    assert [action.kind for action in found.actions] == ["spare seed"]


def test_a_sowing_for_a_later_spring_is_left_alone(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("warm", (60.0, 90.0), response=WARM_RESPONSE), Phase("cold", (30.0, 60.0)))
    found = sowing_outlook(ensemble, species, species.recipe, SOWN)
    assert found.phase == "warm"
    assert np.isnan(found.owed)
    assert "in spring 2011" in found.actions[0].reason


def test_a_sowing_outside_the_season_is_refused(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("cold", (30.0, 60.0)))
    with pytest.raises(
        InputError,
        match="sowing date 2009-07-31 is outside the seasons that are followed; this one began on 2009-08-01",
    ):
        sowing_outlook(ensemble, species, species.recipe, date(2009, 7, 31))


def test_too_few_endings_are_refused(record: pd.DataFrame) -> None:
    seasons = cut_seasons(record, southern=False, years=(2000, 2003))
    with pytest.raises(DataGapError, match="4 other usable winters in the record, at least 5"):
        ensemble_of(seasons, season_so_far(record, False, TODAY), SITE)


def test_the_southern_mirror_says_the_same() -> None:
    record = wave_weather(southern=True)
    ensemble = ensemble_of(
        cut_seasons(record, southern=True), season_so_far(record, True, date(2010, 8, 1)), Site(-44.0, 170.0)
    )
    species = a_species(Phase("cold", (5.0, 10.0)))
    found = sowing_outlook(ensemble, species, species.recipe, date(2010, 5, 1))
    assert found.phase == "complete"
    assert found.complete[1] is not None and date(2010, 5, 1) < found.complete[1] < date(2010, 8, 1)


LATEST = date(2010, 6, 30)
LIFT = Lift(
    on=date(2010, 3, 20),
    owed=(30.0, 45.0),
    plant_out=date(2010, 5, 4),
    good=12,
    endings=13,
    spare_days=100,
    spare_out=date(2010, 5, 1),
    spare_by=date(2010, 1, 21),
    spare_good=6,
    cold=(1.0, 5.0),
    latest=LATEST,
)


def test_the_lift_says_how_many_days_are_owed_and_when_it_may_go_out() -> None:
    lift, spare = actions_for(TODAY, 0.2, 0.8, 0.0, complete=False, later=0, lift=LIFT, cover=None)
    assert "by 2010-03-20" in lift.text
    assert "30 days, 45 at most" in lift.text
    assert "plant out from 2010-05-04" in lift.text
    assert "started today it is ready on 2010-05-12, later than the best day, 2010-05-01" in spare.text


def test_spare_seed_that_would_be_ready_after_the_planting_time_is_kept_for_next_year() -> None:
    """As a plan made today would have it: what is not ready by the last planting date waits for the next season."""
    slow = replace(LIFT, spare_days=160, spare_by=date(2009, 11, 22))
    spare = actions_for(TODAY, 0.2, 0.8, 0.0, complete=False, later=0, lift=slow, cover=None)[1]
    assert spare.text.startswith("Or keep spare seed for next spring and begin it by 2010-11-22")
    assert (spare.kind, spare.by) == ("spare seed", date(2010, 11, 22))


def test_after_the_planting_time_nothing_is_lifted_any_more() -> None:
    assert "planting time is over" in season_over(0.2, 0.8).reason
    assert season_over(0.9, 0.8).text == "Leave it where it lies."


def test_spare_seed_in_time_names_its_last_day() -> None:
    early = replace(LIFT, spare_by=TODAY + timedelta(days=9))
    spare = actions_for(TODAY, 0.2, 0.8, 0.0, complete=False, later=0, lift=early, cover=None)[1]
    assert (spare.by, "by 2010-02-10" in spare.text) == (date(2010, 2, 10), True)


def test_seed_that_owes_nothing_is_kept_cold_until_frost_is_past() -> None:
    lift = actions_for(TODAY, 0.2, 0.8, 0.5, complete=True, later=0, lift=replace(LIFT, owed=(0.0, 0.0)), cover=None)[0]
    assert "keep it in the cold until it is planted out" in lift.text
    assert "which does well in 12 of 13 endings" in lift.text


def test_lifting_is_not_advised_where_it_does_no_better() -> None:
    (stay,) = actions_for(TODAY, 0.5, 0.8, 0.0, complete=False, later=0, lift=replace(LIFT, good=6), cover=None)
    assert (stay.kind, stay.by) == ("wait", None)
    assert "would do no better (6 of 13 endings), nor would spare seed" in stay.reason


def test_what_cannot_be_reckoned_is_not_said_to_have_been() -> None:
    unknown = replace(LIFT, owed=(float("nan"), float("nan")), good=0, spare_good=5)
    (stay,) = actions_for(TODAY, 0.5, 0.8, 0.0, complete=False, later=0, lift=unknown, cover=None)
    assert "lifting it cannot be estimated, and spare seed would do no better (5 of 13 endings)" in stay.reason
    assert "finished in the cold" not in stay.reason


def test_spare_seed_alone_where_only_that_does_better() -> None:
    changed = replace(LIFT, good=6, spare_good=12)
    (spare,) = actions_for(TODAY, 0.5, 0.8, 0.0, complete=False, later=0, lift=changed, cover=None)
    assert spare.kind == "spare seed"
    assert spare.text.startswith("Start a batch of spare seed")


def test_the_cover_is_for_days_to_come(ensemble: SeasonEnsemble) -> None:
    species = a_species(Phase("cold", (0.0, 60.0)), germination=Germination(1.0, (5.0, 60.0)), seedling_limit=-1.0)
    found = sowing_outlook(ensemble, species, species.recipe, SOWN)
    cover = next(action for action in found.actions if action.kind == "cover")
    assert cover.by is not None and cover.by >= TODAY
    assert all(action.by is None or action.by >= TODAY for action in found.actions)


def test_frost_on_early_seedlings_brings_the_cover() -> None:
    cover = (date(2010, 3, 1), date(2010, 5, 5))
    safe = actions_for(TODAY, 0.9, 0.8, 0.1, complete=False, later=0, lift=LIFT, cover=cover)
    harmed = actions_for(TODAY, 0.9, 0.8, 0.3, complete=False, later=0, lift=LIFT, cover=cover)
    assert [action.kind for action in safe] == ["wait"]
    assert [action.kind for action in harmed] == ["wait", "cover"]
    assert "from 2010-03-01 until 2010-05-05" in harmed[1].text


def test_a_record_that_lags_behind_is_continued_to_today(record: pd.DataFrame) -> None:
    so_far = season_so_far(record[:"2009-12-31"], False, TODAY)
    ensemble = ensemble_of(cut_seasons(record[:"2009-12-31"], southern=False), so_far, SITE, today=TODAY)
    species = a_species(Phase("cold", (300.0, 320.0)))
    found = sowing_outlook(ensemble, species, species.recipe, SOWN)
    assert so_far.last_day == date(2009, 12, 31)
    assert all(action.by is not None and action.by >= TODAY for action in found.actions)
    assert all(chance.date >= TODAY for chance in found.chances)


def test_a_sowing_is_followed_through_three_springs_whichever_season_it_was_sown_in(record: pd.DataFrame) -> None:
    """Seed that needs two summers and two winters: of a sowing in autumn all is said, and in each later season too."""
    warm, cold = Phase("warm", (60.0, 90.0), response=WARM_RESPONSE), Phase("cold", (30.0, 60.0))
    species = a_species(warm, cold, warm, cold)
    seasons, so_far = cut_seasons(record, southern=False), season_so_far(record, False, TODAY)
    found = []
    for before in (0, 1, 2):
        ensemble = ensemble_of(seasons, so_far, SITE, today=TODAY, before=before)
        sown = SOWN.replace(year=SOWN.year - before)
        outlook = sowing_outlook(ensemble, species, species.recipe, sown)
        found.append(dict(outlook.springs))
        assert sum(found[-1].values()) > 0.8
        assert max(found[-1], key=lambda year: found[-1][year]) == sown.year + 3  # the springs of 1 and 2 bring nothing
    with pytest.raises(DataGapError, match="season 1998 cannot be used"):
        early = cut_seasons(record, southern=False)
        ensemble_of(early, season_so_far(record, False, date(2000, 2, 1)), SITE, before=2)


def test_a_chance_that_is_just_enough_is_enough() -> None:
    """Eight winters of ten were asked for and eight of ten it is: no word of a refrigerator, none of a lost season."""
    (stay,) = actions_for(TODAY, 0.8, 0.8, 0.0, complete=False, later=0, lift=LIFT, cover=None)
    assert (stay.kind, stay.text) == ("wait", "Leave it where it lies.") and "only" not in stay.reason
    assert season_over(0.8, 0.8) == stay
    (left,) = actions_for(TODAY, 0.8, 0.8, 0.0, complete=True, later=0, lift=None, cover=None)
    assert left.text == "Leave it where it lies." and left.reason.startswith("Half of the lot has all the chill")
    (warm,) = actions_for(TODAY, 0.79, 0.8, 0.0, complete=False, later=0, lift=None, cover=None)
    assert "would not help it" in warm.text and "only 79%" in warm.reason


def test_lifting_that_is_no_better_than_leaving_is_not_advised_at_the_very_edge() -> None:
    ten = replace(LIFT, good=5, spare_good=4, endings=10)
    (stay,) = actions_for(TODAY, 0.5, 0.8, 0.0, complete=False, later=0, lift=ten, cover=None)
    assert (stay.kind, "would do no better (5 of 10 endings)" in stay.reason) == ("wait", True)
    better = actions_for(TODAY, 0.49, 0.8, 0.0, complete=False, later=0, lift=ten, cover=None)
    assert [action.kind for action in better] == ["lift", "spare seed"]
    spare = actions_for(TODAY, 0.5, 0.8, 0.0, complete=False, later=0, lift=replace(ten, spare_good=6), cover=None)
    assert [action.kind for action in spare] == ["spare seed"] and spare[0].text.startswith("Start a batch")


def test_the_last_day_of_each_still_counts() -> None:
    def spare(lift: Lift) -> Action:
        return actions_for(TODAY, 0.2, 0.8, 0.0, complete=False, later=0, lift=lift, cover=None)[1]

    assert spare(replace(LIFT, spare_by=TODAY)).text.endswith(f": by {TODAY}.")
    assert spare(replace(LIFT, spare_by=TODAY - timedelta(days=1))).by == TODAY
    ready = TODAY + timedelta(days=LIFT.spare_days)
    assert f"ready on {ready}, later than" in spare(replace(LIFT, latest=ready)).text
    assert "for next spring" in spare(replace(LIFT, latest=ready - timedelta(days=1))).text


@pytest.mark.parametrize(("harmed", "covered"), [(0.2, True), (0.199, False)])
def test_a_cover_is_advised_where_frost_harms_one_ending_in_five(harmed: float, covered: bool) -> None:
    nights = (date(2010, 3, 1), date(2010, 5, 9))
    actions = actions_for(TODAY, 0.9, 0.8, harmed, complete=False, later=0, lift=None, cover=nights)
    assert [action.kind for action in actions] == ["wait", "cover"][: 1 + covered]
    if covered:
        assert actions[1].by == nights[0] and "from 2010-03-01 until 2010-05-09" in actions[1].text
    assert len(actions_for(TODAY, 0.9, 0.8, harmed, complete=False, later=0, lift=None, cover=None)) == 1


@pytest.mark.parametrize(
    ("owed", "said"),
    [
        ((30.2, 30.4), "still owed, 30 days,"),
        ((0.0, 0.9), "keep it in the cold until"),
        ((0.0, 1.0), "0 days, 1 at most"),
    ],
)
def test_what_is_owed_is_told_in_whole_days(owed: tuple[float, float], said: str) -> None:
    lift = actions_for(TODAY, 0.2, 0.8, 0.0, complete=False, later=0, lift=replace(LIFT, owed=owed), cover=None)[0]
    assert said in lift.text
