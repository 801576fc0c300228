"""What the advice consists of: plain data that the report, the command line and the map read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from numpy.typing import NDArray

from chillplan import verdicts
from chillplan.advice.rests_on import AtEdge, RestsOn
from chillplan.lot import Lot
from chillplan.seasons.cut import Seasons
from chillplan.seasons.summary import Ground, Winters
from chillplan.seeds.recipe import Recipe, Species
from chillplan.site import Site

__all__ = [
    "ByDate",
    "Fridge",
    "Outdoors",
    "Plan",
    "SpeciesAdvice",
    "Step",
    "Task",
    "TopUp",
    "Visit",
]

WINTERS = {2: "two", 3: "three"}
SHOWN = 4  # species named in one line

FloatArray = NDArray[np.floating]


@dataclass(frozen=True)
class ByDate:
    """Outcomes of every candidate sowing date, for pictures.

    Attributes
    ----------
    starts : numpy.ndarray of int, shape (start,)
        Day index in the season. [day]
    shares : numpy.ndarray, shape (fate, start)
        Mean over winters, in the order of `chillplan.seeds.simulate.FATES`. [-]
    good : numpy.ndarray of int, shape (start,)
        Winters in which the share up reaches the target.
    """

    starts: NDArray[np.int32]
    shares: FloatArray
    good: NDArray[np.int_]


@dataclass(frozen=True)
class Step:
    """One step of a way, with its dates and an instruction in words."""

    date_from: date
    date_to: date
    kind: str
    text: str


@dataclass(frozen=True)
class Outdoors:
    """Sowing outdoors: the window in which the target is met, or the best date where it is not.

    Attributes
    ----------
    depth_cm : tuple of float
        [cm]
    outcomes : mapping of str to float
        Mean shares over winters at the best date, at the end of the first season. [-]
    good, winters : int
        Of the spring by which it is to be up.
    share_up : tuple of float
        10th, 50th and 90th percentile of winters at the best date, by that spring. [-]
    chill : tuple of float
        Effective chill between the best date and the season's end, the same percentiles. [day]
    meets : bool
        Whether the accepted risk is met.
    autumn : tuple of date or None
        First and last date of autumn that serve as well, where the window is one of spring.
    spring : int
        By which spring in the ground it is to be up, 1 for the first.
    up_in : int
        Year of that spring.
    """

    sow_from: date
    sow_to: date
    best: date
    depth_cm: tuple[float, float]
    outcomes: Mapping[str, float]
    good: int
    winters: int
    share_up: tuple[float, float, float]
    chill: tuple[float, float, float]
    meets: bool
    steps: tuple[Step, ...] = ()
    autumn: tuple[date, date] | None = None
    spring: int = 1
    up_in: int = 0

    @property
    def left_words(self) -> str:
        """``two winters outdoors: up in spring 2028 in 31 of 39``; empty where the first spring serves."""
        if self.spring == 1 and self.meets:
            return ""
        long = f"{WINTERS[self.spring]} winters outdoors: " if self.spring > 1 else ""
        return f"{long}up in spring {self.up_in} in {self.good} of {self.winters}"


@dataclass(frozen=True)
class Fridge:
    """Treatment indoors, counted back from the plant-out date.

    Attributes
    ----------
    prepare : date
        First day of coat treatment or of the first phase.
    into_cold : date or None
        None where the recipe has no cold phase.
    """

    prepare: date
    into_cold: date | None
    checks: tuple[date, ...]
    plant_out: date
    steps: tuple[Step, ...]
    good: int
    winters: int
    share_up: tuple[float, float, float]
    outcomes: Mapping[str, float]
    meets: bool


@dataclass(frozen=True)
class TopUp:
    """Started outdoors, finished in the refrigerator.

    Attributes
    ----------
    sow, sow_to : date
        Window in which it is sown.
    lift_from, lift : date
        Window in which it is lifted; the days owed are reckoned from its end.
    checks : tuple of date
        Weekly looks in the refrigerator.
    owed_days : tuple of float
        Days of cold still owed at lifting, 10th, 50th and 90th percentile of winters. [day]
    spared_days : float
        Days indoors that a median winter spares, of those the whole treatment takes there. [day]
    share_up : tuple of float
        10th, 50th and 90th percentile of winters. [-]
    """

    sow: date
    sow_to: date
    lift_from: date
    lift: date
    checks: tuple[date, ...]
    plant_out: date
    owed_days: tuple[float, float, float]
    spared_days: float
    good: int
    winters: int
    share_up: tuple[float, float, float]
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True)
class SpeciesAdvice:
    """The decision for one species at one site.

    Attributes
    ----------
    recipe : Recipe
        The way the verdict rests on.
    verdict : str
        A key of `chillplan.verdicts.VERDICT_TABLE`.
    good, winters : int
        Of the way the verdict names.
    interval : tuple of float
        Jeffreys 95 % interval of the share of good winters. [-]
    chance : float
        Chance of a good winter over the winters, the error of the seed zone and how lots of the species differ. [-]
    chance_range : tuple of float
        Least and most at one standard deviation of either, to either side. [-]
    borderline : bool
        The error of the model alone could turn the verdict.
    share_up : tuple of float
        10th, 50th and 90th percentile of winters. [-]
    changes : tuple of str
        What would change it.
    thin : bool
        Fewer than 10 usable winters.
    by_winter : tuple of float
        Share up in each winter, by the way the verdict names. [-]
    chosen : frozenset of str
        Ways chosen for the seed at hand, words of `chillplan.lot.WAYS`; empty where none was.
    frozen : int
        Winters of the record colder than the plant stands.
    killed : bool
        Whether these are more than the grower accepts: nothing is planned then.
    hangs_on : tuple of AtEdge
        Edges of the response to cold that would turn the verdict; looked for near the line only.
    lot : Lot or None
        The seed it is for; of several lots of a species each has its own advice, and `species` carries its name.
    ready : datetime.date or None
        From when the seed is there.
    moist : bool
        Whether it is kept moist until it is sown or treated.
    ripe : tuple of datetime.date or None
        First and last day on which seed is ripe at the site.
    """

    species: Species
    recipe: Recipe
    verdict: str
    good: int
    winters: int
    interval: tuple[float, float]
    chance: float
    chance_range: tuple[float, float]
    borderline: bool
    share_up: tuple[float, float, float]
    reason: str
    outdoors: Outdoors | None
    fridge: Fridge | None
    top_up: TopUp | None
    cautions: tuple[str, ...]
    by_date: ByDate
    changes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    thin: bool = False
    by_winter: tuple[float, ...] = ()
    chosen: frozenset[str] = frozenset()
    frozen: int = 0
    killed: bool = False
    hangs_on: tuple[AtEdge, ...] = ()
    lot: Lot | None = None
    ready: date | None = None
    moist: bool = False
    ripe: tuple[date, date] | None = None

    @property
    def latin(self) -> str:
        """Scientific name of the species, without a lot's."""
        return self.species.name if self.lot is None else self.lot.species

    @property
    def ways(self) -> tuple[str, ...]:
        """Ways whose tasks and labels are wanted: those chosen where one of them is planned, else the verdict's."""
        planned = {"outdoors": self.outdoors, "fridge": self.fridge, "top-up": self.top_up}
        chosen = {"fridge" if way == "cold store" else way for way in self.chosen}
        told = {
            "outdoors": self.verdict in verdicts.LEFT_OUTDOORS,
            "fridge": self.verdict in verdicts.INDOORS,
            "top-up": self.verdict == verdicts.BEGUN,
        }
        if self.killed:
            return ()
        wanted = chosen if any(planned[way] for way in chosen) else {way for way, named in told.items() if named}
        return tuple(way for way in planned if way in wanted and planned[way])

    @property
    def indoor_dates(self) -> tuple[date | None, date | None, date | None]:
        """First step indoors, into the cold, planting out; of finishing indoors where that is advised."""
        if self.top_up is not None:
            return self.top_up.lift, self.top_up.lift, self.top_up.plant_out
        if self.fridge is not None:
            return self.fridge.prepare, self.fridge.into_cold, self.fridge.plant_out
        return None, None, None


@dataclass(frozen=True)
class Task:
    """Something to do between two dates.

    Attributes
    ----------
    place : str
        ``hill``, ``shed`` or ``refrigerator``.
    minutes : int
        Working time; an assumption. [minute]
    key : str
        Way, kind and number of the step, for example ``fridge/check/3``: the same in every plan of a season, whatever
        the date, so that a calendar can be brought up to date.
    """

    date_from: date
    date_to: date
    species: str
    action: str
    place: str
    minutes: int
    label: str = ""
    key: str = ""


@dataclass(frozen=True)
class Visit:
    """One trip to the hill."""

    date: date
    daylight_from: str
    daylight_to: str
    tasks: tuple[Task, ...]


@dataclass(frozen=True)
class Plan:
    """All there is to say about a site and a seed list.

    Attributes
    ----------
    season : int
        The season planned for.
    accept, target : float
        Share of winters that must be good, and share up that makes a winter good. [-]
    uncovered : tuple of str
        Outdoor tasks that no visit covers, why, and what would free them, a sentence each.
    lots : tuple of Lot
        The seed planned for; empty where only species were named.
    rests_on : RestsOn or None
        How far the winters move with observed snow or an assumed cover.
    logger_settles : tuple of str
        Species whose verdict is borderline now and would not be after calibration with a thermometer of the site.
    """

    site: Site
    seasons: Seasons
    ground: Ground
    winters: Winters
    species: tuple[SpeciesAdvice, ...]
    tasks: tuple[Task, ...]
    season: int
    today: date
    accept: float
    target: float
    warming: float = 0.0
    visits: tuple[Visit, ...] = ()
    uncovered: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())
    lots: tuple[Lot, ...] = ()
    rests_on: RestsOn | None = None
    logger_settles: tuple[str, ...] = ()

    @property
    def logger_words(self) -> str:
        """The borderline verdicts that a year of a thermometer would settle, as a sentence; empty without any."""
        if not self.logger_settles:
            return ""
        return (
            f"A logger in the bed for one winter would settle this for {self._named(self.logger_settles)}, where the "
            "error of the seed-zone estimate alone could turn the verdict: chillplan soilcheck --calibrate takes it "
            "from there."
        )

    @property
    def edge_words(self) -> str:
        """The verdicts that hang on an edge of the response to cold, as a sentence; empty without any."""
        hang = [advice.species.name for advice in self.species if advice.hangs_on]
        if not hang:
            return ""
        return (
            "How far cold below -2 °C and at 8 to 10 °C chills seed is not well known; it decides for "
            f"{self._named(hang)}."
        )

    def _named(self, species: Sequence[str]) -> str:
        """Species of the plan by their common names, the first few of them."""
        common = {advice.species.name: advice.species.common_name or advice.species.name for advice in self.species}
        shown = ", ".join(common[name] for name in species[:SHOWN])
        return shown + (f" and {len(species) - SHOWN} more" if len(species) > SHOWN else "")
