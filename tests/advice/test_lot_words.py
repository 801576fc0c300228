"""What is said of the seed at hand, word by word: ripe when, frozen or not, kept how."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from chillplan.advice.plan import Request
from chillplan.advice.result import Plan
from chillplan.advice.seed_lots import plan_for_lots
from chillplan.lot import Lot
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seeds.recipe import Ripening
from chillplan.seeds.ripening import growing_warmth, ripe_at
from tests.advice.test_verdicts import SITE, cold, species, warm
from tests.records import wave_weather

NAME = "Planta exempli"
SEPTEMBER = Ripening((9, 10), (10, 5), 44.0, "made for the test")


@pytest.fixture(scope="module")
def seasons() -> Seasons:
    return cut_seasons(wave_weather(), southern=False)


def planned(seasons: Seasons, lot: Lot | None = None, today: date = date(2026, 8, 1), **changes: object) -> Plan:
    one = species(*changes.pop("phases", (cold(30, 60),)), **changes)  # type: ignore[misc, arg-type]
    return plan_for_lots(seasons, SITE, ([one], [lot] if lot else []), Request(today, changes="none"))


def actions(plan: Plan, *kinds: str) -> list[str]:
    return [task.action for task in plan.tasks if task.key.split("/")[1] in kinds]


@pytest.mark.parametrize("latitude", [60.0, 44.0, 30.0])
def test_when_seed_is_ripe_here(seasons: Seasons, latitude: float) -> None:
    ripening = Ripening((9, 10), (10, 5), latitude, "made for the test")
    ripe = ripe_at(ripening, growing_warmth(seasons), 2026, southern=False)
    days = abs(ripe.later)
    moved = (
        "as" if not days else f"{days} day{'' if days == 1 else 's'} {'later' if ripe.later > 0 else 'earlier'} than"
    )
    assert planned(seasons, ripening=ripening).species[0].notes == (
        f"Seed is ripe here about {ripe.first} to {ripe.last}, {moved} the source has it for {latitude:g}° of "
        f"latitude, since it is {abs(ripe.warmer):.1f} °C {'warmer' if ripe.later <= 0 else 'cooler'} here from spring "
        "to autumn than is usual there. Go by the fruit.",
    )


def test_a_plant_that_would_freeze(seasons: Seasons) -> None:
    low = np.sort(np.nanmin(seasons.daily["tmin"], axis=0))
    winters = low.size
    for limit, frozen in ((low[0] + 0.01, 1), (low[-1] + 0.01, winters)):
        end = ": nothing is planned for it" if frozen == winters else ", before any snow or shelter is counted"
        plan = planned(seasons, hardiness=float(limit), hardiness_source="made for the test")
        assert plan.species[0].notes == (
            f"The plant would freeze here in {frozen} of {winters} winters{end}; it stands {limit:g} °C (made for the "
            "test).",
        )
        assert bool(plan.tasks) is (frozen == 1)


def test_seed_that_keeps_poorly_or_has_had_some_cold(seasons: Seasons) -> None:
    moist = "Its seed dies when it dries, and is taken for moist: if yours has been dried, do not sow it."
    assert planned(seasons, storage="never dry").species[0].notes == (moist,)
    poor = "Its seed keeps poorly when dry: use it within the year."
    assert planned(seasons, storage="short-lived").species[0].notes == (poor,)
    assert planned(seasons, Lot(NAME, state="fresh moist"), storage="short-lived").species[0].notes == ()
    some = Lot(NAME, state="already stratified", stratified_days=12.5)
    assert planned(seasons, some).species[0].notes[-1] == "12.5 days of cold are done; the dates count the rest."


def test_picking_drying_and_keeping(seasons: Seasons) -> None:
    dry = planned(seasons, Lot(NAME, state="fresh on the plant"), ripening=SEPTEMBER)
    ripe = ripe_at(SEPTEMBER, growing_warmth(seasons), 2026, southern=False)
    begin = min(task.date_from for task in dry.tasks if not task.key.startswith("seed/"))
    assert actions(dry, "pick", "store") == [
        "pick when ripe, clean it the same day",
        f"dry it 14 days in a shaded, airy place, then keep it dry and cool until {begin}",
    ]
    (pick,) = (task for task in dry.tasks if "/pick/" in task.key)
    assert (pick.date_from, pick.date_to) == (ripe.first, min(ripe.last, ripe.first + timedelta(21)))
    for phases, end in (((cold(30, 60),), "; that counts as its cold"), ((warm(30, 60), cold(30, 60)), "")):
        plan = planned(seasons, ripening=SEPTEMBER, storage="never dry", phases=phases)
        begin = min(task.date_from for task in plan.tasks if not task.key.startswith("seed/"))
        kept = [f"keep it moist at 1 to 4 °C until its next step, {begin} or later{end}"] if begin > ripe.first else []
        assert actions(plan, "pick", "store") == ["pick when ripe, clean it the same day, and never let it dry", *kept]
