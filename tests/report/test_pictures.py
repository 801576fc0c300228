"""What the pictures say, apart from how they look."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.report.pictures_chill import chill_picture, needs_of
from chillplan.report.pictures_frost import frost_picture, soil_picture
from chillplan.report.pictures_species import outcome_picture, winters_shown
from chillplan.report.pictures_timeline import steps_shown, timeline_picture
from chillplan.report.pictures_zone import seed_zone_picture
from chillplan.report.reader import Reader, reader_for
from chillplan.seasons.cut import Seasons
from chillplan.seeds.simulate import FATES
from chillplan.site import Site
from tests.report.conftest import SPECIES, TODAY, cold, species_of


def test_lines_of_many_needs_stay_apart_and_name_every_species(seasons: Seasons, site: Site) -> None:
    many = [species_of(f"Gradus {days}", f"step {days}", cold(days / 2, days)) for days in range(20, 200, 6)]
    picture = chill_picture(make_plan(seasons, site, many, Request(TODAY)), Reader())
    lines = sorted(shape["y0"] for shape in picture.layout["shapes"])
    top = picture.layout["yaxis"]["range"][1]
    assert len(lines) >= 5
    assert np.diff(lines).min() >= 0.07 * top
    assert lines[-1] == 194
    assert len(picture.rows) == len(many)


def test_winters_that_gather_enough_are_counted_as_they_are(plan: Plan) -> None:
    for need, row in zip(needs_of(plan), chill_picture(plan, Reader()).rows, strict=True):
        assert int(row[2]) == int((plan.winters.effective_chill >= need.high).sum())


def test_bands_of_outcomes_add_up_to_the_whole_lot(plan: Plan) -> None:
    for number, advice in enumerate(plan.species):
        picture = outcome_picture(plan, advice, Reader(), number)
        bands = np.array([trace["y"] for trace in picture.data if trace["type"] == "scatter"])
        assert bands.shape[0] == len(FATES)
        assert bands.sum(axis=0) == pytest.approx(100.0, abs=0.3)


def test_a_bar_for_every_winter_and_hatching_for_the_poor_ones(plan: Plan) -> None:
    for number, advice in enumerate(plan.species):
        (bars,) = [t for t in outcome_picture(plan, advice, Reader(), number).data if t["type"] == "bar"]
        assert bars["x"] == winters_shown(plan, advice)
        hatched = [shape == "/" for shape in bars["marker"]["pattern"]["shape"]]
        assert hatched == [share < plan.target for share in advice.by_winter]
        assert hatched.count(False) == advice.good


def test_every_step_is_drawn_on_the_timeline(plan: Plan) -> None:
    picture = timeline_picture(plan, Reader())
    steps = sum(len(steps_shown(advice)) for advice in plan.species)
    assert sum(len(trace["y"]) for trace in picture.data) == steps == len(picture.rows)


def test_frost_rows_show_each_winter_with_that_frost(plan: Plan) -> None:
    picture = frost_picture(plan, Reader())
    dots = [trace for trace in picture.data if trace.get("mode") == "markers" and trace["marker"]["size"] == 4]
    tables = [*plan.winters.first_autumn_frost.values(), *plan.winters.last_spring_frost.values()]
    counts = [int(np.isfinite(days).sum()) for days in tables]
    assert [len(trace["x"]) for trace in dots] == [count for count in counts if count]


def test_soil_and_frost_are_compared_winter_by_winter(plan: Plan) -> None:
    warm, frost = plan.winters.soil_warm[10.0], plan.winters.last_spring_frost[-2.0]
    both = np.isfinite(warm) & np.isfinite(frost)
    words = soil_picture(plan, Reader()).summary
    assert f"came after that in {int((warm[both] < frost[both]).sum())} of {int(both.sum())} winters" in words


def test_temperatures_are_drawn_in_the_readers_unit(plan: Plan) -> None:
    metric = seed_zone_picture(plan, Reader()).data[2]["y"]
    us = seed_zone_picture(plan, reader_for("us", None)).data[2]["y"]
    assert us == pytest.approx(np.array(metric) * 1.8 + 32.0, abs=0.15)


def test_a_plan_without_species_that_need_cold_has_no_line(plan: Plan) -> None:
    bare = replace(plan, species=tuple(a for a in plan.species if not a.recipe.phases))
    assert chill_picture(bare, Reader()).layout["shapes"] == []
    assert len(bare.species) < len(SPECIES)
