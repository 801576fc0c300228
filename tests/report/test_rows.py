"""Cells that a spreadsheet would run are text, and what is read back is the plan."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from chillplan.advice.result import Plan
from chillplan.report.rows import plan_csv, safe_cell, winter_csv


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t", "\r"])
def test_no_text_runs_as_a_formula(begins: str) -> None:
    """The characters are those of the OWASP page on CSV injection (from memory)."""
    assert safe_cell(f"{begins}cmd|' /C calc'!A0").startswith("'")


def test_numbers_stay_numbers() -> None:
    assert safe_cell(-2.5) == "-2.5"
    assert safe_cell(None) == ""


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_a_row_a_species_with_its_numbers_and_dates(plan: Plan) -> None:
    rows = read(plan_csv(plan))
    assert len(rows) == len(plan.species)
    for row, advice in zip(rows, plan.species, strict=True):
        assert (row["species"], row["verdict"]) == (advice.species.name, advice.verdict)
        assert (int(row["good_winters"]), int(row["winters"])) == (advice.good, advice.winters)
        assert float(row["interval_low"]) <= advice.good / advice.winters <= float(row["interval_high"])
        assert float(row["chance"]) == pytest.approx(advice.chance, abs=0.0006)
        shares = [float(row[f"share_up_{part}"]) for part in ("p10", "p50", "p90")]
        assert shares == sorted(shares) == pytest.approx(advice.share_up, abs=0.0006)
        out = advice.outdoors
        assert (row["sow_from"], row["sow_to"]) == ((str(out.sow_from), str(out.sow_to)) if out else ("", ""))
        indoors = [row[name] for name in ("prepare", "into_cold", "plant_out") if row[name]]
        assert indoors == sorted(indoors)
        if advice.fridge is not None:
            assert row["plant_out"] == str(advice.fridge.plant_out)
    assert {bool(row["sow_from"]) for row in rows} == {bool(advice.outdoors) for advice in plan.species}


def test_a_row_a_winter_and_words_where_there_is_no_date(plan: Plan) -> None:
    first = plan.winters
    frost, warm = first.last_spring_frost[0.0].copy(), first.soil_warm[15.0].copy()
    frost[1], warm[2], warm[3] = -np.inf, np.inf, -np.inf
    winters = replace(
        first,
        last_spring_frost={**first.last_spring_frost, 0.0: frost},
        soil_warm={**first.soil_warm, 15.0: warm},
    )
    rows = read(winter_csv(winters, plan.seasons))
    assert rows[1]["last_spring_frost"] == "no frost"
    assert (rows[2]["soil_15c_date"], rows[3]["soil_15c_date"]) == ("never reached", "never below")
    for row, year, chill, day, mean in zip(
        rows, winters.years, winters.effective_chill, winters.soil_warm[10.0], winters.mean_temperature, strict=True
    ):
        assert row["season"] == f"{year}/{(year + 1) % 100:02d}"
        assert float(row["effective_chill"]) == pytest.approx(chill, abs=0.06)
        assert row["soil_10c_date"] == str(date(year, 8, 1) + timedelta(days=int(day)))
        assert float(row["mean_temperature_c"]) == pytest.approx(mean, abs=0.006)
    assert [int(row["cold_days_at_or_below_5c"]) for row in rows] == winters.cold_days.astype(int).tolist()
