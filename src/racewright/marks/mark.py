"""Where the pencil goes: any reference mark of the shoe can make any bend exactly.

Notation (mm): a bend occupies [s, e], e = s + R A. Positions on the shoe count from the hook-side tangent point,
positive away from the hook: arrow -a, centre R pi/8, star R (pi/2 - 1) - D/2.
  hook toward A: the hook-side tangent point is s, mark = s + position
  hook toward B: it is e, mark = e - position
"""

from __future__ import annotations

from racewright.tools.benders import HOOKS, REFERENCES, BenderProfile, HookEnd, Reference


def reference_position_mm(reference: Reference, bender: BenderProfile) -> float:
    """Where a reference mark sits on the shoe, from the hook-side tangent point, positive away from the hook."""
    if reference == "arrow":
        return -bender.arrow_lead_mm
    return bender.centre_mm if reference == "center" else bender.star_mm


def mark_mm(
    arc_start_mm: float, arc_end_mm: float, hook: HookEnd, reference: Reference, bender: BenderProfile
) -> float:
    """Where on the conduit, from end A, this reference mark stands while this bend is made."""
    position = reference_position_mm(reference, bender)
    return arc_start_mm + position if hook == "A" else arc_end_mm - position


def all_marks_mm(arc_start_mm: float, arc_end_mm: float, bender: BenderProfile) -> dict[str, float]:
    """'A arrow' ... 'B star' -> mark for that hook and reference."""
    return {
        f"{hook} {reference}": mark_mm(arc_start_mm, arc_end_mm, hook, reference, bender)
        for hook in HOOKS
        for reference in REFERENCES
    }


def arc_start_from_mark_mm(
    mark: float, angle_rad: float, hook: HookEnd, reference: Reference, bender: BenderProfile
) -> float:
    """The other way: where the arc begins when this reference mark is set on a pencil mark."""
    position = reference_position_mm(reference, bender)
    if hook == "A":
        return mark - position
    return mark + position - bender.radius_mm * angle_rad
