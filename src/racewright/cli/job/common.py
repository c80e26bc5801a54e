"""What the actions of `racewright job` share: which shop file, which job, who."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from racewright.errors import InputError
from racewright.store.current_job import current_job, login_name, make_current
from racewright.store.device_file import DeviceFile
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_store import JobStore
from racewright.store.places import shop_file


def shop_path(args: argparse.Namespace) -> Path:
    """The shop file that a command means."""
    return shop_file(args.shop)


@contextmanager
def open_shop(args: argparse.Namespace, *, create: bool = False) -> Iterator[JobStore]:
    """The open shop file; where something was saved in it, a backup is made beside it at the end."""
    with opened(shop_path(args), create=create) as store:
        yield store


@contextmanager
def opened(path: Path, *, create: bool = False) -> Iterator[JobStore]:
    """As `open_shop`, by the file's name."""
    with JobStore.open(path, create=create) as store:
        yield store
        if store.changed:
            try:
                store.backup()
            except StoreTrouble as err:
                print(f"saved, but without a new backup: {err}", file=sys.stderr)


def job_key(args: argparse.Namespace, store: JobStore) -> str:
    """--job, else the only job that there is, else the current one. Raises InputError."""
    if args.job:
        return str(args.job)
    keys = store.jobs()
    if len(keys) == 1:
        return keys[0]
    if (current := current_job(store)) in keys:
        print(f"job {current}", file=sys.stderr)
        return current
    raise InputError(
        f"{store.path}: holds {len(keys)} jobs, and none is the current one.",
        hint=f"name one with --job, or once for all with `racewright job use KEY`: {', '.join(keys)}"
        if keys
        else "begin one with `racewright job new`",
        field="job",
        expected=", ".join(keys),
    )


def work_on(store: JobStore, key: str) -> str:
    """Make a job that was just saved the current one; returns what to say of it."""
    try:
        make_current(store, key)
    except InputError as err:
        return f"it is not the current job, for that could not be written down: {err.message}"
    return "it is the current job"


def who(args: argparse.Namespace) -> str:
    """--by, else the login name, else ''. Raises InputError for the name of a paired device: what is written under that
    is the device's."""
    if args.by is None:
        return login_name()
    by = str(args.by)
    with suppress(StoreTrouble):  # a list that cannot be read keeps nobody from working
        if any(device.name.casefold() == by.strip().casefold() for device in DeviceFile(shop_path(args)).listed()):
            raise InputError(
                f"'{by}' is a paired device: what is done here is not done by it.",
                hint="give a person's name, or none; `racewright devices` lists the devices",
                field="--by",
            )
    return by
