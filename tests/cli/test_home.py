"""From an empty folder to a kept plan and through it, without options."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.cli.home import read_grower
from chillplan.cli.kept_plan import kept_tasks
from chillplan.errors import InputError
from chillplan.lot import Lot, parse_lots
from chillplan.seasons.cut import cut_seasons
from chillplan.seeds.catalogue import find_species
from chillplan.site import Site
from tests.cli.command import chillplan
from tests.records import wave_weather


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CHILLPLAN_DATA", str(tmp_path / "data"))
    monkeypatch.delenv("CHILLPLAN_JOURNAL", raising=False)
    wave_weather().round(1).to_csv(tmp_path / "record.csv", index_label="date")
    (tmp_path / "seeds.csv").write_text(
        "species,amount,way\npawpaw,60 seeds,fridge\nserviceberry thing,,\nwild bergamot,,outdoors\n"
    )
    return tmp_path


def test_from_an_empty_folder_to_a_kept_plan_and_its_tasks(folder: Path) -> None:
    place = ("--latitude", "42.4", "--longitude", "-76.2", "--elevation", "300", "--weather", "record.csv")
    first = chillplan("plan", *place, "--list", "seeds.csv", "--keep", "--today", "2026-09-01", "--weekdays", "sat,sun")
    assert first.code == 0, first.err
    assert "left out: species 'serviceberry thing'" in first.err
    assert (folder / "site.toml").is_file() and "kept: " in first.err
    lots = parse_lots((folder / "lots.csv").read_text(), date(2026, 9, 1))
    assert lots[0] == Lot("Asimina triloba", seeds=60, state="fresh on the plant", way="cold store")
    again = chillplan("plan", "--keep", "--today", "2026-09-01")
    assert again.code == 0, again.err
    assert again.out == first.out

    due = chillplan("due", "--today", "2026-09-01", "--days", "366").out
    assert "2026-asimina-triloba-fridge" in due and "asimina-triloba-bed" not in due  # the way chosen, and no other
    cold = next(line for line in due.splitlines() if "pawpaw" in line and "refrigerator" in line).split()
    done = chillplan("done", cold[1], "--date", cold[0], "--today", cold[0])
    assert done.code == 0, done.err
    assert "B1 (2026-asimina-triloba-fridge) in fridge has begun" in done.out
    assert chillplan("batch", "check", "2026-asimina-triloba-fridge", "fine", "--today", cold[0]).code == 0
    assert chillplan("plan", "--keep", "--today", cold[0]).code == 0
    assert cold[1] not in chillplan("due", "--today", cold[0], "--days", "366").out.split()


def test_a_record_is_read_again_as_it_was_when_the_plan_was_kept(folder: Path) -> None:
    weather = wave_weather()
    warm = weather[["tmin", "tmax"]] * 1.8 + 68.0
    both = pd.concat([(weather[["tmin", "tmax"]] * 1.8 + 32.0).assign(station="low"), warm.assign(station="high")])
    both.round(1).to_csv(folder / "record.csv", index_label="date")
    asked = ("--species", "wild bergamot", "--today", "2026-09-01")
    record = (
        "--weather",
        "record.csv",
        "--weather-units",
        "fahrenheit",
        "--station",
        "low",
        "--station-elevation",
        "310",
    )
    first = chillplan(
        "plan", "--latitude", "42.4", "--longitude", "-76.2", "--elevation", "300", *record, *asked, "--keep"
    )
    assert first.code == 0, first.err
    assert "station low" in " ".join(first.out.split()) and "-10 m" in first.out
    again = chillplan("plan", "--today", "2026-09-01")
    assert (again.code, again.out) == (0, first.out), again.err


def test_a_key_that_belongs_to_the_grower_is_sent_there(folder: Path) -> None:
    (folder / "site.toml").write_text('latitude = 42.4\nlongitude = -76.2\nstation = "low"\n')
    refused = chillplan("plan")
    assert refused.code == 2 and "station" in refused.err and "under [grower]" in refused.err


def test_what_the_grower_says_is_checked_at_once(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text(
        'latitude = 42\nlongitude = -76\n[grower]\nrecord = "x"\nunits = 3\npeople = "two"\nrecords = "a"\n'
        "between_cells = 1\n"
    )
    with pytest.raises(InputError) as told:
        read_grower(path)
    assert [problem.split(" under")[0] for problem in told.value.problems] == [
        "'record'",
        "units",
        "people",
        "between_cells",
        "records",
    ]


def test_what_is_typed_wins_over_the_site_file_even_at_its_usual_value(folder: Path) -> None:
    (folder / "site.toml").write_text(
        "latitude = 42.4\nlongitude = -76.2\nelevation = 300\n"
        '[grower]\nrecords = ["record.csv"]\nunits = "us"\nweekdays = "sat,sun"\ntravel = 20\npeople = 2\n'
    )
    plan = ("plan", "--species", "wild bergamot", "--today", "2026-09-01")
    told, typed = chillplan(*plan).out, chillplan(*plan, "--units", "metric").out
    assert "984 ft" in told and "300 m" in typed
    far = chillplan("visits", *plan[1:])
    near = chillplan("visits", *plan[1:], "--travel", "2", "--people", "1")
    assert "season 2026/27: No visit" in far.out and "too little daylight" in far.out
    assert near.code == 0 and "1 visit" in near.out


def test_winter_and_season_speak_in_the_units_of_the_site_file(folder: Path) -> None:
    (folder / "site.toml").write_text(
        'name = "Hill"\nlatitude = 42.4\nlongitude = -76.2\nelevation = 300\n'
        '[grower]\nrecords = ["record.csv"]\nunits = "us"\ndates = "mdy"\n'
    )
    assert "32 °F to 50 °F" in chillplan("winter", "--today", "2012-12-01").out
    assert "0 °C to 10 °C" in chillplan("winter", "--today", "2012-12-01", "--units", "metric").out
    told = chillplan("season", "--species", "bloodroot", "--today", "2012-12-01", "--sown", "2012-10-20")
    assert told.code == 0, told.err
    assert "sown Oct 20, 2012" in told.out and "°C" not in told.out


def test_two_lots_of_a_species_are_planned_labelled_and_done_apart(folder: Path) -> None:
    (folder / "lots.csv").write_text(
        "species,lot,picked,amount,state,way,place\n"
        "American plum,creek,2026-08-25,200 seeds,fresh moist,outdoors,upper terrace\n"
        "American plum,box,2026-08-01,50 seeds,already stratified 40 days,cold store,\n"
    )
    place = ("--latitude", "42.4", "--longitude", "-76.2", "--elevation", "300", "--weather", "record.csv")
    made = chillplan("plan", *place, "--list", "lots.csv", "--keep", "--today", "2027-01-10", "--format", "json")
    assert made.code == 0, made.err
    told = json.loads(made.out)["species"]
    assert [one["common_name"] for one in told] == ["American plum, creek", "American plum, box"]
    due = chillplan("due", "--today", "2027-01-10", "--days", "366").out
    assert "2026-prunus-americana-box-fridge" in due and "upper terrace" in due
    doubtful = chillplan("done", "American plum", "--today", "2027-01-10")
    assert doubtful.code == 2 and "creek: " in doubtful.err and "box: " in doubtful.err
    done = chillplan("done", "American plum, box", "--today", "2027-01-10")
    assert "B1 (2026-prunus-americana-box-fridge) in fridge has begun" in done.out, done.err
    batch = chillplan("batch", "list", "B1", "--today", "2027-01-10", "--format", "json")
    plum = find_species(built_in_catalogue(), "American plum").recipe.phases[-1].days
    steps = json.loads(batch.out)
    assert str(plum[1] - 40.0).rstrip("0").rstrip(".") in json.dumps(steps)


def test_what_a_task_begins_knows_where_the_seed_goes_and_how_much_it_is(folder: Path) -> None:
    (folder / "lots.csv").write_text(
        "species,amount,way,place\nwild bergamot,2 g,outdoors,meadow\nAmerican plum,50 seeds,cold store,hedge\n"
    )
    place = ("--latitude", "42.4", "--longitude", "-76.2", "--elevation", "300", "--weather", "record.csv")
    assert chillplan("plan", *place, "--list", "lots.csv", "--keep", "--today", "2026-10-20").code == 0
    sown = chillplan("done", "wild bergamot", "--today", "2026-11-20")
    seeds = round(2 * (find_species(built_in_catalogue(), "wild bergamot").seeds_per_gram or 0))
    assert f"{seeds} seeds sown" in sown.out, sown.err
    for _ in ("soaked", "in the cold"):
        assert chillplan("done", "American plum", "--today", "2026-11-20").code == 0
    batch = chillplan("batch", "list", "B1", "--today", "2026-11-20").out
    assert "note: hedge" in batch
    listed = chillplan("batch", "export").out
    assert '"note": "2 g; meadow"' in listed


def test_the_season_speaks_of_the_lots_of_the_site(folder: Path) -> None:
    """Each lot sown by its name, state and place; before anything is sown as if it were, the cold store's left out."""
    (folder / "lots.csv").write_text(
        "species,lot,picked,amount,state,way,place\n"
        "American hornbeam,creek,2011-09-10,200 seeds,fresh moist,outdoors,upper terrace\n"
        "American hornbeam,shop,,80 seeds,,outdoors,hedge\n"
        "American plum,,,50 seeds,already stratified 40 days,outdoors,orchard\n"
        "pawpaw,,,50 seeds,fresh moist,cold store,orchard\n"
    )
    place = ("--latitude", "42.4", "--longitude", "-76.2", "--elevation", "300", "--weather", "record.csv")
    assert chillplan("plan", *place, "--list", "lots.csv", "--keep", "--today", "2011-09-12").code == 0
    before = chillplan("season", "--today", "2011-12-01", "--format", "json")
    assert before.code == 0, before.err
    assert "the journal holds no sowing: the lots of lots.csv are followed as if sown on 2011-11-01" in before.err
    assert [one["name"] for one in json.loads(before.out)["sowings"]] == [
        "Carpinus caroliniana, creek",
        "Carpinus caroliniana, shop",
        "Prunus americana",
    ]
    for lot in ("American hornbeam, creek", "American hornbeam, shop", "American plum"):
        done = chillplan("done", lot, "--today", "2011-11-20")
        while " seeds sown" not in done.out:
            assert done.code == 0, done.err
            done = chillplan("done", lot, "--today", "2011-11-20")
    told = chillplan("season", "--today", "2011-12-01")
    said = " ".join(told.out.split())
    creek, shop, plum = (part for part in said.split("sown 20 Nov 2011: ")[1:])
    assert "(S1 Carpinus caroliniana, creek; 200 seeds, upper terrace), sown 20 Nov 2011" in said
    assert "(S2 Carpinus caroliniana, shop; 80 seeds, hedge), sown" in said
    assert "warm" not in creek.split("today:")[0]
    assert "warm moist" in shop.split("today:")[0], shop
    days = find_species(built_in_catalogue(), "American plum").recipe.phases[0].days
    assert f"cold moist, {days[0] - 40:g} to {days[1] - 40:g} days" in plum.split("today:")[0], plum
    assert (
        len(
            json.loads(chillplan("season", "--sown", "2010-10-20", "--today", "2011-12-01", "--format", "json").out)[
                "sowings"
            ]
        )
        == 3
    )


def test_a_plain_list_says_which_seed_it_takes_for_moist(folder: Path) -> None:
    """By the names that the plan's table uses, each once, in the order of the list."""
    (folder / "names.csv").write_text("pawpaw\nwild bergamot\nQuercus macrocarpa\nbur oak\ngolden Alexanders\n")
    place = ("--latitude", "42.4", "--longitude", "-76.2", "--elevation", "300", "--weather", "record.csv")
    told = chillplan("plan", *place, "--list", "names.csv", "--today", "2026-08-01", "--format", "json")
    line = "taken for moist seed, since it dies when it dries: pawpaw, bur oak; if yours has been dried, do not sow it"
    assert f"chillplan: {line}\n" in told.err, told.err
    states = {one["common_name"].split(", ")[0]: one["lot"]["state"] for one in json.loads(told.out)["species"]}
    assert states["bur oak"] == "fresh on the plant" and states["golden Alexanders"] == "cleaned and dried"
    (folder / "names.csv").write_text("species,state\nbur oak,fresh moist\n")
    assert "taken for moist" not in chillplan("plan", *place, "--list", "names.csv", "--today", "2026-10-01").err


def test_of_two_ways_each_task_names_the_batch_of_the_other() -> None:
    plum = next(one for one in built_in_catalogue() if one.common_name == "American plum")
    winters, site = cut_seasons(wave_weather(mean=9.0, swing=13.0), southern=False), Site(42.4, -76.2, elevation=300.0)
    made = make_plan(winters, site, [plum], Request(date(2026, 9, 1), accept=0.5))
    assert made.species[0].verdict == "either"
    both = {task.batch: task.instead_of for task in kept_tasks(made)}
    assert both == {
        "2026-prunus-americana-bed": "2026-prunus-americana-fridge",
        "2026-prunus-americana-fridge": "2026-prunus-americana-bed",
    }
    chosen = replace(made.species[0], chosen=frozenset({"fridge"}))
    decided = replace(made, species=(chosen,), tasks=tuple(task for task in made.tasks if "fridge" in task.key))
    assert {task.instead_of for task in kept_tasks(decided)} == {""}
