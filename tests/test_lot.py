"""Seed lots and days: what is read, what is refused, and that the form comes back whole."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as some

from chillplan.day_words import read_day
from chillplan.errors import InputError, counted
from chillplan.lot import STATES, STRATIFIED, WAYS, Lot, parse_lots, write_lots

TODAY = date(2026, 11, 28)
WORDS = some.text("abcdefg ,;\"'é", max_size=12).map(lambda text: " ".join(text.split()))


@given(
    some.builds(
        Lot,
        species=WORDS.filter(bool),
        lot=WORDS,
        picked=some.none() | some.dates(date(1990, 1, 1), date(2030, 1, 1)),
        where=WORDS,
        seeds=some.none() | some.integers(1, 10**8),
        state=some.sampled_from([state for state in STATES if state != STRATIFIED]),
        viability=some.none() | some.sampled_from([0.05, 0.5, 1.0]),
        way=some.sampled_from(WAYS),
        place=WORDS,
    )
)
def test_a_lot_comes_back_from_its_form(lot: Lot) -> None:
    assert parse_lots(write_lots([lot]), TODAY) == (lot,)


def test_a_plain_list_of_names_is_dried_seed_of_this_year() -> None:
    assert parse_lots("pawpaw\nblack cohosh\n", TODAY) == (Lot("pawpaw"), Lot("black cohosh"))


def test_a_lot_in_words() -> None:
    text = "Species;Picked;Amount;State;Viability;Way\npawpaw;9/20/2026;2 oz;already stratified 6 weeks;80%;fridge\n"
    (lot,) = parse_lots(text, TODAY, "mdy")
    assert (lot.picked, lot.state, lot.stratified_days) == (date(2026, 9, 20), STRATIFIED, 42.0)
    assert lot.grams == pytest.approx(56.7, abs=0.01)  # two ounces; NIST Handbook 44, appendix C
    assert (lot.viability, lot.way) == (0.8, "cold store")


def test_every_fault_of_every_row_is_named_at_once() -> None:
    text = "species,amount,state,way\npawpaw,many,wet,\nredbud,,fresh,window sill\n"
    with pytest.raises(InputError) as told:
        parse_lots(text, TODAY, what="lots.csv")
    assert [problem[:34] for problem in told.value.problems] == [
        "lots.csv, row 2: amount 'many' is ",
        "lots.csv, row 2: state 'wet' is no",
        "lots.csv, row 3: state 'fresh' is ",
        "lots.csv, row 3: way 'window sill'",
    ]


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("yesterday", "", date(2026, 11, 27)),
        ("3 days ago", "", date(2026, 11, 25)),
        ("10/28", "mdy", date(2026, 10, 28)),
        ("28.10.", "", date(2026, 10, 28)),
        ("3/11", "dmy", date(2026, 11, 3)),
        ("3/12", "mdy", date(2026, 3, 12)),
        ("12/3", "mdy", date(2025, 12, 3)),
        ("Oct 28, 2025", "", date(2025, 10, 28)),
        ("28 October", "", date(2026, 10, 28)),
        ("2026-7-9", "", date(2026, 7, 9)),
    ],
)
def test_days_as_a_grower_writes_them(text: str, order: str, day: date) -> None:
    assert read_day(text, TODAY, order) == day


@pytest.mark.parametrize(
    ("text", "told"), [("10/11", "could be two days"), ("31 Feb", "is not a date"), ("x", "not a")]
)
def test_what_is_no_day_is_refused(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_day(text, TODAY)


def test_a_noun_is_plural_but_for_one() -> None:
    assert [counted(number, "day") for number in (0, 1, 1.4, 2, 12.6)] == [
        "0 days",
        "1 day",
        "1 day",
        "2 days",
        "13 days",
    ]
