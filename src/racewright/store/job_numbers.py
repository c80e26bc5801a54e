"""The numbers that a shop file has given, of changes and of revisions, kept beside it in `FILE.numbers`: a file that is
brought back from a backup does not give them again, so that "revision 5 of run PH-01" means one text for ever.

Where a file was brought back, the next change takes a number above all that were given, and so does the next revision
of every record; the gap among the changes says so in the file itself. What stands beside it is no record: where it is
missing (on another computer) devices still tell which changes they had heard of."""

from __future__ import annotations

import os
import sqlite3
from contextlib import suppress
from pathlib import Path

import msgspec

from racewright.exports.output_file import draft_beside, keep_rights
from racewright.records.ids import digest

#: What a device says that it heard of is believed up to so many changes beyond the last one here.
_MOST_AHEAD = 1_000_000


class Given(msgspec.Struct, frozen=True, array_like=True):
    """`most`: the highest number given; `past`: as `Numbers.past` was."""

    most: int
    past: int


class Numbers:
    """The numbers of one open shop file."""

    def __init__(self, db: sqlite3.Connection, shop: Path) -> None:
        self._db = db
        self._shop = shop
        self.path = shop.with_name(f"{shop.name}.numbers")
        self._before: Given | None = None

    def past(self) -> int:
        """No new revision has this number, or a lower one: 0 in a file that was never brought back."""
        given = self._read()
        if given is None:
            return self._gap()
        return given.past if self.last_change() >= given.most else given.most

    def after(self, number: int) -> int:
        """The number that comes after this one (0: the first), of a record's revisions or of the changes."""
        return max(number, self.past()) + 1

    def give(self, most: int) -> None:
        """Numbers up to this one are given: kept before the disk has what bears them. Inside `writing` only."""
        had = self._read()
        self._before = self._before or had
        self._keep(Given(max(most, had.most if had else 0), self.past()))

    def pass_over(self, told: int) -> None:
        """Somebody heard of a change of this number that is not here. Inside `writing` only."""
        last = self.last_change()
        if self.past() < told <= last + _MOST_AHEAD:
            self._keep(Given(max(told, last), told))

    def ended(self, *, saved: bool) -> None:
        """What was being saved is on the disk, or was not saved and gave no number."""
        if not saved and self._before:
            self._keep(self._before)
        self._before = None

    def last_change(self) -> int:
        """The number of the file's last change, 0 where there is none."""
        return int(self._db.execute("SELECT coalesce(max(id), 0) FROM change").fetchone()[0])

    def _gap(self) -> int:
        """The number before the last change that does not follow on the one before it."""
        asked = "SELECT max(id) FROM change c WHERE NOT EXISTS (SELECT 1 FROM change b WHERE b.id = c.id - 1)"
        found = self._db.execute(asked).fetchone()[0]
        return int(found) - 1 if found else 0

    def _read(self) -> Given | None:
        try:
            told, text = msgspec.json.decode(self.path.read_bytes(), type=tuple[str, str])
            return msgspec.json.decode(text, type=Given) if told == digest(text) else None
        except (OSError, msgspec.DecodeError, UnicodeError):
            return None

    def _keep(self, given: Given) -> None:
        """Where the folder cannot be written the gaps in the file must do."""
        text = msgspec.json.encode(given).decode()
        draft = draft_beside(self.path)
        with suppress(OSError):
            draft.write_bytes(msgspec.json.encode([digest(text), text]))
            keep_rights(draft, self._shop.stat())
            os.replace(draft, self.path)
