"""Racks and large radii: parallel offsets and kicks, concentric 90s, 90s in shots."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import msgspec

from racewright.bends.kick import kick_at_angle
from racewright.bends.large_radius import concentric_90s, describe_fit, segmented_bend
from racewright.bends.offset import Offset, offset
from racewright.bends.parallel import parallel, spacings_for_gap_mm
from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError
from racewright.marks import thumb
from racewright.operations.common import AngleText, LengthText
from racewright.operations.shapes.asked import Angle, Asked, Rise, Shape
from racewright.operations.shapes.report import Report
from racewright.tools.benders import BenderProfile, default_bender
from racewright.units.angle import format_angle

Fit = Annotated[
    Literal["inscribed", "circumscribed"],
    msgspec.Meta(
        title="The radius is touched by",
        description="wanted circle touched by the arcs (inscribed) or the straights (circumscribed)",
    ),
]
Radius = Annotated[LengthText, msgspec.Meta(title="Radius", description="centerline radius wanted")]


class Rack(Shape, frozen=True, kw_only=True):
    """Base of what is bent for several conduits side by side."""

    count: Annotated[
        int, msgspec.Meta(ge=1, le=60, title="Conduits of one size", description="how many conduits of one size")
    ] = 3
    sizes: Annotated[
        str,
        msgspec.Meta(
            max_length=400,
            title="Trade sizes",
            description="trade sizes from the inside out: 1/2,1/2,3/4",
            extra={"metavar": "LIST"},
        ),
    ] = ""
    spacing: Annotated[LengthText, msgspec.Meta(title="Center to center", description="center to center")] = ""
    gap: Annotated[
        LengthText,
        msgspec.Meta(title="Clear between them", description="clear between conduits, instead of the spacing"),
    ] = ""


class Parallel(Rack, frozen=True, kw_only=True):
    """Base of the same shape through a rack."""

    measured: ClassVar[str] = f"{Shape.measured}; across from the centerline of conduit 1"

    rise: Rise
    angle: Angle = "30"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        angle, rise = asked.angle(), asked.length("rise")
        profiles, spacings = _rack_inputs(asked, self)
        radii = [profile.radius_mm for profile in profiles]
        make, kind = (offset, "offsets") if isinstance(self, ParallelOffset) else (kick_at_angle, "kicks")
        conduits = parallel(lambda radius: make(rise, angle, radius), angle, radii, spacings)
        report = asked.report(f"{len(conduits)} parallel {kind}: {asked.said('rise')} at {format_angle(angle)}")
        report.shoes = tuple(profiles)
        report.angle("half the angle, whose tangent moves each bend", angle / 2.0)
        for profile in dict.fromkeys(profiles):
            report.pull(profile, angle, f"{profile.raceway_type} {profile.trade_size}")
        lead = profiles[0].arrow_lead_mm
        rows = []
        for conduit, profile in zip(conduits, profiles, strict=True):
            arrow = conduit.start_shift_mm - profile.arrow_lead_mm + lead
            cells = [str(conduit.number), f"{profile.raceway_type} {profile.trade_size}"]
            values = [conduit.across_mm, conduit.stagger_mm, arrow]
            if isinstance(conduit.shape, Offset):
                values.append(arrow + conduit.shape.spacing_mm)
            rows.append((*cells, *(report.shown(v) for v in values)))
        marks = ("first arrow mark", "second arrow mark") if kind == "offsets" else ("arrow mark",)
        report.table(
            title="Arrow marks, hook toward A, from conduit 1's first arrow mark (ends of all conduits flush)",
            head=("conduit", "raceway", "across", "corner moved", *marks),
            rows=tuple(rows),
        )
        report.notes.append("conduit 1 is on the side that the rack turns toward; the others follow outward.")
        report.notes.append(
            "trade's rule: center to center times tan(half the angle); it is exact where radii are equal."
        )
        return report


class ParallelOffset(Parallel, frozen=True, kw_only=True, tag="parallel-offset"):
    """the same offset through a rack"""


class ParallelKick(Parallel, frozen=True, kw_only=True, tag="parallel-kick"):
    """the same kick through a rack"""


class Concentric(Rack, frozen=True, kw_only=True, tag="concentric"):
    """90s about one center through a rack"""

    measured: ClassVar[str] = "radius and corner to the centerline"

    radius: Radius = ""
    fit: Fit = "circumscribed"
    shot: Annotated[AngleText, msgspec.Meta(title="Largest shot", description="largest shot")] = "10"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        profiles, spacings = _rack_inputs(asked, self)
        first = asked.length("radius", profiles[0].radius_mm)
        bends = concentric_90s(
            first, spacings, [p.radius_mm for p in profiles], most_shot_rad=asked.angle("shot"), fit=self.fit
        )
        report = asked.report(f"{len(bends)} concentric 90s, inner radius {asked.shown(first)}")
        report.shoes = tuple(profiles)
        rows = []
        for entry in bends:
            made = entry.bend
            report.pull(profiles[entry.number - 1], made.shot_rad, f"no. {entry.number}")
            rows.append(
                (
                    str(entry.number),
                    profiles[entry.number - 1].trade_size,
                    report.shown(entry.radius_mm),
                    f"{made.shots} x {format_angle(made.shot_rad)}",
                    report.shown(made.spacing_mm) if made.shots > 1 else "-",
                    report.shown(made.corner_to_first_mm),
                    report.shown(made.developed_mm),
                )
            )
        report.table(
            title="Bends, from the inside",
            head=("no.", "size", "radius", "shots", "shot spacing", "corner to first arc", "conduit used"),
            rows=tuple(rows),
        )
        report.notes.append(describe_fit(bends[-1].bend) + ".")
        return report


class Segmented(Shape, frozen=True, kw_only=True, tag="segmented"):
    """a 90 of a larger radius than the shoe's, in shots"""

    measured: ClassVar[str] = "radius, corner and straights to the centerline; a stub to its back"

    radius: Radius
    stub: Annotated[
        LengthText, msgspec.Meta(title="Stub height", description="stub height to the back: marks count from end A")
    ] = ""
    fit: Fit = "circumscribed"
    shots: Annotated[int, msgspec.Meta(ge=1, le=180, title="Shots", description="number of shots")] = 9

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        bender = asked.bender
        wanted, shots = asked.length("radius"), self.shots
        made = segmented_bend(wanted, bender.radius_mm, shots, fit=self.fit)
        report = asked.report(f"90° on a radius of {asked.said('radius')}, {shots} shots")
        report.words("how the shots lie", describe_fit(made))
        report.angle("each shot", made.shot_rad)
        report.length("shot spacing", made.spacing_mm)
        report.length("straight between shots", made.straight_mm)
        report.length("from the corner back to the first arc", made.corner_to_first_mm)
        report.length("conduit used, first arc to last", made.developed_mm)
        report.length("axis nearest to the center", made.least_radial_mm)
        report.length("axis furthest from the center", made.most_radial_mm)
        report.length("taught spacing: developed length over shots", made.taught_spacing_mm)
        stub_back = asked.maybe("stub")
        start = bender.arrow_lead_mm
        report.counted_from = "the first shot's arrow mark (give 'stub' to count from end A)"
        if stub_back is not None:
            start = stub_back - bender.outside_diameter_mm / 2.0 - made.corner_to_first_mm
            report.counted_from = "end A"
            if start < 0.0:
                raise InputError(
                    f"shape.stub: {asked.said('stub')} is too short; the first shot would start before end A.",
                    hint=f"give {report.shown(stub_back - start)} or more",
                    field="shape.stub",
                )
            taught = thumb.even_shots_rule_mm(stub_back, wanted, bender.outside_diameter_mm, shots)
            half = made.radius_mm * made.shot_rad / 2.0
            report.table(
                title="Middles of the shots: as taught (even parts of the developed length), and exact",
                head=("shot", "taught", "exact"),
                rows=tuple(
                    (str(i + 1), report.shown(t), report.shown(start + turn.arc_start_mm + half))
                    for i, (t, turn) in enumerate(zip(taught, made.turns, strict=True))
                ),
            )
        report.bends = made.bends(start, "segmented 90")
        return report


def _rack_inputs(asked: Asked, rack: Rack) -> tuple[list[BenderProfile], tuple[float, ...]]:
    sizes = [part.strip() for part in rack.sizes.split(",") if part.strip()]
    if sizes:
        own, kind = asked.bender, asked.bender.raceway_type
        raceways = [find_raceway(kind, size) for size in sizes]
        profiles = [
            own if asked.rack_shoe and r.trade_size == own.trade_size else default_bender(kind, r.trade_size)
            for r in raceways
        ]
    else:
        profiles = [asked.bender] * max(2, rack.count)
    gap, spacing = asked.maybe("gap"), asked.maybe("spacing")
    if (gap is None) == (spacing is None):
        raise InputError(
            "a rack needs either a spacing (center to center) or a gap (clear between).",
            hint="add one of them, for example a spacing of 2",
            field="shape.spacing",
        )
    if spacing is not None:
        return profiles, (spacing,) * (len(profiles) - 1)
    return profiles, spacings_for_gap_mm([p.outside_diameter_mm for p in profiles], gap or 0.0)


SHAPES = (ParallelOffset, ParallelKick, Concentric, Segmented)
