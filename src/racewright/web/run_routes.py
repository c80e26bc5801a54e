"""Runs shared between devices, over HTTP: list, get, save with compare and set."""

from __future__ import annotations

from typing import Annotated, Any

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from racewright.errors import InputError
from racewright.operations.answer import trouble_of
from racewright.operations.common import Refused, Trouble
from racewright.store.run_store import By, NoSuchRun, RunRow, RunStore, StaleSave
from racewright.web.guard import as_json, refused


class RunList(msgspec.Struct, frozen=True, kw_only=True):
    """All runs kept here, the last saved first."""

    runs: tuple[RunRow, ...]


class SaveRequest(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A version of a run. `base`: the revision that this edit began from, 0 for a new run; `by`: who or which device;
    `settles`: rivals whose content this version takes in or drops."""

    base: Annotated[int, msgspec.Meta(ge=0, le=2**31 - 1)]
    data: dict[str, Any]
    by: By = ""
    settles: Annotated[tuple[str, ...], msgspec.Meta(max_length=100)] = ()


_SAVE = msgspec.json.Decoder(SaveRequest)


def _store(request: Request) -> RunStore:
    store: RunStore = request.app.state.settings.runs
    return store


async def list_runs(request: Request) -> Response:
    """GET /runs."""
    return as_json(RunList(runs=await run_in_threadpool(_store(request).rows)))


async def get_run(request: Request) -> Response:
    """GET /runs/{id}."""
    try:
        return as_json(await run_in_threadpool(_store(request).get, request.path_params["id"]))
    except NoSuchRun as err:
        return refused(404, err.message, err.hint, kind="missing", field="id")
    except InputError as err:
        return as_json(Refused(error=trouble_of(err)), 422)


async def save_run(request: Request) -> Response:
    """PUT /runs/{id}: 409 with both versions where the base is not the newest."""
    try:
        wanted = _SAVE.decode(await request.body())
    except msgspec.ValidationError as err:
        return refused(422, f"this is no version of a run: {err}.", "see /openapi.json")
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        return refused(400, "the body is not JSON.", "send a JSON object")

    def save() -> Any:
        return _store(request).save(
            request.path_params["id"], base=wanted.base, data=wanted.data, by=wanted.by, settles=wanted.settles
        )

    try:
        return as_json(await run_in_threadpool(save))
    except StaleSave as err:
        trouble = Trouble(kind="limit", message=err.message, hint=err.hint, field="base")
        return as_json({"error": trouble, "conflict": {"newest": err.newest, "yours": err.yours}}, 409)
    except NoSuchRun as err:
        return refused(404, err.message, err.hint, kind="missing", field="base")
    except InputError as err:
        return as_json(Refused(error=trouble_of(err)), 422)
    except OSError as err:
        return refused(503, f"the run cannot be kept: {err.strerror}.", "look at the server's disk", kind="missing")
