"""Hourly weather: EPW and CSV become the job's hourly air, all else stays."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from pourwright.errors import InputError
from pourwright.exchange import read_epw, read_weather_csv, with_air
from pourwright.plan import read_job
from pourwright.plan.context import Context

START = date(2027, 8, 9)


def epw(missing: tuple[int, ...] = ()) -> str:
    """An invented year: a sine over the day, 15 degC mean, 5 K up and down, noon at 14 h."""
    head = ["LOCATION,Nowhere,-,XXX,TEST,000000,50.0,5.0,1.0,30.0"] + [
        f"HEAD {k}" for k in range(7)
    ]
    rows = []
    on = datetime(2001, 1, 1)
    k = 0
    while on.year == 2001:
        for hour in range(1, 25):
            t = 15 + 5 * math.cos((hour - 14) / 24 * 2 * math.pi)
            value = 99.9 if k in missing else t
            rows.append(f"2001,{on.month},{on.day},{hour},60,flags,{value:.1f},9.0,55,101000,0")
            k += 1
        on += timedelta(days=1)
    return "\n".join(head + rows) + "\n"


class TestEpw:
    def test_hours_of_the_jobs_days(self) -> None:
        got = read_epw(epw(), START, 3)
        assert len(got.times) == 72
        assert got.times[0] == datetime(2027, 8, 9, 1) and got.times[-1] == datetime(2027, 8, 12, 0)
        at = dict(zip(got.times, got.kelvin, strict=True))
        assert at[datetime(2027, 8, 10, 14)] == pytest.approx(273.15 + 20.0)
        assert at[datetime(2027, 8, 10, 2)] == pytest.approx(273.15 + 10.0)
        assert set(got.humidity) == {0.55}
        assert "Nowhere" in got.about and "outside air" in got.notes[0]

    def test_missing_hours_are_said(self) -> None:
        day = (date(2001, 8, 9) - date(2001, 1, 1)).days
        got = read_epw(epw(tuple(24 * day + k for k in range(3))), START, 2)
        assert len(got.times) == 45 and any("3 hours" in n for n in got.notes)

    def test_leap_day_takes_the_day_before(self) -> None:
        got = read_epw(epw(), date(2028, 2, 28), 3)
        assert len(got.times) == 72

    @pytest.mark.parametrize(
        "text", ["", "x", "LOCATION,a,b\n", epw()[:4000], epw().replace(",60,", ",x,y,")]
    )
    def test_broken_files_are_refused(self, text: str) -> None:
        with pytest.raises(InputError) as err:
            read_epw(text, START, 3)
        assert "\n" not in err.value.line()

    @pytest.mark.parametrize("days", [0, -1, 61])
    def test_too_many_days(self, days: int) -> None:
        with pytest.raises(InputError, match="days"):
            read_epw(epw(), START, days)


class TestCsv:
    def test_hourly_means_without_spikes(self) -> None:
        rows = [
            f"{datetime(2027, 8, 9) + timedelta(minutes=15 * k):%Y-%m-%d %H:%M},{20 + k / 100:.2f},50"
            for k in range(200)
        ]
        rows[60] = rows[60].split(",")[0] + ",45.0,50"
        got = read_weather_csv("\n".join(["time,temp C,rh %", *rows]), START, 2)
        assert all(t.minute == 0 for t in got.times)
        assert max(got.kelvin) < 273.15 + 23
        assert all(h == pytest.approx(0.5) for h in got.humidity if h is not None)

    def test_a_file_of_other_days_is_refused(self) -> None:
        with pytest.raises(InputError, match="nothing from"):
            read_weather_csv("time,temp C\n2026-01-01 00:00,3\n2026-01-01 01:00,3\n", START)


def test_air_goes_into_the_job_and_nothing_else_moves(folder: Path) -> None:
    text = (folder / "cafe_bar.toml").read_text(encoding="utf-8")
    hourly = read_epw(epw(), START, 10)
    made = with_air(text, hourly, START)
    old, new = read_job(text), read_job(made)
    assert new.model_copy(update={"site": old.site}) == old
    assert new.site.model_copy(update={"air": old.site.air}) == old.site
    assert new.site.air.surface_below_air == old.site.air.surface_below_air
    for line in text.splitlines():
        if line.startswith("#"):
            assert line in made
    air = Context(new).air
    for t, k in list(zip(hourly.times, hourly.kelvin, strict=True))[:40]:
        at = (t - datetime(2027, 8, 9)).total_seconds()
        assert float(air.at(at)) == pytest.approx(k, abs=0.06)  # written to a tenth of a degree
    humid = Context(new).humidity_at(np.array([40 * 3600.0]))
    assert float(humid[0]) == pytest.approx(0.55, abs=0.006)
