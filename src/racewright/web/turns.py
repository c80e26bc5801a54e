"""One question of a device at a time: whoever asks for much waits for it alone."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

from starlette.requests import Request

from racewright.web.guard import address_of


class Turns:
    """Whose turn it is, device by device; nothing is kept of one that asks nothing."""

    def __init__(self) -> None:
        self._locks: dict[str, asyncio.Lock] = {}
        self._waiting: dict[str, int] = {}

    async def take(self, who: str) -> Callable[[], None]:
        """Wait for this one's turn; gives what ends it."""
        lock = self._locks.setdefault(who, asyncio.Lock())
        self._waiting[who] = self._waiting.get(who, 0) + 1
        try:
            await lock.acquire()
        except BaseException:
            self._leave(who)
            raise

        def over() -> None:
            lock.release()
            self._leave(who)

        return over

    def _leave(self, who: str) -> None:
        self._waiting[who] -= 1
        if not self._waiting[who]:
            del self._waiting[who], self._locks[who]


def who_asks(request: Request) -> str:
    """The paired device, else the address that it asks from."""
    device = request.state.device
    return f"device {device.name}" if device else f"address {address_of(request.scope)}"
