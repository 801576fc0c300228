"""A weather source on loopback with the layouts of the real one: yearly gzip CSV a station, stations as SQLite."""

from __future__ import annotations

import gzip
import sqlite3
import threading
import time
from collections import Counter
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pandas as pd

from tests.weather.made_weather import daily_frame

STATIONS = [
    ("10001", "Valley Farm", 44.00, -72.00, 120, "2001-01-01", "2012-12-31"),
    ("10002", "Upper Meadow", 44.05, -72.05, 480, "2001-01-01", "2012-12-31"),
    ("10003", "Far Town", 45.50, -72.00, 130, "2001-01-01", "2012-12-31"),
]


def stations_db(folder: Path) -> bytes:
    """The layout of the source's list of stations."""
    path = folder / "served_stations.db"
    path.unlink(missing_ok=True)
    with sqlite3.connect(path) as base:
        base.execute(
            "CREATE TABLE stations (id TEXT, country TEXT, region TEXT, latitude REAL, longitude REAL, "
            "elevation INTEGER, timezone TEXT)"
        )
        base.execute("CREATE TABLE names (station TEXT, language TEXT, name TEXT)")
        base.execute("CREATE TABLE identifiers (station TEXT, key TEXT, value TEXT)")
        base.execute(
            "CREATE TABLE inventory (station TEXT, provider TEXT, parameter TEXT, start TEXT, end TEXT, "
            "completeness REAL)"
        )
        for identifier, name, latitude, longitude, height, first, last in STATIONS:
            base.execute(
                "INSERT INTO stations VALUES (?, 'US', 'VT', ?, ?, ?, 'America/New_York')",
                (identifier, latitude, longitude, height),
            )
            base.execute("INSERT INTO names VALUES (?, 'en', ?)", (identifier, name))
            for parameter in ("tmin", "tmax"):
                base.execute(
                    "INSERT INTO inventory VALUES (?, 'ghcnd', ?, ?, ?, 98)", (identifier, parameter, first, last)
                )
    base.close()
    return path.read_bytes()


@cache
def year_csv(station: str, year: int, model_days: int = 0) -> str:
    """One year of one station in the source's columns; the first days may come from a model."""
    frame = daily_frame(f"{year}-01-01", f"{year}-12-31", seed=year)
    shift = int(station[-1]) * 0.5
    source = ["metno_forecast" if day < model_days else "ghcnd" for day in range(len(frame))]
    table = pd.DataFrame({"year": frame.date.dt.year, "month": frame.date.dt.month, "day": frame.date.dt.day})
    table["temp"], table["temp_source"] = ((frame.tmin + frame.tmax) / 2).round(1), source
    table["tmin"], table["tmin_source"] = (frame.tmin + shift).round(1), source
    table["tmax"], table["tmax_source"] = (frame.tmax + shift).round(1), source
    table["prcp"], table["prcp_source"] = 1.5, source
    table["snwd"], table["snwd_source"] = 3, "ghcnd"
    return table.to_csv(index=False)


class Source:
    """The server and its moods: what it answers can be changed path by path."""

    def __init__(self, folder: Path) -> None:
        self.asked: Counter[str] = Counter()
        self.moods: dict[str, list[object]] = {}
        self.model_days = 0
        database = stations_db(folder)
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                outer.asked[self.path] += 1
                mood = outer.mood(self.path)
                if isinstance(mood, int):
                    self.send_error(mood)
                    return
                if mood == "slow":
                    time.sleep(3.0)
                body = outer.body(self.path, database)
                if body is None:
                    self.send_error(404)
                    return
                if mood == "cut":
                    body = body[: len(body) // 2]
                if isinstance(mood, bytes):
                    body = mood
                self.send_response(200)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                try:
                    self.wfile.write(body)
                except (BrokenPipeError, ConnectionResetError):
                    return

            def log_message(self, *_: object) -> None:
                return

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.address = f"http://127.0.0.1:{self.server.server_address[1]}"
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
        self.thread.start()

    def mood(self, path: str) -> object:
        """The next mood for a path; the last one stays."""
        for part, moods in self.moods.items():
            if part in path and moods:
                return moods.pop(0) if len(moods) > 1 else moods[0]
        return None

    def body(self, path: str, database: bytes) -> bytes | None:
        """What the real source would answer."""
        if path == "/stations.db":
            return database
        _, kind, year, name = path.split("/")
        station = name.removesuffix(".csv.gz")
        known = {entry[0] for entry in STATIONS}
        if kind != "daily" or station not in known or not 2001 <= int(year) <= 2012:
            return None
        return gzip.compress(year_csv(station, int(year), self.model_days).encode())

    def close(self) -> None:
        """Stop serving."""
        self.server.shutdown()
        self.server.server_close()
