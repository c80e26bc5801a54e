"""Holds what a plan or an answer says of a run that meets itself against its middle line, sampled. Shares no code with
the program."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist, pi
from typing import Any

from held import Held
from rebuilt import Part, Vec

#: The middle line is looked at so often (mm), then finer around what is near.
STEP_MM = 4.0
#: Less room than this shows on no tape: it touches (docs/rules.md).
TOUCH_MM = 25.4 / 32
#: A fitting between two pieces is thicker than its conduit by no more than this part.
FITTING = 1.1
#: The program tells the least to 0.01 mm; what is sampled and made finer is no nearer than this.
NEAR_MM = 0.02


def least_apart(parts: Sequence[Part], within_mm: float) -> tuple[float, float, float] | None:
    """The least distance between two places of the middle line that lie half a circle or more apart along the run, and
    their stations; None where none are so near as `within_mm`."""
    radii = [part.radius for part in parts if part.radius]
    if not radii:
        return None
    skip, cell = pi * min(radii), within_mm + 2 * STEP_MM
    room: dict[tuple[int, ...], list[tuple[float, Vec, Part]]] = {}
    near: list[tuple[float, float, float, Part, Part]] = []
    for part in parts:
        count = max(1, int(part.length / STEP_MM) + 1)
        for k in range(count + 1):
            s = part.length * k / count
            p, station = part.at(s), part.station + s
            x, y, z = (int(c // cell) for c in p)
            around = ((x + i, y + j, z + k) for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1))
            for at, other, of in (seen for key in around for seen in room.get(key, ())):
                if station - at >= skip and (d := dist(p, other)) < cell:
                    near.append((d, at, station, of, part))
            room.setdefault((x, y, z), []).append((station, p, part))
    near.sort(key=lambda one: one[0])
    found = [_finer(*one[1:]) for one in near[:40]]
    best = min(found, key=lambda one: one[0], default=None)
    return best if best is not None and best[0] < within_mm else None


def _finer(a: float, b: float, first: Part, second: Part) -> tuple[float, float, float]:
    """The nearest places of two parts close to these stations, by ever smaller steps."""

    def apart(s: float, t: float) -> float:
        return dist(first.at(s - first.station), second.at(t - second.station))

    best, reach = apart(a, b), STEP_MM
    while reach > 1e-5:
        moved = False
        for da in (-reach, 0.0, reach):
            for db in (-reach, 0.0, reach):
                s = min(max(a + da, first.station), first.station + first.length)
                t = min(max(b + db, second.station), second.station + second.length)
                if (d := apart(s, t)) < best - 1e-12:
                    best, a, b, moved = d, s, t, True
        if not moved:
            reach /= 2.0
    return best, a, b


def hold_itself(held: Held, plan: dict[str, Any], parts: Sequence[Part], findings: Sequence[dict[str, Any]]) -> None:
    """A run whose middle line comes within a diameter of itself says so, with the two places; one that does not says
    nothing."""
    od = plan["pieces"][0]["outside_diameter_mm"]
    said = [f for f in findings if f["rule"] == "run.itself" and f["severity"] == "problem"]
    jointed = len(plan["pieces"]) > 1
    found = least_apart(parts, od * (1.0 + (FITTING if jointed else 0.0)) + TOUCH_MM + NEAR_MM)
    if found is not None and found[0] < od + TOUCH_MM - NEAR_MM:
        held.words.add("meets itself, and said")
        held.true("itself", bool(said), f"{found[0]:.3f} mm between the middle lines at {found[1]:.1f}, {found[2]:.1f}")
        told = [f["measured"] for f in said if "measured" in f]
        if len(told) == len(said):  # none of them is only counted
            deepest = min(told, default=0.0)
            held.true("itself told", deepest <= found[0] - od + NEAR_MM, f"{deepest} told, {found[0] - od:.3f} found")
    elif found is None or (not jointed and found[0] > od + TOUCH_MM + NEAR_MM):
        held.true("itself", not said, "said, and the middle line comes nowhere near itself")
