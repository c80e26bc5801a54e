"""Units of work on the cores of this machine or on a Dask cluster that is there already. Results come as they are done.

All three ways run the same pure function, `plan_chunk`, so that a plan does not depend on where it was made.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Generator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from importlib import import_module
from multiprocessing.connection import wait
from typing import Any

from racewright import __version__
from racewright.errors import InputError, MissingExtra
from racewright.job.plan_job import Chunk, RunSummary, plan_chunk

Results = Generator[tuple[RunSummary, ...], None, None]

#: Starting processes takes longer than planning so few chunks.
FEW_CHUNKS = 2
CONNECT_S = 10


def plan_here(chunks: Sequence[Chunk]) -> Results:
    """One chunk after the other, in this process."""
    for chunk in chunks:
        yield plan_chunk(chunk)


def plan_on_cores(chunks: Sequence[Chunk], processes: int | None = None) -> Results:
    """On all cores (or so many processes); in this process where that is quicker. When the caller stops early or is
    interrupted, the processes end at once. Raises InputError where a process was killed."""
    count = min(processes or os.cpu_count() or 1, len(chunks))
    if count <= 1 or (processes is None and len(chunks) <= FEW_CHUNKS):
        yield from plan_here(chunks)
        return
    others = {p.pid for p in multiprocessing.active_children()}
    pool = ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("spawn"), initializer=_begin_worker)
    done = False
    try:
        futures = [pool.submit(plan_chunk, chunk) for chunk in chunks]
        for future in as_completed(futures):
            yield future.result()
        done = True
    except BrokenProcessPool:
        raise InputError(
            "one of the planning processes was ended from outside (out of memory?).",
            hint="what was planned is kept: give the command again, with --processes 1 where memory is short",
        ) from None
    finally:
        if not done:
            for process in multiprocessing.active_children():
                if process.pid not in others:
                    process.terminate()
        pool.shutdown(wait=done, cancel_futures=True)


def plan_on_dask(chunks: Sequence[Chunk], address: str) -> Results:
    """On a Dask cluster whose scheduler is at 'dask://host:port'. Its workers need this version of Racewright.

    Raises MissingExtra without Dask here, InputError where no scheduler or worker answers, or one has another version.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        raise MissingExtra("Planning on a Dask cluster", "cluster") from None
    place = _scheduler(address)
    if not chunks:
        return
    try:
        client = distributed.Client(place, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as err:
        raise InputError(
            f"{address}: no Dask scheduler answers there ({type(err).__name__}).",
            hint="start one with `dask scheduler`, or leave --on out to use this machine's cores",
            field="on",
        ) from None
    try:
        _check_workers(client, address)
        futures = client.map(plan_chunk, chunks, pure=False)
        try:
            for future in distributed.as_completed(futures, loop=client.loop):
                yield future.result()
        finally:
            client.cancel(futures)
    finally:
        client.close()


def plan_chunks(chunks: Sequence[Chunk], *, processes: int | None = None, on: str = "") -> Results:
    """The chunks' results as they are done: on the cluster at `on` where it is given, else on this machine's cores."""
    if on:
        return plan_on_dask(chunks, on)
    return plan_on_cores(chunks, processes)


def _begin_worker() -> None:
    """The one at the keyboard stops the parent, and the parent its workers; a worker without a parent ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        sentinel = parent.sentinel

        def end_with_parent() -> None:
            wait([sentinel])
            os._exit(1)

        threading.Thread(target=end_with_parent, daemon=True).start()


def _scheduler(address: str) -> str:
    kind, sep, place = address.partition("://")
    if kind != "dask" or not sep or not place:
        raise InputError(
            f"--on: cannot use '{address}'.",
            hint="write the Dask scheduler's host and port, for example dask://127.0.0.1:8786",
            field="on",
            example="dask://127.0.0.1:8786",
        )
    return f"tcp://{place}"


def _check_workers(client: Any, address: str) -> None:
    try:
        client.wait_for_workers(1, timeout=CONNECT_S)
        versions = client.run(_version)
    except TimeoutError:
        raise InputError(
            f"{address}: the scheduler has no workers.", hint="start one with `dask worker`, then try again", field="on"
        ) from None
    except (ImportError, AttributeError) as err:
        raise InputError(
            f"{address}: a worker cannot load Racewright ({err}).",
            hint=f"install racewright {__version__} there",
            field="on",
        ) from None
    other = sorted({v for v in versions.values() if v != __version__})
    if other:
        raise InputError(
            f"{address}: a worker has Racewright {other[0]}, this is {__version__}.",
            hint="install the same version everywhere: plans must not depend on where they are made",
            field="on",
        )


def _version() -> str:
    return __version__
