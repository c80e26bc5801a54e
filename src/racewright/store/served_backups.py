"""Backups of a shop file while a server has it: in a thread of its own, which no answer waits for."""

from __future__ import annotations

import threading
import time
from types import TracebackType

from racewright.store.job_errors import StoreTrouble
from racewright.store.served_shop import ServedShop

#: A backup is made when nobody has saved for so long, and at the latest so long after the first save; where that
#: failed, it is tried again after the longer time.
QUIET_S, LATEST_S = 20.0, 300.0


class ServedBackups:
    """Use it in a `with`: what was saved until its end is in a backup then."""

    def __init__(self, shop: ServedShop, *, quiet_s: float = QUIET_S, latest_s: float = LATEST_S) -> None:
        self._shop, self._quiet_s, self._latest_s = shop, quiet_s, latest_s
        self._told = threading.Condition()
        self._due: tuple[float, float] | None = None  # when at the latest, and when if nobody saves any more
        self._ends = False
        self._thread = threading.Thread(target=self._work, name="backups", daemon=True)

    def __enter__(self) -> ServedBackups:
        self._shop.on_save = self._note
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, err: BaseException | None, trace: TracebackType | None
    ) -> None:
        with self._told:
            self._ends = True
            self._told.notify()
        self._thread.join()

    def _note(self) -> None:
        with self._told:
            now = time.monotonic()
            latest = self._due[0] if self._due else now + self._latest_s
            self._due = latest, now + self._quiet_s
            self._told.notify()

    def _work(self) -> None:
        while self._wait():
            try:
                self._shop.ask(lambda store: store.backup())
            except StoreTrouble as err:
                print(f"racewright serve: no new backup: {err}", flush=True)
                self._shop.look_again()
                with self._told:
                    later = time.monotonic() + self._latest_s
                    self._due = None if self._ends else self._due or (later, later)

    def _wait(self) -> bool:
        """Until a backup is due, which is then true; false at the end."""
        with self._told:
            while not (self._due and (self._ends or min(self._due) <= time.monotonic())):
                if self._ends:
                    return False
                self._told.wait(min(self._due) - time.monotonic() if self._due else None)
            self._due = None
            return True
