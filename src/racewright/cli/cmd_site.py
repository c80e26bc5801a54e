"""`racewright site DIR`: the page as plain files for any web host, the engine for the browser included."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

HELP = "Write the page as plain files: it works on any web host, and after one visit without any network."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright site`."""
    parser.add_argument("folder", type=Path, metavar="DIR", help="where to write; made if need be")


def run(args: argparse.Namespace) -> int:
    """Write the files."""
    from racewright.web.site_files import write_site

    written = write_site(args.folder)
    size = sum(path.stat().st_size for path in written)
    print(f"{len(written)} files, {size / 1e6:.1f} MB, written to {args.folder}", file=sys.stderr)
    print("host them with https: a browser keeps a page for use without network only then", file=sys.stderr)
    return 0
