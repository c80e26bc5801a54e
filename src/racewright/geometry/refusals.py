"""What is said when a chain of straights and arcs cannot be: what was asked, the limit, what would work."""

from __future__ import annotations

from math import degrees, floor

from racewright.errors import LimitError
from racewright.units.said import said_finely, said_least


def bad_turn(index: int, angle: float, radius: float) -> LimitError:
    """A negative angle, or a radius that is not above zero."""
    return LimitError(
        f"The bend at corner {index + 1} turns {degrees(angle):.3f} degrees at a radius of {said_finely(radius)}.",
        hint="give an angle of zero or more and a radius above zero; to bend the other way, roll by 180 degrees.",
        quantity="bend angle" if not angle >= 0.0 else "radius",
        asked=degrees(angle) if not angle >= 0.0 else radius,
        limit=0.0,
        unit="deg" if not angle >= 0.0 else "mm",
    )


def overlap(index: int, arc_start: float, last_end: float) -> LimitError:
    """A bend that starts before the last one has ended."""
    by = last_end - arc_start
    what = "end A" if index == 0 else f"the end of the one before, at {said_finely(last_end)}"
    return LimitError(
        f"The bend at corner {index + 1} starts at {said_finely(arc_start)}, {said_finely(by)} before {what}.",
        hint=f"start it at {said_least(last_end)} or later, or take a smaller radius or angle.",
        quantity="arc start",
        asked=arc_start,
        limit=last_end,
    )


def past_end(index: int, arc_end: float, length: float) -> LimitError:
    """A last bend that reaches past end B."""
    return LimitError(
        f"The last bend ends at {said_finely(arc_end)}, {said_finely(arc_end - length)} past end B at "
        f"{said_finely(length)}.",
        hint=f"make the piece at least {said_least(arc_end)} long, or take a smaller radius or angle.",
        quantity="length",
        asked=length,
        limit=arc_end,
    )


def reversal(corner: int) -> LimitError:
    """A path that turns straight back."""
    return LimitError(
        f"At corner {corner} the path turns back on itself (180 degrees); no single bend makes that.",
        hint="give the return two corners, at least two bend radii apart.",
        quantity="bend angle",
        asked=180.0,
        limit=180.0,
        unit="deg",
    )


def short_leg(leg: int, count: int, length: float, before: float, after: float) -> LimitError:
    """A leg shorter than the setbacks of the bends on it."""
    start = "end A" if leg == 1 else f"corner {leg - 1}"
    end = "end B" if leg == count + 1 else f"corner {leg}"
    need = before + after
    share = floor(1000.0 * length / need) / 1000.0
    return LimitError(
        f"Leg {leg} ({start} to {end}) is {said_finely(length)} long; the bends on it take up {said_finely(need)}, "
        f"{said_finely(need - length)} too much.",
        hint=f"make the leg at least {said_least(need)}, or take radii no more than {share:.3f} times these, "
        "or smaller bend angles.",
        quantity="length of the leg",
        asked=length,
        limit=need,
    )
