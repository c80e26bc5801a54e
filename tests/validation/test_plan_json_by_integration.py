"""Every example's JSON, rebuilt from its bends alone by stepping along the conduit in 0.05 mm steps.

Independently computed: knows nothing of the project's geometry, only the meaning of the JSON fields (arc start, angle,
roll in the frame carried without twist). The far end must come out where the survey's tape puts it, and each of the
three reference marks must describe the same bend.
"""

import json
from math import cos, hypot, radians, sin
from pathlib import Path
from typing import Any

import pytest

from racewright.plan.plan_run import plan_run
from racewright.printable import plain_json
from racewright.store.survey_file import read_survey_file

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))


def integrate(piece: dict[str, Any], step: Any = 0.05) -> tuple[list[float], list[float]]:
    """Midpoint stepping of position, tangent and a carried normal; no closed form of an arc anywhere."""
    p, t, n = (list(piece["start"][k]) for k in ("point_mm", "axis", "normal"))

    def cross(a: Any, b: Any) -> Any:
        return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]

    def go(length: Any, curvature: Any, roll: Any) -> None:
        nonlocal p, t, n
        count = max(1, round(length / step))
        ds = length / count
        for _ in range(count):
            b = cross(t, n)
            d = [n[i] * cos(roll) + b[i] * sin(roll) for i in range(3)]
            turn = curvature * ds
            mid = [t[i] + d[i] * turn / 2 for i in range(3)]
            size = hypot(*mid)
            p = [p[i] + mid[i] / size * ds for i in range(3)]
            axis = cross(t, d)
            # exact small rotation of the carried pair about the bend's axis
            t = [t[i] * cos(turn) + d[i] * sin(turn) for i in range(3)]
            along = sum(n[i] * axis[i] for i in range(3))
            side = cross(axis, n)
            n = [n[i] * cos(turn) + side[i] * sin(turn) + axis[i] * along * (1 - cos(turn)) for i in range(3)]

    s = 0.0
    for bend in piece["bends"]:
        go(bend["arc_start_mm"] - s, 0.0, 0.0)
        go(radians(bend["angle_deg"]) * piece["bend_radius_mm"], 1 / piece["bend_radius_mm"], radians(bend["roll_deg"]))
        s = bend["arc_start_mm"] + radians(bend["angle_deg"]) * piece["bend_radius_mm"]
    go(piece["cut_length_mm"] - s, 0.0, 0.0)
    return p, t


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_the_bends_of_the_json_end_where_the_tape_says(path: Path) -> None:
    plan = json.loads(plain_json(plan_run(read_survey_file(path).survey)))
    wanted = [piece["start"]["point_mm"] for piece in plan["pieces"][1:]] + [plan["corners_mm"][-1]]
    for number, (piece, target) in enumerate(zip(plan["pieces"], wanted, strict=True)):
        end, tangent = integrate(piece)
        gap = 0.0
        if number + 1 < len(plan["pieces"]):
            # a coupling's stop keeps the two ends apart, along the straight that holds it
            after = plan["pieces"][number + 1]["start"]
            gap = after_gap(piece, plan["pieces"][number + 1])
            assert tangent == pytest.approx(after["axis"], abs=1e-5)
        end = [end[i] + tangent[i] * gap for i in range(3)]
        # the stepping's own error is below 1e-3 mm here
        assert hypot(*(end[i] - target[i] for i in range(3))) < 2e-3


def after_gap(piece: dict[str, Any], following: dict[str, Any]) -> float:
    """What the coupling's stop leaves between two ends: the run's stations less the conduit's own length."""
    return float(following["run_start_mm"] - piece["run_start_mm"] - piece["cut_length_mm"])


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_all_reference_marks_describe_one_bend(path: Path) -> None:
    plan = json.loads(plain_json(plan_run(read_survey_file(path).survey)))
    bender = plan["bender"]
    position = {"arrow": -bender["arrow_lead_mm"], "center": bender["center_mm"], "star": bender["star_mm"]}
    for piece in plan["pieces"]:
        assert sorted(b["order"] for b in piece["bends"]) == list(range(1, len(piece["bends"]) + 1))
        assert piece["bends"] == [] or piece["bends"][0]["roll_deg"] == pytest.approx(0, abs=1e-9)
        for bend in piece["bends"]:
            arc = radians(bend["angle_deg"]) * bender["radius_mm"]
            for key, mark in bend["all_marks_mm"].items():
                hook, reference = key.split()
                start = mark - position[reference] if hook == "A" else mark + position[reference] - arc
                assert start == pytest.approx(bend["arc_start_mm"], abs=1e-6)
            assert bend["mark_mm"] == bend["all_marks_mm"][f"{bend['hook']} {bend['reference']}"]
            assert 0 <= bend["mark_mm"] <= piece["least_stock_mm"]
