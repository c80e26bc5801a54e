"""How long the bending order takes: run with `python benchmarks/bench_order.py`.

Pieces are drawn at random with a fixed seed, on the 1/2 in EMT shoe. Printed per number of bends: pieces, how many can
be bent, median and longest time in ms, states looked at. With and without the other ways beside the best.
"""

from __future__ import annotations

import random
import statistics
from math import radians
from time import process_time

from racewright.bends.model import Bend
from racewright.sequence.machine import HandlingSettings
from racewright.sequence.order import find_order
from racewright.tools.benders import default_bender

BENDER = default_bender("EMT", "1/2")


def random_piece(rng: random.Random, count: int) -> tuple[list[Bend], float]:
    """Straights from 5 to 20 in, angles and rolls of the trade."""
    at, bends = rng.uniform(100.0, 500.0), []
    for _ in range(count):
        bend = Bend(
            arc_start_mm=at,
            angle_rad=radians(rng.choice((10, 22.5, 30, 45, 90))),
            roll_rad=radians(rng.choice((0, 180, 90, 270, rng.uniform(-180, 180)))),
            radius_mm=BENDER.radius_mm,
        )
        bends.append(bend)
        at = bend.arc_end_mm + rng.uniform(130.0, 500.0)
    return bends, at


def main() -> None:
    """Print the table."""
    print("bends  ways  pieces  can be bent  median ms  longest ms  most states")
    for count in (1, 2, 3, 4, 5, 6, 7, 8, 10):
        for other in (0, 2):
            rng = random.Random(count)
            times, bent, nodes = [], 0, 0
            pieces = 60 if count <= 6 else 25
            for _ in range(pieces):
                bends, length = random_piece(rng, count)
                start = process_time()
                answer = find_order(
                    bends, length, BENDER.outside_diameter_mm, BENDER, HandlingSettings(other_ways=other)
                )
                times.append(1000.0 * (process_time() - start))
                bent += bool(answer.ways)
                nodes = max(nodes, answer.nodes)
            print(
                f"{count:5d} {1 + other:5d} {pieces:7d} {bent:12d} {statistics.median(times):10.2f}"
                f" {max(times):11.2f} {nodes:12d}"
            )


if __name__ == "__main__":
    main()
