"""What stands before every request: Host, Origin, size, pace, pairing code; headers, and how refusals are
written."""

from __future__ import annotations

import asyncio
import time
from http.cookies import CookieError, SimpleCookie
from typing import Any

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from racewright.operations.common import Kind, Refused, Trouble
from racewright.store.device_file import PATIENCE_S, Device
from racewright.store.job_errors import LockedFile, StoreTrouble
from racewright.store.served_shop import ServedShop
from racewright.web.pairing import COOKIES, Pace, Pairing
from racewright.web.questions import Questions

MOST_BODY = 256 * 1024
_CSP = (
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
_HEADERS = (
    (b"content-security-policy", _CSP.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), payment=(), usb=()"),
)
#: So many look into the list of devices at once.
_LOOKING = 4
#: Where a body took longer to come, whether its device may ask is looked at again.
_LONG_S = 0.1
#: How long the server's card waits for the list where somebody has it locked: it is what the page's start waits for.
_CARD_PATIENCE_S = 0.2
_BUSY = (
    "The server's list of devices is busy: another program has it open. Whether this device may share is asked again"
    " by itself."
)
#: What a device without the code may have: the page's own files (they hold no data), the code's door.
_DATA = ("/ask/", "/records", "/openapi.json")


class ServerSettings(msgspec.Struct, kw_only=True):
    """`hosts` are the values of the Host header that are answered. `shop`: the shop file. `pairing` None: no code is
    wanted (this machine only). Times in seconds: for a question, for a body. `questions` None: processes of the
    application's own. `secure`: it is reached by https alone."""

    hosts: frozenset[str]
    shop: ServedShop
    pairing: Pairing | None = None
    ask_limit_s: float = 15.0
    body_limit_s: float = 10.0
    most_at_once: int = 4
    questions: Questions | None = None
    secure: bool = False
    pace: bool = True


def as_json(value: Any, status: int = 200) -> Response:
    """A value as JSON, never stored on the way."""
    return Response(
        msgspec.json.encode(value),
        status_code=status,
        media_type="application/json",
        headers={"cache-control": "no-store"},
    )


def refused(status: int, message: str, hint: str = "", *, kind: Kind = "input", field: str = "") -> Response:
    """A refusal with this status."""
    return as_json(Refused(error=Trouble(kind=kind, message=message, hint=hint, field=field)), status)


def was_revoked() -> Response:
    """The refusal of a device that was revoked."""
    keeps = "what it has stays on it; pair it again with the code in the server's terminal, or save a file"
    return refused(401, "this device was revoked by the shop.", keeps, field="device")


class Guard:
    """An ASGI layer around the application."""

    def __init__(self, app: ASGIApp, settings: ServerSettings) -> None:
        self.app, self.settings = app, settings
        self.pace = Pace()
        self._looking = asyncio.Semaphore(_LOOKING)
        self._looking_at_card = asyncio.Semaphore(_LOOKING)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        started = False

        async def with_headers(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                message["headers"] = [*message.get("headers", []), *_HEADERS]
            await send(message)

        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}
        try:
            no = self._door(scope, headers) or await self._known(scope, headers) or self._paper(scope, headers)
            if no is not None:
                await no(scope, receive, with_headers)
                return
            await self._pass(scope, headers, receive, with_headers)
        except Exception as fault:  # the application has said it on the terminal; nothing reaches the asker
            if not started:
                print(f"racewright serve: a request failed: {type(fault).__name__}: {fault}", flush=True)
                words = "the program failed on this; the fault is ours, not yours."
                await refused(500, words, kind="engine")(scope, receive, with_headers)

    def _door(self, scope: Scope, headers: dict[str, str]) -> Response | None:
        """A refusal, or None where the request may come in."""
        path, method = scope["path"], scope["method"]
        hosts = [v for k, v in scope["headers"] if k.lower() == b"host"]
        if len(hosts) != 1 or hosts[0].decode("latin-1").lower() not in self.settings.hosts:
            return refused(421, "this server does not go by that name.", "use the address that its terminal shows")
        origin = headers.get("origin")
        scheme = "https" if self.settings.secure else "http"
        if origin is not None and origin.lower() not in {f"{scheme}://{host}" for host in self.settings.hosts}:
            return refused(403, "a page from elsewhere may not ask here.")
        elsewhere = headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none")
        if elsewhere and (method != "GET" or path.startswith(_DATA)):
            return refused(403, "a page from elsewhere may not ask here.")
        if self.settings.pace and not self.pace.take(address_of(scope)):
            late = refused(429, "too many requests.", "wait a second")
            late.headers["retry-after"] = "1"
            return late
        return None

    async def _known(self, scope: Scope, headers: dict[str, str]) -> Response | None:
        """Say in the request which device it is of; a refusal where it may not ask. The list of devices is read in a
        thread: somebody may have it locked, and nobody else waits for that."""
        pairing, path = self.settings.pairing, scope["path"]
        data = path.startswith(_DATA)
        token = self._token(headers) if data or path == "/server.json" else ""
        device: Device | None = None
        revoked = False
        try:
            if pairing is not None and token:
                async with self._looking if data else self._looking_at_card:
                    wait = PATIENCE_S if data else _CARD_PATIENCE_S
                    device = await run_in_threadpool(pairing.devices.known, token, patience_s=wait)
                    if device is None:
                        revoked = await run_in_threadpool(pairing.devices.was_revoked, token, patience_s=wait)
        except StoreTrouble as err:
            busy = isinstance(err, LockedFile)
            if not data:  # the card holds nothing of a job; whether the device may ask is looked at when it does
                scope.setdefault("state", {}).update(
                    device=None, paired=True, revoked=False, busy=_BUSY if busy else ""
                )
                return None
            print(f"racewright serve: {err}", flush=True)
            if busy:
                return refused(503, _BUSY, kind="missing")
            return refused(503, "the server cannot read its list of devices.", "see its terminal", kind="missing")
        state = scope.setdefault("state", {})
        state["device"], state["paired"] = device, pairing is None or device is not None
        state["revoked"], state["busy"] = revoked, ""
        if data and revoked:
            return was_revoked()
        if data and not state["paired"]:
            return refused(401, "this server wants its pairing code.", "read it from the server's terminal")
        return None

    def _token(self, headers: dict[str, str]) -> str:
        """What the asking device was given when it was paired; '' for none."""
        try:
            jar = SimpleCookie(headers.get("cookie", ""))
        except CookieError:
            return ""
        name = COOKIES[self.settings.secure]
        return jar[name].value if name in jar else ""

    @staticmethod
    def _paper(scope: Scope, headers: dict[str, str]) -> Response | None:
        """A refusal of a body that is too large, or is not said to be JSON."""
        if scope["method"] in ("POST", "PUT"):
            if headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
                return refused(415, "the body must be application/json.")
            length = headers.get("content-length", "0")
            if not length.isdigit() or len(length) > 12 or int(length) > MOST_BODY:
                return _too_large()
        return None

    async def _pass(self, scope: Scope, headers: dict[str, str], receive: Receive, send: Send) -> None:
        began = time.monotonic()
        try:
            body = await asyncio.wait_for(_whole_body(receive), self.settings.body_limit_s)
        except TimeoutError:
            await refused(408, "the body did not arrive in time.")(scope, receive, send)
            return
        if body is None:
            await _too_large()(scope, receive, send)
            return
        if time.monotonic() - began > _LONG_S and (no := await self._known(scope, headers)):
            await no(scope, receive, send)  # revoked while it came
            return
        given = False

        async def once() -> Message:
            nonlocal given
            if given:
                return {"type": "http.disconnect"}
            given = True
            return {"type": "http.request", "body": body, "more_body": False}

        await self.app(scope, once, send)


def address_of(scope: Scope) -> str:
    """Where a request comes from."""
    client = scope.get("client")
    return str(client[0]) if client else "unknown"


async def _whole_body(receive: Receive) -> bytes | None:
    """The body, or None where it grows too large."""
    parts: list[bytes] = []
    size = 0
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return b"".join(parts)
        part = message.get("body", b"")
        size += len(part)
        if size > MOST_BODY:
            return None
        parts.append(part)
        if not message.get("more_body", False):
            return b"".join(parts)


def _too_large() -> Response:
    return refused(413, f"the body is larger than {MOST_BODY} bytes.", "send less at once")
