"""What a seed needs, in order: coat treatment, warm and cold phases, germination."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from chillplan.seasons.response import USUAL

__all__ = [
    "COLD_RESPONSE",
    "LOTS_FROM_MEMORY",
    "LOTS_KNOWN",
    "LOTS_READ",
    "REVERSAL_TEMPERATURE",
    "WARM_RESPONSE",
    "CoatStep",
    "ColdResult",
    "ColdTrials",
    "Germination",
    "Phase",
    "Recipe",
    "Response",
    "Ripening",
    "SeedState",
    "Species",
    "Stated",
]

PhaseKind = Literal["warm", "cold"]
Storage = Literal["dry", "short-lived", "never dry"]
SeedState = Literal["", "fresh", "dried"]
Light = Literal["needed", "not needed", "dark", "unknown"]


@dataclass(frozen=True)
class Response:
    """Share of a day that counts, as a trapezoid of the daily mean seed-zone temperature.

    Attributes
    ----------
    zero_low, full_low, full_high, zero_high : float
        Nothing at or below the first, a full day from the second to the third,
        nothing at or above the fourth, linear between. [°C]
    """

    zero_low: float
    full_low: float
    full_high: float
    zero_high: float


COLD_RESPONSE = Response(*USUAL)
# An assumption of ours: moist warmth counts from about 15 °C, trials use 15 to 30 °C. Shown as one wherever it is used.
WARM_RESPONSE = Response(10.0, 15.0, 25.0, 32.0)
REVERSAL_TEMPERATURE = 14.5
"""Chill was undone at a mean of 15 °C (`chillplan.seasons.response.REVERSAL_LOSS`), and nothing counts from 12 °C on;
where between them losses begin is our choice. [°C]"""

LOTS_READ = 0.2
"""Coefficient of variation between lots of what half of a lot needs, where lengths were read or tried. Lots of one
species in published trials differ by 0.21. [-]"""
LOTS_FROM_MEMORY = 0.35
"""The same where lengths are from memory. Our choice. [-]"""
LOTS_KNOWN = 0.1
"""The same of seed whose own need is known, from counts at the site or the grower's own trial. Our choice. [-]"""

SOFTENING_DAYS = 60.0
"""A warm moist phase at least this long in place of scarifying counts as opening a hard coat. Common practice. [day]"""


@dataclass(frozen=True)
class CoatStep:
    """One step of preparing a seed before it is sown or stratified.

    Attributes
    ----------
    action : str
        One of the words of the grammar: ``scarify``, ``hot water``, ``soak``, ``rinse``, ``smoke water``,
        ``crack``, ``dry heat``, ``remove pulp``, ``remove hull``, ``float test``, ``peroxide rinse``.
    hours : tuple of float or None
        Least and most time. [h]
    temperature : tuple of float or None
        Least and most water temperature at the start. [°C]
    detail : str
        The rest of the instruction, in words.
    """

    action: str
    hours: tuple[float, float] | None = None
    temperature: tuple[float, float] | None = None
    detail: str = ""

    @property
    def opens_coat(self) -> bool:
        """Whether the step lets water through a hard coat."""
        return self.action in {"scarify", "hot water", "crack", "dry heat"}


@dataclass(frozen=True)
class ColdResult:
    """What one length of cold did in a trial.

    Attributes
    ----------
    days : float
        0 for none. [day]
    temperature : float or None
        Middle of the range it was held at; None where the source does not say. [°C]
    share : float or None
        Of the viable seed, or of the best result of the same trial, that came up; None where the source says no more
        than that it worked, or did not. [-]
    """

    days: float
    temperature: float | None = None
    share: float | None = None


@dataclass(frozen=True)
class ColdTrials:
    """What sources measured of a species' cold, as they say it.

    Attributes
    ----------
    worked, failed : tuple of ColdResult
    longest_advised : float or None
        [day]
    measured : float or None
        Temperature at which the cold of the phases and of `lot_days` was counted. [°C]
    untreated_share : float or None
        Share of viable seed that comes up without cold. [-]
    lot_days : tuple of float or None
        Cold that readies a tenth, half and nine tenths of viable seed. [day]
    source : str
    """

    worked: tuple[ColdResult, ...] = ()
    failed: tuple[ColdResult, ...] = ()
    longest_advised: float | None = None
    measured: float | None = None
    untreated_share: float | None = None
    lot_days: tuple[float, float, float] | None = None
    source: str = ""


@dataclass(frozen=True)
class Stated:
    """That the lengths of a cold phase are what sources advise, and what else is known of it.

    Attributes
    ----------
    deep : bool
        Deep dormancy, a hard stone, an embryo that must grow first, or warmth wanted first.
    trials : ColdTrials
    """

    deep: bool = False
    trials: ColdTrials = ColdTrials()


@dataclass(frozen=True)
class Phase:
    """A stretch of moist warmth or moist cold.

    Attributes
    ----------
    kind : {'warm', 'cold'}
    days : tuple of float
        What sources advise, least and most; 0 as the first means that few seeds need it at all. Without `stated`, what
        satisfies the 10th and the 90th percentile of a lot. [day]
    temperature : tuple of float or None
        Range to hold in a refrigerator or on a shelf. [°C]
    response : Response
        How a day outdoors counts.
    reversal : float
        Seed-zone daily mean above which an unfinished cold phase loses some of what was done. [°C]
    spread_assumed : bool
        True where the source gives one length only and the spread is assumed.
    stated : Stated or None
        Of a cold phase of a species table, whose lot is worked out by `chillplan.seeds.requirement.lot_of`.
    variation : float
        Coefficient of variation between lots of what half of a lot needs; 0 where the lot is known. [-]
    factor : float
        What this lot needs, as a multiple of what a usual one does. [-]
    done : float
        Days of it that the seed has had already; `days` are those left. [day]
    asked : tuple of float or None
        The whole length, where some of it is done. [day]
    """

    kind: PhaseKind
    days: tuple[float, float]
    temperature: tuple[float, float] | None = None
    response: Response = COLD_RESPONSE
    reversal: float = REVERSAL_TEMPERATURE
    spread_assumed: bool = False
    stated: Stated | None = None
    variation: float = 0.0
    factor: float = 1.0
    done: float = 0.0
    asked: tuple[float, float] | None = None

    @property
    def undone_above(self) -> float:
        """Seed-zone daily mean above which a day undoes progress; infinite for a warm phase. [°C]"""
        return self.reversal if self.kind == "cold" else math.inf


@dataclass(frozen=True)
class Germination:
    """From the end of dormancy to the shoot.

    Attributes
    ----------
    base_temperature : float
        Seed-zone daily mean above which thermal time counts. [°C]
    thermal_time : tuple of float
        Thermal time to emergence of the 10th and the 90th percentile. [°C d]
    temperature : tuple of float or None
        Range to hold when germinating indoors. [°C]
    base_range : tuple of float
        Plausible range of the base temperature, for the sensitivity. [°C]
    assumed : bool
        True where no published value exists and a class default stands in.
    """

    base_temperature: float
    thermal_time: tuple[float, float]
    temperature: tuple[float, float] | None = None
    base_range: tuple[float, float] = (0.0, 10.0)
    assumed: bool = True


@dataclass(frozen=True)
class Recipe:
    """One way to bring a seed up: steps, then phases in order.

    Attributes
    ----------
    label : str
        What sets this way apart from the others, in words.
    coat : tuple of CoatStep
    phases : tuple of Phase
    state : {'', 'fresh', 'dried'}
        Of the seed that it is for; empty where it serves any.
    """

    label: str
    coat: tuple[CoatStep, ...] = ()
    phases: tuple[Phase, ...] = ()
    state: SeedState = ""

    @property
    def total_days(self) -> tuple[float, float]:
        """Days of all phases together, least and most. [day]"""
        return (sum(p.days[0] for p in self.phases), sum(p.days[1] for p in self.phases))

    @property
    def opens_coat(self) -> bool:
        """Whether water can enter a hard coat: a step opens it, or a long moist warmth at the start rots it through."""
        first = self.phases[0] if self.phases else None
        softened = first is not None and first.kind == "warm" and first.days[1] >= SOFTENING_DAYS
        return softened or any(step.opens_coat for step in self.coat)


@dataclass(frozen=True)
class Ripening:
    """When seed is ripe on the plant.

    Attributes
    ----------
    first, last : tuple of int
        Month and day.
    latitude : float
        Where these days hold. [degrees north]
    source : str
    """

    first: tuple[int, int]
    last: tuple[int, int]
    latitude: float
    source: str


@dataclass(frozen=True)
class Species:
    """A species as the catalogue knows it.

    Attributes
    ----------
    name : str
        Scientific name.
    common_name : str
    other_names : tuple of str
        Synonyms and further common names.
    family : str
    dormancy : str
        Class in words, for example ``physiological`` or ``physical and physiological``.
    hard_coat : bool
        Water cannot enter until the coat is opened.
    recipes : tuple of Recipe
        The first is the usual one; others are alternatives of the trade.
    germination : Germination
    light : {'needed', 'not needed', 'dark', 'unknown'}
    storage : {'dry', 'short-lived', 'never dry'}
    depth_cm : tuple of float
        Sowing depth; zeros mean the surface. [cm]
    seedling_limit : float
        Ground-level minimum that kills a seedling. [°C]
    shoot_waits : bool
        Roots come before the shoot, which needs a cold phase of its own (included in the phases).
    uses : tuple of str
    sow_season : str
        What the source says about the season, in words.
    cautions : tuple of str
        Hazards and legal cautions.
    note : str
    source, source_url : str
    read : tuple of str
        Names of the fields whose figures were read in the source; every other is from memory.
    origin : str
        ``built in`` or the user's file.
    trickle_share : float
        Share of untreated hard seed that becomes permeable in one winter outdoors (assumed).
    seeds_per_gram : float or None
    trials : ColdTrials
    ripening : Ripening or None
    hardiness : float or None
        Lowest winter air temperature the plant stands. [°C]
    hardiness_source : str
    ceiling_share : float or None
        Highest share of viable seed known to come up; None counts as all of it. [-]
    ceiling_source : str
    """

    name: str
    common_name: str
    other_names: tuple[str, ...]
    family: str
    dormancy: str
    hard_coat: bool
    recipes: tuple[Recipe, ...]
    germination: Germination
    light: Light = "unknown"
    storage: Storage = "dry"
    depth_cm: tuple[float, float] = (0.6, 1.3)
    seedling_limit: float = -5.0
    shoot_waits: bool = False
    uses: tuple[str, ...] = ()
    sow_season: str = ""
    cautions: tuple[str, ...] = ()
    note: str = ""
    source: str = ""
    source_url: str = ""
    read: tuple[str, ...] = ()
    origin: str = "built in"
    trickle_share: float = 0.1
    seeds_per_gram: float | None = None
    trials: ColdTrials = ColdTrials()
    ripening: Ripening | None = None
    hardiness: float | None = None
    hardiness_source: str = ""
    ceiling_share: float | None = None
    ceiling_source: str = ""

    @property
    def recipe(self) -> Recipe:
        """The usual way."""
        return self.recipes[0]

    @property
    def evidence(self) -> str:
        """Standing of the lengths of the phases: ``read``, ``partly read``, ``from memory`` or ``your table``."""
        if self.origin != "built in" and not self.read:
            return "your table"
        read = set(self.read)
        kinds = {phase.kind for phase in self.recipe.phases}
        wanted = {f"{kind}_days_{end}" for kind in kinds for end in ("min", "max")}
        if wanted and (wanted <= read or "days" in read):
            return "read"
        if wanted & read or read & {"phases", "coat_treatment", "cold_days_min", "cold_days_max"}:
            return "partly read" if wanted else "read"
        return "from memory"

    def names(self) -> tuple[str, ...]:
        """Every name the species answers to, the scientific one first."""
        return (self.name, self.common_name, *self.other_names)
