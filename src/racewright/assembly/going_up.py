"""The pieces of a run as they go up: their joints and ways in, what stops a turn, paths past what stands around."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from racewright.assembly.joints import Joint
from racewright.assembly.part import Part
from racewright.budget import Budget
from racewright.fit.way_in import TURNING_ROOM_MM, PathMargin, Solid, line_of, path_margin, swing
from racewright.geometry.chain import Arc
from racewright.geometry.solids import Cylinder
from racewright.geometry.vector import Frame, Vec, along, cross, distance, dot, norm, scale, sub

_CHORDS = 4


class GoingUp(NamedTuple):
    """A piece with its joints, the ways in which its ends go in, what stops it from being turned or pushed straight in
    by each end ('' nothing), and the paths that were looked at, counted in `budget`."""

    part: Part
    joints: tuple[int | None, int | None]
    ways: tuple[Vec, Vec]
    stopped_by: tuple[str, str]
    paths: dict[tuple[int, float, int], PathMargin]
    budget: Budget

    def path(self, side: int, by_mm: float, solid: Solid) -> PathMargin:
        """The way in by the end `side` (0 A, 1 B), past a solid."""
        key = (side, by_mm, id(solid))
        if key not in self.paths:
            part = self.part
            self.paths[key] = path_margin(part.piece, part.frame, self.ways[side], by_mm, solid, self.budget)
        return self.paths[key]

    def stopped_on_the_way(self, side: int, by_mm: float, solids: Sequence[Solid]) -> str:
        """The first of the solids that stops it on its straight way in; '' none."""
        return next((s.name for s in solids if self.path(side, by_mm, s).stops), "")

    @property
    def in_line(self) -> float:
        """How far one end moves along its own way while the other goes in by 1; 0 where it moves square to it."""
        return max(0.0, -dot(*self.ways))

    @property
    def span_mm(self) -> float:
        """From end A to end B, straight."""
        line = line_of(self.part.piece, self.part.frame)
        return distance(line.point_at(0.0), line.end_frame.origin)


def going_up(parts: Sequence[Part], joints: Sequence[Joint], solids: Sequence[Solid], budget: Budget) -> list[GoingUp]:
    """The pieces of a run, and what stops them from being turned in by a thread, or pushed in; what is looked at for it
    counts in `budget`, and none of it is left out."""
    left = {j.after - 1: i for i, j in enumerate(joints) if j.after is not None}
    right = {j.before - 1: i for i, j in enumerate(joints) if j.before is not None}
    bars = [bars_of(part, number) for number, part in enumerate(parts, start=1)]
    out = []
    for k, part in enumerate(parts):
        end = line_of(part.piece, part.frame).end_frame
        ends = (left.get(k), right.get(k))
        stopped = ["", ""]
        for side, joint in enumerate(ends):
            if joint is not None and joints[joint].how == "threads" and part.piece.bends:
                # whatever may stand by then: all the others, less what turns on the spot or ends where this one will
                # face it
                at = end if side else part.frame
                others = [bar for i, row in enumerate(bars) if i != k for bar in shortened(row, i - k, side, part)]
                near = [*solids, *(bar for bar in others if not _coaxial(bar, at))]
                stopped[side] = swing(part.piece, part.frame, "B" if side else "A", near, budget).blocked_by
        piece = GoingUp(part, ends, (scale(part.frame.axis, -1.0), end.axis), ("", ""), {}, budget)
        for side, joint in enumerate(ends):
            if joint is not None and not stopped[side]:
                stopped[side] = piece.stopped_on_the_way(side, part.inserts_mm[side], solids)
        out.append(piece._replace(stopped_by=(stopped[0], stopped[1])))
    return out


def bars_of(part: Part, number: int) -> list[Solid]:
    """A piece as round bars."""
    line = line_of(part.piece, part.frame)
    points: list[Vec] = []
    for segment in line.segments:
        steps = _CHORDS if isinstance(segment, Arc) else 1
        points += [
            segment.point_at(segment.start_s + (segment.end_s - segment.start_s) * i / steps) for i in range(steps)
        ]
    points.append(line.end_frame.origin)
    half = 0.5 * part.piece.outside_diameter_mm
    bars = [Cylinder(start=a, end=b, radius_mm=half) for a, b in pairwise(points) if distance(a, b) > 1e-3]
    return [Solid(name=f"piece {number}", solid=bar) for bar in bars]


def shortened(row: Sequence[Solid], away: int, side: int, part: Part) -> Sequence[Solid]:
    """A piece's bars; of the piece that faces the free end of what is turned in, less a bit at that end: there the ends
    pass each other in the gap of the joint."""
    if away != (1 if side == 0 else -1) or not row:
        return row
    last = row[0 if away > 0 else -1]
    assert isinstance(last.solid, Cylinder)
    bit = part.piece.outside_diameter_mm + TURNING_ROOM_MM
    whole = distance(last.solid.start, last.solid.end)
    rest = row[1:] if away > 0 else row[:-1]
    if whole <= bit:
        return rest
    axis = scale(sub(last.solid.end, last.solid.start), 1.0 / whole)
    start, end = last.solid.start, last.solid.end
    start, end = (along(start, axis, bit), end) if away > 0 else (start, along(end, axis, -bit))
    return [*rest, Solid(name=last.name, solid=Cylinder(start=start, end=end, radius_mm=last.solid.radius_mm))]


def _coaxial(bar: Solid, at: Frame) -> bool:
    """Whether a bar lies on an axis: what turns about that axis comes no nearer to it."""
    assert isinstance(bar.solid, Cylinder)
    return all(norm(cross(sub(p, at.origin), at.axis)) < 1.0 for p in (bar.solid.start, bar.solid.end))
