"""How long the split of a run takes: 300 ft with dozens of bends. Run: python benchmarks/bench_sticks.py"""

from __future__ import annotations

import random
from math import radians
from time import process_time

from racewright.geometry.chain import Turn
from racewright.sticks.model import StickRules
from racewright.sticks.sticks import split_run


def run(count: int, length_mm: float, seed: int) -> tuple[float, list[Turn]]:
    """A run of about this length with `count` bends at uneven distances."""
    draw = random.Random(seed)
    turns: list[Turn] = []
    at = draw.uniform(300.0, 900.0)
    for _ in range(count):
        angle = radians(draw.choice((22.5, 30.0, 45.0, 90.0)))
        turns.append(Turn(at, angle, radians(draw.choice((0.0, 90.0, 180.0))), 113.6))
        at += 113.6 * angle + draw.uniform(250.0, 1.6 * (length_mm / count - 150.0) - 250.0)
    return max(length_mm, at + 300.0), turns


def main() -> None:
    """Stocks and offcuts of several kinds."""
    length, turns = run(40, 91440.0, 3)
    print(f"{length / 304.8:.0f} ft, {len(turns)} bends")
    for name, rules in (
        ("10 ft sticks", StickRules()),
        ("10 ft sticks, 2 offcuts", StickRules(offcuts_mm=(1500.0, 2200.0))),
        ("10 ft sticks, 4 offcuts", StickRules(offcuts_mm=(900.0, 1500.0, 2200.0, 2400.0))),
        ("10 and 20 ft sticks, coupling gap", StickRules(stock_mm=(3048.0, 6096.0), coupling_gap_mm=3.0)),
        ("10 ft sticks, 8 offcuts", StickRules(offcuts_mm=tuple(700.0 + 170.0 * k for k in range(8)))),
    ):
        begin = process_time()
        got = split_run(length, turns, rules)
        spent = process_time() - begin
        print(
            f"{name:36} {spent * 1000.0:8.0f} ms  {len(got.pieces)} pieces, waste {got.waste_mm:.0f} mm, "
            f"{'proved' if got.proved else 'not proved'}, {got.places} places"
        )


if __name__ == "__main__":
    main()
