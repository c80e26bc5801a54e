"""Which job of a shop file the commands mean where none is named: kept beside the file, for it is no record of the
shop."""

from __future__ import annotations

from pathlib import Path

from racewright.exports.output_file import write_whole
from racewright.store.job_store import JobStore


def current_job(store: JobStore) -> str:
    """The key of the current job, '' where there is none, or it is in the file no more."""
    try:
        key = _beside(store.path).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeError):
        return ""
    return next((known for known in store.jobs() if known.casefold() == key.casefold()), "")


def make_current(store: JobStore, key: str) -> None:
    """The job of this key is the current one from now on. Raises InputError where it cannot be written down."""
    write_whole(_beside(store.path), f"{key}\n".encode())


def _beside(shop: Path) -> Path:
    return shop.with_name(f"{shop.name}.current")
