"""How much one device may write into a shop file: so many versions of records and so many bytes in 24 hours, and in
all. What was offered too late, and is kept as refused, counts as well. Own choices: a busy day on a site is some
hundreds of records of 2 kB, and ten people together write no more in ten years than one device may in all.

A device is who it is paired as (`by`), and only what it offers counts: what others write, and what commands write under
the same name, is neither counted against it nor held up by it. It is counted by hours, so a day is 24 to 25 of them."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import reduce
from typing import NamedTuple

from racewright.errors import LimitError
from racewright.store.job_rows import Rows, now


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
_HOUR = len("2026-05-04T08")
_NONE = Amount(0, 0)


class NoRoomToday(LimitError):
    """The device wrote as much as it may in a day: later it may go on."""


class DeviceUse:
    """What one device wrote into an open shop file by now: `today` in the last 24 hours, and `in_all`."""

    def __init__(self, by: str, rows: Rows) -> None:
        """Inside `writing` only."""
        self.by, self._rows, self._now = by, rows, now()[:_HOUR]
        day_ago = (datetime.fromisoformat(now()) - _DAY).isoformat()[:_HOUR]
        self._hours: dict[str, Amount] = {}
        for hour, counted in rows.device(by).items():
            kept = hour if day_ago <= hour <= self._now else ""  # a clock may have been wrong
            self._hours[kept] = self._hours.get(kept, _NONE).plus(Amount(*counted))
        self.in_all = reduce(Amount.plus, self._hours.values(), _NONE)
        self.today = reduce(Amount.plus, (amount for hour, amount in self._hours.items() if hour), _NONE)

    def keep(self, more: Amount) -> None:
        """Count what the device has written just now. Inside `writing` only."""
        self._hours[self._now] = self._hours.get(self._now, _NONE).plus(more)
        self._rows.count_device(self.by, self._hours)

    def check(self, more: Amount) -> None:
        """Raises LimitError where it has no room for so much more, NoRoomToday where it has later."""
        who = f"'{self.by}'" if self.by else "this device"
        for had, most, span, error, then in (
            (
                self.in_all,
                MOST_IN_ALL,
                "in all",
                LimitError,
                "pair the device under another name at the shop's computer",
            ),
            (self.today, MOST_A_DAY, "in 24 hours", NoRoomToday, "it goes in later, by itself"),
        ):
            want = had.plus(more)
            hint = f"what you wrote stays where you wrote it: {then}"
            if want.versions > most.versions:
                raise error(
                    f"{who} wrote {most.versions:,} versions of records {span}, the most that one device may.",
                    hint=hint,
                    quantity="versions",
                    asked=want.versions,
                    limit=most.versions,
                    unit="",
                )
            if want.bytes > most.bytes:
                raise error(
                    f"{who} wrote {most.bytes / 1e6:,.6g} MB {span}, the most that one device may.",
                    hint=hint,
                    quantity="bytes",
                    asked=want.bytes,
                    limit=most.bytes,
                    unit="bytes",
                )
