"""A journal goes out to JSON and CSV and comes back equal, whatever the texts hold."""

from __future__ import annotations

import csv
import json
import tempfile
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.journal.entries import add_readings, start_batch
from chillplan.journal.exchange import TABLES, cell_of, content_of, export_csv, export_json, import_journal, value_of
from chillplan.journal.records import Reading
from chillplan.journal.schema import MIGRATIONS
from chillplan.journal.store import Journal, open_journal, read_journal, undo_last
from tests.journal.samples import NOW, TODAY, a_batch, add_check

AWKWARD = st.sampled_from(
    [
        "=1+1",
        "'",
        "''=x",
        "+44",
        "-",
        "@SUM(A1)",
        '"',
        'a"b,c;d',
        "line\nbreak",
        "\ttab",
        "שלום",
        "عربى",
        "銀杏",
        "e\u0301",
        "🌰",
    ]
)
TEXT = AWKWARD | st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=30)
NUMBER = st.floats(-60, 70, allow_nan=False)


def round_trip(journal: Journal, kind: str, folder: Path) -> Journal:
    if kind == "json":
        source = folder / "out.json"
        source.write_text(export_json(journal), encoding="utf-8")
    else:
        source = folder / "out"
        export_csv(journal, source)
    import_journal(folder / "back.db", source, TODAY)
    return read_journal(folder / "back.db")


@pytest.mark.parametrize("kind", ["json", "csv"])
def test_every_table_comes_back_equal(filled: Journal, tmp_path: Path, kind: str) -> None:
    undo_last(filled, NOW)
    with round_trip(filled, kind, tmp_path) as back:
        assert content_of(back) == content_of(filled)
    with open_journal(tmp_path / "back.db", TODAY) as back:
        undo_last(back, NOW)
        assert not back.rows("SELECT 1 FROM sowings")


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    kind=st.sampled_from(["json", "csv"]),
    notes=st.lists(TEXT, max_size=4),
    source=TEXT,
    temperatures=st.lists(NUMBER, max_size=4),
    set_temperature=st.floats(-30.0, 45.0),
)
def test_any_text_and_number_comes_back_equal(
    kind: str, notes: list[str], source: str, temperatures: list[float], set_temperature: float
) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with open_journal(folder / "journal.db", TODAY, create=True) as journal:
            start_batch(journal, a_batch(source=source, set_temperature=set_temperature), NOW)
            for note in notes:
                add_check(journal, "B1", "dry", NOW, note=note)
            days = [Reading(NOW - timedelta(days=day), value) for day, value in enumerate(temperatures)]
            add_readings(journal, "fridge", days, NOW)
            with round_trip(journal, kind, folder) as back:
                assert content_of(back) == content_of(journal)


@given(TEXT)
def test_no_text_cell_begins_like_a_formula(text: str) -> None:
    cell = cell_of(text)
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert value_of(cell, "TEXT", nullable=False) == text


def test_exported_notes_are_neutralised_and_numbers_are_not(journal: Journal, tmp_path: Path) -> None:
    start_batch(journal, a_batch(source="=HYPERLINK(1)", set_temperature=-1.5), NOW)
    export_csv(journal, tmp_path / "out")
    with (tmp_path / "out" / "lots.csv").open(encoding="utf-8-sig", newline="") as file:
        assert next(csv.DictReader(file))["source"] == "'=HYPERLINK(1)"
    with (tmp_path / "out" / "batches.csv").open(encoding="utf-8-sig", newline="") as file:
        assert next(csv.DictReader(file))["set_temperature"] == "-1.5"


def test_a_journal_with_entries_takes_no_import(filled: Journal, tmp_path: Path) -> None:
    source = tmp_path / "out.json"
    source.write_text(export_json(filled), encoding="utf-8")
    before = content_of(filled)
    with pytest.raises(InputError, match="already holds entries: import into a new file"):
        import_journal(filled.path, source, TODAY)
    assert content_of(filled) == before


def broken_json(text: str) -> str:
    content = json.loads(text)
    content["checks"][0]["batch"] = 77
    return json.dumps(content)


@pytest.mark.parametrize(
    ("damage", "message"),
    [
        (lambda text: text[:50], "is not JSON"),
        (lambda text: "[]", "is not an exported journal"),
        (lambda text: text.replace(f'"format": {len(MIGRATIONS)}', '"format": 99'), "has format '99'"),
        (lambda text: text.replace('"checks"', '"cheques"'), "table checks .* is missing"),
        (broken_json, "does not fit together"),
    ],
)
def test_a_damaged_export_is_refused_and_leaves_no_journal(
    filled: Journal, tmp_path: Path, damage: object, message: str
) -> None:
    source = tmp_path / "out.json"
    source.write_text(damage(export_json(filled)), encoding="utf-8")  # type: ignore[operator]
    with pytest.raises(InputError, match=message):
        import_journal(tmp_path / "back.db", source, TODAY)
    assert not (tmp_path / "back.db").exists()


def test_a_damaged_table_names_file_row_and_column(filled: Journal, tmp_path: Path) -> None:
    export_csv(filled, tmp_path / "out")
    target = tmp_path / "out" / "readings.csv"
    target.write_text(target.read_text(encoding="utf-8-sig").replace("-4.25", "cold"), encoding="utf-8")
    (tmp_path / "out" / "lots.csv").unlink()
    with pytest.raises(InputError) as caught:
        import_journal(tmp_path / "back.db", tmp_path / "out", TODAY)
    assert "temperature 'cold'" in str(caught.value)
    assert "row 2 is not a number" in str(caught.value)
    assert "lots.csv" in str(caught.value)


def test_an_export_is_not_overwritten(filled: Journal, tmp_path: Path) -> None:
    files = export_csv(filled, tmp_path / "out")
    assert {file.stem for file in files} == set(TABLES)
    with pytest.raises(InputError, match="already holds an export"):
        export_csv(filled, tmp_path / "out")


def test_dates_are_kept_as_dates(filled: Journal) -> None:
    assert date.fromisoformat(str(content_of(filled)["batches"][0]["plant_out"])) == date(2027, 4, 20)
