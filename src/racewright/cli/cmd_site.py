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
    """Write the files, and say what a first visit loads of them."""
    from racewright.web.site_files import first_visit, write_site

    written = write_site(args.folder)
    packed = sum(path.suffix == ".gz" for path in written)
    size = first_visit(written)
    page, whole = ([f"{count / 1e6:.2f} MB" for count in size[part]] for part in ("page", "all"))
    print(
        f"{len(written) - packed} files written to {args.folder}, {packed} of them compressed too, as .gz",
        file=sys.stderr,
    )
    print(
        f"a first visit takes input after {page[0]} and loads {whole[0]} in all, from a host that sends the .gz files "
        f"({page[1]} and {whole[1]} from one that does not)",
        file=sys.stderr,
    )
    print("host them with https: a browser keeps a page for use without network only then", file=sys.stderr)
    return 0
