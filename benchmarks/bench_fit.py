"""How long the fit's answers take at hand size. Run: python benchmarks/bench_fit.py"""

from __future__ import annotations

from contextlib import suppress
from math import radians
from time import perf_counter
from typing import Any

from racewright.bends.model import Bend, BentPiece
from racewright.errors import LimitError
from racewright.fit.finishing import HalfBent
from racewright.fit.forecast import forecast
from racewright.fit.made import MadeBend
from racewright.fit.measured import LegLean, Measured, OffAt
from racewright.fit.replan import replan
from racewright.fit.tweak import tweak
from racewright.fit.way_in import Solid, path_margin, swing
from racewright.geometry.solids import Cylinder, HalfSpace
from racewright.geometry.vector import Frame


def piece(count: int) -> BentPiece:
    """A piece of `count` bends of 30 degrees, turning this way and that."""
    bends = tuple(
        Bend(
            arc_start_mm=250.0 + 260.0 * k, angle_rad=radians(30.0), roll_rad=radians(180.0 * (k % 2)), radius_mm=113.6
        )
        for k in range(count)
    )
    return BentPiece(cut_length_mm=500.0 + 260.0 * count, outside_diameter_mm=17.9, bends=bends)


def timed(name: str, job: Any, repeats: int = 5) -> None:
    """Print the best of some repeats."""
    best = float("inf")
    for _ in range(repeats):
        begin = perf_counter()
        with suppress(LimitError):
            job()
        best = min(best, perf_counter() - begin)
    print(f"{name:44} {best * 1000.0:9.2f} ms")


def main() -> None:
    """Every answer at 2, 4 and 8 bends."""
    measured: list[Measured] = [
        OffAt(way="up", off_mm=9.5),
        OffAt(way="left", off_mm=6.0),
        LegLean(way="up", lean_rad=0.01),
    ]
    wall = Solid(name="wall", solid=HalfSpace(point=(0.0, 0.0, -8.95), normal=(0.0, 0.0, 1.0)))
    pipe = Solid(name="pipe", solid=Cylinder(start=(-50.0, 0.0, 60.0), end=(-60.0, 0.0, 400.0), radius_mm=15.0))
    way = (-1.0, 0.0, 0.0)
    for count in (2, 4, 8):
        bent = piece(count)
        timed(f"forecast, {count} bends", lambda bent=bent: forecast(bent))
        timed(f"tweak from three readings, {count} bends", lambda bent=bent: tweak(bent, measured), 2)
        made = [MadeBend(number=1, angle_rad=radians(32.0))]
        timed(f"replan after bend 1, {count} bends", lambda bent=bent, made=made: replan(HalfBent(bent, made)))
        timed(f"pushed in along a wall, {count} bends", lambda bent=bent: path_margin(bent, Frame(), way, 20.0, wall))
        timed(f"turned in past a pipe, {count} bends", lambda bent=bent: swing(bent, Frame(), "A", [pipe]))


if __name__ == "__main__":
    main()
