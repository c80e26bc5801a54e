"""The page on this machine: first paint, taking input, engine ready (first and next visit), a plan by either engine,
size of the download. Needs node, `npm ci` in web-ui/, chromium, the web extra.

  python benchmarks/bench_page.py [--rounds 3] [--json OUT]
  python benchmarks/bench_page.py --against DIR [--rounds 5]

--against: engine ready, beside a page that `racewright site DIR` of another version wrote, in turn; ratios and sizes.
CPU throttling slows the page's own thread (the worker of the browser's engine is not slowed by it).
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]


def sizes() -> dict[str, float]:
    """Megabytes of a first visit, as a host sends them."""
    from racewright.web.site_files import first_visit, write_site

    with tempfile.TemporaryDirectory() as folder:
        told = first_visit(write_site(Path(folder)))
    names = {"page": "page until it takes input", "all": "all files"}
    return {
        f"{names[part]}, {how}MB": count / 1e6
        for part, pair in told.items()
        for how, count in zip(("compressed, ", ""), pair, strict=True)
    }


def measured(script: str, *args: str) -> Any:
    """What a script of this folder prints as its last line."""
    done = subprocess.run(
        ["node", str(ROOT / "benchmarks" / script), *args],
        env=os.environ | {"RACEWRIGHT_PYTHON": sys.executable},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    return json.loads(done.stdout.strip().splitlines()[-1])


def against(other: Path, rounds: int) -> None:
    """This page beside another: time to the engine, megabytes as a host sends them (.zip and .whl as they are)."""
    from racewright.web.site_files import write_site

    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        write_site(here)
        for name, row in measured("bench_page_against.mjs", str(rounds), str(other), folder).items():
            print(f"{name:20} {row['old_ms']:6} ms before {row['new_ms']:6} ms now   ratio {row['ratio']:.2f}")
        for name, top in (("before", other), ("now", here)):
            files = [path for path in top.rglob("*") if path.is_file() and path.suffix != ".gz"]
            sent = sum(min(path.stat().st_size, len(gzip.compress(path.read_bytes(), 9))) for path in files)
            print(f"all files compressed, {name}: {sent / 1e6:.2f} MB")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--against", type=Path, metavar="DIR")
    args = parser.parse_args()
    if args.against:
        against(args.against, args.rounds)
        return
    times = measured("bench_page.mjs", str(args.rounds))
    for name, row in times.items():
        print(f"{name:70} median {row['median_ms']:6} ms   worst {row['worst_ms']:6} ms   of {row['count']}")
    weight = sizes()
    for name, size in weight.items():
        print(f"{name:70} {size:.2f}")
    if args.json:
        args.json.write_text(json.dumps({"times": times, "sizes": weight}, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
