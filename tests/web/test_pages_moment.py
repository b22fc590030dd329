"""Jobs planned for another day: what is ticked off bears the real time, and the screens say so."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pourwright.web.pages.moment import other_day
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import words_in

PAGE = {"Accept": "text/html"}
TODAY = date.today()
EARLY = "Set the first day under Site"


def days(*away):
    """A plan of days so far from today [d]."""
    return {"days": [{"date": (TODAY + timedelta(days=k)).isoformat()} for k in away]}


@pytest.fixture
def show():
    return Show("metric", words_in("en"))


@pytest.mark.parametrize(
    ("away", "said"), [((-2, 0, 1), 0), ((0,), 0), ((-9, -8), 1), ((3, 4), 2), ((-1, 2), 1)]
)
def test_it_is_said_on_days_that_are_not_in_the_plan(show, away, said):
    text = other_day(show, days(*away))
    assert text.count(".") == (0, 2, 3)[said]
    assert (EARLY in text) == (said == 2)
    if said:
        assert str(TODAY.year) in text and "the real day and time" in text


def test_a_step_counts_by_its_own_day(show):
    plan = days(-1, 0, 1)
    assert other_day(show, plan, f"{TODAY}T09:00:00") == ""
    tomorrow = TODAY + timedelta(days=1)
    assert f"{tomorrow.day} " in other_day(show, plan, f"{tomorrow}T09:00:00")
    assert other_day(show, None) == other_day(show, {"days": []}) == ""


def test_a_cup_mixed_before_the_jobs_days_is_stamped_with_today(client, document, work):
    """The log says what really happened and when; Mix, the single cup and the floor say that the
    plan is for another day."""
    first = TODAY + timedelta(days=40)
    later = {**document, "site": {**document["site"], "start": first.isoformat()}}
    job = client.post("/api/jobs", json={"document": later}).json()["id"]
    client.get(f"/api/jobs/{job}/plan?wait=0")
    work(client)
    for screen in ("mix", "mix/cup", "floor"):
        page = client.get(f"/jobs/{job}/{screen}", headers=PAGE).text
        assert 'class="otherday"' in page and EARLY in page, screen
    plan = client.get(f"/api/jobs/{job}/plan?wait=0").json()["plan"]
    coat = plan["coats"][0]
    body = {"cup": f"{coat['id']}/{coat['cups'][0]['id']}", "mixed": True}
    assert client.post(f"/api/jobs/{job}/cups", json=body).status_code == 201
    entry = next(x for x in client.get(f"/api/jobs/{job}/log").json() if "entry" in x["data"])
    assert entry["data"]["entry"]["at"][:10] == TODAY.isoformat()
