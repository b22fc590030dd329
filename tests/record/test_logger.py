"""A logger's CSV: columns guessed, ambiguous dates and zones refused, gaps and spikes flagged."""

from __future__ import annotations

import contextlib
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.record.logger import read_logger


def series(n: int, step_min: int = 15) -> list[datetime]:
    return [datetime(2027, 8, 12, 6) + timedelta(minutes=step_min * k) for k in range(n)]


def csv_of(head: str, rows: list[str]) -> str:
    return "\n".join([head, *rows]) + "\n"


class TestColumns:
    def test_semicolons_decimal_commas_two_columns_and_a_preamble(self) -> None:
        rows = [f"{t:%d.%m.%Y};{t:%H:%M};{21 + k / 10:.1f};{48}".replace("21.", "21,")
                for k, t in enumerate(series(30))]  # fmt: skip
        log = read_logger(
            "Serial 12;3\nPlace;bar\n" + csv_of("Date;Time;Temp. (°C);Humidity (%)", rows),
            dates="day first",
        )
        assert len(log.times) == 30 and log.times[0] == datetime(2027, 8, 12, 6)
        assert log.kelvin[0] == pytest.approx(294.15)
        assert log.humidity[0] == pytest.approx(0.48)
        assert "Temp. (°C)" in log.columns

    def test_fahrenheit_by_header_and_by_cell(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},{68 + k}" for k, t in enumerate(series(4))]
        assert read_logger(csv_of("time,temperature [F]", rows)).kelvin[0] == pytest.approx(293.15)
        rows = [f"{t:%Y-%m-%d %H:%M},{68 + k} °F" for k, t in enumerate(series(4))]
        assert read_logger(csv_of("time,temperature", rows)).kelvin[0] == pytest.approx(293.15)

    def test_unit_not_said_and_hot_is_refused(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},{68 + k}" for k, t in enumerate(series(4))]
        with pytest.raises(InputError, match="degC or degF"):
            read_logger(csv_of("time,temperature", rows))

    def test_dew_point_is_not_taken_for_the_air(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},9.0,21.0,46" for t in series(5)]
        log = read_logger(csv_of("time,Dew temp C,Air temp (C),RH", rows))
        assert log.kelvin[0] == pytest.approx(294.15)

    def test_columns_can_be_named(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},20.0,25.0" for t in series(5)]
        log = read_logger(csv_of("when,temp a (C),temp b (C)", rows),
                          columns={"temperature": "temp b (C)"})  # fmt: skip
        assert log.kelvin[0] == pytest.approx(298.15)
        with pytest.raises(InputError, match="headers are"):
            read_logger(csv_of("when,temp", rows), columns={"temperature": "none"})

    def test_am_and_pm(self) -> None:
        log = read_logger("time,temp C\n2027-08-12 12:10 AM,20\n2027-08-12 1:10 PM,21\n")
        assert [t.hour for t in log.times] == [0, 13]


class TestDatesAndZones:
    def test_dates_that_read_two_ways_are_refused(self) -> None:
        text = "time,temp C\n03/04/2027 09:00,20\n03/04/2027 09:15,20\n"
        with pytest.raises(InputError, match="two ways"):
            read_logger(text)
        assert read_logger(text, dates="day first").times[0] == datetime(2027, 4, 3, 9)
        assert read_logger(text, dates="month first").times[0] == datetime(2027, 3, 4, 9)

    def test_a_day_past_twelve_settles_it(self) -> None:
        text = "time,temp C\n12/08/2027 23:55,20\n13/08/2027 00:10,20\n"
        assert read_logger(text).times[1] == datetime(2027, 8, 13, 0, 10)

    @pytest.mark.parametrize("zone", ["Z", "+00:00", " UTC", "+0000"])
    def test_zones_are_refused_unless_the_site_is_told(self, zone: str) -> None:
        text = f"time,temp C\n2027-08-12T09:00:00{zone},20\n2027-08-12T09:15:00{zone},20\n"
        with pytest.raises(InputError, match="time zone"):
            read_logger(text)
        assert read_logger(text, zone="+02:00").times[0] == datetime(2027, 8, 12, 11)

    def test_zone_names_mean_nothing(self) -> None:
        with pytest.raises(InputError):
            read_logger("time,temp C\n2027-08-12 09:00 CEST,20\n2027-08-12 09:15 CEST,20\n",
                        zone="+02:00")  # fmt: skip

    def test_a_clock_that_runs_back_is_refused(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},20" for t in series(6)]
        rows[4] = "2027-08-12 06:20,20"
        with pytest.raises(InputError, match="backwards"):
            read_logger(csv_of("time,temp C", rows))

    def test_newest_first_is_turned_round_and_doubles_are_dropped(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},20" for t in series(6)][::-1]
        log = read_logger(csv_of("time,temp C", [*rows, rows[-1]]))
        assert list(log.times) == series(6)
        assert "twice" in " ".join(log.notes)


class TestSpikesAndGaps:
    def test_a_spike_is_kept_but_not_used(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},{20 + 0.05 * k:.2f}" for k, t in enumerate(series(20))]
        rows[9] = rows[9].rsplit(",", 1)[0] + ",33.0"
        log = read_logger(csv_of("time,temp C", rows))
        assert log.spikes == (9,)
        entry = log.entry()
        assert entry.left_out == [9] and entry.degC[9] == pytest.approx(33.0)

    @settings(deadline=None, max_examples=40)
    @given(st.floats(-0.9, 0.9), st.floats(5, 30))
    def test_a_smooth_day_has_no_spikes(self, slope: float, start: float) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},{start + slope * k:.2f}" for k, t in enumerate(series(24))]
        assert read_logger(csv_of("time,temp C", rows)).spikes == ()

    def test_gaps_are_named(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},20" for t in series(8)]
        late = [f"{t + timedelta(hours=5):%Y-%m-%d %H:%M},20" for t in series(8)]
        log = read_logger(csv_of("time,temp C", rows + late))
        assert len(log.gaps) == 1 and "3.2 h" in log.gaps[0]

    def test_rows_without_a_number_are_counted(self) -> None:
        rows = [f"{t:%Y-%m-%d %H:%M},20" for t in series(8)]
        rows[3] = rows[3].replace(",20", ",---")
        log = read_logger(csv_of("time,temp C", rows))
        assert log.dropped == 1 and len(log.times) == 7


@pytest.mark.parametrize(
    "text",
    ["", "\x00", "a", "a,b\n1,2\n", "time,temp\n", "x\n" * 60_000, '"' * 1000,
     "time,temp C\n2027-13-12 09:00,20\n2027-08-12 09:00,20\n",
     "time,temp C\n2027-08-12 09:00,500\n2027-08-12 09:01,500\n"],
)  # fmt: skip
def test_hostile_files_are_refused(text: str) -> None:
    with pytest.raises(InputError) as err:
        read_logger(text)
    assert "\n" not in err.value.line()


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=300))
def test_any_text_is_read_or_refused(text: str) -> None:
    with contextlib.suppress(InputError):
        read_logger(text)
