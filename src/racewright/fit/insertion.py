"""Whether a bent piece can be put in: each end goes into its fitting along its own axis, past what stands around.

Notation
    dA, dB   the way each end goes into its fitting: minus the axis at end A, the axis at end B
    t        how far the piece is still held back, along minus the way it goes in (mm)
    f(t)     least distance from the axis of the held-back piece to a solid
Moving a rigid piece by dt changes f by at most dt, so f(t) - r > 0 clears all t within f(t) - r of it: the path
is certified by a few distances, never by samples alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import acos, radians
from typing import Literal, NamedTuple

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import Finding, InputError
from racewright.fit.jacobian import walk
from racewright.fit.measured import INCHES
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import Obstacle, Wall
from racewright.geometry.vector import Frame, Vec, along, dot, even, scale
from racewright.tools.benders import HookEnd
from racewright.units.tape import TapeStyle, format_length

Mobility = Literal["fixed", "loose", "open"]
# How far out of line an end may be while it goes in.
PLAY_RAD = radians(2.0)
# What a hand can press aside, and the least step of the certified path.
TOUCH_MM = 0.5


class EndFitting(msgspec.Struct, frozen=True, kw_only=True):
    """What one end goes into. `insertion_mm`: how deep. `mobility`: 'fixed'; 'loose': can be taken off or pushed
    back as far as needed; 'open': nothing there."""

    name: str = ""
    insertion_mm: float = 0.0
    mobility: Mobility = "fixed"

    @property
    def takes_in(self) -> bool:
        """Whether the end has to be pushed into it."""
        return self.mobility != "open" and self.insertion_mm > 0.0


class Solid(msgspec.Struct, frozen=True, kw_only=True):
    """A named obstacle in the same coordinates as the piece. `surface`: it is one that the run lies on."""

    name: str
    solid: Obstacle | Wall
    surface: bool = False


class PathMargin(NamedTuple):
    """The tightest place of a path past one solid: air between conduit and solid, and how far the piece was then
    still held back. `certified` False: it touches, so the rest of the path was not looked at."""

    name: str
    margin_mm: float
    at_mm: float
    certified: bool
    surface: bool


class WayIn(msgspec.Struct, frozen=True, kw_only=True):
    """How the piece goes in between its fittings. `captured`: not as long as both stay where they are; `loosen`: the
    end whose fitting must give way, `slide_mm` by how much, `coupling` what kind of fitting lets it; `path_clear`: the
    way in clears everything; `steps` in words."""

    captured: bool
    possible: bool
    loosen: Literal["", "A", "B"]
    slide_mm: float
    coupling: str
    path_clear: bool
    steps: tuple[str, ...]


def path_margin(piece: BentPiece, start: Frame, way: Vec, distance_mm: float, obstacle: Solid) -> PathMargin:
    """The tightest place while the piece moves in by `distance_mm` along the unit vector `way` to where `start`
    has it. Certified by the 1-Lipschitz bound. `margin_mm` is the least at the places looked at; between them it
    is never below 0 unless it is below 0.5 mm there. Contact within 0.5 mm (0.75 mm between) is let pass."""
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in piece.bends]
    half = 0.5 * piece.outside_diameter_mm

    def margin(t: float) -> float:
        frame = Frame(along(start.origin, way, -t), start.axis, start.normal)
        line = Centreline.from_turns(piece.cut_length_mm, turns, frame)
        return least_distance(line, obstacle.solid).distance_mm - half

    tightest, where = margin(0.0), 0.0
    t = 0.0
    while tightest > -TOUCH_MM and t < distance_mm:
        here = margin(t)
        if here < tightest:
            tightest, where = here, t
        t = min(distance_mm, t + max(here, TOUCH_MM))
        if t >= distance_mm:
            last = margin(distance_mm)
            if last < tightest:
                tightest, where = last, distance_mm
    return PathMargin(obstacle.name, tightest, where, tightest > -TOUCH_MM, obstacle.surface)


def put_in(
    piece: BentPiece,
    fitting_a: EndFitting,
    fitting_b: EndFitting,
    *,
    start: Frame | None = None,
    obstacles: Sequence[Solid] = (),
    raceway_type: str = "",
    tape: TapeStyle = INCHES,
) -> tuple[WayIn, list[Finding]]:
    """How the piece goes in between its fittings, or which fitting must give way; and what it hits on the way.

    `start`: the frame at end A when the piece is in place. `tape`: how the words show lengths. Raises InputError for an
    insertion depth below zero or longer than the piece.
    """
    for fitting in (fitting_a, fitting_b):
        if not 0.0 <= fitting.insertion_mm <= piece.cut_length_mm:
            raise InputError(
                f"an insertion of {format_length(fitting.insertion_mm, tape)} does not suit a piece of "
                f"{format_length(piece.cut_length_mm, tape)}.",
                hint="give how deep the conduit goes into the fitting",
                field="insertion_mm",
            )
    start = start or Frame()
    ends = (
        _End("A", fitting_a, scale(start.axis, -1.0)),
        _End("B", fitting_b, walk(piece, start).end.axis),
    )
    to_fill = [end for end in ends if end.fitting.takes_in]
    if len(to_fill) == 2 and _angle(ends[0].way, ends[1].way) > PLAY_RAD:
        return _captured(piece, start, ends, obstacles, raceway_type, tape)
    # One straight push puts in whatever has to go in.
    way, depth, step = ends[1].way, 0.0, "hold the piece in place"
    if to_fill:
        way, depth = to_fill[0].way, max(end.fitting.insertion_mm for end in to_fill)
        names = " and ".join(end.called for end in to_fill)
        step = f"line the piece up {format_length(depth, tape)} back and push it straight into {names}"
    margins = [path_margin(piece, start, way, depth, o) for o in obstacles]
    clear = _clear(margins)
    way_in = WayIn(
        captured=False, possible=clear, loosen="", slide_mm=0.0, coupling="", path_clear=clear, steps=(step,)
    )
    return way_in, _blocked(margins, tape)


class _End(NamedTuple):
    letter: HookEnd
    fitting: EndFitting
    way: Vec

    @property
    def called(self) -> str:
        return self.fitting.name or f"the fitting at end {self.letter}"


def _angle(a: Vec, b: Vec) -> float:
    return acos(max(-1.0, min(1.0, dot(a, b))))


def _clear(margins: Sequence[PathMargin]) -> bool:
    return all(margin.certified for margin in margins)


def _captured(
    piece: BentPiece,
    start: Frame,
    ends: tuple[_End, _End],
    obstacles: Sequence[Solid],
    raceway_type: str,
    tape: TapeStyle,
) -> tuple[WayIn, list[Finding]]:
    """Both ends must go in different ways: one fitting gives way, the other end is pushed in."""
    options = []
    for index, (gives, stays) in enumerate((ends, ends[::-1])):
        margins = [path_margin(piece, start, stays.way, stays.fitting.insertion_mm, o) for o in obstacles]
        cannot = gives.fitting.mobility != "loose"
        # best: one that can give way, past nothing in the way, with the least slide; end B where all is alike
        options.append((cannot, not _clear(margins), even(gives.fitting.insertion_mm), 1 - index, margins))
    cannot, blocked, slide, other, margins = min(options, key=lambda option: option[:4])
    stays, gives = ends[other], ends[1 - other]
    way_in = WayIn(
        captured=True,
        possible=not cannot and not blocked,
        loosen=gives.letter,
        slide_mm=slide,
        coupling=_coupling(raceway_type),
        path_clear=not blocked,
        steps=(
            f"push the fitting at end {gives.letter} ({gives.called}) back by {format_length(slide, tape)} along the "
            "conduit, or take it off",
            f"push end {stays.letter} straight into {stays.called}, "
            f"{format_length(stays.fitting.insertion_mm, tape)} deep",
            f"bring the fitting back over end {gives.letter}, {format_length(slide, tape)} deep, and tighten it",
        ),
    )
    return way_in, _blocked(margins, tape)


def _coupling(raceway_type: str) -> str:
    """Common practice, no source."""
    if raceway_type in ("RMC", "IMC"):
        return "a three-piece coupling (union)"
    if raceway_type.startswith("PVC"):
        return "a long sleeve or an expansion fitting"
    return "a coupling without a center stop that slides all the way onto one piece"


def _blocked(margins: Sequence[PathMargin], tape: TapeStyle) -> list[Finding]:
    return [
        Finding(
            rule="insertion.path",
            severity="problem",
            message=(
                f"on the way in the piece hits {margin.name}; it still touches when it is "
                f"{format_length(margin.at_mm, tape)} short of its place."
            ),
            citation="geometry",
            where=margin.name,
            measured=margin.margin_mm,
            allowed=0.0,
            unit="mm",
            values={"against": "surface" if margin.surface else "obstacle"},
        )
        for margin in margins
        if not margin.certified
    ]
