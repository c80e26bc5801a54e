"""How much one device may write into a shop file: so many versions of records and so many bytes in 24 hours, and in
all. What was offered too late, and is kept as refused, counts as well. Own choices: a busy day on a site is some
hundreds of records of 2 kB, and ten people together write no more in ten years than one device may in all.

A device is who it is paired as (`by`). What others write is never counted against it, nor held up by it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from racewright.errors import LimitError
from racewright.store.job_rows import Rows


class Amount(NamedTuple):
    """So many versions of records, of so many bytes together."""

    versions: int
    bytes: int

    def plus(self, other: Amount) -> Amount:
        """Both together."""
        return Amount(self.versions + other.versions, self.bytes + other.bytes)


MOST_A_DAY = Amount(20_000, 50_000_000)
MOST_IN_ALL = Amount(1_000_000, 1_000_000_000)
_DAY = timedelta(hours=24)


class DeviceUse:
    """What one device wrote into an open shop file by now: `today` in the last 24 hours, and `in_all`."""

    def __init__(self, by: str, rows: Rows) -> None:
        """Counted from where it was counted last. Inside `writing` only."""
        self.by, self._rows = by, rows
        change, refused, versions, size = rows.device(by)
        self._upto = (rows.last_change(), rows.last_refused())
        since = Amount(*rows.written_by(by, after=(change, refused)))
        self.in_all = Amount(versions, size).plus(since)
        before = (datetime.now(UTC) - _DAY).isoformat(timespec="seconds")
        self.today = Amount(*rows.written_by(by, later=before))

    def keep(self) -> None:
        """Keep what was counted, where something else is written too. Inside `writing` only."""
        self._rows.count_device(self.by, (*self._upto, *self.in_all))

    def check(self, more: Amount) -> None:
        """Raises LimitError where it has no room for so much more."""
        who = f"'{self.by}'" if self.by else "this device"
        for had, most, span, then in (
            (self.today, MOST_A_DAY, "in 24 hours", "offer it again later"),
            (self.in_all, MOST_IN_ALL, "in all", "pair the device under another name at the shop's computer"),
        ):
            want = had.plus(more)
            hint = f"what you wrote stays where you wrote it: {then}"
            if want.versions > most.versions:
                raise LimitError(
                    f"{who} wrote {most.versions:,} versions of records {span}, the most that one device may.",
                    hint=hint,
                    quantity="versions",
                    asked=want.versions,
                    limit=most.versions,
                    unit="",
                )
            if want.bytes > most.bytes:
                raise LimitError(
                    f"{who} wrote {most.bytes / 1e6:,.6g} MB {span}, the most that one device may.",
                    hint=hint,
                    quantity="bytes",
                    asked=want.bytes,
                    limit=most.bytes,
                    unit="bytes",
                )
