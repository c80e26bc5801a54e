"""`racewright job` export, import, backup, recover, check: whole files in and out."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

from racewright.cli.job.common import job_key, open_shop, shop_path, who


def export_job(args: argparse.Namespace) -> int:
    """Write the whole job as one JSON file."""
    from racewright.store.job_file import job_to_json, write_job

    with open_shop(args) as store:
        job = store.load(job_key(args, store))
    if args.file == "-":
        sys.stdout.write(job_to_json(job))
    else:
        write_job(args.file, job)
        print(f"{len(job.runs)} runs written to {args.file}", file=sys.stderr)
    return 0


def import_job(args: argparse.Namespace) -> int:
    """A job file becomes a new job, in one change."""
    from racewright.store.job_file import load_job

    job = load_job(args.file)
    key = args.key or re.sub(r"[^A-Za-z0-9._-]+", "-", Path(args.file).stem).strip("-._")[:40] or "job"
    with open_shop(args, create=True) as store:
        store.create_job(key, job, by=who(args), what=f"imported from {Path(args.file).name}"[:200])
        print(f"job {key}: {len(job.runs)} runs imported into {store.path}")
    return 0


def backup_job(args: argparse.Namespace) -> int:
    """Make a whole copy."""
    with open_shop(args) as store:
        print(f"backup written to {store.backup(args.file)}")
    return 0


def recover_job(args: argparse.Namespace) -> int:
    """Bring the newest whole backup back."""
    from racewright.store.job_backup import recover

    path = shop_path(args)
    source, aside = recover(path)
    print(f"{path}: recovered from {source}")
    if aside is not None:
        print(f"the damaged file is kept as {aside}")
    print("changes made after that backup are not in it: look at `racewright job log`")
    return 0


def check_job(args: argparse.Namespace) -> int:
    """Look at the whole file; it was checked when it was opened."""
    with open_shop(args) as store:
        jobs = store.jobs()
        print(f"{store.path}: whole; {len(jobs)} job{'' if len(jobs) == 1 else 's'}")
    return 0
