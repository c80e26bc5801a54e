"""`racewright serve`: the page and the engine behind it, for this machine or for the phones on the job."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

HELP = "Serve the page: on this machine only, or with --lan for the phones on the job-site network."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright serve`."""
    parser.add_argument("--port", type=_port, default=8642, metavar="N", help="port (8642; 0 takes a free one)")
    parser.add_argument(
        "--lan", action="store_true", help="let the network in; devices then need the code shown on this terminal"
    )
    parser.add_argument(
        "--http",
        action="store_true",
        help="with --lan: without encryption; anybody on the network can listen and write",
    )
    parser.add_argument("--shop", metavar="FILE", help="the shop file (else $RACEWRIGHT_SHOP, else ./jobs.rwshop)")


def run(args: argparse.Namespace) -> int:
    """Serve until stopped."""
    from racewright.cli.job.common import shop_path
    from racewright.errors import InputError
    from racewright.store.places import config_folder
    from racewright.web.runner import serve

    if args.http and not args.lan:
        raise InputError(
            "--http goes with --lan.", hint="for this machine only it is plain http as it is", field="--http"
        )
    shop = shop_path(args)
    _take_in_runs(shop, config_folder() / "runs")
    _tell_of(shop)
    return serve(args.port, lan="http" if args.http else "https" if args.lan else "", shop=shop)


def _take_in_runs(shop: Path, folder: Path) -> None:
    """The folder in which `serve` kept shared runs before goes into the shop file, once."""
    from racewright.cli.job.files import told_of_runs
    from racewright.store.job_errors import StoreTrouble
    from racewright.store.runs_before import take_in

    try:
        if taken := take_in(shop, folder):
            print(told_of_runs(taken, folder, shop), flush=True)
    except StoreTrouble as err:
        print(f"the shared runs in {folder} stay there for now: {err}", file=sys.stderr, flush=True)


def _tell_of(shop: Path) -> None:
    """Which shop file is served; what is wrong with it is known before a phone asks."""
    from racewright.store.job_errors import MissingFile, StoreTrouble
    from racewright.store.job_store import JobStore

    try:
        with JobStore.open(shop) as store:
            jobs = len(store.jobs())
        print(f"shop file: {shop} ({jobs} job{'' if jobs == 1 else 's'})", flush=True)
    except MissingFile:
        if shop.parent.is_dir():
            print(f"shop file: {shop}, made when something is saved first", flush=True)
        else:
            print(f"nothing can be kept here for now: there is no folder {shop.parent}", file=sys.stderr, flush=True)
    except StoreTrouble as err:
        print(f"nothing can be kept here for now: {err}", file=sys.stderr, flush=True)


def _port(text: str) -> int:
    if not text.isdigit() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"'{text}' is not a port: a whole number from 0 to 65535")
    return int(text)
