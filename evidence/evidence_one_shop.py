"""Histories of two or three phones (the page's own records), commands and a server on one shop file, with everything
that may go wrong: see `one_shop.py`.

`python evidence/evidence_one_shop.py [--count N] [--steps N] [--seed N]`. Needs node and `npm ci` in web-ui. Prints
what happened in them and how often; exit code 1 on the first history in which anything was lost, or not all came to say
the same, with its number."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections import Counter
from pathlib import Path

from one_shop import Lost, Trial
from phone import built


def hold(seeds: range, steps: int, folder: Path, program: Path) -> Counter[str]:
    """These histories, every other one with a file that is brought back from backups. Raises Lost."""
    done = Counter[str]()
    for seed in seeds:
        with tempfile.TemporaryDirectory(dir=folder) as here:
            trial = Trial(seed, Path(here), program, phones=2 + seed % 2, brought_back=seed % 2 == 1)
            try:
                trial.run(steps)
            except Exception as err:
                raise Lost(f"history {seed}: {err}") from err
            done += trial.done
    return done


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=100, help="histories")
    parser.add_argument("--steps", type=int, default=60, help="things that happen in each")
    parser.add_argument("--seed", type=int, default=1, help="the first history")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["RACEWRIGHT_HOME"] = folder
        program = built(Path(folder) / "page")
        try:
            done = hold(range(asked.seed, asked.seed + asked.count), asked.steps, Path(folder), program)
        except Lost as err:
            print(err)
            return 1
    print(f"{asked.count} histories of {asked.steps} steps: nothing lost, and all came to say the same")
    for what, count in sorted(done.items()):
        print(f"{count:8} {what}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
