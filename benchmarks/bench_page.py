"""The page on this machine: first paint, taking input, engine ready (first and next visit), a plan by either engine,
size of the download. Needs node, `npm ci` in web-ui/, chromium, the web extra.

  python benchmarks/bench_page.py [--rounds 3] [--json OUT]

CPU throttling slows the page's own thread (the worker of the browser's engine is not slowed by it).
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def sizes() -> dict[str, float]:
    """Megabytes of the download, as they are and compressed as a server sends them."""
    from racewright.web.site_files import site_files

    files = site_files()
    sent = {name: len(item.packed or gzip.compress(item.body)) for name, item in files.items()}
    engine = [name for name in files if name.startswith("engine/")]
    first = [name for name in files if name.endswith((".css", ".html")) or name.startswith("assets/index")]
    return {
        "all files, MB": sum(len(item.body) for item in files.values()) / 1e6,
        "all files compressed, MB": sum(sent.values()) / 1e6,
        "engine compressed, MB": sum(sent[name] for name in engine) / 1e6,
        "page before the engine, compressed, MB": sum(sent[name] for name in first) / 1e6,
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    done = subprocess.run(
        ["node", str(ROOT / "benchmarks" / "bench_page.mjs"), str(args.rounds)],
        env=os.environ | {"RACEWRIGHT_PYTHON": sys.executable},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    times = json.loads(done.stdout.strip().splitlines()[-1])
    for name, row in times.items():
        print(f"{name:70} median {row['median_ms']:6} ms   worst {row['worst_ms']:6} ms   of {row['count']}")
    weight = sizes()
    for name, size in weight.items():
        print(f"{name:70} {size:.2f}")
    if args.json:
        args.json.write_text(json.dumps({"times": times, "sizes": weight}, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
