"""Fixtures of all tests."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.weather.source_server import Source

if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:  # a run in the background; what it begins is to heed Ctrl-C
    signal.signal(signal.SIGINT, signal.default_int_handler)

# A machine that is busy is no fault of what is tested.
settings.register_profile("house", parent=settings(), deadline=None)
settings.load_profile("house")


@pytest.fixture(scope="session")
def observations() -> Path:
    """Folder of observed records; the test is skipped where it is not at hand."""
    folder = os.environ.get("CHILLPLAN_OBSERVATIONS", "")
    if not folder or not Path(folder).is_dir():
        pytest.skip("CHILLPLAN_OBSERVATIONS is unset: the observed records are not at hand")
    return Path(folder)


@pytest.fixture(autouse=True)
def own_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test touches the user's own store of weather."""
    folder = tmp_path / "store"
    monkeypatch.setenv("CHILLPLAN_DATA", str(folder))
    return folder


@pytest.fixture
def source(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Source]:
    """A weather source on loopback, reached through the settings of the library that fetches."""
    import meteostat

    from chillplan.weather import fetch_meteostat

    served = Source(tmp_path)
    config = meteostat.config
    monkeypatch.setattr(config, "daily_endpoint", served.address + "/daily/{year}/{station}.csv.gz")
    monkeypatch.setattr(config, "stations_db_endpoints", [served.address + "/stations.db"])
    monkeypatch.setattr(config, "network_timeout", 1)
    monkeypatch.setattr(config, "network_max_retries", 0)
    monkeypatch.setattr(fetch_meteostat, "_PAUSE_S", 0.0)
    yield served
    served.close()
