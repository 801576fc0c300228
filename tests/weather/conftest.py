"""Records for the tests of the weather room."""

from __future__ import annotations

import pandas as pd
import pytest

from tests.weather.made_weather import daily_frame


@pytest.fixture
def frame() -> pd.DataFrame:
    return daily_frame()
