"""Which job of a shop file a person's commands mean where none is named: kept beside the file, one for each login name,
for it is no record of the shop."""

from __future__ import annotations

import getpass
import re
from pathlib import Path

from racewright.exports.output_file import write_whole
from racewright.store.job_store import JobStore


def current_job(store: JobStore) -> str:
    """The key of this person's current job, '' where there is none, or it is in the file no more."""
    try:
        key = _beside(store.path).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeError):
        return ""
    return next((known for known in store.jobs() if known.casefold() == key.casefold()), "")


def make_current(store: JobStore, key: str) -> None:
    """The job of this key is this person's current one from now on. Raises InputError where that cannot be
    written down."""
    write_whole(_beside(store.path), f"{key}\n".encode())


def _beside(shop: Path) -> Path:
    name = re.sub(r"[^A-Za-z0-9_-]", "_", login_name())[:40]
    return shop.with_name(f"{shop.name}.current{f'-{name}' if name else ''}")


def login_name() -> str:
    """Who is logged in, '' where nobody can say."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""


def is_login(name: str) -> bool:
    """Whether somebody of this machine logs in by this name, letter case aside: what they do by command bears it."""
    if name.casefold() == login_name().casefold():
        return True
    try:
        import pwd  # not on Windows
    except ImportError:
        return False
    for spelled in {name, name.lower()}:
        try:
            pwd.getpwnam(spelled)
        except (KeyError, OSError, ValueError):
            continue
        return True
    return False
