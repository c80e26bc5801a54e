"""What holds the conduit of a run with expansion fittings, walked from the plan's JSON: a part between two pistons is
held at one place, and each piston takes up what grows between the places that hold it. Shares no code with the program.

A fast place is a box at the run's end or a strap that is no guide. What warms grows alike every way, so of the way from
a piston to what holds its part the piston takes what its own straight shows: a saddle on the way pushes along. At an
elbow (over 45 degrees, own choice) the way ends, for what grows behind it springs it.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from held import Held
from rebuilt import Part, dot, less, rebuild

#: PVC grows by this part of its length for each degree Fahrenheit; a straight that moves less than this between two
#: fast places needs no fitting (NFPA 70-2023 352.44 and its table; figures).
PER_F, LIMIT_IN = 3.38e-5, 0.25
MM = 25.4
#: Cosine of the turn from which on a bend counts as an elbow: 45 degrees, to rounding.
ELBOW_COS = 0.5**0.5 - 1e-9
#: A strap stands half its width and as much again from what it must not touch (own choice, said in the docs).
BESIDE_MM = 25.4
#: The plan's places are exact; this is float noise.
SAME_MM = 1e-6


def straights_of(plan: dict[str, Any]) -> list[tuple[float, float]]:
    """The straights of the run between its bends."""
    edges = [0.0]
    for piece in plan["pieces"]:
        for bend in piece["bends"]:
            edges += [piece["run_start_mm"] + bend["arc_start_mm"], piece["run_start_mm"] + bend["arc_end_mm"]]
    edges.append(plan["developed_length_mm"])
    return list(zip(edges[::2], edges[1::2], strict=True))


def hold_anchors(held: Held, plan: dict[str, Any], boxes: tuple[bool, bool], swing_f: float, grown: float) -> int:
    """Walk the run and hold it to its fast places. `boxes`: whether a box stands at its ends. `swing_f`: from the
    coldest day to the hottest; `grown`: the share of it below the day of the work. How many parts were walked."""
    straights, length = straights_of(plan), plan["developed_length_mm"]
    joints = [j for j in plan["joints"] if j["how"] == "expands"]
    checks, findings = plan["checks"], plan["findings"]
    assert checks is not None
    straps, guides, alone = checks["straps_mm"], set(checks["guides_mm"]), set(checks["fast_mm"])
    held.true("anchors: guides are straps", guides | alone <= set(straps), "a guide or fast strap that is none")
    held.true("anchors: one or the other", not guides & alone, "a strap both guides and holds")
    if not joints:
        held.true("anchors: none to guide", not guides and not alone, "guides without an expansion fitting")
        return 0
    ends = [at for at, box in zip((0.0, length), boxes, strict=True) if box]
    fast = sorted([*ends, *(s for s in straps if s not in guides)])
    told = sum(f["rule"] == "run.anchor" for f in findings)
    pistons = [j["at_mm"] for j in joints]
    for low, high in pairwise((0.0, *pistons, length)):
        here = [f for f in fast if low <= f <= high]
        if not here:
            told -= 1
        for a, b in straights:
            slides = any(a <= at <= b for at in pistons)
            there = [f for f in here if a <= f <= b]
            where = f"{low:.0f} to {high:.0f} mm: {there} on the straight {a:.0f} to {b:.0f}"
            if slides:
                held.true("anchors: a sliding straight is held once", len(there) <= 1, where)
                other = [f for f in here if f not in there]
                strap = [f for f in there if f in alone]
                held.true("anchors: a strap holds what nothing else does", not (strap and other), where)
            else:
                moves_in = (max(there, default=0.0) - min(there, default=0.0)) * PER_F * swing_f / MM
                wanted = any(f["rule"] == "run.expansion" and f["severity"] == "caution" for f in findings)
                held.true("anchors: no more between than may", moves_in < LIMIT_IN or wanted, where)
    held.true("anchors: a part that nothing holds is told", told == 0, f"{told} cautions too many or too few")
    _hold_pistons(held, plan, fast, swing_f, grown)
    if not any(f["rule"] == "run.anchor" for f in findings):
        _hold_room(held, plan, straights, fast, swing_f, grown)
    return len(pistons) + 1


def _hold_room(
    held: Held,
    plan: dict[str, Any],
    straights: list[tuple[float, float]],
    fast: list[float],
    swing_f: float,
    grown: float,
) -> None:
    """No strap stands where the face of a coupling or of a fitting comes on the hottest or the coldest day."""
    joints, parts = [j for j in plan["joints"] if j["before"] and j["after"]], rebuild(plan)
    pistons = [j["at_mm"] for j in joints if j["how"] == "expands"]
    for joint in joints:
        a, b = plan["pieces"][joint["before"] - 1], plan["pieces"][joint["after"] - 1]
        faces = (
            (-1, a["run_start_mm"] + a["cut_length_mm"] - a["end_b"]["insertion_mm"]),
            (1, b["run_start_mm"] + b["end_a"]["insertion_mm"]),
        )
        straight = next(s for s in straights if s[0] <= joint["at_mm"] <= s[1])
        if not any(straight[0] <= at <= straight[1] for at in pistons):
            continue
        for way, face in faces:
            # what holds the conduit that this face is cemented to, on the side of the piston's way to it
            low = max([0.0, *(at for at in pistons if at < face)])
            high = min([plan["developed_length_mm"], *(at for at in pistons if at > face)])
            here = [at for at in fast if low <= at <= high]
            if not here:  # said of the part, above
                continue
            own = max(i for i, part in enumerate(parts) if not part.radius and part.station <= face)
            ways = [parts[own:], list(reversed(parts[: own + 1]))]
            axis = parts[own].axis
            away = [_way(ways[at < face], face, axis, parts[own], at) * (1 if at < face else -1) for at in here]
            moves = min(away, key=abs) * PER_F * swing_f
            days = (face + moves * (1.0 - grown), face - moves * grown)
            near = [s for s in plan["checks"]["straps_mm"] if (s - joint["at_mm"]) * way > 0.0]
            for strap in near:
                room = min((strap - day) * way for day in days)
                what = f"{joint['kind']} with its face at {face:.0f}, the strap at {strap:.0f}: {room:.2f}"
                held.true("anchors: what moves meets no strap", room > BESIDE_MM - SAME_MM, what)


def _way(parts: Iterable[Part], piston: float, axis: tuple[float, float, float], begin: Part, hold: float) -> float:
    """How far away what holds the conduit lies along a piston's straight. `parts`: away from the piston, its own
    straight first."""
    at = piston
    for part in parts:
        ends = (part.station, part.station + part.length)
        if not part.radius and abs(dot(part.axis, axis)) < ELBOW_COS:
            break
        if ends[0] <= hold <= ends[1]:
            at, on = hold, part
            break
        if not part.radius:
            at, on = (ends[1] if hold > piston else ends[0]), part
    return abs(dot(less(on.at(at - on.station), begin.at(piston - begin.station)), axis))


def _hold_pistons(
    held: Held,
    plan: dict[str, Any],
    fast: list[float],
    swing_f: float,
    grown: float,
) -> None:
    """Each piston from what holds its part on its one side to what does on its other, on any day of the year."""
    beyond = {f["measured"] for f in plan["findings"] if f["rule"] == "run.travel"}
    unheld = any(f["rule"] == "run.anchor" for f in plan["findings"])
    joints = [j for j in plan["joints"] if j["how"] == "expands"]
    marks = [0.0, *(j["at_mm"] for j in joints), plan["developed_length_mm"]]
    parts = rebuild(plan)
    for joint, (start, at, end) in zip(joints, zip(marks, marks[1:], marks[2:], strict=False), strict=True):
        piston = joint["piston"]
        own = max(i for i, part in enumerate(parts) if not part.radius and part.station <= at)
        before, after = [f for f in fast if start <= f < at], [f for f in fast if at < f <= end]
        if before and after:
            axis = parts[own].axis
            low = at - _way(reversed(parts[: own + 1]), at, axis, parts[own], max(before))
            high = at + _way(parts[own:], at, axis, parts[own], min(after))
        else:
            held.true("anchors: what is unheld is told", unheld, f"at {at:.0f}")
            low = high = at
        takes, travel = (high - low) * PER_F * swing_f, piston["travel_mm"]
        what = f"{piston} at {at:.0f} between {low:.0f} and {high:.0f}"
        if not unheld:
            held.true("anchors: what a piston takes", abs(takes - piston["takes_mm"]) < SAME_MM * length_of(plan), what)
        takes = piston["takes_mm"]
        if takes > travel + SAME_MM:
            held.true("anchors: beyond its travel is told", takes in beyond, what)
            continue
        held.true("anchors: travel", takes not in beyond, what)
        for name in ("open_mm", "least_mm", "most_mm"):
            hottest, coldest = piston[name] - takes * (1.0 - grown), piston[name] + takes * grown
            held.true(f"anchors: {name} has room", hottest > -SAME_MM and coldest < travel + SAME_MM, what)


def length_of(plan: dict[str, Any]) -> float:
    """The run's length, at least 1 mm."""
    return max(1.0, float(plan["developed_length_mm"]))
