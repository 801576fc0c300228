"""Colours can be told apart and read: contrast by the formula of WCAG 2.2, success criteria 1.4.3 and 1.4.11."""

from __future__ import annotations

import re
from importlib.resources import files
from itertools import combinations

import pytest

from chillplan.report.look import FATE_LOOKS, Colour, safe_text

STYLE = (files("chillplan.report") / "page.css").read_text(encoding="utf-8")
NAMED = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", STYLE))
# Okabe and Ito (2008), Color Universal Design, the eight colours as hexadecimal figures.
PUBLISHED = {"#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7"}


def luminance(colour: str) -> float:
    parts = [int(colour[n : n + 2], 16) / 255.0 for n in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, two: str) -> float:
    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_has_the_contrast_the_standard_says() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("name", ["ink", "quiet", "leaf", "link", "warn"])
@pytest.mark.parametrize("ground", ["paper", "card"])
def test_text_stands_out_from_its_ground(name: str, ground: str) -> None:
    assert contrast(NAMED[name], NAMED[ground]) >= 4.5


def test_cautions_and_names_of_outcomes_can_be_read() -> None:
    assert contrast(NAMED["warn"], "#fff7ef") >= 4.5
    for look in FATE_LOOKS.values():
        assert contrast(look.ink, look.colour) >= 4.5


def test_colours_are_the_published_ones() -> None:
    assert {value for name, value in vars(Colour).items() if name.isupper()} == PUBLISHED


def test_no_outcome_is_told_by_colour_alone() -> None:
    patterns = [look.pattern for look in FATE_LOOKS.values()]
    assert len(set(patterns)) == len(patterns)
    for one, two in combinations(FATE_LOOKS.values(), 2):
        assert one.css != two.css and f".{one.css} {{" in STYLE


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("a <b>bold</b> name", "\u2068a &lt;b&gt;bold&lt;/b&gt; name\u2069"),
        ("line\nbreak", "\u2068line break\u2069"),
        ("x" * 60, "\u2068" + "x" * 47 + "…\u2069"),
    ],
)
def test_names_in_charts_are_safe_and_short(name: str, shown: str) -> None:
    assert safe_text(name) == shown
