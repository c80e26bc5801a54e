"""Questions worked out in processes of their own, kept warm: one that takes too long is ended with its process, and
neither the server nor another asker waits for it."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from typing import IO

import msgspec

from racewright.errors import RacewrightError
from racewright.operations.answer import answer, not_read
from racewright.operations.common import Known, Refused
from racewright.operations.operations import OPERATIONS, prepare
from racewright.store.places import own_shop
from racewright.store.served_tools import ServedTools

#: Answered where they are asked: they take no time, and must not wait behind what does.
LIGHT = frozenset({"catalogue", "parse_length", "benders", "bender", "schema"})
#: What to do where a device is not told what it asks for.
READS_HINT = "at the server: racewright devices NAME --reads"
#: Fields of requests that name a tool.
_NAMES_TOOL = frozenset({"bender", "bender_name"})
_START_S = 60.0
_COMMAND = (sys.executable, "-m", "racewright.web.questions")


class Asked(msgspec.Struct, frozen=True, array_like=True):
    """A question on its way to a process: the operation, its request as JSON, the shop file whose tools it may name.
    `tools`: the asker is told of tools that are kept."""

    operation: str
    request: bytes
    shop: str
    tools: bool = True


class Given(msgspec.Struct, frozen=True, array_like=True):
    """What comes back: the status and the answer as JSON."""

    status: int
    body: bytes


class TookTooLong(Exception):
    """The time was over; the process that worked on it is ended."""


class Ended(Exception):
    """The process ended by itself: killed from outside, or out of memory."""


def worked_out(asked: Asked) -> Given:
    """The answer, or why there is none."""
    try:
        data = msgspec.json.decode(asked.request or b"{}")
    except (msgspec.DecodeError, UnicodeError, RecursionError) as err:
        return Given(400, msgspec.json.encode(Refused(error=not_read(asked.request, err))))
    tools = ServedTools(*((Path(asked.shop), own_shop()) if asked.tools else ()), say=_say)
    given = answer(asked.operation, data, Known(tools))
    if not isinstance(given, Refused):
        return Given(200, msgspec.json.encode(given))
    if not asked.tools and given.error.field.rpartition(".")[2] in _NAMES_TOOL and given.error.kind == "unknown name":
        hint = f"{given.error.hint}; this device is told no tools of the shop; {READS_HINT}"
        given = Refused(error=msgspec.structs.replace(given.error, hint=hint))
    if tools.trouble is not None:
        error = msgspec.structs.replace(given.error, kind="missing")
        return Given(503, msgspec.json.encode(Refused(error=error)))
    status = 404 if asked.operation not in OPERATIONS else 500 if given.error.kind == "engine" else 422
    return Given(status, msgspec.json.encode(given))


def _say(err: RacewrightError) -> None:
    print(f"racewright serve: {err}", file=sys.stderr, flush=True)


class Questions:
    """Processes, started as they are needed and kept: as many as were ever asked at once."""

    def __init__(self, limit_s: float, command: tuple[str, ...] = _COMMAND) -> None:
        self.limit_s, self._command = limit_s, command
        self._lock = threading.Lock()
        self._idle: list[_Process] = []
        self._all: set[_Process] = set()
        self._closed = False

    def warm(self) -> None:
        """Have one process ready before the first question."""
        with self._lock:
            if not self._all:
                self._idle.append(self._started())

    def ask(self, asked: Asked) -> Given:
        """The answer, by a process that is idle or a new one. One that was killed while it was idle is known by that it
        ends; another is asked then, once. Raises TookTooLong, Ended."""
        try:
            return self._ask(asked)
        except Ended:
            return self._ask(asked)

    def _ask(self, asked: Asked) -> Given:
        with self._lock:
            if self._closed:
                raise Ended
            process = self._idle.pop() if self._idle else self._started()
        try:
            given = process.ask(asked, self.limit_s)
        except BaseException:
            process.end()
            with self._lock:
                self._all.discard(process)
                if not self._closed:
                    self._idle.append(self._started())  # warm by the time that somebody needs it
            raise
        with self._lock:
            self._idle.append(process)
        return given

    def close(self) -> None:
        """End every process."""
        with self._lock:
            self._closed = True
            while self._all:
                self._all.pop().end()

    def _started(self) -> _Process:
        process = _Process(self._command)
        self._all.add(process)
        return process


class _Process:
    """One process that answers one question after the other."""

    def __init__(self, command: tuple[str, ...]) -> None:
        # a session of its own: Ctrl-C at the terminal is for the server, which ends it
        self._child = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, start_new_session=os.name == "posix"
        )
        self._ready = False

    def ask(self, asked: Asked, limit_s: float) -> Given:
        """Raises TookTooLong, Ended."""
        if not self._ready:
            self._within(_START_S, None)
            self._ready = True
        return msgspec.msgpack.decode(self._within(limit_s, msgspec.msgpack.encode(asked)), type=Given)

    def _within(self, limit_s: float, question: bytes | None) -> bytes:
        over = threading.Event()

        def too_long() -> None:
            over.set()
            self.end()

        timer = threading.Timer(limit_s, too_long)
        timer.daemon = True
        timer.start()
        try:
            assert self._child.stdin
            assert self._child.stdout
            if question is not None:
                _write(self._child.stdin, question)
            found = _read(self._child.stdout)
        except OSError:
            found = None
        finally:
            timer.cancel()
        if found is None:
            raise TookTooLong if over.is_set() else Ended
        return found

    def end(self) -> None:
        """End it, whatever it is at, and wait until it is gone."""
        self._child.kill()
        self._child.wait()


def _write(stream: IO[bytes], data: bytes) -> None:
    stream.write(struct.pack(">Q", len(data)) + data)
    stream.flush()


def _read(stream: IO[bytes]) -> bytes | None:
    """The next message; None at the end."""
    head = stream.read(8)
    if len(head) < 8:
        return None
    size = struct.unpack(">Q", head)[0]
    data = stream.read(size)
    return data if len(data) == size else None


def main() -> None:
    """Answer what comes in at standard input until it ends, which it does with the server."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever is printed goes to the terminal, and never between two answers
    prepare()
    with suppress(OSError):  # the server is gone, and nobody waits for this answer
        _write(out, b"")
        while (question := _read(sys.stdin.buffer)) is not None:
            _write(out, msgspec.msgpack.encode(worked_out(msgspec.msgpack.decode(question, type=Asked))))


if __name__ == "__main__":
    main()
