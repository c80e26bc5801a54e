"""Plan -> conduit in space, for the writers of model files: tubes along exact centrelines, solids beside them.

Room coordinates mm, z up. The writer of a file's kind is loaded only when it is asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from racewright.cards.words import along_conduit
from racewright.drawing.project import trace
from racewright.fit.way_in import Solid
from racewright.geometry.chain import Arc, Centreline
from racewright.geometry.solids import Box, Cylinder
from racewright.geometry.vector import Vec, cross, norm
from racewright.plan.fitting_bodies import FittingBody, expansion_bodies
from racewright.plan.model import Plan
from racewright.records.naming import piece_name
from racewright.units.tape import reading

SAME_DIRECTION = 1e-9


class Pencil(NamedTuple):
    """A pencil mark on a tube: its station from end A (mm) and what is written beside it."""

    station_mm: float
    text: str


class Tube(NamedTuple):
    """One piece of conduit. `raceway` is type and trade size ('EMT 1/2')."""

    name: str
    raceway: str
    centreline: Centreline
    outside_diameter_mm: float
    inside_diameter_mm: float
    marks: tuple[Pencil, ...] = ()


class TubeRun(NamedTuple):
    """One run: `key` is its short name, unique in the model; `area` the part of the site ('' = none).

    `tubes` in order from the run's start, `fittings` the bodies between them. `shift` moves
    the run's own room coordinates within the model. `alike`: '20 alike', '' for a run that there is once.
    """

    key: str
    name: str
    area: str
    tubes: tuple[Tube, ...]
    solids: tuple[Solid, ...] = ()
    fittings: tuple[FittingBody, ...] = ()
    shift: Vec = (0.0, 0.0, 0.0)
    alike: str = ""


class TubeModel(NamedTuple):
    """Everything that one file holds."""

    title: str
    runs: tuple[TubeRun, ...]

    @property
    def areas(self) -> tuple[str, ...]:
        """The areas in the order in which the runs name them."""
        return tuple(dict.fromkeys(run.area for run in self.runs))


def plane_normal(line: Centreline) -> Vec | None:
    """The normal of the plane in which all bends of a piece lie; None where there is no bend or no such plane."""
    first: Vec | None = None
    for segment in line.segments:
        if not isinstance(segment, Arc):
            continue
        n = cross(segment.frame.axis, segment.toward)
        if first is None:
            first = n
        elif norm(cross(first, n)) > SAME_DIRECTION:
            return None
    return first


def extent(run: TubeRun) -> tuple[Vec, Vec]:
    """The least upright box round a run's tubes and bounded solids, unshifted, within 1 mm on the outside of a bend."""
    points: list[tuple[Vec, float]] = []
    for tube in run.tubes:
        points += [(p, tube.outside_diameter_mm / 2.0) for p in trace(tube.centreline)]
    for solid in run.solids:
        if isinstance(solid.solid, Box):
            points += [(p, 0.0) for p in solid.solid.corners()]
        elif isinstance(solid.solid, Cylinder):
            points += [(p, solid.solid.radius_mm) for p in (solid.solid.start, solid.solid.end)]
    if not points:
        return (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    low = tuple(min(p[k] - r for p, r in points) for k in range(3))
    high = tuple(max(p[k] + r for p, r in points) for k in range(3))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def set_out(runs: Sequence[TubeRun], *, gap_mm: float = 600.0, aisle_mm: float = 2400.0) -> Iterator[TubeRun]:
    """Runs side by side along y, each beginning at x = 0 on its own surface z = 0, with an aisle between areas.

    A survey measures a run from its own start and says nothing of the site, so this is an order for the eye, not
    a position in the building.
    """
    y = 0.0
    area: str | None = None
    for run in runs:
        if area is not None:
            y += gap_mm if run.area == area else aisle_mm
        area = run.area
        low, high = extent(run)
        yield run._replace(shift=(-low[0], y - low[1], 0.0))
        y += high[1] - low[1]


def tubes_of(plan: Plan, key: str = "", area: str = "", alike: str = "") -> TubeRun:
    """The pieces of a run where they will hang, with their pencil marks, its expansion fittings, and what it goes past.

    `key`: the run's short name, by which its pieces are called; without one they are of the run's name. `alike` stands
    behind the name. Marks off the finished piece (a shoe's mark may lie beyond an end) are left out.
    """
    tubes = []
    for number, piece in enumerate(plan.pieces, 1):
        marks = tuple(
            Pencil(b.mark_mm, f"({b.number}) {reading(b.mark_tape, plan.tape.unit)} {b.reference}")
            for b in along_conduit(piece)
            if 0.0 <= b.mark_mm <= piece.cut_length_mm
        )
        tubes.append(
            Tube(
                name=piece_name(key, number, len(plan.pieces)) if key else f"{plan.name}, {piece.label}",
                raceway=plan.raceway,
                centreline=piece.centreline,
                outside_diameter_mm=piece.outside_diameter_mm,
                inside_diameter_mm=plan.conduit.inside_diameter_mm,
                marks=marks,
            )
        )
    solids = tuple(Solid(name=o.name, solid=o.solid) for o in plan.obstacles)
    return TubeRun(
        key=key or plan.name,
        name=", ".join(part for part in (plan.name, alike) if part),
        area=area,
        alike=alike,
        tubes=tuple(tubes),
        solids=solids,
        fittings=expansion_bodies(plan),
    )


def to_model(model: TubeModel, kind: Literal["dxf", "gltf", "ifc"], *, written_at: str = "") -> bytes:
    """The file's bytes. `written_at`: for the head of an IFC file, 'YYYY-MM-DDThh:mm:ss'. Raises MissingExtra without
    the library of this kind."""
    if kind == "dxf":
        from racewright.exports.dxf import to_dxf

        return to_dxf(model)
    if kind == "gltf":
        from racewright.exports.gltf import to_gltf

        return to_gltf(model)
    from racewright.exports.ifc import to_ifc

    return to_ifc(model, written_at=written_at)
