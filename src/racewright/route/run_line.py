"""A run as the rules see it: the raceway, its centreline, its ends, couplings and pull points. No bender, no plan.

Notation (lengths mm, angles radians)
    s       station along the centreline from end A
    u, d    unit axis in the direction of travel, and the unit direction that a bend turns toward
    slope   elevation of the axis above level, positive uphill in the direction of travel
"""

from __future__ import annotations

from itertools import pairwise
from math import asin, cos, sin
from typing import Literal, NamedTuple

import msgspec

from racewright.catalogue.raceways import Raceway
from racewright.geometry.chain import Arc, Centreline, Turn
from racewright.geometry.vector import ZERO, Frame, Vec, add, dot, scale, unit

EndKind = Literal["box", "conduit body", "free", "coupling"]


class Coupling(NamedTuple):
    """What joins two pieces of a run: its middle along the run, half its length, what it leaves between the two ends in
    it, and whether it is an expansion fitting."""

    at_mm: float
    half_mm: float = 0.0
    gap_mm: float = 0.0
    expands: bool = False


class RunShape(msgspec.Struct, frozen=True, kw_only=True):
    """One run between two ends. Stations and lengths are mm along the centreline from end A.

    `pull_points_mm`: places between the ends where wires can be pulled (conduit bodies, pull boxes). `down`: the
    direction of gravity in the same room as `frame`, any length. An end of kind 'coupling' goes on as another run.
    `off_surface_mm`: stretches where the conduit does not lie at its straps' height on the surface that carries it.
    `bend_names`: what each bend is called ('mark 2'), where somebody named them.
    """

    raceway: Raceway
    length_mm: float
    turns: tuple[Turn, ...] = ()
    frame: Frame = Frame()
    start: EndKind = "box"
    end: EndKind = "box"
    couplings: tuple[Coupling, ...] = ()
    threaded_couplings: bool = False
    pull_points_mm: tuple[float, ...] = ()
    off_surface_mm: tuple[tuple[float, float], ...] = ()
    bend_names: tuple[str, ...] = ()
    down: Vec = (0.0, 0.0, -1.0)


class Part(NamedTuple):
    """A straight (angle 0, radius 0) or one bend, in the direction of travel. `start_mm` and `end_mm` are stations
    from end A whatever the direction; `axis` at the part's entry; `toward` is zero for a straight."""

    start_mm: float
    end_mm: float
    angle_rad: float
    radius_mm: float
    axis: Vec
    toward: Vec

    @property
    def length_mm(self) -> float:
        """Length along the centreline."""
        return abs(self.end_mm - self.start_mm)

    @property
    def is_bend(self) -> bool:
        """True for an arc."""
        return self.radius_mm > 0.0

    def out_axis(self) -> Vec:
        """The axis where the part ends, in the direction of travel."""
        return _turned(self.axis, self.toward, self.angle_rad)

    def out_toward(self) -> Vec:
        """The direction to the bend's centre where the part ends."""
        c, k = cos(self.angle_rad), sin(self.angle_rad)
        return add(scale(self.toward, c), scale(self.axis, -k))


def parts_of(shape: RunShape) -> tuple[Part, ...]:
    """Straights and bends from end A to end B. Raises LimitError for a shape whose arcs overlap."""
    out = []
    for segment in Centreline.from_turns(shape.length_mm, shape.turns, shape.frame).segments:
        if isinstance(segment, Arc):
            out.append(
                Part(
                    segment.start_s,
                    segment.end_s,
                    segment.angle_rad,
                    segment.radius_mm,
                    segment.frame.axis,
                    segment.toward,
                )
            )
        else:
            out.append(Part(segment.start_s, segment.end_s, 0.0, 0.0, segment.frame.axis, ZERO))
    return tuple(out)


def clipped(parts: tuple[Part, ...], from_mm: float, to_mm: float) -> tuple[Part, ...]:
    """The parts between two stations (direction A to B), arcs cut where the stations cut them."""
    out = []
    for part in parts:
        a, b = max(part.start_mm, from_mm), min(part.end_mm, to_mm)
        if b - a <= 1e-9:
            continue
        if not part.is_bend:
            out.append(part._replace(start_mm=a, end_mm=b))
            continue
        skip = (a - part.start_mm) / part.radius_mm
        head = part._replace(angle_rad=skip)
        out.append(Part(a, b, (b - a) / part.radius_mm, part.radius_mm, head.out_axis(), head.out_toward()))
    return tuple(out)


def turned_round(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """The same parts travelled the other way: entry stations stay counted from end A."""
    return tuple(
        Part(
            part.end_mm,
            part.start_mm,
            part.angle_rad,
            part.radius_mm,
            scale(part.out_axis(), -1.0),
            part.out_toward() if part.is_bend else ZERO,
        )
        for part in reversed(parts)
    )


def sections(shape: RunShape) -> tuple[tuple[float, float], ...]:
    """Station pairs between neighbouring pull points, the run's ends included."""
    inner = sorted({s for s in shape.pull_points_mm if 0.0 < s < shape.length_mm})
    stops = [0.0, *inner, shape.length_mm]
    return tuple(pairwise(stops))


def arc_spans(shape: RunShape) -> tuple[tuple[float, float], ...]:
    """(start, end) stations of the bends."""
    return tuple((t.arc_start_mm, t.arc_start_mm + t.radius_mm * t.angle_rad) for t in shape.turns)


def straights_of(shape: RunShape) -> tuple[tuple[float, float], ...]:
    """The straights of a run, from where one bend ends to where the next begins."""
    edges = [0.0, *(at for arc in arc_spans(shape) for at in arc), shape.length_mm]
    return tuple(zip(edges[::2], edges[1::2], strict=True))


def slope_rad(axis: Vec, down: Vec) -> float:
    """Elevation of a unit axis above level; positive uphill."""
    return asin(max(-1.0, min(1.0, -dot(axis, unit(down)))))


def _turned(axis: Vec, toward: Vec, angle_rad: float) -> Vec:
    return add(scale(axis, cos(angle_rad)), scale(toward, sin(angle_rad)))
