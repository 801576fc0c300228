"""A plan made from invented weather, shared by the tests of everything that draws or writes it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.advice.visits import Crew, with_visits
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seeds.recipe import WARM_RESPONSE, CoatStep, Germination, Phase, Recipe, Species
from chillplan.site import Site
from chillplan.web.facts import page_facts
from chillplan.web.page import page_html
from tests.records import wave_weather

TODAY = date(2026, 9, 1)
NASTY_NAMES = (
    "</script><script>alert(1)</script>",
    'Rosa "canina" & <b>bold</b> onload=x',
    "ورد جوري",  # Arabic: garden rose
    "תפוח בר",  # Hebrew: wild apple
    "🌱🌳 sprout",
    "=HYPERLINK(1)",
    "a" * 140,
    "line\nbreak\x00control",
)


def species_of(name: str, common: str, *phases: Phase, coat: tuple[CoatStep, ...] = (), hard: bool = False) -> Species:
    return Species(
        name=name,
        common_name=common,
        other_names=(),
        family="Invented",
        dormancy="physiological",
        hard_coat=hard,
        recipes=(Recipe("usual", coat, phases),),
        germination=Germination(4.0, (60.0, 150.0)),
        cautions=("Seed is poisonous.",),
        source="invented for the tests",
    )


def cold(low: float, high: float) -> Phase:
    return Phase("cold", (low, high), (1.0, 5.0))


def warm(low: float, high: float) -> Phase:
    return Phase("warm", (low, high), (18.0, 24.0), response=WARM_RESPONSE)


SPECIES = (
    species_of("Quaesita brevis", "short quest", cold(20, 30)),
    species_of("Quaesita media", "middle quest", cold(60, 90)),
    species_of("Quaesita longa", "long quest", cold(150, 200)),
    species_of("Durata clausa", "locked seed", coat=(CoatStep("soak", (12.0, 24.0)),)),
    species_of("Bina hiems", "two-winter seed", warm(60, 90), cold(60, 90)),
)


def page_of(plan: Plan, source: Source, reader: Reader) -> str:
    """The page with the long report in it."""
    return page_html(plan, source, reader, page_facts(plan, source, reader))


@pytest.fixture(scope="session")
def seasons() -> Seasons:
    return cut_seasons(wave_weather(mean=9.0, swing=13.0), southern=False)


@pytest.fixture(scope="session")
def site() -> Site:
    return Site(44.2, -72.5, name="Test Bank", elevation=420.0, slope=12.0, aspect=200.0, time_zone="America/New_York")


@pytest.fixture(scope="session")
def plan(seasons: Seasons, site: Site) -> Plan:
    return with_visits(make_plan(seasons, site, SPECIES, Request(TODAY)), Crew())


@pytest.fixture(scope="session")
def nasty_plan(seasons: Seasons, site: Site) -> Plan:
    odd = [
        replace(SPECIES[1], name=name, common_name=name[::-1] if n % 2 else "") for n, name in enumerate(NASTY_NAMES)
    ]
    named = replace(site, name="<img src=x onerror=alert(1)>\u202egnob")
    return with_visits(make_plan(seasons, named, odd, Request(TODAY)), Crew())


@pytest.fixture(scope="session")
def source() -> Source:
    return Source(
        source="plain CSV",
        station="Invented 1",
        first=date(1999, 1, 1),
        last=date(2012, 12, 31),
        coverage=0.998,
        distance_km=3.2,
        height_difference_m=40.0,
        invented=True,
        licence="none",
        notes=("Temperatures are taken as °C.",),
    )


@pytest.fixture
def reader() -> Reader:
    return Reader()
