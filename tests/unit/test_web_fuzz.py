"""Thousands of odd requests made from our own OpenAPI: no status 5xx, every answer of its declared type and status.

Bounded: a fixed number of requests an operation, a fixed seed.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from web_client import HOST, page_files

from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore
from racewright.store.served_shop import ServedShop
from racewright.web.app import build_app
from racewright.web.guard import ServerSettings
from racewright.web.openapi import openapi

schemathesis = pytest.importorskip("schemathesis")
schema = schemathesis.openapi.from_dict(openapi())
COUNT = 24
#: Of each operation on a whole job: all thirteen read it alike, and drawing one takes longer than answering.
COUNT_OF_JOBS = 8


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> object:
    folder: Path = tmp_path_factory.mktemp("shop")
    with JobStore.open(folder / "jobs.rwshop", create=True) as store:
        store.create_job("orchard", load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json"))
    have = ServerSettings(
        hosts=frozenset({HOST}),
        shop=ServedShop(folder / "jobs.rwshop"),
        pace=False,
    )
    return build_app(have, page_files())


OPERATIONS = [found.ok() for found in schema.get_all_operations()]


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda operation: operation.label)
def test_no_request_breaks_the_server(operation: Any, app: object) -> None:
    @seed(20)
    @settings(
        max_examples=COUNT_OF_JOBS if operation.path.startswith("/ask/job") else COUNT,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
        database=None,
    )
    @given(case=operation.as_strategy())
    def ask(case: Any) -> None:
        _hold(case, app)

    ask()


def _hold(case: Any, app: object) -> None:
    response = case.call(app=app, base_url=f"http://{HOST}", timeout=20)
    assert response.status_code < 500, response.text
    case.validate_response(
        response,
        checks=[
            schemathesis.checks.not_a_server_error,
            *(
                check
                for name in ("status_code_conformance", "content_type_conformance", "response_schema_conformance")
                if (check := _check(name)) is not None
            ),
        ],
    )


def _check(name: str) -> object:
    from schemathesis.specs.openapi import checks

    return getattr(checks, name, None)
