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

Mobility = Literal["fixed", "loose", "slides", "open"]
PLAY_RAD = radians(2.0)
# What a hand can press aside, and the least step of the certified path.
TOUCH_MM = 0.5


class EndFitting(msgspec.Struct, frozen=True, kw_only=True):
    """What one end goes into. `insertion_mm`: how deep. `mobility`: 'fixed'; 'loose': can be taken off or pushed
    back as far as needed; 'slides': can be pushed back by `slide_mm`; 'open': nothing there."""

    name: str = ""
    insertion_mm: float = 0.0
    mobility: Mobility = "fixed"
    slide_mm: float = 0.0


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


class InsertionAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """How the piece goes in. `captured`: it cannot go in between its fittings as long as both stay where they
    are. `loosen`: the end whose fitting must give way ('' none), `slide_mm` by how much along that end's axis,
    `coupling` what kind of fitting lets it. `path_clear`: the way in clears everything. `steps` in words."""

    captured: bool
    possible: bool
    loosen: Literal["", "A", "B"]
    slide_mm: float
    coupling: str
    path_clear: bool
    margins: tuple[PathMargin, ...]
    steps: tuple[str, ...]
    findings: tuple[Finding, ...]


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
    play_rad: float = PLAY_RAD,
    tape: TapeStyle = INCHES,
) -> InsertionAnswer:
    """How the piece goes in between its fittings, or which fitting must give way.

    `start`: the frame at end A when the piece is in place. `play_rad`: how far out of line an end may be while it
    goes in. `tape`: how the words show lengths. Raises InputError for an insertion depth below zero or longer than
    the piece.
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
    way_a = scale(start.axis, -1.0)
    way_b = walk(piece, start).end.axis
    needs_a = fitting_a.mobility != "open" and fitting_a.insertion_mm > 0.0
    needs_b = fitting_b.mobility != "open" and fitting_b.insertion_mm > 0.0
    if not needs_a and not needs_b:
        margins = tuple(path_margin(piece, start, way_b, 0.0, o) for o in obstacles)
        return _free(margins, ("hold the piece in place",), tape)
    if not (needs_a and needs_b) or _angle(way_a, way_b) <= play_rad:
        return _one_push(piece, start, (fitting_a, fitting_b), way_a if needs_a else way_b, obstacles, tape)
    return _captured(piece, start, (fitting_a, fitting_b), (way_a, way_b), obstacles, raceway_type, play_rad, tape)


def _angle(a: Vec, b: Vec) -> float:
    return acos(max(-1.0, min(1.0, dot(a, b))))


def _clear(margins: Sequence[PathMargin]) -> bool:
    return all(margin.certified for margin in margins)


def _free(margins: tuple[PathMargin, ...], steps: tuple[str, ...], tape: TapeStyle) -> InsertionAnswer:
    clear = _clear(margins)
    return InsertionAnswer(
        captured=False,
        possible=clear,
        loosen="",
        slide_mm=0.0,
        coupling="",
        path_clear=clear,
        margins=margins,
        steps=steps,
        findings=tuple(_blocked(margins, tape)),
    )


def _one_push(
    piece: BentPiece,
    start: Frame,
    fittings: tuple[EndFitting, EndFitting],
    way: Vec,
    obstacles: Sequence[Solid],
    tape: TapeStyle,
) -> InsertionAnswer:
    """One straight push puts in whatever has to go in."""
    a, b = fittings
    depth = max(f.insertion_mm for f in (a, b) if f.mobility != "open")
    margins = tuple(path_margin(piece, start, way, depth, o) for o in obstacles)
    ends: tuple[tuple[EndFitting, HookEnd], ...] = ((a, "A"), (b, "B"))
    names = [_called(f, end) for f, end in ends if f.mobility != "open" and f.insertion_mm > 0.0]
    step = f"line the piece up {format_length(depth, tape)} back and push it straight into {' and '.join(names)}"
    return _free(margins, (step,), tape)


def _captured(
    piece: BentPiece,
    start: Frame,
    fittings: tuple[EndFitting, EndFitting],
    ways: tuple[Vec, Vec],
    obstacles: Sequence[Solid],
    raceway_type: str,
    play_rad: float,
    tape: TapeStyle,
) -> InsertionAnswer:
    """Both ends must go in different ways: one fitting gives way, the other end is pushed in."""
    ends: tuple[HookEnd, HookEnd] = ("A", "B")
    options = []
    for gives in (0, 1):
        stays = 1 - gives
        margins = tuple(path_margin(piece, start, ways[stays], fittings[stays].insertion_mm, o) for o in obstacles)
        can = fittings[gives].mobility == "loose" or (
            fittings[gives].mobility == "slides" and fittings[gives].slide_mm >= fittings[gives].insertion_mm
        )
        # best: one that can give way, past nothing in the way, with the least slide; end B where all is alike
        options.append((not can, not _clear(margins), even(fittings[gives].insertion_mm), 1 - gives, gives, margins))
    cannot, blocked, slide, _, gives, margins = min(options, key=lambda option: option[:4])
    other = 1 - gives
    coupling = _coupling(raceway_type)
    facing = _angle(ways[0], scale(ways[1], -1.0)) <= play_rad
    steps = (
        f"push the fitting at end {ends[gives]} ({_called(fittings[gives], ends[gives])}) back by "
        f"{format_length(slide, tape)} along the conduit, or take it off",
        f"push end {ends[other]} straight into {_called(fittings[other], ends[other])}, "
        f"{format_length(fittings[other].insertion_mm, tape)} deep",
        f"bring the fitting back over end {ends[gives]}, {format_length(slide, tape)} deep, and tighten it",
    )
    findings = _blocked(margins, tape)
    if cannot:
        why = "its two ends face each other's fittings" if facing else "its two ends go in different ways"
        findings.insert(
            0,
            Finding(
                rule="insertion.captured",
                severity="problem",
                message=(
                    f"the piece is captured: {why}, and neither fitting gives way. Make the one at end "
                    f"{ends[gives]} so that it can be pushed back {format_length(slide, tape)}: {coupling}."
                ),
                citation="geometry; the kind of coupling: common practice, no source",
                where=f"end {ends[gives]}",
                measured=fittings[gives].slide_mm,
                allowed=slide,
                unit="mm",
            ),
        )
    return InsertionAnswer(
        captured=True,
        possible=not cannot and not blocked,
        loosen=ends[gives],
        slide_mm=slide,
        coupling=coupling,
        path_clear=not blocked,
        margins=margins,
        steps=steps,
        findings=tuple(findings),
    )


def _called(fitting: EndFitting, end: HookEnd) -> str:
    return fitting.name or f"the fitting at end {end}"


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
