"""Site files: what is read, and what is refused all at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from chillplan.errors import InputError
from chillplan.site import read_site


def test_a_site_with_a_tie(tmp_path: Path) -> None:
    path = tmp_path / "hillside.toml"
    path.write_text(
        'name = "hill"\nlatitude = 44\nlongitude = -72.0\nterrain = "crest"\n[tie]\ntmin_mean = -1.5\ntmax_mean = 0\n'
    )
    site = read_site(path)
    assert site.terrain == "crest"
    assert site.tie == {"tmin_mean": -1.5, "tmax_mean": 0}


@pytest.mark.parametrize("value", ['"cold"', "true", "nan", "[1]", "{a = 1}"])
@pytest.mark.parametrize("table", ["tie", "calibration"])
def test_a_table_of_numbers_holds_numbers(tmp_path: Path, table: str, value: str) -> None:
    path = tmp_path / "hillside.toml"
    path.write_text(f"latitude = 44\nlongitude = 200\n[{table}]\nname = {value}\n")
    with pytest.raises(InputError, match=rf"'name' under \[{table}\] in .* write a number"):
        read_site(path)
