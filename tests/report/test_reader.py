"""Units, dates and spelling of a reader (an inch is 25.4 mm, an ounce 28.349523125 g, by definition)."""

from __future__ import annotations

from datetime import date

import pytest

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.report.reader import US, Reader, in_us_units, reader_for
from chillplan.seeds.page import page_of

DAY = date(2027, 3, 5)


@pytest.mark.parametrize(
    ("style", "full", "short"),
    [("iso", "2027-03-05", "03-05"), ("dmy", "5 Mar 2027", "5 Mar"), ("mdy", "Mar 5, 2027", "Mar 5")],
)
def test_a_date_in_each_order(style: str, full: str, short: str) -> None:
    reader = Reader(dates=style)
    assert (reader.day(DAY), reader.short(DAY)) == (full, short)


def test_a_span_says_the_year_once() -> None:
    reader = Reader()
    assert reader.span(DAY, DAY) == "5 Mar 2027"
    assert reader.span(DAY, date(2027, 4, 1)) == "5 Mar to 1 Apr 2027"
    assert reader.span(date(2026, 12, 1), DAY) == "1 Dec 2026 to 5 Mar 2027"
    assert Reader(dates="iso").span(DAY, date(2027, 4, 1)) == "2027-03-05 to 2027-04-01"


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("cold moist, 60 to 90 days, 1 to 5 °C", "cold moist, 60 to 90 days, 34 to 41 °F"),
        ("sow outdoors, 1.3 to 2.5 cm deep", "sow outdoors, 0.5 to 1 in deep"),
        ("mesh of 6 mm", "mesh of 0.24 in"),
        ("hot water, 100 °C", "hot water, 212 °F"),
        ("a frost of -2 °C", "a frost of 28 °F"),
        ("It would turn 2 °C warmer", "It would turn 3.6 °F warmer"),
        ("2 °C colder", "3.6 °F colder"),
        ("over 30 cm² of bench", "over 30 cm² of bench"),
    ],
)
def test_sentences_are_written_in_the_readers_units(metric: str, us: str) -> None:
    """0 °C is 32 °F and 100 °C is 212 °F; an inch is 25.4 mm (both by definition)."""
    assert Reader(US, "iso").words(metric) == us
    assert Reader().words(metric) == metric


def test_dates_in_sentences_follow_the_reader() -> None:
    assert Reader().words("closed on 2026-11-08; lot 2026-99-99") == "closed on 8 Nov 2026; lot 2026-99-99"


def test_months_in_sentences_come_first_where_the_reader_wants_it() -> None:
    assert Reader(dates="mdy").words("sown between 8 November and 1 May") == "sown between November 8 and May 1"
    assert Reader(dates="mdy").words("out on 1 to 3 May") == "out on May 1 to 3"
    assert Reader(dates="dmy").words("sown on 8 November") == "sown on 8 November"


def test_the_date_order_follows_the_units_unless_it_is_given() -> None:
    assert reader_for("us", None).dates == "mdy"
    assert reader_for("metric", None).dates == "dmy"
    assert reader_for("us", "iso").dates == "iso"


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("at 1 to 5 °C measured", "at 34 to 41 °F measured"),
        ("pour water at 100 °C over", "pour water at 212 °F over"),
        ("at -2 °C at the ground", "at 28 °F at the ground"),
        ("Sow 2.5 to 5 cm deep.", "Sow 1 to 2 in deep."),
        ("Cover with 6 mm mesh", "Cover with 0.24 in mesh"),
        ("60 to 150 °C days above 5 °C", "108 to 270 °F days above 41 °F"),
        ("1 °C warmer, 2 °C warmer", "1.8 °F warmer, 3.6 °F warmer"),
        ("About 10 seeds a gram", "About 280 seeds an ounce"),
        ("60 to 90 days of cold", "60 to 90 days of cold"),
        ("Mould in the bag: grey mould; 3 metres off", "Mold in the bag: gray mold; 3 meters off"),
        ("see https://seed.example/grey-mould/centre.html", "see https://seed.example/grey-mould/centre.html"),
        ("120 d at 5C gave 97%", "120 d at 5C gave 97%"),
    ],
)
def test_quantities_turn_and_the_rest_stays(metric: str, us: str) -> None:
    assert in_us_units(metric) == us


def test_no_page_keeps_a_metric_unit_of_ours() -> None:
    for species in built_in_catalogue():
        for section in page_of(species, ()):
            if section.title in {"Sources", "Figures"}:
                continue
            for line in section.lines:
                text = in_us_units(line)
                assert " °C" not in text
                assert " cm" not in text
                assert " mm" not in text


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        # A difference has no zero to move: 1 °C is 1.8 °F of it.
        (
            "moved to the site, tmin by +1.2 °C and tmax by -0.5 °C",
            "moved to the site, tmin by +2.2 °F and tmax by -0.9 °F",
        ),
        (
            "on the ground it is 2 to 4 °C colder than the -2 °C of the air",
            "on the ground it is 3.6 to 7.2 °F colder than the 28 °F of the air",
        ),
        ("a frost of -2 °C or colder; 2 °C colder", "a frost of 28 °F or colder; 3.6 °F colder"),
        ("-5 to -1 °C, then 0 to 10 °C", "23 to 30 °F, then 32 to 50 °F"),
        ("between 1 and 7 °C; 1 to 3 May at 2 °C", "between 34 and 45 °F; May 1 to 3 at 36 °F"),
        ("28 December to 4 January, 1 °C warmer", "December 28 to January 4, 1.8 °F warmer"),
        ("from 2026-12-28 to 2027-01-04, 2 to 3 cm deep", "from Dec 28, 2026 to Jan 4, 2027, 0.8 to 1.2 in deep"),
        ("by 2027-01-04 1 to 5 °C, 60 to 90 days", "by Jan 4, 2027 34 to 41 °F, 60 to 90 days"),
    ],
)
def test_differences_ranges_and_several_quantities_in_a_sentence(metric: str, us: str) -> None:
    assert Reader(US, "mdy").words(metric) == us


def test_feet_are_feet() -> None:
    """A foot is 0.3048 m (international yard and pound agreement of 1959): 1,000 ft are 304.8 m."""
    assert (US.height(304.8), US.height(1609.344), US.height(None)) == ("1000 ft", "5280 ft", "not stated")
    assert Reader().units.height(304.8) == "305 m"
