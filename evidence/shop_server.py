"""The server and the command as programs that die where a trial wants it: between two rows of a save, before it is
committed, or after that and before anybody hears of it."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import sqlite3
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any
from unittest.mock import patch

from racewright.store.job_schema import connect, patiently

CONTEXT = get_context("forkserver")
CONTEXT.set_forkserver_preload(["shop_server", "uvicorn", "racewright.web.app", "racewright.cli.cmd_job"])


def _die_at(step: int) -> None:
    """This process is killed at that step of saving, counted from here (0: never)."""
    if not step:
        return
    left = step

    def count() -> None:
        nonlocal left
        left -= 1
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)

    def connected(path: Path, **more: Any) -> sqlite3.Connection:
        db = connect(path, **more)
        db.set_trace_callback(lambda statement: count() if statement.startswith("INSERT") else None)
        return db

    def done(db: sqlite3.Connection, *statements: str) -> None:
        if "COMMIT" in statements:
            count()
        patiently(db, *statements)
        if "COMMIT" in statements:
            count()

    patch("racewright.store.job_store.connect", connected).start()
    patch("racewright.store.job_rows.patiently", done).start()


def _serve(shop: str, port: int, die_at: int) -> None:
    import uvicorn

    from racewright.store.device_file import DeviceFile
    from racewright.store.served_backups import ServedBackups
    from racewright.store.served_shop import ServedShop
    from racewright.web.app import build_app
    from racewright.web.guard import ServerSettings
    from racewright.web.pairing import Pairing

    _die_at(die_at)
    served = ServedShop(Path(shop))
    settings = ServerSettings(
        hosts=frozenset({f"127.0.0.1:{port}"}), shop=served, pairing=Pairing(DeviceFile(Path(shop))), pace=False
    )
    with ServedBackups(served, quiet_s=0.2), contextlib.redirect_stdout(io.StringIO()):
        uvicorn.run(
            build_app(settings, {}), host="127.0.0.1", port=port, log_level="critical", access_log=False, lifespan="off"
        )


def server(shop: Path, port: int, die_at: int = 0) -> BaseProcess:
    """`racewright serve` on this file, which dies at that step of its saving (0: never)."""
    process = CONTEXT.Process(target=_serve, args=(str(shop), port, die_at))
    process.start()
    return process


def command(line: list[str]) -> int:
    """A line of the command, in this process; its exit code. What it prints is not looked at."""
    from racewright.cli.main import main

    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        try:
            return int(main(line) or 0)
        except SystemExit as end:
            return int(end.code or 0)


def _command(line: list[str], die_at: int) -> None:
    _die_at(die_at)
    raise SystemExit(command(line))


def dying_command(line: list[str], die_at: int) -> int | None:
    """The same in a process that dies at that step of its saving; None where it died."""
    process = CONTEXT.Process(target=_command, args=(line, die_at))
    process.start()
    process.join()
    return process.exitcode if (process.exitcode or 0) >= 0 else None
