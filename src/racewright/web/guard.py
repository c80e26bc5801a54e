"""What stands before every request: Host, Origin, size, pace, pairing code; and the headers of every answer."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any

import msgspec

from racewright.operations.common import Refused, Trouble
from racewright.web.pairing import COOKIE, Pace
from racewright.web.settings import CSP, MOST_BODY, ServerSettings

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

_HEADERS = (
    (b"content-security-policy", CSP.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), payment=(), usb=()"),
)
#: What a device without the code may have: the page's own files (they hold no data), the code's door.
_DATA = ("/ask/", "/runs", "/openapi.json")


def refusal(message: str, hint: str = "", kind: str = "input") -> bytes:
    """A refusal as JSON."""
    return msgspec.json.encode(Refused(error=Trouble(kind=kind, message=message, hint=hint)))  # type: ignore[arg-type]


class Guard:
    """An ASGI layer around the application."""

    def __init__(self, app: App, settings: ServerSettings) -> None:
        self.app, self.settings = app, settings
        self.pace = Pace()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}
        no = self._door(scope, headers)
        if no is not None:
            await _answer(send, *no)
            return
        await self._pass(scope, headers, receive, send)

    def _door(self, scope: Scope, headers: dict[str, str]) -> tuple[int, bytes] | None:
        """Status and body of a refusal, or None where the request may come in."""
        path, method = scope["path"], scope["method"]
        hosts = [v for k, v in scope["headers"] if k.lower() == b"host"]
        if len(hosts) != 1 or hosts[0].decode("latin-1").lower() not in self.settings.hosts:
            return 421, refusal("this server does not go by that name.", "use the address that its terminal shows")
        origin = headers.get("origin")
        if origin is not None and origin.lower() not in {f"http://{host}" for host in self.settings.hosts}:
            return 403, refusal("a page from elsewhere may not ask here.")
        elsewhere = headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none")
        if elsewhere and (method != "GET" or path.startswith(_DATA)):
            return 403, refusal("a page from elsewhere may not ask here.")
        if self.settings.pace and not self.pace.take(_address(scope)):
            return 429, refusal("too many requests.", "wait a second")
        if self.settings.pairing is not None and path.startswith(_DATA) and not self._paired(headers):
            return 401, refusal("this server wants its pairing code.", "read it from the server's terminal")
        if method in ("POST", "PUT"):
            if headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
                return 415, refusal("the body must be application/json.")
            length = headers.get("content-length", "0")
            if not length.isdigit() or len(length) > 12 or int(length) > MOST_BODY:
                return 413, refusal(f"the body is larger than {MOST_BODY} bytes.", "send one run at a time")
        return None

    def _paired(self, headers: dict[str, str]) -> bool:
        try:
            jar = SimpleCookie(headers.get("cookie", ""))
        except CookieError:
            return False
        token = jar[COOKIE].value if COOKIE in jar else None
        return self.settings.pairing is not None and self.settings.pairing.knows(token)

    async def _pass(self, scope: Scope, headers: dict[str, str], receive: Receive, send: Send) -> None:
        scope.setdefault("state", {})["paired"] = self.settings.pairing is None or self._paired(headers)
        try:
            body = await asyncio.wait_for(_whole_body(receive), self.settings.body_limit_s)
        except TimeoutError:
            await _answer(send, 408, refusal("the body did not arrive in time."))
            return
        if body is None:
            await _answer(send, 413, refusal(f"the body is larger than {MOST_BODY} bytes.", "send one run at a time"))
            return
        given = False

        async def once() -> Message:
            nonlocal given
            if given:
                return {"type": "http.disconnect"}
            given = True
            return {"type": "http.request", "body": body, "more_body": False}

        started = False

        async def with_headers(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                message["headers"] = [*message.get("headers", []), *_HEADERS]
            await send(message)

        try:
            await self.app(scope, once, with_headers)
        except Exception as fault:  # the application has said it on the terminal; nothing reaches the asker
            if not started:
                print(f"racewright serve: a request failed: {type(fault).__name__}: {fault}", flush=True)
                words = "the program failed on this; the fault is ours, not yours."
                await _answer(send, 500, refusal(words, kind="engine"))


def _address(scope: Scope) -> str:
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


async def _answer(send: Send, status: int, body: bytes) -> None:
    extra = [(b"retry-after", b"1")] if status == 429 else []
    await send(
        {
            "type": "http.response.start",
            "status": status,
            "headers": [
                (b"content-type", b"application/json"),
                (b"content-length", str(len(body)).encode()),
                (b"cache-control", b"no-store"),
                *extra,
                *_HEADERS,
            ],
        }
    )
    await send({"type": "http.response.body", "body": body})
