"""`racewright shape` for racks and large radii: parallel offsets and kicks, concentric 90s, 90s in shots."""

from __future__ import annotations

from racewright.bends.large_radius import concentric_90s, describe_fit, segmented_bend
from racewright.bends.offset import Offset
from racewright.bends.parallel import RackConduit, parallel_kicks, parallel_offsets, spacings_for_gap_mm
from racewright.cards.text.shape import Report, Table
from racewright.cli.shape.asked import Asked, report_length
from racewright.errors import InputError
from racewright.marks import thumb
from racewright.tools.model import BenderProfile
from racewright.units.angle import format_angle


def rack(asked: Asked) -> Report:
    """Parallel offsets or kicks."""
    angle, rise = asked.angle(), asked.length("rise")
    profiles, spacings = _rack_inputs(asked)
    radii = [profile.radius_mm for profile in profiles]
    kind = "offsets" if asked.args.shape_name == "parallel-offset" else "kicks"
    make = parallel_offsets if kind == "offsets" else parallel_kicks
    conduits: tuple[RackConduit, ...] = make(rise, angle, radii, spacings)
    report = asked.report(f"{len(conduits)} parallel {kind}: {asked.said('rise')} at {format_angle(angle)}")
    report.shoes = tuple(profiles)
    report.angle("half the angle, whose tangent moves each bend", angle / 2.0)
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
    report.tables.append(
        Table(
            title="Arrow marks, hook toward A, from conduit 1's first arrow mark (ends of all conduits flush)",
            head=("conduit", "raceway", "across", "corner moved", *marks),
            rows=tuple(rows),
        )
    )
    report.notes.append("conduit 1 is on the side that the rack turns toward; the others follow outward.")
    report.notes.append("trade's rule: centre to centre times tan(half the angle); it is exact where radii are equal.")
    return report


def concentric(asked: Asked) -> Report:
    """Concentric 90s."""
    profiles, spacings = _rack_inputs(asked)
    first = asked.length("radius", profiles[0].radius_mm)
    bends = concentric_90s(
        first,
        spacings,
        [p.radius_mm for p in profiles],
        most_shot_rad=asked.angle("shot"),
        fit=asked.args.fit,
    )
    report = asked.report(f"{len(bends)} concentric 90s, inner radius {report_length(asked, first)}")
    report.shoes = tuple(profiles)
    rows = []
    for entry in bends:
        made = entry.bend
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
    report.tables.append(
        Table(
            title="Bends, from the inside",
            head=("no.", "size", "radius", "shots", "shot spacing", "corner to first arc", "conduit used"),
            rows=tuple(rows),
        )
    )
    report.notes.append(describe_fit(bends[-1].bend) + ".")
    return report


def segmented(asked: Asked) -> Report:
    """A large 90 of shots."""
    bender = asked.bender
    wanted, shots = asked.length("radius"), asked.args.shots
    made = segmented_bend(wanted, bender.radius_mm, shots, fit=asked.args.fit)
    report = asked.report(f"90° on a radius of {asked.said('radius')}, {shots} shots")
    report.words("how the shots lie", describe_fit(made))
    report.angle("each shot", made.shot_rad)
    report.length("shot spacing", made.spacing_mm)
    report.length("straight between shots", made.straight_mm)
    report.length("from the corner back to the first arc", made.corner_to_first_mm)
    report.length("conduit used, first arc to last", made.developed_mm)
    report.length("axis nearest to the centre", made.least_radial_mm)
    report.length("axis furthest from the centre", made.most_radial_mm)
    report.length("taught spacing: developed length over shots", made.taught_spacing_mm)
    stub_back = asked.maybe("stub")
    start = bender.arrow_lead_mm
    report.counted_from = "the first shot's arrow mark (give --stub to count from end A)"
    if stub_back is not None:
        start = stub_back - bender.outside_diameter_mm / 2.0 - made.corner_to_first_mm
        report.counted_from = "end A"
        if start < 0.0:
            raise InputError(
                f"--stub: {asked.said('stub')} is too short; the first shot would start before end A.",
                hint=f"give {report.shown(stub_back - start)} or more",
                field="--stub",
            )
        taught = thumb.even_shots_rule_mm(stub_back, wanted, bender.outside_diameter_mm, shots)
        half = made.radius_mm * made.shot_rad / 2.0
        report.tables.append(
            Table(
                title="Middles of the shots: as taught (even parts of the developed length), and exact",
                head=("shot", "taught", "exact"),
                rows=tuple(
                    (str(i + 1), report.shown(t), report.shown(start + turn.arc_start_mm + half))
                    for i, (t, turn) in enumerate(zip(taught, made.turns, strict=True))
                ),
            )
        )
    report.bends = made.bends(start, "segmented 90")
    return report


def _rack_inputs(asked: Asked) -> tuple[list[BenderProfile], tuple[float, ...]]:
    from racewright.catalogue.raceways import find_raceway
    from racewright.tools.benders import default_bender

    sizes = [part.strip() for part in (asked.args.sizes or "").split(",") if part.strip()]
    if sizes:
        own, kind = asked.bender, asked.bender.raceway_type
        raceways = [find_raceway(kind, size) for size in sizes]
        profiles = [
            own if asked.args.bender and r.trade_size == own.trade_size else default_bender(kind, r.trade_size)
            for r in raceways
        ]
    else:
        profiles = [asked.bender] * max(2, asked.args.count)
    gap, spacing = asked.maybe("gap"), asked.maybe("spacing")
    if (gap is None) == (spacing is None):
        raise InputError(
            "a rack needs either --spacing (centre to centre) or --gap (clear between).",
            hint="add one of them, for example --spacing 2",
            field="--spacing",
        )
    if spacing is not None:
        return profiles, (spacing,) * (len(profiles) - 1)
    return profiles, spacings_for_gap_mm([p.outside_diameter_mm for p in profiles], gap or 0.0)
