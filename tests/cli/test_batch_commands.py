"""The journal from the command line: one short line an entry, sentences for errors, documented exit codes."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from chillplan.cli import main

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.setenv("CHILLPLAN_JOURNAL", str(tmp_path / "my journal.db"))

    def run(*words: str, today: str | None = "2027-02-10") -> tuple[int, str, str]:
        named = [] if today is None else ["--today", today]
        monkeypatch.setattr(sys, "argv", ["chillplan", *words, *named])
        code = 0
        try:
            main()
        except SystemExit as leave:
            code = int(leave.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture
def begun(run: Run) -> Run:
    code, out, _ = run("batch", "start", "pawpaw", "--seeds", "200", "--label", "blue tub", today="2026-12-01")
    assert code == 0
    assert out.startswith("B1 Asimina triloba begun 2026-12-01 in fridge at 4 °C")
    return run


def test_a_check_is_one_short_line(begun: Run) -> None:
    assert begun("batch", "check", "B1", "fine")[:2] == (
        0,
        "B1 pawpaw (Asimina triloba): fine on 2027-02-10; next look 2027-02-17\n",
    )
    code, out, _ = begun("batch", "check", "blue tub", "sprouted", "7", "--stage", "root")
    assert code == 0
    assert "Pot the sprouted seed up" in out
    assert "common practice, no source" in out


def test_the_frost_outlook_decides_about_sprouts_and_is_remembered(begun: Run) -> None:
    near = begun("batch", "check", "B1", "sprouted", "7", "--frost-free", "2027-02-20")[1]
    assert "Hold the sprouted seed at 0.5 to 2 °C" in near
    assert "Hold the sprouted seed at 0.5 to 2 °C" in begun("batch", "list", "B1")[1]
    past = begun("batch", "check", "B1", "sprouted", "7", "--frost-free", "2027-02-01")[1]
    assert "Sow the sprouted seed now" in past
    begun("batch", "undo")
    assert "Hold the sprouted seed" in begun("batch", "list", "B1")[1]


def test_mould_brings_its_advice_and_caution(begun: Run) -> None:
    out = begun("batch", "check", "B1", "mould")[1]
    assert "gloves and a mask" in out
    assert "2 days" in out
    assert "at 2 looks in a row" in begun("batch", "check", "B1", "mould")[1]


def test_a_reading_below_zero_is_taken(begun: Run) -> None:
    code, out, _ = begun("batch", "reading", "B1", "-4.5")
    assert code == 0
    assert "too cold, daily mean to -4.5 °C" in begun("batch", "list", "B1", today="2027-02-11")[1]
    assert "fridge: 1 reading recorded" in out
    assert begun("batch", "reading", "B1", "4", "--no-such-option")[0] == 2


def test_a_logger_file_says_what_a_warm_weekend_cost(begun: Run, tmp_path: Path) -> None:
    rows = [f"2027-01-{day:02d} 12:00,{49.1 if day in (16, 17) else 39.2}" for day in range(2, 31)]
    logger = tmp_path / "fridge log.csv"
    logger.write_text("time,Temperature (°F)\n" + "\n".join(rows), encoding="utf-8")
    code, out, _ = begun("batch", "reading", "fridge", "--logger", str(logger))
    assert code == 0
    assert "fridge: 29 readings recorded, 0 there already" in out
    assert "converted from °F" in out
    assert "out of range 2027-01-16 to 2027-01-17: too warm, daily mean to 9.5 °C; cost 1.0 days of cold" in out
    assert "1 day later than planned" in out
    assert "0 readings recorded, 29 there already" in begun("batch", "reading", "B1", "--logger", str(logger))[1]


def test_due_shows_sprouts_first_and_late_looks(begun: Run) -> None:
    begun("batch", "check", "B1", "sprouted", "3", today="2026-12-20")
    out = begun("due", today="2026-12-25")[1]
    assert out.index("At once") < out.index("Today")
    assert "2 d late" in out
    assert begun("batch", "due", today="2026-12-25")[1] == out
    answer = json.loads(begun("due", "--format", "json", today="2026-12-25")[1])
    assert answer["schema"] == 1
    assert [item["urgent"] for item in answer["due"]][:2] == [True, False]
    rows = list(csv.DictReader(io.StringIO(begun("due", "--format", "csv", today="2026-12-25")[1])))
    assert len(rows) == len(answer["due"])
    begun("batch", "close", "B1", "planted out")
    assert "Nothing is due" in begun("due")[1]


def test_list_and_history_show_what_was_entered(begun: Run) -> None:
    begun("batch", "check", "B1", "fine", "--note", "smells clean")
    assert "B1     Asimina triloba" in begun("batch", "list")[1]
    assert "smells clean" in begun("batch", "list", "blue tub")[1]
    row = json.loads(begun("batch", "list", "--format", "json")[1])["batches"][0]
    assert (row["batch"], row["done"], row["assumed_days"]) == ("B1", 71.0, 71)
    assert begun("batch", "undo")[1] == "taken back: check B1: fine\n"
    assert "check B1: fine (taken back)" in begun("batch", "history", today=None)[1]


def test_the_list_and_the_check_name_the_looking_day_of_the_site(
    begun: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Looked at on Wednesday 10 February: a week later is a Wednesday, and the grower looks on Sundays."""
    monkeypatch.chdir(tmp_path)
    assert begun("batch", "check", "B1", "fine")[1].endswith("next look 2027-02-17\n")
    Path("site.toml").write_text(
        'name = "Home"\nlatitude = 44.0\nlongitude = -72.0\n[grower]\nlooking_day = "sunday"\n'
    )
    assert "next look 2027-02-14" in begun("batch", "list")[1]
    assert begun("batch", "check", "B1", "fine")[1].endswith("next look 2027-02-14\n")


def test_sowing_and_counting(begun: Run, tmp_path: Path) -> None:
    site = tmp_path / "hill.toml"
    site.write_text('name = "the hill"\nlatitude = 44.1\nlongitude = -72.3\n', encoding="utf-8")
    out = begun("batch", "sow", "B1", "--site", str(site), "--seeds", "80", "--expect-up", "2027-02-15")[1]
    assert out.startswith("S1 Asimina triloba: 80 seeds sown 2027-02-10")
    assert "S1 pawpaw (Asimina triloba): count what is up" in begun("due")[1]
    assert begun("batch", "count", "S1", "20")[1] == "S1 Asimina triloba: 20 of 80 up (25%)\n"
    assert "80 seeds sown 2027-02-10 at the hill; 20 up on 2027-02-10" in begun("batch", "list")[1]


def test_export_and_import_restore_the_journal(begun: Run, tmp_path: Path) -> None:
    begun("batch", "check", "B1", "fine", "--note", '=cmd("x"), שלום')
    exported = begun("batch", "export", today=None)[1]
    assert begun("batch", "export", "--out", str(tmp_path / "j.json"), today=None)[0] == 0
    assert begun("batch", "export", "--format", "csv", "--out", str(tmp_path / "csv"), today=None)[0] == 0
    for number, source in enumerate(("j.json", "csv")):
        target = str(tmp_path / f"back {number}.db")
        code, out, _ = begun("batch", "import", str(tmp_path / source), "--journal", target)
        assert (code, "1 lots, 1 batches" in out) == (0, True)
        assert begun("batch", "export", "--journal", target, today=None)[1] == exported
    code, _, err = begun("batch", "export", "--out", str(tmp_path / "j.json"), today=None)
    assert (code, "is there already" in err) == (2, True)


def test_a_hard_coat_left_closed_is_warned_of(run: Run) -> None:
    out = run("batch", "start", "Baptisia australis", "--no-coat")[1]
    assert "Its coat keeps water out" in out


def test_hot_water_is_told_with_its_caution_and_its_one_temperature(run: Run) -> None:
    out = run("batch", "start", "smooth sumac")[1]
    assert "hot water, 100 °C: done" in out and "100 to 100" not in out
    assert "Boiling water scalds" in out and "neither cold nor warmth" in out


def test_a_batch_moves_to_the_fridge_with_its_cold_phase(run: Run) -> None:
    run("batch", "start", "American ginseng", "--place", "shelf", "--set", "15", today="2026-08-01")
    warm = run("batch", "next", "B1", today="2026-11-16")[1]
    assert "in shelf at 15 °C" in warm and "counts 0% of a day for its cold phase" in warm
    run("batch", "undo", today="2026-11-16")
    cold = run("batch", "next", "B1", "--place", "fridge", "--set", "2", today="2026-11-16")[1]
    assert "in fridge at 2 °C" in cold and "counts" not in cold
    assert "cold 10 of 270 days" in run("batch", "list", today="2026-11-26")[1]
    code, _, err = run("batch", "next", "B1", "--set", "60", today="2026-11-26")
    assert code == 2 and "set temperature 60 is outside -30 to 45" in err


def test_a_weekly_look_at_ten_batches_is_one_command_and_one_entry(run: Run) -> None:
    names = ("pawpaw", "American plum", "blue flag iris", "redbud", "sugar maple")
    for name in names * 2:
        assert run("batch", "start", name, "--seeds", "50", today="2026-12-01")[0] == 0
    run("batch", "close", "B7", "given away", today="2026-12-02")
    code, out, err = run("batch", "check", "all", "fine", "except", "plum", "mold,", "B4", "sprouted", "7")
    assert (code, err) == (0, "")
    lines = [line for line in out.splitlines() if line.startswith("B")]
    assert [line.split(": ")[1].split(" on ")[0] for line in lines].count("fine") == 7
    assert any(line.startswith("B2 American plum (Prunus americana): mould") for line in lines)
    assert any(line.startswith("B4 ") and ": sprouted on" in line for line in lines)
    assert "B7" not in out
    assert "taken back: check" in run("batch", "undo")[1]
    assert "not looked at yet" in run("due")[1]
    code, _, err = run("batch", "check", "B1", "B2", "iris", "fine")
    assert code == 2 and "'iris' fits several batches" in err


def test_days_and_spans_as_a_grower_says_them(begun: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LC_ALL", "en_US.UTF-8")
    assert "fine on 2027-01-28" in begun("batch", "check", "B1", "fine", "--date", "1/28")[1]
    assert "fine on 2027-02-09" in begun("batch", "check", "pawpaw", "fine", "--date", "yesterday")[1]
    out = begun("batch", "reading", "fridge", "11", "--from", "2027-01-04", "--to", "2027-01-10")[1]
    assert "fridge: 7 readings recorded" in out and "2027-01-04 to 2027-01-10: too warm" in out
    assert begun("batch", "reading", "fridge", "11", "--from", "2027-02-04", "--to", "2027-01-10")[0] == 2


def test_a_known_place_keeps_its_setting(run: Run) -> None:
    run("batch", "start", "pawpaw", "--place", "cool box", "--set", "2", today="2026-07-01")
    run("batch", "start", "American ginseng", "--place", "shelf", "--set", "20", today="2026-08-01")
    assert "in cool box at 2 °C" in run("batch", "next", "B2", "--place", "cool box", today="2026-11-16")[1]
    assert "in cool box at 2 °C" in run("batch", "start", "redbud", "--place", "cool box")[1]


def test_the_data_folder_holds_the_journal(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CHILLPLAN_JOURNAL")
    monkeypatch.setenv("CHILLPLAN_DATA", str(tmp_path / "kept"))
    assert run("batch", "start", "pawpaw")[0] == 0
    assert (tmp_path / "kept" / "journal.db").is_file()


def test_a_fahrenheit_reading_typed_without_its_unit_is_asked_about(begun: Run) -> None:
    assert "if the thermometer shows °F" in begun("batch", "reading", "B1", "40")[1]
    assert "°F" not in begun("batch", "reading", "B1", "40", "--unit", "F")[1]


def test_a_fridge_too_warm_from_the_first_day_promises_no_finish(run: Run) -> None:
    run("batch", "start", "pawpaw", "--set", "20")
    assert "finish not in sight" in run("batch", "list")[1]


def test_a_phase_ended_early_is_told(begun: Run) -> None:
    out = begun("batch", "next", "B1", today="2026-12-04")[1]
    assert "Its cold phase has 3 of 56 to 120 days" in out and "batch undo" in out
    begun("batch", "undo", today="2026-12-04")
    assert "Its cold phase has" not in begun("batch", "next", "B1", today="2027-03-20")[1]


def test_a_finished_batch_kept_warm_says_what_is_ready_now(run: Run) -> None:
    run("batch", "start", "Cornus florida", "--seeds", "100", today="2026-09-01")
    run("batch", "next", "B1", "--place", "windowsill", "--set", "18", today="2027-01-01")
    assert "asleep" not in run("batch", "list", "B1", today="2027-01-01")[1]
    out = run("batch", "list", "B1", today="2027-01-31")[1]
    assert "kept warm since its cold was complete: 21 days of it undone; about " in out
    now, then = (int(part) for part in re.findall(r"(\d+)%", out.split("about ")[1])[:2])
    assert 20 < now < then <= 100
    assert "fallen asleep again: sow it now, or give it 21 more days of cold" in out
    assert json.loads(run("batch", "list", "--format", "json", today="2027-01-31")[1])


def test_the_journal_answers_without_the_heavy_libraries(tmp_path: Path) -> None:
    """A look at the box must not wait for numpy, pandas or the compiler."""
    code = (
        "import sys\nfrom chillplan.cli import app\n"
        "for words in ('batch start pawpaw --seeds 9', 'due', 'batch check all mould', 'batch list B1'):\n"
        "    app(words.split(), standalone_mode=False)\n"
        "sys.exit(len({'numpy', 'pandas', 'numba', 'scipy', 'jinja2'} & set(sys.modules)))"
    )
    journal = {**os.environ, "CHILLPLAN_JOURNAL": str(tmp_path / "journal.db")}
    assert subprocess.run([sys.executable, "-c", code], check=False, env=journal, cwd=tmp_path).returncode == 0
