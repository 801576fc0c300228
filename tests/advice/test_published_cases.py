"""Verdicts against species and places of which a publication says what autumn sowing does.

Sources stand beside each case in ``examples/published_cases/cases.csv``; misses are shown in the README there.
"""

from __future__ import annotations

import importlib.util
import random
import sys
from collections import Counter
from pathlib import Path
from types import ModuleType

import pytest

from tests.records import observations

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "published_cases"


@pytest.fixture(scope="module")
def compare() -> ModuleType:
    spec = importlib.util.spec_from_file_location("published_cases", FOLDER / "compare.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules["published_cases"] = module
    spec.loader.exec_module(module)
    return module


def test_every_case_has_a_source_and_a_window(compare: ModuleType) -> None:
    cases = compare.read_cases()
    assert len(cases) >= 84
    assert sum(case["expected"] != compare.WORKS for case in cases) >= 25
    for case in cases:
        assert case["source"], case["species"]
        assert case["source_url"].startswith("http"), case["species"]
        assert case["says"], case["species"]
        assert case["expected"] in {compare.WORKS, compare.SHORT, compare.SECOND}
        assert case["sow_from"] != case["sow_to"]


def test_half_of_the_cases_were_drawn_and_set_aside(compare: ModuleType) -> None:
    cases = compare.read_cases()
    drawn = set(random.Random(20261128).sample(range(len(cases)), len(cases) // 2))
    assert drawn == {number for number, case in enumerate(cases) if case["set_aside"] == "yes"}


def test_the_page_shows_every_case(compare: ModuleType) -> None:
    page = (FOLDER / "README.md").read_text(encoding="utf-8")
    for case in compare.read_cases():
        assert page.count(f"| {case['species']} | {case['place']} |") >= 1, (case["species"], case["place"])


def test_most_cases_agree_and_no_single_answer_would_do(compare: ModuleType) -> None:
    found = list(compare.outcomes(observations(), compare.read_cases()))
    agreed = Counter(each.case["expected"] for each in found if each.agrees)
    asked = Counter(each.case["expected"] for each in found)
    assert sum(agreed.values()) >= 0.6 * len(found), [each.case["species"] for each in found if not each.agrees]
    assert agreed[compare.WORKS] >= 0.6 * asked[compare.WORKS]
    assert agreed[compare.SHORT] >= 0.75 * asked[compare.SHORT], "most warm winters must be found short"
    assert agreed[compare.SECOND] >= 0.6 * asked[compare.SECOND]
