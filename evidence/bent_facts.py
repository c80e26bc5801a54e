"""Holds an answer about a half-bent or bent piece against the piece itself, rebuilt from marks and angles by their
words in docs/fit.md and docs/plan-json.md. Shares no code with the program."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, hypot, radians
from typing import Any

from held import Held
from itself_facts import hold_itself
from rebuilt import Part, Thing, Vec, add, cross, dot, least_distance, less, mix, rebuild, rebuild_piece

#: What an end may be off by and is met, and what a wall may be pressed deeper than planned (docs/fit.md).
TOLERANCE_MM = 25.4 / 16.0
TOLERANCE_DEG = 0.5
#: A surface that the plan itself goes behind by more than this is not judged.
PRESSED_MM = 0.5
#: What no tape shows: half of 1/16 in. A bent piece that misses less of the room that is wanted keeps it.
UNSEEN_MM = 25.4 / 32
#: The answers' figures are printed to nine places, and what is sampled along an arc is no nearer than this.
NEAR_MM = 2e-3


def tape_step_mm(plan: dict[str, Any]) -> float:
    """The tape's step in mm."""
    tape = plan["tape"]
    return float((25.4 if tape["unit"] == "in" else 1.0) / tape["denominator"])


def arc_start(plan: dict[str, Any], hook: str, reference: str, mark_mm: float, angle_deg: float) -> float:
    """Where a bend begins whose shoe mark stood on the pencil mark, hook toward that end."""
    shoe = plan["bender"]
    beyond = {"arrow": -shoe["arrow_lead_mm"], "center": shoe["center_mm"], "star": shoe["star_mm"]}[reference]
    if hook == "A":
        return float(mark_mm - beyond)
    return float(mark_mm + beyond - plan["bender"]["radius_mm"] * radians(angle_deg))


def with_bends(piece: dict[str, Any], bends: dict[int, tuple[float, float, float]], cut_mm: float) -> dict[str, Any]:
    """The piece with arc start (mm), angle and roll (degrees) of these bends by number, and this cut length."""
    new = [dict(b) for b in piece["bends"]]
    for number, (start, angle, roll) in bends.items():
        new[number - 1] |= {"arc_start_mm": start, "angle_deg": angle, "roll_deg": roll}
    return {**piece, "bends": new, "cut_length_mm": cut_mm}


def thing(solid: dict[str, Any]) -> Thing:
    """A box or a round bar of the plan's JSON."""
    if solid["solid"] == "cylinder":
        start, end = solid["start"], solid["end"]
        w, length = _unit(less(end, start))
        u, _ = _unit(cross(w, (1.0, 0.0, 0.0) if abs(w[0]) < 0.9 else (0.0, 1.0, 0.0)))
        r = solid["radius_mm"]
        return Thing(mix(start, 0.5, end, 0.5), u, cross(w, u), w, (r, r, length / 2), round=True)
    middle: Vec = tuple(solid["corner"])
    ways: list[Vec] = []
    half: list[float] = []
    for name in ("edge_x", "edge_y", "edge_z"):
        middle = add(middle, solid[name], 0.5)
        way, length = _unit(solid[name])
        ways.append(way)
        half.append(length / 2)
    return Thing(middle, ways[0], ways[1], ways[2], (half[0], half[1], half[2]), round=False)


def _unit(v: Vec) -> tuple[Vec, float]:
    length = hypot(*v)
    return (v[0] / length, v[1] / length, v[2] / length), length


def behind(solid: dict[str, Any], p: Vec) -> float:
    """The signed distance from a point to what lies behind a wall, or behind all faces of an outside corner; outside by
    projecting onto the faces in turn, each with its own share put back (Dykstra)."""
    faces = [(f["point"], f["normal"]) for f in solid.get("faces", [solid])]
    gaps = [dot(n, less(p, at)) for at, n in faces]
    if max(gaps) <= 0.0 or len(faces) == 1:
        return max(gaps)
    here, shares = p, [0.0] * len(faces)
    for _ in range(400):
        before = here
        for k, (at, n) in enumerate(faces):
            y = add(here, n, shares[k])
            shares[k] = max(0.0, dot(n, less(y, at)))
            here = add(y, n, -shares[k])
        if hypot(*less(here, before)) < 1e-9:
            break
    return hypot(*less(p, here))


def wall_distance(parts: Sequence[Part], solid: dict[str, Any]) -> float:
    """The least signed distance from the axis to a wall: looked at every 2 mm, then finer around the least."""
    best, where = float("inf"), (parts[0], 0.0)
    for part in parts:
        count = max(2, int(part.length / (2.0 if part.radius else 10.0)) + 1)
        for k in range(count + 1):
            d = behind(solid, part.at(part.length * k / count))
            if d < best:
                best, where = d, (part, part.length * k / count)
    part, at = where
    reach = 10.0
    while reach > 1e-4:
        for s in (at - reach, at + reach):
            s = min(max(s, 0.0), part.length)
            if (d := behind(solid, part.at(s))) < best:
                best, at = d, s
        reach /= 2.0
    return best


def hold_room(
    held: Held, plan: dict[str, Any], planned: Sequence[Part], parts: Sequence[Part], answer: dict[str, Any]
) -> None:
    """Everything that the piece hits or passes too close is said with its name, and nothing else is."""
    half = plan["pieces"][0]["outside_diameter_mm"] / 2
    told = {(f["rule"], f.get("where", "")): f["severity"] for f in answer["findings"]}
    room = {r["name"]: r["left"]["mm"] for r in answer["room"]}
    names = [o["name"] for o in plan["obstacles"]]
    unseen = max(UNSEEN_MM, tape_step_mm(plan) / 2)
    for view in plan["obstacles"]:
        if names.count(view["name"]) > 1:
            continue
        solid = thing(view["solid"])
        left = least_distance(parts, solid) - half
        if left > NEAR_MM - half:  # deeper in, the two ways of measuring a depth differ
            held.near("room told: by the answer", room[view["name"]] - left, view["name"], NEAR_MM)
        said = told.get(("run.clearance", view["name"]))
        if left < -unseen - NEAR_MM:
            held.words.add("hit, and said")
            held.true("hit", said == "problem", f"{view['name']} is hit by {-left:.3f} mm; said: {said}")
        elif left < -NEAR_MM:
            held.words.add("touched, and said")
            small = view["wanted_mm"] < 2 * unseen + NEAR_MM
            held.true(
                "touched", said == "problem" or (small and said == "caution"), f"{view['name']}: {left:.3f} mm; {said}"
            )
        elif left < view["wanted_mm"] - UNSEEN_MM - NEAR_MM:
            held.words.add("too close, and said")
            held.true("too close", said is not None, f"{view['name']}: {left:.3f} mm left; said: {said}")
        elif left > view["wanted_mm"] + NEAR_MM:
            held.words.add("kept clear")
            held.true("kept clear", said is None, f"{view['name']}: {left:.3f} mm left, and {said} is said")
    for wall in plan["surfaces"]:
        left = wall_distance(parts, wall["solid"]) - half
        allowed = min(0.0, wall_distance(planned, wall["solid"]) - half) - TOLERANCE_MM
        said = told.get(("run.surface", wall["name"]))
        if wall["clearance_mm"] < -PRESSED_MM:
            named = any(wall["name"][1:] in line for line in answer["not_included"])
            held.true("wall not judged", said is None and named, wall["name"])
        elif left < allowed - 10 * NEAR_MM:
            held.words.add("into a wall, and said")
            shown = left < allowed - unseen - 10 * NEAR_MM
            held.true(
                "wall",
                said == "problem" or (not shown and said is not None),
                f"{wall['name']}: {-left:.3f} mm inside; said: {said}",
            )
        elif left > allowed + 10 * NEAR_MM:
            held.true("wall", said is None, f"{wall['name']}: {left:.3f} mm left of {allowed:.3f}, and it is said")


def hold_end(held: Held, planned: Sequence[Part], parts: Sequence[Part], *, met: bool) -> None:
    """Where the answer says that the end is met, it is."""
    if not met:
        return
    a, b = planned[-1], parts[-1]
    off = less(b.at(b.length), a.at(a.length))
    sides = (dot(off, a.side), dot(off, cross(a.axis, a.side)), dot(off, a.axis))
    held.near("end met: place", max(map(abs, sides)), "end B is off", TOLERANCE_MM * 1.42)
    lean = degrees(hypot(*cross(a.axis, b.axis)))
    held.near("end met: lean", lean, "end B leans", TOLERANCE_DEG * 1.42)


def piece_parts(piece: dict[str, Any]) -> list[Part]:
    """Straights and arcs of one piece; straights may be short of nothing by rounding."""
    return rebuild_piece(piece, 0, 0)


def hold_run(
    held: Held, plan: dict[str, Any], number: int, piece: dict[str, Any], findings: Sequence[dict[str, Any]]
) -> None:
    """The run with this piece (from 1) as it is or will be meets itself nowhere without saying so."""
    pieces = [piece if k == number else planned for k, planned in enumerate(plan["pieces"], 1)]
    hold_itself(held, plan, rebuild({**plan, "pieces": pieces}), findings)
