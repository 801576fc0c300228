"""Lots between the phone and the lots file: each once, whoever changed it, and nothing else in the file touched."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from chillplan.cli.lots_back import LotsFile
from chillplan.data_files import data_path
from tests.cli.command import chillplan
from tests.web.hand import PHONE, Hand, hand, needs_browser

DAY = ("--today", "2026-11-28")
SITE = 'name = "Hill"\nlatitude = 44.0\nlongitude = -72.0\n[grower]\nrecords = ["record.csv"]\n'
LOTS = "Name;Amount;way;remarks\ngolden Alexanders;50 seeds;outdoors;from Anne, at the gate\nwild bergamot;2 oz;;dear\n"
ROWS = "return [...document.querySelectorAll('#page > .rows > li')].map((one) => one.textContent)"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CHILLPLAN_JOURNAL", str(tmp_path / "journal.db"))
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "lots.csv").write_text(LOTS, encoding="utf-8")
    (tmp_path / "record.csv").symlink_to(data_path("demo_weather.csv"))
    return tmp_path


def lots_in(home: Path) -> list[dict[str, str]]:
    text = (home / "lots.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines(), delimiter=";"))


def sent(opened: Hand) -> dict[str, Any]:
    """The file that the page would save."""
    script = (
        "const facts = JSON.parse(document.getElementById('facts').textContent);"
        "return chillplan.fileOf(facts, arguments[0])"
    )
    content: dict[str, Any] = json.loads(str(opened.js(script, opened.entries())))
    return content


def taken(home: Path, content: dict[str, Any]) -> str:
    """What `batch import` says of a file of the page."""
    (home / "back.json").write_text(json.dumps(content), encoding="utf-8")
    found = chillplan("batch", "import", "back.json", *DAY)
    assert found.code == 0, found.err
    return found.out


def lot(species: str, **cells: str) -> dict[str, str]:
    columns = ("lot", "picked", "where", "amount", "viability", "place")
    return {**dict.fromkeys(columns, ""), "species": species, "state": "cleaned and dried", "way": "undecided", **cells}


def lot_entry(name: str, hour: int, cells: dict[str, str], **more: Any) -> dict[str, Any]:
    return {"id": name, "at": f"2026-11-28T{hour:02d}:00:00.000", "kind": "lot", "lot": cells, **more}


def page_of(*entries: dict[str, Any], site: str = "Hill") -> dict[str, Any]:
    return {"kind": "chillplan page", "format": 1, "site": site, "season": 2026, "entries": list(entries)}


@needs_browser
def test_a_lot_stands_once_on_the_page_that_is_written_anew(home: Path) -> None:
    """In the same browser, which still holds its entries; then changed there, and taken back after the way home."""
    page, profile = home / "hill.html", home / "browser"
    assert chillplan("page", "--out", "hill.html", *DAY).code == 0
    with hand(page, PHONE, DAY[1], profile) as opened:
        opened.tap("My seed")
        opened.tap("Add seed")
        opened.tap("golden Alexanders", ".form")
        opened.tap("200", ".form")
        opened.tap("Keep this lot")
        opened.kept(1)
        taken(home, sent(opened))
    assert [row["Amount"] for row in lots_in(home)] == ["50 seeds", "2 oz", "200 seeds"]
    assert chillplan("page", "--out", "hill.html", *DAY).code == 0
    with hand(page, PHONE, DAY[1], profile) as opened:
        opened.tap("My seed")
        rows = opened.js(ROWS)
        assert len(rows) == 3 and sum("200 seeds" in row for row in rows) == 1
        opened.tap("Change: golden Alexanders", number=1)
        opened.tap("500", ".form")
        opened.tap("Keep this lot")
        opened.kept(2)
        opened.wait("document.querySelector('#page > .rows').textContent.includes('500 seeds')")
        taken(home, sent(opened))
        opened.tap("More")
        opened.tap("Last entries")
        opened.tap("Take back: Lot kept golden Alexanders")
        opened.kept(3)
        later = sent(opened)
    assert chillplan("page", "--out", "hill.html", *DAY).code == 0
    with hand(page, PHONE, DAY[1], profile) as opened:
        opened.tap("My seed")
        rows = opened.js(ROWS)
        assert len(rows) == 3 and sum("200 seeds" in row for row in rows) == 1, "taken back before the laptop knows"
    assert [row["Amount"] for row in lots_in(home)] == ["50 seeds", "2 oz", "500 seeds"]
    taken(home, later)
    assert [row["Amount"] for row in lots_in(home)] == ["50 seeds", "2 oz", "200 seeds"]
    assert [row["remarks"] for row in lots_in(home)] == ["from Anne, at the gate", "dear", ""]


@needs_browser
def test_what_was_weighed_stays_weighed_when_its_way_is_changed(home: Path) -> None:
    assert chillplan("page", "--out", "hill.html", *DAY).code == 0
    with hand(home / "hill.html", PHONE, DAY[1]) as opened:
        opened.tap("My seed")
        opened.tap("Change: wild bergamot")
        opened.tap("Outdoors", ".form")
        opened.tap("Keep this lot")
        (kept,) = opened.kept(1)
        assert (kept["lot"]["amount"], kept["lot"]["picked"]) == ("56.699 g", "")
        taken(home, sent(opened))
    assert lots_in(home)[1] == {"Name": "wild bergamot", "Amount": "2 oz", "way": "outdoors", "remarks": "dear"}


def test_two_phones_that_change_one_lot_keep_both_and_say_so(home: Path) -> None:
    was = lot("Zizia aurea", amount="50 seeds", way="outdoors")
    first = lot_entry("a", 9, {**was, "amount": "80 seeds"}, of="plan 0", was=was)
    second = lot_entry("b", 10, {**was, "amount": "90 seeds"}, of="plan 0", was=was)
    assert "both lots are kept" not in taken(home, page_of(first))
    assert "both lots are kept" in taken(home, page_of(second))
    assert [row["Amount"] for row in lots_in(home)] == ["80 seeds", "2 oz", "90 seeds"]


def test_two_lots_that_read_the_same_are_two(home: Path) -> None:
    bags = [lot_entry(name, 9, lot("Zizia aurea", amount="100 seeds")) for name in "ab"]
    for _ in range(2):
        taken(home, page_of(*bags))
    assert [row["Amount"] for row in lots_in(home)] == ["50 seeds", "2 oz", "100 seeds", "100 seeds"]


@pytest.mark.parametrize("moment", ["_stage", "replace"])
def test_a_crash_between_the_lots_file_and_the_journal_costs_and_doubles_no_lot(
    home: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    """Killed with the new file written and the journal not, and with the journal written and the file not in place."""
    bag = lot_entry("a", 9, lot("Zizia aurea", amount="100 seeds"))
    changed = lot_entry("b", 10, lot("Zizia aurea", amount="90 seeds"), of="a", was=bag["lot"])
    (home / "back.json").write_text(json.dumps(page_of(bag, changed)), encoding="utf-8")
    owner: Any = LotsFile if moment == "_stage" else Path
    whole = getattr(owner, moment)

    def killed(*words: Any) -> None:
        if moment == "_stage":
            whole(*words)
        raise KeyboardInterrupt

    monkeypatch.setattr(owner, moment, killed)
    assert chillplan("batch", "import", "back.json", *DAY).code == 130
    monkeypatch.setattr(owner, moment, whole)
    assert f"{1 if moment == 'replace' else 0} known" in taken(home, page_of(bag, changed))
    assert "2 known" in taken(home, page_of(bag, changed))
    assert [row["Amount"] for row in lots_in(home)] == ["50 seeds", "2 oz", "90 seeds"]
    assert not list(home.glob(".lots.csv*"))


def test_a_lot_of_another_site_stays_in_the_file(home: Path) -> None:
    (home / "back.json").write_text(json.dumps(page_of(lot_entry("a", 9, lot("Zizia aurea")), site="Bank")))
    found = chillplan("batch", "import", "back.json", *DAY)
    assert found.code == 2
    assert "not taken" in found.err and "of 'Bank'" in found.err and "in the folder of its site" in found.err
    assert len(lots_in(home)) == 2
    (home / "site.toml").write_text(SITE.replace("Hill", "Bank"), encoding="utf-8")
    assert "1 entry taken" in chillplan("batch", "import", "back.json", *DAY).out


def test_a_lots_file_that_cannot_be_read_costs_no_lot(home: Path) -> None:
    (home / "lots.csv").write_bytes(b"species\n\xff\xfe")
    (home / "back.json").write_text(json.dumps(page_of(lot_entry("a", 9, lot("Zizia aurea")))))
    found = chillplan("batch", "import", "back.json", *DAY)
    assert found.code == 2 and "cannot be read" in found.err and "0 entries taken" in found.out
    (home / "lots.csv").write_text("golden Alexanders,old\n", encoding="utf-8-sig")
    assert "1 entry taken" in chillplan("batch", "import", "back.json", *DAY).out
    rows = (home / "lots.csv").read_text(encoding="utf-8-sig").splitlines()
    assert rows[0].split(",")[:2] == ["species", "note 1"] and rows[1].startswith("golden Alexanders,old")
    assert rows[2].startswith("Zizia aurea") and len(rows) == 3


STANDING = """
const facts = JSON.parse(document.getElementById("facts").textContent);
Object.assign(facts, arguments[0]);
return [...chillplan.standing(facts, arguments[1]).lots.values()].map((one) => one.amount);
"""


@needs_browser
def test_lots_find_each_other_by_what_they_say(home: Path) -> None:
    assert chillplan("page", "--out", "hill.html", *DAY).code == 0
    one, two = lot("Zizia aurea", amount="1 seeds"), lot("Zizia aurea", amount="2 seeds")
    changed = lot_entry("a", 9, {**two, "amount": "3 seeds"}, of="plan 0", was=two)
    with hand(home / "hill.html", PHONE, DAY[1]) as opened:

        def stand(lots: list[dict[str, str]], own: list[dict[str, Any]], **facts: Any) -> Any:
            return opened.js(STANDING, {"lots": lots, "entries": [], "filed": True, **facts}, own)

        assert stand([one, two], [changed]) == ["1 seeds", "3 seeds"], "an older page counted the rows otherwise"
        assert stand([one], [changed]) == ["1 seeds", "3 seeds"], "nothing is written over that reads otherwise"
        added = lot_entry("b", 9, two)
        assert stand([two], [added], entries=[{**added, "filed": True}]) == ["2 seeds"]
        assert stand([], [added], entries=[{**added, "filed": True}]) == [], "removed on the laptop since"
        assert stand([], [added], entries=[{**added, "filed": False}]) == ["2 seeds"], "in no lots file yet"
        assert stand([], [added], entries=[{**added, "filed": True}], filed=False) == ["2 seeds"]
        undo = {"id": "u", "at": "2026-11-28T11:00:00.000", "kind": "undo", "of": "b"}
        assert stand([two, two], [added, undo], entries=[{**added, "filed": True}]) == ["2 seeds"]
        both = [{**added, "filed": True}, undo]
        assert stand([two], [added, undo], entries=both) == ["2 seeds"], "taken back before it came: never in the file"


TWO_LOTS = (
    "species,lot,amount,state,way\n"
    "golden Alexanders,meadow,50 seeds,cleaned and dried,cold store\n"
    "golden Alexanders,gate,70 seeds,already stratified 40 days,cold store\n"
)


@needs_browser
def test_lots_of_one_species_go_their_own_ways(home: Path) -> None:
    """Each has its tasks; into the cold it goes with what cold it had, by its own name; the laptop takes it so."""
    (home / "lots.csv").write_text(TWO_LOTS, encoding="utf-8")
    assert chillplan("page", "--out", "hill.html", *DAY).code == 0
    with hand(home / "hill.html", PHONE, DAY[1]) as opened:
        script = (
            "const facts = JSON.parse(document.getElementById('facts').textContent);"
            "const state = chillplan.standing(facts, []);"
            "return chillplan.tasksNow(facts, state).map((task) => [task.species.name, task.key, task.moved])"
        )
        tasks = opened.js(script)
        names = {name for name, *_ in tasks}
        assert names == {"Zizia aurea, meadow", "Zizia aurea, gate"}
        assert not any(moved for *_, moved in tasks), "the plan has counted the cold that was had"
        opened.tap("My seed")
        rows = opened.js(ROWS)
        assert "golden Alexanders · meadow" in rows[0] and "golden Alexanders · gate" in rows[1]
        opened.tap("Change: golden Alexanders", number=1)
        opened.tap("Into the box today")
        opened.wait("document.querySelector('.told').textContent === 'Kept.'")
        begin = next(entry for entry in opened.entries() if entry["kind"] == "begin")
        assert (begin["species"], begin["label"], begin["coldDone"]) == ("Zizia aurea", "gate", 40)
        left = {
            name for name, key, _ in opened.js(script.replace("[]", "arguments[0]"), opened.entries()) if "cold" in key
        }
        assert left == {"Zizia aurea, meadow"}
        opened.tap("The box")
        shown = opened.text(".look")
        assert "golden Alexanders" in shown and "gate" in shown
        needed = opened.js(
            "const facts = JSON.parse(document.getElementById('facts').textContent);"
            "return [...chillplan.standing(facts, arguments[0]).batches.values()][0].phases[0].days",
            opened.entries(),
        )
        taken(home, sent(opened))
    assert chillplan("page", "--out", "hill.html", *DAY).code == 0
    page = (home / "hill.html").read_text(encoding="utf-8")
    (batch,) = json.loads(page.split('id="facts">')[1].split("</script>")[0])["batches"]
    assert (batch["species"], batch["name"], batch["phases"][0]["days"]) == ("Zizia aurea", "gate", needed)
    assert needed[1] < 100, "some of its cold is done"
