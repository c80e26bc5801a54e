"""One watched connection on a transport of the test's: a reader that stops, one that is slow, heads that come late."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest

pytest.importorskip("uvicorn")

import uvicorn
from uvicorn.server import ServerState

from racewright.web import connections
from racewright.web.connections import LEAST_READ, MOST_IN_ALL, MOST_OF_ADDRESS, Connection


class Wire(asyncio.Transport):
    """What a connection writes to: `left` bytes wait to be taken; ended by `abort`."""

    def __init__(self, address: str) -> None:
        super().__init__({"peername": (address, 5000), "sockname": ("127.0.0.1", 80)})
        self.left, self.over = 0, False

    def get_write_buffer_size(self) -> int:
        return self.left

    def abort(self) -> None:
        self.over = True

    def write(self, data: Any) -> None:
        self.left += len(data)

    def close(self) -> None:
        self.over = True

    def is_closing(self) -> bool:
        return self.over

    def resume_reading(self) -> None:
        """Nothing to do: nothing is read."""


async def empty(_: Any, __: Any, send: Callable[[Any], Awaitable[None]]) -> None:
    """An application that answers with nothing."""
    await send({"type": "http.response.start", "status": 204, "headers": []})
    await send({"type": "http.response.body", "body": b""})


class Server:
    """What connections share."""

    def __init__(self) -> None:
        self.state = ServerState()
        self.config = uvicorn.Config(empty, http=Connection, ws="none", lifespan="off", log_level="error")
        self.config.load()

    def connected(self, address: str = "10.0.0.1") -> tuple[Connection, Wire]:
        """A new connection from there."""
        one, wire = Connection(config=self.config, server_state=self.state, app_state={}), Wire(address)
        one.connection_made(wire)
        return one, wire


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "HEAD_S", 0.05)


@pytest.mark.parametrize(("taken", "over"), [(0, True), (LEAST_READ - 1, True), (LEAST_READ, False)])
def test_a_reader_that_stops_is_left_and_a_slow_one_is_not(taken: int, over: bool) -> None:
    async def read() -> bool:
        one, wire = Server().connected()
        one.data_received(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        wire.left = 10 * LEAST_READ
        one.pause_writing()
        assert one._stall is not None
        one._stall.cancel()
        wire.left -= taken
        one._look_after_reader(10 * LEAST_READ)  # as the clock would
        was = wire.over
        wire.left = 0
        one.resume_writing()
        assert one._stall is None
        one.connection_lost(None)
        return was

    assert asyncio.run(read()) is over


def test_an_answer_that_is_still_on_its_way_is_no_idle_connection() -> None:
    async def wait() -> tuple[bool, bool]:
        one, wire = Server().connected()
        wire.left = 5
        await asyncio.sleep(0.15)
        before, wire.left = wire.over, 0
        await asyncio.sleep(0.15)
        one.connection_lost(None)
        return before, wire.over

    assert asyncio.run(wait()) == (False, True)


def test_a_whole_head_stops_the_clock_until_its_answer_is_given(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "HEAD_S", 2.0)

    async def ask() -> list[bool]:
        one, wire = Server().connected()
        one.data_received(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        assert not one.idle
        seen: list[bool] = []
        for _ in range(3):
            await asyncio.sleep(0.03)
            seen.append(one.idle)
            wire.left = 0
            one.data_received(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        seen.append(wire.over)
        for _ in range(600):
            await asyncio.sleep(0.05)
            wire.left = 0
            if wire.over:
                break
        one.connection_lost(None)
        return [*seen, wire.over]

    assert asyncio.run(ask()) == [True, True, True, False, True]


def test_who_has_most_connections_loses_the_longest_idle_one() -> None:
    async def connect() -> None:
        server = Server()
        first, wire = server.connected()
        rest = [server.connected() for _ in range(MOST_OF_ADDRESS - 1)]
        assert not wire.over
        first.data_received(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")  # at work: not idle
        _, new = server.connected()
        assert [wire.over, rest[0][1].over, rest[1][1].over, new.over] == [False, True, False, False]

    asyncio.run(connect())


def test_one_address_of_many_is_let_in_when_the_house_is_full(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "MOST_IN_ALL", 40)
    assert MOST_IN_ALL > 4 * MOST_OF_ADDRESS

    async def connect() -> None:
        server = Server()
        crowd = [server.connected("10.0.0.1") for _ in range(30)]
        for number in range(10):
            server.connected(f"10.0.1.{number}")
        _, new = server.connected("10.0.2.1")
        assert not new.over
        assert [wire.over for _, wire in crowd].count(True) == 1
        assert crowd[0][1].over

    asyncio.run(connect())


def test_where_all_of_an_address_are_at_work_one_more_is_turned_away() -> None:
    async def connect() -> None:
        server = Server()
        for _ in range(MOST_OF_ADDRESS):
            one, wire = server.connected()
            one.data_received(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\n\r\n")
        _, new = server.connected()
        assert new.over
        assert not wire.over
        assert not server.connected("10.0.0.2")[1].over

    asyncio.run(connect())
