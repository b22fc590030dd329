"""The OpenAPI description against the app: generated requests never break it (schemathesis)."""

from __future__ import annotations

import json
import tomllib
from datetime import date

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode

from pourwright.plan.new import new_job
from pourwright.web import deps
from pourwright.web.app import create_app
from pourwright.web.session import COOKIE, Session
from pourwright.web.settings import Settings

ANY = GenerationMode.NEGATIVE


def test_the_description_is_complete(client):
    spec = client.get("/api/openapi.json").json()
    assert spec["openapi"].startswith("3.")
    for path in (
        "/api/jobs", "/api/jobs/{job_id}", "/api/jobs/{job_id}/undo", "/api/jobs/{job_id}/plan",
        "/api/jobs/{job_id}/ribbon/{coat}", "/api/jobs/{job_id}/readings",
        "/api/jobs/{job_id}/steps/{step}", "/api/jobs/{job_id}/pictures", "/api/tasks/{task}",
        "/api/tasks/{task}/cancel", "/api/pictures/{name}.png", "/api/calc", "/api/calc/{name}",
        "/api/catalogue/{kind}", "/api/read", "/api/jobs/{job_id}/run-sheet.pdf",
        "/api/jobs/{job_id}/papers/{name}.pdf", "/api/jobs/{job_id}/plan-view.svg",
    ):  # fmt: skip
        assert path in spec["paths"], path
    text = json.dumps(spec)
    assert "http://" not in text and "https://" not in text


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    """An app that lives as long as this module, with one job whose plan never comes."""
    folder = tmp_path_factory.mktemp("data")
    made = create_app(Settings(data=folder, workers=False, demo=False, names=("testserver",)))

    async def at_once(request, task, wait_s):
        return task

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(deps, "settled", at_once)  # without workers there is nothing to wait for
        made.state.store.jobs.create(
            tomllib.loads(new_job("Shelf", date(2027, 3, 15))), job_id="galley"
        )
        yield made


@pytest.fixture(scope="module")
def api(app):
    """The description of the app's API."""
    return schemathesis.openapi.from_asgi("/api/openapi.json", app)


@pytest.fixture(scope="module")
def signed(app):
    """Cookie and token of a session."""
    session = Session("m")
    signer = app.state.signer
    return {COOKIE: signer.write(session)}, {"X-Pourwright-Token": signer.token(session)}


def test_no_request_breaks_the_app(api, signed):
    """Any request that the description allows, and some that it does not."""
    cookies, headers = signed
    seen: dict[str, list[int]] = {}
    for found in api.get_all_operations():
        operation = found.ok()

        @settings(
            max_examples=4, deadline=None, derandomize=True, database=None,
            suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        @given(case=st.one_of(operation.as_strategy(), operation.as_strategy(ANY)))
        def ask(case):
            if len(str(case.path_parameters.get("job_id", ""))) % 2:
                case.path_parameters["job_id"] = "galley"
            response = case.call(cookies=cookies, headers=headers)
            seen.setdefault(case.operation.label, []).append(response.status_code)
            assert response.status_code < 500 or response.status_code == 503, response.text
            if response.status_code >= 400:
                assert set(response.json()["error"]) == {"field", "value", "limit", "remedy"}
                assert "Traceback" not in response.text

        ask()
    assert len(seen) >= 45, "every operation was asked"
    answered = [label for label, codes in seen.items() if min(codes) < 300]
    assert len(answered) >= 15, "and many of them answered"
