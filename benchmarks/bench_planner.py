"""The planner at shop size: a 300 ft run split into pieces, and 1,000 runs on one core and on two.

Also draws how the order search grows with the number of bends: docs/pictures/order-scaling.svg.
Aims: the split under 1 s; 8 bends proved under 1 s, 4 bends under 20 ms.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from math import log10, radians
from pathlib import Path

from bench_order import BENDER, random_piece
from racewright.drawing.scene import Circle, Line, Page, Polyline, Primitive, Scene, Text
from racewright.drawing.svg import to_svg
from racewright.geometry.chain import Turn
from racewright.plan.pipeline import mark_run
from racewright.plan.plan_run import choose_bender
from racewright.sequence.machine import HandlingSettings
from racewright.sequence.order import find_order
from racewright.sticks.model import StickRules
from racewright.sticks.sticks import split_run
from racewright.store.survey_file import read_survey_file

ROOT = Path(__file__).resolve().parent.parent
SURVEYS = ("pump-house-saddle", "workshop-bench-u", "packing-shed-duct", "workshop-rigid-corner", "pump-house-kick")
PICTURE = ROOT / "docs" / "pictures" / "order-scaling.svg"


def plan_many(count: int) -> int:
    """Plan `count` runs, the examples in turn; returns how many bends were marked."""
    surveys = [read_survey_file(ROOT / "examples" / f"{name}.yaml").survey for name in SURVEYS]
    benders = [choose_bender(s) for s in surveys]
    total = 0
    for i in range(count):
        marked = mark_run(surveys[i % len(surveys)], benders[i % len(surveys)])
        total += sum(len(p.bends) for p in marked.cut.pieces)
    return total


def long_run(feet: float) -> tuple[float, list[Turn]]:
    """A run of this length with an offset or a turn every few feet."""
    rng = random.Random(300)
    length, at, turns = feet * 304.8, 700.0, []
    while at < length - 900.0:
        angle = radians(rng.choice((22.5, 30, 45, 90)))
        turns.append(Turn(at, angle, radians(rng.choice((0, 90, 180, 270))), BENDER.radius_mm))
        at += BENDER.radius_mm * angle + rng.uniform(500.0, 2400.0)
    return length, turns


def main() -> None:
    length, turns = long_run(300.0)
    begin = time.perf_counter()
    split = split_run(length, turns, StickRules())
    took = time.perf_counter() - begin
    print(f"300 ft, {len(turns)} bends: {len(split.pieces)} pieces, proved {split.proved}, {took:.3f} s")
    begin = time.perf_counter()
    plan_many(1000)
    one = time.perf_counter() - begin
    begin = time.perf_counter()
    with ProcessPoolExecutor(2) as pool:
        list(pool.map(plan_many, [500, 500]))
    two = time.perf_counter() - begin
    print(f"1,000 runs, marks only: one core {one:.2f} s, two cores {two:.2f} s ({one / two:.2f} x)")
    rows = []
    for count in range(2, 9):
        rng = random.Random(count)
        times = []
        for _ in range(40 if count <= 6 else 20):
            bends, cut = random_piece(rng, count)
            begin = time.perf_counter()
            find_order(bends, cut, BENDER.outside_diameter_mm, BENDER, HandlingSettings(other_ways=0))
            times.append(1000.0 * (time.perf_counter() - begin))
        rows.append((count, statistics.median(times), max(times)))
        print(f"{count} bends: median {rows[-1][1]:8.2f} ms, longest {rows[-1][2]:8.2f} ms")
    if "--picture" in sys.argv:
        PICTURE.write_text(to_svg(picture(rows)), encoding="utf-8")


def picture(rows: list[tuple[int, float, float]]) -> Scene:
    """Median and longest time over the number of bends, on a log scale."""
    left, bottom, step, decade = 24.0, 84.0, 17.0, 17.0
    items: list[Primitive] = [
        Text(at=(left, 8.0), text="Order search: time over bends (best way, proved)", size_pt=11.0, weight="bold"),
        Line(start=(left, bottom), end=(left + step * 7, bottom), width_mm=0.3),
        Line(start=(left, bottom), end=(left, bottom - decade * 4), width_mm=0.3),
    ]
    for power in range(-1, 4):
        y = bottom - decade * (power + 1)
        items.append(Line(start=(left, y), end=(left + step * 7, y), width_mm=0.1))
        items.append(Text(at=(left - 2.0, y + 1.2), text=f"{10.0**power:g} ms", size_pt=8.0, anchor="end"))
    for which, label in ((1, "median"), (2, "longest")):
        points = tuple(
            (left + step * (row[0] - 1.5), bottom - decade * (log10(max(row[which], 0.1)) + 1.0)) for row in rows
        )
        items.append(Polyline(points=points, width_mm=0.7 if which == 1 else 0.35))
        items += [Circle(centre=p, radius_mm=1.0, fill=0.0 if which == 1 else 1.0, width_mm=0.3) for p in points]
        x, y = points[-1]
        items.append(Text(at=(x + 2.5, y + 1.0), text=label, size_pt=8.0))
    for row in rows:
        items.append(
            Text(at=(left + step * (row[0] - 1.5), bottom + 4.5), text=str(row[0]), size_pt=8.0, anchor="middle")
        )
    items.append(Text(at=(left + step * 3.5, bottom + 9.0), text="bends", size_pt=8.0, anchor="middle"))
    return Scene(title="Order search", pages=(Page(width_mm=160.0, height_mm=98.0, items=tuple(items)),))


if __name__ == "__main__":
    main()
