"""Connections that wait for nobody: late heads, stalled readers, and more of them than one address may hold, are ended.

Who comes new is let in and the longest idle connection goes, so that idle ones shut nobody out."""

from __future__ import annotations

import asyncio
import errno
import sys
from contextlib import suppress
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

from racewright.errors import LimitError
from racewright.web import terminal

#: Connections of one address (a browser opens six), and of all of them.
MOST_OF_ADDRESS = 32
MOST_IN_ALL = 512
#: The head of a request has to be there so long after the connection, or after the answer before.
HEAD_S = 10.0
#: Whoever reads an answer takes at least so many bytes in this time.
STALL_S, LEAST_READ = 20.0, 20_000
#: So many files a server may have open: those connections, many more that have not said a word yet, and its own.
MOST_FILES = 4096
#: That no more can be had is said so often at most.
_SAID_EVERY_S = 60.0


def have_room() -> None:
    """Let this process have so many files open, as far as the system lets it: some begin with 256."""
    if sys.platform == "win32":
        return
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    most = MOST_FILES if hard == resource.RLIM_INFINITY else min(MOST_FILES, hard)
    if soft != resource.RLIM_INFINITY and soft < most:
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


class Troubles:
    """What the loop says of its troubles: where there is no file for one more connection, one line and not a trace each
    time that it looks."""

    def __init__(self) -> None:
        self._said = -_SAID_EVERY_S

    def __call__(self, loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        """As a loop's exception handler."""
        err = context.get("exception")
        if not (isinstance(err, OSError) and err.errno in (errno.EMFILE, errno.ENFILE)):
            loop.default_exception_handler(context)
        elif loop.time() - self._said >= _SAID_EVERY_S:
            self._said = loop.time()
            hint = "those that say nothing end within 10 s; `ulimit -n` allows more"
            terminal.say_trouble(LimitError("more connections came than may be open; new ones wait.", hint=hint))


class Connection(H11Protocol):
    """One connection, watched."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Someone connects."""
        super().connection_made(transport)
        self._head: asyncio.TimerHandle | None = None
        self._stall: asyncio.TimerHandle | None = None
        self.idle_since = self.loop.time()
        self._await_head()
        self._make_room()

    def connection_lost(self, exc: Exception | None) -> None:
        """It is over."""
        for timer in (self._head, self._stall):
            if timer:
                timer.cancel()
        super().connection_lost(exc)

    def handle_events(self) -> None:
        """Take what came; a head that is whole stops the clock."""
        before = self.cycle
        super().handle_events()
        if self.cycle is not before and self._head:
            self._head.cancel()
            self._head = None

    def on_response_complete(self) -> None:
        """The answer is given; the next head is awaited."""
        self.idle_since = self.loop.time()
        self._await_head()
        super().on_response_complete()

    def pause_writing(self) -> None:
        """The asker does not take the answer as fast as it is given: it may, but not stop."""
        super().pause_writing()
        if self._stall is None:
            self._look_after_reader()

    def resume_writing(self) -> None:
        """It was taken."""
        super().resume_writing()
        if self._stall:
            self._stall.cancel()
            self._stall = None

    @property
    def idle(self) -> bool:
        """Whether no request of it is at work."""
        return self.cycle is None or self.cycle.response_complete

    @property
    def address(self) -> str:
        """Where it comes from."""
        return self.client[0] if self.client else ""

    def end(self) -> None:
        """End it at once, whatever is under way."""
        self.transport.abort()

    def _await_head(self) -> None:
        if self._head:
            self._head.cancel()
        self._head = self.loop.call_later(HEAD_S, self._late)

    def _late(self) -> None:
        if self.transport.get_write_buffer_size():  # the last answer is still on its way
            self._await_head()
        else:
            self.end()

    def _look_after_reader(self, left_before: int | None = None) -> None:
        left = self.transport.get_write_buffer_size()
        if left_before is not None and left and left > left_before - LEAST_READ:
            self.end()
        else:
            self._stall = self.loop.call_later(STALL_S, self._look_after_reader, left)

    def _make_room(self) -> None:
        """Where there are too many, the longest idle one goes: of this address, or of the one that has most."""
        of: dict[str, list[Any]] = {}
        for each in self.connections:
            of.setdefault(getattr(each, "address", ""), []).append(each)
        crowd = of[self.address]
        if len(crowd) <= MOST_OF_ADDRESS:
            if len(self.connections) <= MOST_IN_ALL:
                return
            crowd = max(of.values(), key=len)
        idle = [each for each in crowd if each is not self and each.idle]
        min(idle, key=lambda each: each.idle_since, default=self).end()
