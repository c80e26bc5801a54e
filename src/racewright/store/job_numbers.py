"""The numbers that a shop file has given, of changes and of revisions, kept beside it in `FILE.numbers`: a file that is
brought back from a backup does not give them again, so that "revision 5 of run PH-01" means one text for ever.

Where a file was brought back, the next change takes a number above all that were given, and so does the next revision
of every record; the gap among the changes says so in the file itself. What stands beside it is no record: where it is
missing (on another computer) or is another shop's, devices still tell which changes they had heard of."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import msgspec

from racewright.exports.output_file import draft_beside, keep_rights
from racewright.records.fields import RevisionNumber
from racewright.records.ids import Id, digest


class Given(msgspec.Struct, frozen=True, array_like=True):
    """By the shop of this id. `most`: the highest number given; `past`: as `Numbers.past` was."""

    shop: Id
    most: RevisionNumber
    past: RevisionNumber


class Numbers:
    """The numbers of one open shop file; `shop_id`: of which shop, None before its first change."""

    def __init__(self, db: sqlite3.Connection, shop: Path, shop_id: Callable[[], Id | None]) -> None:
        self._db = db
        self._shop = shop
        self._shop_id = shop_id
        self.path = shop.with_name(f"{shop.name}.numbers")
        self._before: tuple[Given | None] | None = None  # what stood there before this save gave any
        self._looked = (0, 0)

    def past(self) -> int:
        """No new revision has this number, or a lower one: 0 in a file that was never brought back."""
        given, last = self._read(), self.last_change()
        if given is None:
            return self._gap(last)
        return max(given.past if last >= given.most else given.most, self._gap(last))

    def after(self, number: int) -> int:
        """The number that comes after this one (0: the first), of a record's revisions or of the changes."""
        return max(number, self.past()) + 1

    def give(self, most: int) -> None:
        """Numbers up to this one are given: kept before the disk has what bears them. Inside `writing` only."""
        had, shop = self._read(), self._shop_id()
        if shop is None:
            return  # its first change makes it the shop that it is
        self._before = self._before or (had,)
        self._keep(Given(shop, max(most, had.most if had else 0), self.past()))

    def pass_over(self, told: int) -> None:
        """This shop told somebody of a change of this number that is not here. Inside `writing` only."""
        shop = self._shop_id()
        if shop is not None and self.past() < told:
            self._keep(Given(shop, max(told, self.last_change()), told))

    def ended(self, *, saved: bool) -> None:
        """What was being saved is on the disk, or was not saved and gave no number."""
        if not saved and self._before:
            (before,) = self._before
            if before is not None:
                self._keep(before)
            else:
                with suppress(OSError):
                    self.path.unlink(missing_ok=True)
        if not saved:
            self._looked = (0, 0)
        self._before = None

    def last_change(self) -> int:
        """The number of the file's last change, 0 where there is none."""
        return int(self._db.execute("SELECT coalesce(max(id), 0) FROM change").fetchone()[0])

    def _gap(self, last: int) -> int:
        """The number before the last change that does not follow on the one before it; up to `last`, the last change,
        each is looked at once."""
        looked, gap = self._looked if self._looked[0] <= last else (0, 0)
        if looked < last:
            follows = "EXISTS (SELECT 1 FROM change b WHERE b.id = c.id - 1)"
            asked = f"SELECT max(id) FROM change c WHERE id > ? AND NOT {follows}"
            found = self._db.execute(asked, (looked,)).fetchone()[0]
            gap = int(found) - 1 if found else gap
            self._looked = last, gap
        return gap

    def _read(self) -> Given | None:
        try:
            told, text = msgspec.json.decode(self.path.read_bytes(), type=tuple[str, str])
            given = msgspec.json.decode(text, type=Given)
            return given if told == digest(text) and given.shop == self._shop_id() else None
        except (OSError, msgspec.DecodeError, UnicodeError):
            return None

    def _keep(self, given: Given) -> None:
        """Where the folder cannot be written the gaps in the file must do."""
        text = msgspec.json.encode(given).decode()
        draft = draft_beside(self.path)
        with suppress(OSError):
            try:
                draft.write_bytes(msgspec.json.encode([digest(text), text]))
                keep_rights(draft, self._shop.stat())
                os.replace(draft, self.path)
            finally:
                draft.unlink(missing_ok=True)
