"""The records of the shop file, over HTTP: what has changed since a number, and what a device offers."""

from __future__ import annotations

import asyncio
import gzip
from collections.abc import Callable
from typing import Annotated, Any

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from racewright.errors import InputError, LimitError
from racewright.operations.answer import trouble_of
from racewright.operations.common import Refused
from racewright.records.fields import RevisionNumber
from racewright.records.ids import Id
from racewright.records.kinds import KINDS
from racewright.store.current_job import login_name
from racewright.store.device_file import Device
from racewright.store.job_errors import FullDisk, LockedFile, MissingFile, StoreTrouble
from racewright.store.job_log import JobLog, job_log
from racewright.store.job_protocol import Answered, Changes, Offered, offer, since, withheld
from racewright.store.job_store import JobStore
from racewright.store.served_shop import ServedShop
from racewright.web.guard import as_json, refused, was_revoked
from racewright.web.offers import read_offer
from racewright.web.packed import takes_gzip
from racewright.web.questions import READS_HINT
from racewright.web.terminal import say_went_back

#: So many questions read the shop file at once, and so many save in it; the rest wait, and hold no thread.
READING, SAVING = 4, 1
#: Answers of more bytes are packed: a seventh of the size for 3 ms a MB.
PACKED = 10_000


class Asked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """GET /records: what changed after change number `after`; `mark` as told with that number."""

    after: RevisionNumber = 0
    mark: Annotated[str, msgspec.Meta(max_length=400)] = ""


class AskedLog(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """GET /records/log: what was changed of the job of this id."""

    job: Id


class Answers(msgspec.Struct, frozen=True, kw_only=True):
    """What became of each offered record, in the order of the offer."""

    answers: tuple[Answered, ...]


class Rooms:
    """How many questions may be at work on the shop file at once. `went_back`: the last change of the file, once it was
    said that somebody heard of a later one."""

    def __init__(self) -> None:
        self.reading, self.saving = asyncio.Semaphore(READING), asyncio.Semaphore(SAVING)
        self.went_back = -1


class _RevokedError(Exception):
    """Who asked was revoked meanwhile."""


async def get_records(request: Request) -> Response:
    """GET /records?after=N&mark=M."""
    try:
        asked = msgspec.convert(dict(request.query_params), Asked, strict=False)
    except msgspec.ValidationError as err:
        return refused(422, f"this is no question for records: {err}.", "see /openapi.json")
    shop: ServedShop = request.app.state.settings.shop
    kinds, rooms = told_kinds(request), request.app.state.rooms

    def went_back(last: int) -> None:
        if rooms.went_back != last:
            rooms.went_back = last
            say_went_back(request.state.device, asked.after, last)

    def look() -> Changes:
        try:
            return shop.ask(lambda store: since(store, asked.after, kinds, mark=asked.mark, went_back=went_back))
        except MissingFile:
            return Changes(records=(), last=0, mark="", anew=asked.after > 0, withheld=withheld(kinds))

    return await _answered(request, request.app.state.rooms.reading, look)


async def post_records(request: Request) -> Response:
    """POST /records: 200 also where a record is stale, refused or newer, for that is its answer."""
    try:
        job, wanted = read_offer(await request.body())
    except msgspec.ValidationError as err:
        return refused(422, f"this offers no records: {err}.", "see /openapi.json")
    except (msgspec.DecodeError, ValueError, RecursionError):
        return refused(400, "the body is not JSON.", "send a JSON object")
    shop: ServedShop = request.app.state.settings.shop
    device: Device | None = request.state.device
    by, kinds = device.name if device else login_name(), told_kinds(request)
    read = [one if isinstance(one, Answered) or _may(one, kinds) else _not_told(one) for one in wanted]
    records = tuple(one for one in read if isinstance(one, Offered))
    begins = any(
        one.kind == "job" and not (isinstance(one, Offered) and (one.base or one.data is None)) for one in read
    )

    def still() -> None:
        pairing = request.app.state.settings.pairing
        if device is not None and not pairing.devices.is_listed(device):
            raise _RevokedError  # while it waited for its turn

    def take(store: JobStore) -> Answers:
        answers = iter(offer(store, job, records, by=by, kinds=kinds, check=still))
        return Answers(answers=tuple(one if isinstance(one, Answered) else next(answers) for one in read))

    return await _answered(request, request.app.state.rooms.saving, lambda: shop.ask(take, create=begins))


async def get_log(request: Request) -> Response:
    """GET /records/log?job=ID."""
    try:
        asked = msgspec.convert(dict(request.query_params), AskedLog)
    except msgspec.ValidationError as err:
        return refused(422, f"this is no question for a log: {err}.", "see /openapi.json")
    shop: ServedShop = request.app.state.settings.shop
    device: Device | None = request.state.device
    by, kinds = device.name if device else login_name(), told_kinds(request)

    def look() -> JobLog:
        try:
            return shop.ask(lambda store: job_log(store, asked.job, kinds, by=by))
        except MissingFile:
            return JobLog(changes=())

    return await _answered(request, request.app.state.rooms.reading, look)


def told_kinds(request: Request) -> tuple[str, ...]:
    """The kinds of record that the asking device is told."""
    device: Device | None = request.state.device
    return tuple(KINDS) if device is None else tuple(kind for kind in KINDS if kind in device.reads)


def _may(one: Offered, kinds: tuple[str, ...]) -> bool:
    return one.kind in kinds or one.kind not in KINDS


def _not_told(one: Offered) -> Answered:
    """A record of a kind that this device may not read: an answer could hold what others wrote."""
    return Answered(
        kind=one.kind,
        id=one.id,
        outcome="refused",
        message=f"this device is not let to read records of the kind '{one.kind}', nor to write them.",
        hint=READS_HINT,
    )


async def _answered(request: Request, room: asyncio.Semaphore, work: Callable[[], Any]) -> Response:
    """The work's answer, once there is room for it; the shop file's troubles with a status of their own."""
    limit_s: float = request.app.state.settings.ask_limit_s
    try:
        await asyncio.wait_for(room.acquire(), limit_s)
    except TimeoutError:
        return _not_now("the shop file is busy with what others ask and save.", "ask again")
    # the place is given back when the work is really done, not when the asker stops waiting
    packed = takes_gzip(request.headers.get("accept-encoding", ""))
    done = asyncio.ensure_future(run_in_threadpool(_told, work, packed))
    done.add_done_callback(lambda _: room.release())
    return await asyncio.shield(done)


def _told(work: Callable[[], Any], packed: bool) -> Response:
    """Made text, and packed where it is long, here in the thread that worked: a phone on a slow network waits less."""
    try:
        told = as_json(work())
        if packed and len(told.body) > PACKED:
            more = {"content-encoding": "gzip", "vary": "accept-encoding", "cache-control": "no-store"}
            told = Response(gzip.compress(told.body, 1), media_type=told.media_type, headers=more)
        return told
    except FullDisk as err:
        return _trouble(507, err)
    except LockedFile as err:
        return _not_now(err.message, err.hint)
    except MissingFile as err:
        return _trouble(404, err)
    except _RevokedError:
        return was_revoked()
    except StoreTrouble as err:
        return _trouble(503, err)
    except (InputError, LimitError) as err:
        return as_json(Refused(error=trouble_of(err)), 422)


def _trouble(status: int, err: StoreTrouble) -> Response:
    return refused(status, err.message, err.hint, kind="missing")


def _not_now(message: str, hint: str) -> Response:
    late = refused(503, message, hint, kind="missing")
    late.headers["retry-after"] = "2"
    return late
