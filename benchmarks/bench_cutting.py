"""How long a cut list takes: run with `python benchmarks/bench_cutting.py`.

Jobs are drawn at random with a fixed seed: pieces of 4 to 118 in on the tape's sixteenths, three to a run, from 10 ft
sticks, with and without offcuts. Printed: runs, pieces, sticks, the bound, ms in all and for one run.
"""

from __future__ import annotations

import random
from time import perf_counter

from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutRules, WantedPiece, cut_order
from racewright.units.tape import TapeStyle

SIXTEENTH_MM = 25.4 / 16


def main() -> None:
    """Print the table."""
    print("runs    pieces  offcuts  sticks  at least  ms        ms a run")
    for runs in (4, 40, 400, 4000):
        for offcuts in (0, 10):
            rng = random.Random(runs)
            pieces = [
                WantedPiece(label=f"{i}-{j}", length_mm=rng.randint(64, 1888) * SIXTEENTH_MM, run=str(i))
                for i in range(runs)
                for j in range(3)
            ]
            rules = CutRules(offcuts_mm=tuple(rng.randint(300, 1500) * SIXTEENTH_MM for _ in range(offcuts)))
            start = perf_counter()
            plan = cut_list(pieces, rules)
            cut_order(plan, TapeStyle())
            took = 1000.0 * (perf_counter() - start)
            print(
                f"{runs:<7} {len(pieces):<7} {offcuts:<8} {plan.new_sticks:<7} {plan.least_sticks:<9} {took:<9.0f} "
                f"{took / runs:.2f}"
            )


if __name__ == "__main__":
    main()
