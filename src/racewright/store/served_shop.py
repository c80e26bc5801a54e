"""A shop file as a server has it: opened for each question, by whichever thread asks, while commands write it too.

All of it is looked at when it is opened first, and again where another file has been put in its place. Opening it after
that takes a fraction of a millisecond, so that no connection outlives a question: a file that is brought back from a
backup is seen at the next."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from racewright.store.job_errors import DamagedFile, MissingFile, MovedFile, StoreTrouble
from racewright.store.job_schema import Place
from racewright.store.job_store import JobStore

T = TypeVar("T")


class ServedShop:
    """One shop file, for any number of threads. `on_save` is called when something was saved in it here."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.on_save: Callable[[], None] = lambda: None
        self._here = False  # whether it ever was
        self._whole: Place | None = None  # the file that was looked at

    def ask(self, work: Callable[[JobStore], T], *, create: bool = False) -> T:
        """What `work` makes of the open file. `create`: make it where it never was. Raises MissingFile where it is not
        and never was, StoreTrouble, whatever `work` raises."""
        try:
            return self._once(work, create)
        except MovedFile:
            return self._once(work, create)

    def look_again(self) -> None:
        """All of the file is looked at when it is asked next."""
        self._whole = None

    def _once(self, work: Callable[[JobStore], T], create: bool) -> T:
        try:
            with JobStore.open(self.path, create=create and not self._here, looked_at=self._whole) as store:
                self._whole, self._here = store.rows.place, True
                try:
                    return work(store)
                finally:
                    if store.changed:
                        self.on_save()
        except MissingFile:
            if not self._here:
                raise
            raise StoreTrouble(
                f"{self.path}: the shop file was here, and is gone; nothing was saved.",
                hint="bring it back, or its newest backup by `racewright job recover`; what devices keep stays there",
            ) from None
        except DamagedFile:
            self.look_again()
            raise
