"""How the planning of each run went, kept beside the shop file, so that a stopped batch goes on where it was.

Lines of JSON, each with a digest of its own, only ever added to and dropped at will: nothing here is a record. A line
that does not check, or that stands for another survey, bender or program, is passed over and the run planned again.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

import msgspec

from racewright.exports.output_file import write_whole
from racewright.job.plan_job import RunSummary
from racewright.records.ids import digest


class PlanCache:
    """The results beside one shop file, by digest."""

    def __init__(self, shop: Path) -> None:
        self.path = shop.with_name(f"{shop.name}.plans")
        # no more open to others than the shop file
        self._rights = shop.stat().st_mode & 0o666 if shop.exists() else 0o666
        self.known: dict[str, RunSummary] = {}
        self._lines = 0
        try:
            raw = self.path.read_bytes()
        except OSError:
            return
        for line in raw.split(b"\n"):
            found = _read(line)
            self._lines += 1
            if found is not None:
                self.known[found.digest] = found

    def get(self, run_digest: str) -> RunSummary | None:
        """What is known for this digest."""
        return self.known.get(run_digest)

    def add(self, results: Iterable[RunSummary]) -> None:
        """Keep these results. Where the folder cannot be written they are kept for this process only."""
        new = [r for r in results if r.outcome != "fault"]
        self.known.update((r.digest, r) for r in new)
        self._lines += len(new)
        data = b"".join(_line(r) for r in new)
        with suppress(OSError):
            # one write of whole lines at the end of the file: two batches at once do not tear each other's lines
            handle = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, self._rights)
            try:
                os.write(handle, b"\n" + data)
            finally:
                os.close(handle)

    def tidy(self, wanted: Iterable[str]) -> None:
        """Drop what no run stands for any more, once it is more than half of the file."""
        keep = {d: self.known[d] for d in wanted if d in self.known}
        if self._lines > 2 * len(keep) + 200:
            self.known = keep
            with suppress(Exception):
                write_whole(self.path, b"".join(_line(r) for r in keep.values()))
            self._lines = len(keep)


def _line(result: RunSummary) -> bytes:
    text = msgspec.json.encode(result).decode()
    return msgspec.json.encode([digest(text), text]) + b"\n"


def _read(line: bytes) -> RunSummary | None:
    try:
        told, text = msgspec.json.decode(line, type=tuple[str, str])
        return msgspec.json.decode(text, type=RunSummary) if told == digest(text) else None
    except (msgspec.DecodeError, UnicodeError):
        return None
