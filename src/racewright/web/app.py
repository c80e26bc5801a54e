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
from racewright.operations.operations import OPERATIONS, prepare
from racewright.store.device_file import UNUSED_S
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_protocol import RECORDS_FORMAT
from racewright.web.guard import Guard, ServerSettings, address_of, as_json, refused
from racewright.web.openapi import openapi
from racewright.web.packed import has_already, takes_gzip
from racewright.web.pairing import COOKIES, MustWait
from racewright.web.questions import LIGHT, Asked, Ended, Given, Questions, TookTooLong, worked_out
from racewright.web.record_routes import Rooms, get_log, get_records, post_records, told_kinds
from racewright.web.site_files import SiteFile, site_files
from racewright.web.turns import Turns, who_asks


def build_app(settings: ServerSettings, files: Mapping[str, SiteFile] | None = None) -> ASGIApp:
    """The guarded application. `files` None: the page that comes with the package, or a plain word where it is not."""
    prepare()
    routes = [
        Route("/ask/{operation}", ask, methods=["POST"]),
        Route("/records", get_records, methods=["GET"]),
        Route("/records", post_records, methods=["POST"]),
        Route("/records/log", get_log, methods=["GET"]),
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
    app.state.turns = Turns()
    app.state.questions = settings.questions or Questions(settings.ask_limit_s)
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


async def ask(request: Request) -> Response:
    """POST /ask/{operation}: the answer, or why not. Bounded in time and in number at once; of one device one question
    is worked out at a time."""
    operation = request.path_params["operation"]
    settings: ServerSettings = request.app.state.settings
    asked = Asked(operation, await request.body(), str(settings.shop.path), tools="tool" in told_kinds(request))
    if operation in LIGHT or operation not in OPERATIONS:
        return _given(await run_in_threadpool(worked_out, asked))
    questions: Questions = request.app.state.questions
    turns: Turns = request.app.state.turns
    room: asyncio.Semaphore = request.app.state.room
    try:
        turn = await asyncio.wait_for(turns.take(who_asks(request)), settings.ask_limit_s)
    except TimeoutError:
        return refused(503, "another question of this device is still at work.", "ask again", kind="engine")
    try:
        await asyncio.wait_for(room.acquire(), settings.ask_limit_s)
    except TimeoutError:
        turn()
        return refused(503, "the server is busy with other questions.", "ask again", kind="engine")

    def over(_: object) -> None:
        room.release()
        turn()

    # both places are given back when the work is really done, not when the asker stops waiting
    work = asyncio.ensure_future(run_in_threadpool(questions.ask, asked))
    work.add_done_callback(over)
    try:
        return _given(await asyncio.shield(work))
    except TookTooLong:
        return refused(503, f"this took longer than {settings.ask_limit_s:g} s.", "ask for less", kind="limit")
    except Ended:
        print(f"racewright serve: the process that worked on '{operation}' was ended from outside.", flush=True)
        return refused(500, "the program was ended at work on this, perhaps for want of memory.", kind="engine")


def _given(given: Given) -> Response:
    return Response(given.body, given.status, {"cache-control": "no-store"}, "application/json")


async def pair(request: Request) -> Response:
    """POST /pair {"code": "...", "name": "..."}: a cookie for the device of this name, where the code is right."""
    settings: ServerSettings = request.app.state.settings
    if settings.pairing is None:
        return as_json({"paired": True})
    address = address_of(request.scope)
    try:
        given = msgspec.json.decode(await request.body(), type=dict[str, str])
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        return refused(400, "the body is not JSON with a code.", 'send {"code": "...", "name": "..."}')
    try:
        code, name = given.get("code", ""), given.get("name", "")
        let_in = await run_in_threadpool(settings.pairing.try_code, code, address, name)
    except MustWait as err:
        late = refused(429, f"too many wrong codes; {err}.", "read it from the server's terminal")
        late.headers["retry-after"] = f"{err.wait_s:.0f}"
        return late
    except LimitError as err:
        return refused(409, err.message, err.hint, kind="limit", field="name")
    except StoreTrouble as err:
        print(f"racewright serve: {err}", flush=True)
        return refused(503, "the server cannot keep its list of devices.", "see its terminal", kind="missing")
    if let_in is None:
        return refused(403, "that is not the code.", "read it from the server's terminal", field="code")
    device, token = let_in
    done = as_json({"paired": True, "name": device.name})  # with a number where another device has the name
    secure, cookie = settings.secure, COOKIES[settings.secure]
    done.set_cookie(cookie, token, max_age=UNUSED_S, httponly=True, samesite="strict", secure=secure)
    return done


async def server_card(request: Request) -> Response:
    """GET /server.json: tells the page that there is a server, whether it still wants the code, and whether it is one
    that was revoked; or, in words, that this cannot be known now."""
    asks = {"code_wanted": not request.state.paired, "revoked": request.state.revoked, "busy": request.state.busy}
    return as_json({"server": True, "version": __version__, "records": RECORDS_FORMAT, **asks})


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
    packed = found.packed if takes_gzip(request.headers.get("accept-encoding", "")) else None
    headers = {"etag": f'"{found.digest}{"" if packed is None else "-gzip"}"'}
    if found.packed is not None:
        headers["vary"] = "accept-encoding"
    headers["cache-control"] = "public, max-age=31536000, immutable" if path.startswith("assets/") else "no-cache"
    if has_already(request.headers.get("if-none-match", ""), headers["etag"]):
        return Response(status_code=304, headers=headers)
    if packed is not None:
        headers["content-encoding"] = "gzip"
    return Response(found.body if packed is None else packed, headers=headers | {"content-type": found.media})
