"""`racewright serve`: the page and the engine behind it, for this machine or for the phones on the job."""

from __future__ import annotations

import argparse
from pathlib import Path

HELP = "Serve the page: on this machine only, or with --lan for the phones on the job-site network."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright serve`."""
    parser.add_argument("--port", type=_port, default=8642, metavar="N", help="port (8642; 0 takes a free one)")
    parser.add_argument(
        "--lan", action="store_true", help="let the network in; devices then need the code shown on this terminal"
    )
    parser.add_argument("--shop", metavar="FILE", help="the shop file (else $RACEWRIGHT_SHOP, else ./jobs.rwshop)")
    parser.add_argument("--runs", type=Path, metavar="DIR", help="where shared runs are kept")


def run(args: argparse.Namespace) -> int:
    """Serve until stopped."""
    from racewright.cli.job.common import shop_path
    from racewright.store.bender_file import config_folder
    from racewright.web.runner import serve

    return serve(args.port, lan=args.lan, shop=shop_path(args), runs=args.runs or config_folder() / "runs")


def _port(text: str) -> int:
    if not text.isdigit() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"'{text}' is not a port: a whole number from 0 to 65535")
    return int(text)
