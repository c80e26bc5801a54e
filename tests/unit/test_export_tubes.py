"""Runs as tubes in space: where plans put them, how they are set out, what their extent is."""

from __future__ import annotations

from itertools import pairwise
from math import pi, radians

import pytest
from plan_factory import every_plan, space_plan, two_piece_plan

from racewright.exports.gltf import stations
from racewright.exports.tubes import Tube, TubeModel, TubeRun, extent, plane_normal, set_out, tubes_of
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.vector import dot

RADIUS_MM = 100.0


def bent(*turns: tuple[float, float, float]) -> Tube:
    line = Centreline.from_turns(2000.0, [Turn(s, a, r, RADIUS_MM) for s, a, r in turns])
    return Tube("piece 1", "EMT 1/2", line, 18.0, 16.0)


def test_tubes_of_a_plan_keep_its_lengths_places_and_marks() -> None:
    for plan in every_plan().values():
        run = tubes_of(plan, "R-1", "pump house")
        assert (run.key, run.name, run.area) == ("R-1", plan.name, "pump house")
        several = len(plan.pieces) > 1
        names = [f"R-1-{number}" if several else "R-1" for number in range(1, len(plan.pieces) + 1)]
        assert [tube.name for tube in run.tubes] == names
        assert [tube.name for tube in tubes_of(plan).tubes] == [f"{plan.name}, {p.label}" for p in plan.pieces]
        for tube, piece in zip(run.tubes, plan.pieces, strict=True):
            assert tube.centreline.length_mm == pytest.approx(piece.cut_length_mm, abs=1e-9)
            assert tube.centreline.point_at(0.0) == piece.start.point_mm
            on = [b for b in piece.bends if 0.0 <= b.mark_mm <= piece.cut_length_mm]
            assert sorted(mark.station_mm for mark in tube.marks) == sorted(b.mark_mm for b in on)
            assert all(any(b.mark_tape in mark.text for b in on) for mark in tube.marks)
        assert [solid.name for solid in run.solids] == [o.name for o in plan.obstacles]


def test_a_run_without_a_key_goes_by_its_name() -> None:
    assert tubes_of(two_piece_plan()).key == "Shed, two sticks"


def test_the_plane_of_the_bends() -> None:
    flat = plane_normal(bent((100.0, radians(30.0), 0.4), (400.0, radians(30.0), 0.4 + pi)).centreline)
    assert flat is not None
    assert abs(dot(flat, (1.0, 0.0, 0.0))) < 1e-12
    assert plane_normal(bent((100.0, 1.0, 0.0), (600.0, 1.0, 0.5)).centreline) is None
    assert plane_normal(bent().centreline) is None


def test_the_extent_holds_the_wall() -> None:
    low, high = extent(TubeRun("a", "a", "", (bent((500.0, pi / 2.0, 0.0)),)))
    assert low == pytest.approx((-9.0, -9.0, -9.0))
    # corner at x 600; the leg that rises is 2000 - 500 - 100 pi / 2 above the arc's end at z 100
    assert high == pytest.approx((609.0, 9.0, 100.0 + 1500.0 - 50.0 * pi + 9.0))
    assert extent(TubeRun("b", "b", "", ())) == ((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))


def test_runs_are_set_out_apart_and_in_order() -> None:
    runs = [tubes_of(plan, f"R-{k}", "a" if k < 4 else "b") for k, plan in enumerate(every_plan().values())]
    placed = list(set_out(runs, gap_mm=600.0, aisle_mm=2400.0))
    boxes = [tuple(tuple(v + s for v, s in zip(end, r.shift, strict=True)) for end in extent(r)) for r in placed]
    for k in range(1, len(boxes)):
        gap = boxes[k][0][1] - boxes[k - 1][1][1]
        assert gap == pytest.approx(2400.0 if k == 4 else 600.0, abs=1e-6)
    assert all(low[0] == pytest.approx(0.0, abs=1e-9) for low, _ in boxes)
    assert all(run.shift[2] == 0.0 for run in placed)
    assert TubeModel("m", tuple(placed)).areas == ("a", "b")


def test_rings_stand_close_enough_on_bends() -> None:
    line = tubes_of(space_plan()).tubes[0].centreline
    found = list(stations(line, 5.0))
    assert found == sorted(found)
    assert (found[0], found[-1]) == (0.0, pytest.approx(line.length_mm))
    turned = [dot(line.tangent_at(a), line.tangent_at(b)) for a, b in pairwise(found)]
    assert min(turned) > 0.9961  # the cosine of 5 degrees is 0.99619
