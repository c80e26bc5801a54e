"""What is said of every shape: what its figures are measured to, and whether the shoe can hold its ends."""

from __future__ import annotations

from racewright.bends.model import Bend
from racewright.cards.text.shape import Report, shoes_of
from racewright.tools.benders import raceway_of
from racewright.tools.profile_checks import check_profile

_AXIS = "rise, travel and straights to the centerline of the conduit"
#: shape -> what its figures are measured to
_MEASURED = {
    "stub": "stub and leg to the back of the bend, its outer side",
    "back-to-back": "distance and stubs to the backs of the bends, their outer sides",
    "kick": _AXIS,
    "offset": _AXIS,
    "box-offset": _AXIS,
    "rolling-offset": _AXIS,
    "saddle": _AXIS,
    "four-bend-saddle": _AXIS,
    "parallel-offset": f"{_AXIS}; across from the centerline of conduit 1",
    "parallel-kick": f"{_AXIS}; across from the centerline of conduit 1",
    "concentric": "radius and corner to the centerline",
    "segmented": "radius, corner and straights to the centerline; a stub to its back",
}
_EDGES = ("kick", "offset", "box-offset", "rolling-offset", "saddle", "four-bend-saddle")


def measured_to(report: Report) -> str:
    """'rise, ... to the centerline; over the outside of the conduit the rise is 6 11/16", ...'."""
    text = _MEASURED[report.shape]
    rise = report.rise_mm
    if report.shape in _EDGES and rise is not None:
        over = report.shown(abs(rise) + report.bender.outside_diameter_mm)
        text += f"; over the outside of the conduit, far edge to far edge, the rise is {over}"
    return f"{text}; marks and cut length along the conduit."


def check_shoes(report: Report) -> None:
    """What is wrong with the shoes that the marks are for; one with a problem makes the answer one."""
    report.findings = [found for shoe in shoes_of(report) for found in check_profile(shoe, raceway_of(shoe))]
    report.problem |= any(found.severity == "problem" for found in report.findings)


def hold_notes(report: Report) -> None:
    """Say it where an end leaves the hook too little: marks counted from end A, and from the cut length at end B."""
    if not report.bends:
        return
    if report.counted_from == "end A":
        _hold(report, "A", "B", report.bends[0].arc_start_mm)
    if report.cut_length_mm is not None:
        last: Bend = report.bends[-1]
        _hold(report, "B", "A", report.cut_length_mm - last.arc_end_mm)


def _hold(report: Report, end: str, other: str, straight_mm: float) -> None:
    """A note where the hook toward this end has less conduit than it needs, and what would work."""
    bender, shown = report.bender, report.shown
    left = straight_mm - bender.arrow_lead_mm
    lack = bender.hook_reach_mm - left
    if lack <= 1e-6:
        return
    past = f"{shown(left)} of conduit lies past the arrow's mark"
    there = past if left >= 0 else "the arrow's mark falls off the conduit"
    turned = (
        f"or turn the hook toward end {other}"
        if straight_mm >= bender.grip_mm
        else f"the hook toward end {other} finds {shown(straight_mm)} of the {shown(bender.grip_mm)} to hold it by"
    )
    report.notes.append(
        f"hook toward end {end}: {there}, and the hook needs {shown(bender.hook_reach_mm)}: the shoe will not hold it."
        f" Bend it from a piece {shown(lack)} longer at end {end}, or more, and cut it after; {turned}."
    )
