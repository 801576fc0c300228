"""What a source measured is kept as it says it, each figure with its source."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from chillplan.errors import InputError
from chillplan.seeds.catalogue import parse_row
from chillplan.seeds.columns import COLUMNS
from chillplan.seeds.recipe import ColdResult, Species

ROW = {"name": "Planta exempli", "phases": "cold moist, 60 to 90 days, 1 to 5 °C"}


def row(**cells: str) -> Species:
    return parse_row({**ROW, **cells})


def test_blank_columns_say_nothing() -> None:
    found = row()
    assert found.trials.worked == found.trials.failed == ()
    assert found.trials.lot_days is found.ripening is found.hardiness is found.ceiling_share is None


def test_lengths_that_worked_keep_temperature_and_share() -> None:
    found = row(
        cold_worked="90 days at 4 °C: 80 %; 8 weeks at 1 to 5 °C", cold_failed="0 days: 5 %", trials_source="Own trial"
    ).trials
    assert found.worked == (ColdResult(90.0, 4.0, 0.8), ColdResult(56.0, 3.0, None))
    assert found.failed == (ColdResult(0.0, None, 0.05),)


def test_the_lot_the_ripening_and_the_plant() -> None:
    found = row(
        lot_days_10="51",
        lot_days_50="65",
        lot_days_90="79",
        trials_source="Own trial",
        ripe_from="08-15",
        ripe_to="10-01",
        ripe_latitude="42",
        ripe_source="Own note",
        hardiness_c="-34",
        hardiness_source="Own note",
        ceiling_share="0.37",
        ceiling_source="Own note",
    )
    assert found.trials.lot_days == (51.0, 65.0, 79.0)
    assert found.ripening is not None
    assert (found.ripening.first, found.ripening.last, found.ripening.latitude) == ((8, 15), (10, 1), 42.0)
    assert (found.hardiness, found.ceiling_share) == (-34.0, 0.37)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"cold_worked": "90 days at 4 °C: 80 %"}, "trials_source is blank"),
        ({"cold_worked": "a while", "trials_source": "x"}, "is not one length of cold"),
        ({"cold_worked": "90 days at 40 °C", "trials_source": "x"}, "check °C against °F"),
        ({"cold_worked": "90 days: 180 %", "trials_source": "x"}, "is not a percentage"),
        ({"lot_days_10": "40", "trials_source": "x"}, "belong together"),
        ({"lot_days_10": "40", "lot_days_50": "30", "lot_days_90": "60", "trials_source": "x"}, "do not rise"),
        ({"ripe_from": "08-15"}, "fill all four or none"),
        ({"ripe_from": "15 Aug", "ripe_to": "10-01", "ripe_latitude": "42", "ripe_source": "x"}, "month and day"),
        ({"hardiness_c": "-20"}, "hardiness_source is blank"),
        ({"ceiling_share": "37", "ceiling_source": "x"}, "is outside 0.01 to 1"),
    ],
)
def test_faults_are_named(cells: dict[str, str], said: str) -> None:
    with pytest.raises(InputError, match=said):
        row(**cells)


PAGE = Path(__file__).parents[2] / "examples" / "own_species" / "README.md"


def test_the_page_says_what_every_column_holds() -> None:
    """``CHILLPLAN_WRITE_RECORDED=1`` writes the list anew."""
    lines = ["| Column | Holds | Blank means | From | To |", "| --- | --- | --- | ---: | ---: |"]
    for column in COLUMNS:
        limits = [f"{end:.9g}" for end in column.limits] if column.limits else ["", ""]
        cells = (f"`{column.name}`", column.meaning, column.default, *limits)
        lines.append(f"| {' | '.join(cells)} |".replace("|  |", "| |").replace("|  |", "| |"))
    before, _ = PAGE.read_text(encoding="utf-8").split("\n## The columns\n")
    page = f"{before}\n## The columns\n\n" + "\n".join(lines) + "\n"
    if os.environ.get("CHILLPLAN_WRITE_RECORDED"):
        PAGE.write_text(page, encoding="utf-8")
    assert page.splitlines() == PAGE.read_text(encoding="utf-8").splitlines()
