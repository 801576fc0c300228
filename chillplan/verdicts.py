"""The verdicts, each with everything that is said or drawn of it: a new one is a row of this table and its rule.

The rule stands in :mod:`chillplan.advice.rules`.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = [
    "AUTUMN",
    "BEGUN",
    "EITHER",
    "INDOORS",
    "LEFT_OUTDOORS",
    "NOT_HERE",
    "REFRIGERATOR",
    "SPRING",
    "TWO_WINTERS",
    "VERDICTS",
    "VERDICT_TABLE",
    "Verdict",
]

AUTUMN, REFRIGERATOR, EITHER = "sow-in-autumn", "chill-in-fridge", "either"
BEGUN, SPRING = "start-outdoors-finish-in-fridge", "sow-in-spring"
TWO_WINTERS, NOT_HERE = "two-winters-outdoors", "not-here"


class Verdict(NamedTuple):
    """What is said and drawn of a verdict.

    Attributes
    ----------
    words : str
        On a page.
    counted : str
        After a number of species.
    legend : str
        In the key of a map; what stands before a colon is its short form.
    colour : str
        Name of a colour of `chillplan.report.look.Colour`.
    ways : tuple of str
        Ways of a species' advice that it names, as `outdoors`, `fridge` and `top_up`.
    """

    words: str
    counted: str
    legend: str
    colour: str
    ways: tuple[str, ...]


VERDICT_TABLE = {
    AUTUMN: Verdict("sow in autumn", "to sow in autumn", "sow in autumn: the winter does it", "GREEN", ("outdoors",)),
    REFRIGERATOR: Verdict(
        "chill in the fridge", "to chill in the fridge", "chill in a refrigerator", "BLUE", ("fridge",)
    ),
    EITHER: Verdict(
        "autumn or fridge, either",
        "either sown in autumn or chilled in the fridge",
        "either: autumn sowing or a refrigerator",
        "SKY",
        ("outdoors", "fridge"),
    ),
    BEGUN: Verdict(
        "start outdoors, finish in the fridge",
        "to start outdoors and finish in the fridge",
        "start outdoors, finish in a refrigerator",
        "PURPLE",
        ("top_up",),
    ),
    SPRING: Verdict(
        "sow in spring", "to sow in spring without chilling", "sow in spring: no chill needed", "YELLOW", ("outdoors",)
    ),
    TWO_WINTERS: Verdict(
        "two winters outdoors",
        "to leave outdoors for two winters",
        "two winters outdoors",
        "ORANGE",
        ("outdoors",),
    ),
    NOT_HERE: Verdict("not here", "with no way found here", "not here: no way found", "VERMILLION", ()),
}
"""In the order in which maps number them."""

VERDICTS = tuple(VERDICT_TABLE)
LEFT_OUTDOORS = frozenset(key for key, verdict in VERDICT_TABLE.items() if "outdoors" in verdict.ways)
INDOORS = frozenset(key for key, verdict in VERDICT_TABLE.items() if "fridge" in verdict.ways)
