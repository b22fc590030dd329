"""The forecast as people bring it: a plain day, a table, pasted text, a weather file; its line."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.plan import job_from
from pourwright.plan.context import Context
from pourwright.quantities import read
from pourwright.web.pages import forecast
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words

HTML = {"accept": "text/html"}
EN, DE, US = (Show(u, Words(w)) for u, w in (("metric", "en"), ("metric", "de"), ("us", "en")))
DAY = date(2027, 3, 15)


def send(client, url, data, status=303, **more):
    answer = client.post(url, data=data, headers=HTML, follow_redirects=False, **more)
    assert answer.status_code == status, answer.text[:1500]
    return answer


def air(client, job):
    return client.get(f"/api/jobs/{job}").json()["document"]["site"]["air"]


@pytest.mark.parametrize(
    ("show", "line", "degc", "humidity"),
    [
        (EN, "4; 14:00; 18 °C; 60 %", 18.0, 0.6),
        (EN, "4\t14:00\t18\t60", 18.0, 0.6),
        (EN, "4; 14:00; 64.4 degF", 18.0, None),
        (US, "4; 14:00; 64.4; 60", 18.0, 0.6),
        (DE, "4; 14:00; 18,5; 60 %", 18.5, 0.6),
        (EN, "4; 9:05; −3", -3.0, None),
    ],
)
def test_a_line_is_read_in_the_readers_units(show, line, degc, humidity):
    first = forecast.points_from(f"1; 00:00; 10 degC\n{line}".replace("10 degC", "50 degF"), show)[
        1
    ]
    assert first["day"] == 3
    assert read(first["temperature"], "temperature") - 273.15 == pytest.approx(degc, abs=1e-9)
    if humidity is None:
        assert "humidity" not in first
    else:
        assert read(first["humidity"], "share") == pytest.approx(humidity)


@pytest.mark.parametrize(
    "line",
    ["1; noon; 14 °C", "0; 10:00; 14", "62; 10:00; 14", "1; 10:00; 140", "1; 10:00", "1; 25:00; 14",
     "1; 10:00; 14; 130 %", "x; 10:00; 14", "1; 10:00; ; 50 %", "1; 10:00; 14; 50; 2"],
)  # fmt: skip
def test_a_line_that_cannot_be_meant_is_refused_by_its_number(line):
    with pytest.raises(InputError) as err:
        forecast.points_from(f"1; 06:00; 14 °C\n{line}", EN)
    assert "line 2" in err.value.limit and err.value.remedy


def test_one_point_is_no_forecast_and_the_later_line_about_an_hour_counts():
    with pytest.raises(InputError):
        forecast.points_from("1; 06:00; 14 °C", EN)
    with pytest.raises(InputError):
        forecast.points_from("1; 06:00; 14 °C\n1; 06:00; 15 °C", EN)
    found = forecast.points_from("2; 06:00; 9\n1; 06:00; 14\n1; 06:00; 15", EN)
    assert [(p["day"], p["temperature"]) for p in found] == [(0, "15 degC"), (1, "9 degC")]


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(0, 60), st.integers(0, 23), st.integers(-30, 45)),
        min_size=2, max_size=30, unique_by=lambda x: (x[0], x[1]),
    )
)  # fmt: skip
def test_points_come_back_from_their_own_text(points):
    hourly = [
        {"day": d, "at": f"{h:02d}:00", "temperature": f"{t} degC", "humidity": "50 %"}
        for d, h, t in sorted(points)
    ]
    document = {"site": {"air": {"hourly": hourly}}}
    for show in (EN, DE):
        text = forecast.points_text(forecast.point_rows(document, show))
        assert forecast.points_from(text, show) == hourly


def test_the_drawn_line_is_the_air_the_plan_reckons_with(document):
    """The page's half cosines against the plan's own air, within 0.02 K at every hour."""
    document["site"]["air"] = {"coolest": "13 degC", "warmest": "21 degC", "coolest_at": "05:00",
                               "warmest_at": "15:00", "humidity": "60 %"}  # fmt: skip
    context = Context(job_from(document))
    for day, degc in forecast.air_line(document["site"]["air"], 3):
        if day > 0.3:  # before its first extreme the plan holds the first value it knows
            assert degc == pytest.approx(float(context.forecast.at(day * 86400)) - 273.15, abs=0.02)


def test_a_plain_day_a_table_and_text_take_each_others_place(client, job_id):
    url = f"/jobs/{job_id}/forecast"
    text = "1; 06:00; 14 °C; 60 %\n1; 15:00; 19 °C; 50 %"
    send(client, url, {"hourly": text})
    assert [p["at"] for p in air(client, job_id)["hourly"]] == ["06:00", "15:00"]
    answer = send(client, url, {"hourly": "1; noon; 14 °C"}, 422)
    assert "1; noon; 14 °C" in answer.text, "what was typed stays"
    assert len(air(client, job_id)["hourly"]) == 2
    rows = {"p.0.day": "1", "p.0.at": "5:30", "p.0.temperature": "12", "p.0.humidity": "",
            "p.1.day": "1", "p.1.at": "14:30", "p.1.temperature": "22", "p.1.humidity": "55",
            "p.2.day": "", "p.2.at": "", "p.2.temperature": "", "p.2.humidity": ""}  # fmt: skip
    send(client, url, rows)
    assert [p["temperature"] for p in air(client, job_id)["hourly"]] == ["12 degC", "22 degC"]
    answer = send(client, url, {**rows, "p.1.at": "late"}, 422)
    assert "row 2" in answer.text and 'value="late"' in answer.text
    send(client, url, {"air": "plain", "site.air.coolest": "15 °C", "site.air.warmest": "20 °C"})
    assert air(client, job_id)["hourly"] == [] and air(client, job_id)["warmest"] == "20 degC"


def epw(degc) -> str:
    head = ["LOCATION,Lockside,XX,XXX,invented,000000,52,0,0,10", *["X"] * 7]
    rows = []
    for month, days in ((3, 31), (4, 30)):
        for day in range(1, days + 1):
            for hour in range(1, 25):
                rows.append(f"2001,{month},{day},{hour},0,?,{degc(hour):.1f},5.0,70,101000")
    return "\n".join([*head, *rows])


def test_a_weather_file_is_taken_in_with_its_warning(client, job_id):
    text = epw(lambda h: 12 + 5 * math.sin((h - 9) / 24 * 2 * math.pi))
    file = {"file": ("march.epw", text.encode(), "text/plain")}
    send(client, f"/jobs/{job_id}/forecast", {"do": "file", "days": "5"}, files=file)
    kept = air(client, job_id)["hourly"]
    assert len(kept) == 5 * 24
    assert {p["day"] for p in kept} <= set(range(6))
    line = client.get(f"/api/jobs/{job_id}/log").json()[-1]
    assert line["kind"] == "forecast" and "outside air" in line["text"]


@pytest.mark.parametrize(
    ("name", "raw", "days"),
    [("x.epw", b"no weather", "5"), ("x.csv", b"\x00\x01\x02", "5"), ("x.csv", b"a,b\n1,2\n", "5"),
     ("x.epw", b"LOCATION,a", "5"), ("x.csv", b"time,temperature\n2027-03-15 10:00,20\n", "many"),
     ("x.csv", b"", "5")],
)  # fmt: skip
def test_a_hostile_or_wrong_file_changes_nothing(client, job_id, name, raw, days):
    before = client.get(f"/api/jobs/{job_id}").json()
    file = {"file": (name, raw, "application/octet-stream")}
    answer = send(client, f"/jobs/{job_id}/forecast", {"do": "file", "days": days}, 422, files=file)
    assert "problem" in answer.text
    assert client.get(f"/api/jobs/{job_id}").json() == before
