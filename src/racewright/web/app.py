"""The application: static files, questions, records, pairing. `build_app` is what a runner serves."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping

import msgspec
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import ASGIApp

from racewright import __version__
from racewright.errors import LimitError, RacewrightError
from racewright.operations.answer import answer
from racewright.operations.common import Known, Refused
from racewright.operations.operations import OPERATIONS, prepare
from racewright.store.device_file import UNUSED_S
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_protocol import RECORDS_FORMAT
from racewright.store.places import own_shop
from racewright.store.shop_tools import ToolShelf
from racewright.web.guard import Guard, ServerSettings, as_json, refused
from racewright.web.openapi import openapi
from racewright.web.pairing import COOKIE
from racewright.web.record_routes import Rooms, get_records, post_records
from racewright.web.site_files import SiteFile, site_files


def build_app(settings: ServerSettings, files: Mapping[str, SiteFile] | None = None) -> ASGIApp:
    """The guarded application. `files` None: the page that comes with the package, or a plain word where it is not."""
    prepare()
    routes = [
        Route("/ask/{operation}", ask, methods=["POST"]),
        Route("/records", get_records, methods=["GET"]),
        Route("/records", post_records, methods=["POST"]),
        Route("/pair", pair, methods=["POST"]),
        Route("/server.json", server_card, methods=["GET"]),
        Route("/openapi.json", describe, methods=["GET"]),
        Route("/{path:path}", static, methods=["GET"]),
    ]
    app = Starlette(routes=routes, exception_handlers={Exception: _fault, HTTPException: _not_here})
    app.state.settings = settings
    app.state.files = _page() if files is None else files
    app.state.rooms = Rooms()
    app.state.room = asyncio.Semaphore(settings.most_at_once)
    return Guard(app, settings)


async def _fault(_: Request, err: Exception) -> Response:
    """A fault of the program: its kind and words go to the terminal, nothing of it to the asker."""
    print(f"racewright serve: a request failed: {type(err).__name__}: {err}", flush=True)
    return refused(500, "the program failed on this; the fault is ours, not yours.", kind="engine")


async def _not_here(_: Request, err: Exception) -> Response:
    """What the router refuses: no such path, or not by this method."""
    assert isinstance(err, HTTPException)
    answered = refused(err.status_code, f"{err.detail.lower()}.", "see /openapi.json", kind="missing")
    answered.headers.update(err.headers or {})
    return answered


def _page() -> Mapping[str, SiteFile]:
    try:
        return site_files()
    except RacewrightError as err:
        print(f"racewright serve: {err}", flush=True)
        return {}


def _known(settings: ServerSettings) -> Known:
    """The tools of the shop, then the user's own; a file that cannot be read is said on the terminal and left out."""
    try:
        return Known(dict(ToolShelf(settings.shop.path, own_shop())))
    except RacewrightError as err:
        print(f"racewright serve: {err}", flush=True)
        return Known()


async def ask(request: Request) -> Response:
    """POST /ask/{operation}: the answer, or why not. Bounded in time and in number at once."""
    operation = request.path_params["operation"]
    settings: ServerSettings = request.app.state.settings
    try:
        data = msgspec.json.decode(await request.body() or b"{}")
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        return refused(400, "the body is not JSON.", "send a JSON object")
    room: asyncio.Semaphore = request.app.state.room
    try:
        await asyncio.wait_for(room.acquire(), settings.ask_limit_s)
    except TimeoutError:
        return refused(503, "the server is busy with other questions.", "ask again", kind="engine")
    # the place is given back when the work is really done, not when the asker stops waiting
    work = asyncio.ensure_future(run_in_threadpool(lambda: answer(operation, data, _known(settings))))
    work.add_done_callback(lambda _: room.release())
    try:
        given = await asyncio.wait_for(asyncio.shield(work), settings.ask_limit_s)
    except TimeoutError:
        return refused(503, f"this took longer than {settings.ask_limit_s:g} s.", "ask for less", kind="limit")
    if not isinstance(given, Refused):
        return as_json(given)
    status = 404 if operation not in OPERATIONS else 500 if given.error.kind == "engine" else 422
    return as_json(given, status)


async def pair(request: Request) -> Response:
    """POST /pair {"code": "...", "name": "..."}: a cookie for the device of this name, where the code is right."""
    settings: ServerSettings = request.app.state.settings
    if settings.pairing is None:
        return as_json({"paired": True})
    address = request.client.host if request.client else "unknown"
    wait = settings.pairing.wait_s(address)
    if wait > 0.0:
        late = refused(429, f"too many wrong codes; wait {wait:.0f} s.", "read it from the server's terminal")
        late.headers["retry-after"] = f"{wait:.0f}"
        return late
    try:
        given = msgspec.json.decode(await request.body(), type=dict[str, str])
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        return refused(400, "the body is not JSON with a code.", 'send {"code": "...", "name": "..."}')
    try:
        token = settings.pairing.try_code(given.get("code", ""), address, given.get("name", ""))
    except LimitError as err:
        return refused(409, err.message, err.hint, kind="limit", field="name")
    except StoreTrouble as err:
        print(f"racewright serve: {err}", flush=True)
        return refused(503, "the server cannot keep its list of devices.", "see its terminal", kind="missing")
    if token is None:
        return refused(403, "that is not the code.", "read it from the server's terminal", field="code")
    done = as_json({"paired": True})
    done.set_cookie(COOKIE, token, max_age=UNUSED_S, httponly=True, samesite="strict", path="/")
    return done


async def server_card(request: Request) -> Response:
    """GET /server.json: tells the page that there is a server, and whether it still wants the code."""
    wanted = not request.state.paired
    return as_json({"server": True, "version": __version__, "records": RECORDS_FORMAT, "code_wanted": wanted})


async def describe(_: Request) -> Response:
    """GET /openapi.json."""
    return as_json(openapi())


async def static(request: Request) -> Response:
    """A file of the page: looked up in a fixed list, so that no path leads anywhere else."""
    files: Mapping[str, SiteFile] = request.app.state.files
    path = request.path_params["path"] or "index.html"
    found = files.get(path)
    if found is None:
        if not files and path == "index.html":
            return Response("The page is not in this installation; the questions below /ask/ work.", 200)
        return refused(404, "there is no such file.", kind="missing")
    headers = {"etag": f'"{found.digest}"', "vary": "accept-encoding"}
    headers["cache-control"] = "public, max-age=31536000, immutable" if path.startswith("assets/") else "no-cache"
    if request.headers.get("if-none-match") == headers["etag"]:
        return Response(status_code=304, headers=headers)
    body = found.body
    if found.packed is not None and "gzip" in request.headers.get("accept-encoding", ""):
        body, headers["content-encoding"] = found.packed, "gzip"
    return Response(body, headers=headers | {"content-type": found.media})
