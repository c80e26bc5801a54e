"""Plans made by hand for tests of what is drawn: no planner is asked."""

from __future__ import annotations

from math import degrees, radians, sin, tan
from typing import Any, TypeVar

import msgspec

from racewright.assembly.joints import PieceEnd
from racewright.bends.model import Bend
from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.solids import Box, Cylinder
from racewright.geometry.vector import Frame, Vec
from racewright.plan.model import (
    Dimension,
    MarkedBend,
    ObstacleView,
    PieceStart,
    Plan,
    PlannedPiece,
    Step,
    ThumbComparison,
    ThumbMark,
    WayView,
    shoe_of,
)
from racewright.records.model import JobRun
from racewright.sequence.machine import Stance
from racewright.sequence.words import stance_words
from racewright.survey.written import WrittenRun, WrittenSurvey
from racewright.tools.benders import BenderProfile
from racewright.units.tape import TapeStyle, format_length, read_tape

INCH = 25.4
RADIUS_MM = 113.6
OUTSIDE_MM = 17.9

RACEWAY = Raceway(
    type="EMT",
    trade_size="1/2",
    metric_designator=16,
    outside_diameter_mm=OUTSIDE_MM,
    inside_diameter_mm=15.8,
    area_mm2=196.0,
    least_radius_mm=101.6,
    least_radius_other_mm=127.0,
    stock_length_mm=3048.0,
    source="made up for tests",
    standing="test",
)
BENDER = BenderProfile(
    name="bench shoe",
    raceway_type="EMT",
    trade_size="1/2",
    outside_diameter_mm=OUTSIDE_MM,
    radius_mm=RADIUS_MM,
    arrow_lead_mm=4.5,
    centre_mm=44.6,
    star_mm=55.9,
    hook_reach_mm=38.1,
    grip_mm=203.2,
    take_up_mm=127.0,
    gain_mm=66.7,
)
POSITION = {"arrow": -BENDER.arrow_lead_mm, "center": BENDER.centre_mm, "star": BENDER.star_mm}

S = TypeVar("S", bound=msgspec.Struct)


def marked(
    number: int,
    order: int,
    bend: Bend,
    style: TapeStyle,
    *,
    hook: str = "A",
    reference: str = "arrow",
    spin_deg: float = 0.0,
    spin_words: str = "",
    look_at: str = "leg in line with the first",
    stance: Stance = "floor",
) -> MarkedBend:
    marks = {}
    for name, position in POSITION.items():
        marks[f"A {name}"] = bend.arc_start_mm + position
        marks[f"B {name}"] = bend.arc_end_mm - position
    at = marks[f"{hook} {reference}"]
    return MarkedBend(
        number=number,
        order=order,
        shape=bend.shape,
        role=bend.role,
        arc_start_mm=bend.arc_start_mm,
        arc_end_mm=bend.arc_end_mm,
        angle_deg=degrees(bend.angle_rad),
        roll_deg=degrees(bend.roll_rad),
        hook=hook,  # type: ignore[arg-type]
        reference=reference,  # type: ignore[arg-type]
        mark_mm=at,
        mark_tape=read_tape(at, style).text,
        mark_rounding_mm=read_tape(at, style).off_mm,
        pointer_deg=degrees(bend.angle_rad),
        pointer_basis="relaxed",
        spin_deg=spin_deg,
        spin_words=spin_words,
        stance=stance,
        stance_words=stance_words(stance),
        end_for_end=False,
        look_at=look_at,
        all_marks_mm=marks,
    )


def planned_piece(
    marked_bends: tuple[MarkedBend, ...], length_mm: float, style: TapeStyle, **more: object
) -> PlannedPiece:
    fields: dict[str, object] = {
        "label": "piece 1",
        "cut_length_mm": length_mm,
        "cut_length_tape": read_tape(length_mm, style).text,
        "outside_diameter_mm": OUTSIDE_MM,
        "bend_radius_mm": RADIUS_MM,
        "bends": marked_bends,
        "end_a": PieceEnd(fitting="pump panel connector", insertion_mm=15.0),
        "end_b": PieceEnd(fitting="junction box JB-2", insertion_mm=15.0),
        "start": PieceStart(point_mm=(0.0, 0.0, OUTSIDE_MM / 2.0), axis=(1.0, 0.0, 0.0), normal=(0.0, 0.0, 1.0)),
        "least_stock_mm": length_mm,
        "extra_a_mm": 0.0,
        "extra_b_mm": 0.0,
        "run_start_mm": 0.0,
        "stock_mm": 0.0,
        "forecast": None,
        "ways": (
            WayView(
                order=tuple(b.number for b in sorted(marked_bends, key=lambda b: b.order)),
                hooks="",
                effort=0.0,
                reasons=(),
            ),
        ),
        "order_proved": False,
        "trim_after": False,
        "trim_marks": (),
    }
    fields.update(more)
    return PlannedPiece(**fields)  # type: ignore[arg-type]


def _bend(start: float, angle_deg: float, roll_deg: float, shape: str, role: str) -> Bend:
    return Bend(
        arc_start_mm=start,
        angle_rad=radians(angle_deg),
        roll_rad=radians(roll_deg),
        radius_mm=RADIUS_MM,
        shape=shape,
        role=role,
    )


def saddle_plan(style: TapeStyle = TapeStyle(), *, name: str = "Pump house lighting, run 3") -> Plan:  # noqa: B008
    """A three-bend saddle over a pipe, 23 in to the centre, 3 1/4 in rise, 56 in overall."""
    rise, angle = 3.25 * INCH, radians(22.5)
    straight = (rise - 2.0 * RADIUS_MM * (1.0 - 0.92388)) / sin(angle)
    s1 = 23 * INCH + 16.5 - RADIUS_MM * 2.0 * angle - straight
    s2 = s1 + RADIUS_MM * angle + straight
    s3 = s2 + RADIUS_MM * 2.0 * angle + straight
    bends = [
        _bend(s1, 22.5, 0.0, "saddle 1", "saddle outer"),
        _bend(s2, 45.0, 180.0, "saddle 1", "saddle center"),
        _bend(s3, 22.5, 0.0, "saddle 1", "saddle outer"),
    ]
    marks = (
        marked(1, 2, bends[0], style, reference="arrow", spin_deg=180.0, spin_words="half a turn"),
        marked(2, 1, bends[1], style, reference="center", look_at="45° on the level, both legs even"),
        marked(3, 3, bends[2], style, reference="arrow", hook="A", look_at="legs in line, no dog-leg"),
    )
    length = 56 * INCH + 33.0
    centre = 23 * INCH
    half = 150.0

    def shown(mm: float) -> str:
        return format_length(mm, style)

    thumb = ThumbComparison(
        shape="saddle 1",
        rule="3/16 per inch of rise to the centre mark, 2 1/2 per inch to the outer marks",
        marks=tuple(
            ThumbMark(
                label=label,
                rule_mm=m.mark_mm + off,
                rule_tape=shown(m.mark_mm + off),
                exact_mm=m.mark_mm,
                exact_tape=shown(m.mark_mm),
            )
            for label, m, off in zip(
                ("first outer mark, arrow", "centre mark", "second outer mark, arrow"),
                marks,
                (2.0, -1.0, 3.2),
                strict=True,
            )
        ),
        landing_rule="apex rises 3 9/16, far leg 1/8 off the line",
        landing_exact="apex rises 3 1/4, far leg on the line",
    )
    return Plan(
        name=name,
        tape=style,
        raceway=RACEWAY.name,
        bender=shoe_of(BENDER),
        pieces=(planned_piece(marks, length, style),),
        corners_mm=((0.0, 0.0, 8.9), (centre - 200.0, 0.0, 8.9), (centre, 0.0, 8.9 + rise), (centre + 200.0, 0.0, 8.9),
                 (56 * INCH, 0.0, 8.9)),
        obstacles=(
            ObstacleView(
                name="3 in water pipe",
                solid=Cylinder(start=(centre, -half, 38.0), end=(centre, half, 38.0), radius_mm=38.0),
                wanted_mm=12.7,
                clearance_mm=13.1,
                at=(centre, 0.0, 38.0),
                nearest=(centre, 0.0, 76.0),
            ),
        ),
        shapes=(),
        dimensions=(
            Dimension(start=(0, 0, 0), end=(centre, 0, 0), text=f"{shown(centre)} to the centre", side=(0, 0, -1)),
            Dimension(start=(0, 0, 0), end=(56 * INCH, 0, 0), text=f"{shown(56 * INCH)} overall", side=(0, 0, -1)),
            Dimension(start=(centre, 0, 0), end=(centre, 0, rise), text=f"{shown(rise)} rise", side=(1, 0, 0)),
        ),
        rules_of_thumb=(thumb,),
        steps=(
            Step(kind="cut", title=f"Cut {shown(length)}", detail="Square, from a straight stick."),
            Step(kind="ream", title="Ream both ends"),
            Step(kind="lay-out", title="Mark 1, 2 and 3 all the way round", detail="One line along the top as well."),
            Step(kind="bend", title="Bend in the order of the table"),
            Step(kind="insert", title="End A goes in first", detail="Loosen the connector at JB-2 before you lift."),
            Step(kind="strap", title="Strap within 3 ft of each box", detail="Then at most every 10 ft."),
        ),
        notes=(),
        joints=(),
        checks=None,
        cautions=("The springback of this bender is not calibrated: read the angle after letting go.",),
        findings=(
            Finding(rule="bends-total", severity="info", message="Bends add up to 90°, 360° allowed.",
                    citation="NFPA 70-2023, 358.26"),
        ),
        measured=("End A at the pump panel; 23 in to the pipe's centre; pipe is 3 in outside.",),
        developed_length_mm=length,
        total_bend_deg=90.0,
    )  # fmt: skip


def space_plan(style: TapeStyle = TapeStyle(), *, name: str = "Packing shed riser") -> Plan:  # noqa: B008
    """Two nineties in different planes, a rolling offset and a kick pair: six bends in space."""
    data = [
        (300.0, 90.0, 0.0, "90 up", "stub"),
        (900.0, 30.0, 90.0, "rolling offset 1", "offset first"),
        (1150.0, 30.0, 270.0, "rolling offset 1", "offset second"),
        (1500.0, 90.0, 200.0, "90 to the shed", "stub"),
        (1950.0, 22.5, 47.0, "offset 2", "offset first"),
        (2120.0, 22.5, 227.0, "offset 2", "offset second"),
    ]
    bends = [_bend(*row) for row in data]
    order = (1, 2, 3, 6, 5, 4)
    spins = (0.0, 90.0, 180.0, -27.0, 180.0, -153.0)
    words = (
        "",
        "quarter turn clockwise, looking from A to B",
        "half a turn",
        "turn 27° counterclockwise, looking from A to B",
        "half a turn",
        "turn 153° counterclockwise, looking from A to B",
    )
    refs = ("star", "arrow", "arrow", "star", "center", "arrow")
    hooks = ("B", "A", "A", "B", "B", "B")
    marks = tuple(
        marked(
            k + 1,
            order[k],
            bend,
            style,
            hook=hooks[k],
            reference=refs[k],
            spin_deg=spins[k],
            spin_words=words[k],
            stance="upside down" if k == 3 else "floor",
        )
        for k, bend in enumerate(bends)
    )
    length = 2800.0
    line = Centreline.from_turns(
        length,
        [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in bends],
        Frame((0.0, 0.0, 8.95), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    )
    corners: list[Vec] = [line.point_at(0.0)]
    for b in bends:
        frame = line.frame_at(b.arc_start_mm)
        back = RADIUS_MM * tan(b.angle_rad / 2.0)
        corners.append(frame.advanced(back).origin)
    corners.append(line.point_at(length))
    rise, run = format_length(900.0, style), format_length(413.6, style)
    return Plan(
        name=name,
        tape=style,
        raceway=RACEWAY.name,
        bender=shoe_of(BENDER),
        pieces=(planned_piece(marks, length, style),),
        corners_mm=tuple(corners),
        obstacles=(
            ObstacleView(
                name="roof beam",
                solid=Box(corner=(300.0, -500.0, 700.0), edge_x=(90.0, 0.0, 0.0), edge_y=(0.0, 300.0, 0.0),
                          edge_z=(0.0, 0.0, 150.0)),
                wanted_mm=25.0,
                clearance_mm=40.0,
                at=(345.0, -350.0, 775.0),
                nearest=(345.0, -200.0, 775.0),
            ),
        ),
        shapes=(),
        dimensions=(
            Dimension(start=corners[0], end=corners[1], text=f"{run} to the wall", side=(0, 0, -1)),
            Dimension(start=corners[1], end=corners[2], text=f"{rise} up", side=(1, 0, 0)),
        ),
        rules_of_thumb=(),
        steps=(
            Step(kind="cut", title=f"Cut {format_length(length, style)}"),
            Step(kind="ream", title="Ream both ends"),
        ),
        notes=(),
        joints=(),
        checks=None,
        cautions=(),
        findings=(
            Finding(rule="bends-total", severity="problem", message="Bends add up to 380°, 360° allowed.",
                    citation="NFPA 70-2023, 358.26", measured=380.0, allowed=360.0, unit="deg"),
        ),
        measured=(),
        developed_length_mm=length,
        total_bend_deg=285.0,
    )  # fmt: skip


def crowded_plan(style: TapeStyle = TapeStyle()) -> Plan:  # noqa: B008
    """Eight small bends, marks about 2 in apart, in one plane; hooks both ways."""
    bends = [_bend(400.0 + 50.8 * k, 10.0, 0.0 if k % 2 == 0 else 180.0, f"shot {k + 1}", "shot") for k in range(8)]
    marks = tuple(
        marked(
            k + 1,
            k + 1,
            bend,
            style,
            hook="A" if k % 2 else "B",
            reference="arrow",
            spin_words="half a turn" if k else "",
        )
        for k, bend in enumerate(bends)
    )
    length = 3040.0
    base = saddle_plan(style)
    return _replace(
        base,
        name="Workshop drops",
        pieces=(planned_piece(marks, length, style),),
        obstacles=(),
        dimensions=(),
        rules_of_thumb=(),
        corners_mm=((0.0, 0.0, 9.0), (length, 0.0, 9.0)),
    )


def long_name_plan(style: TapeStyle = TapeStyle()) -> Plan:  # noqa: B008
    """The saddle with names far longer than their places."""
    base = saddle_plan(style, name="Orchard cooperative, north pump house, feeder to the drive of the deep "
                       "well pump & the <standby> panel, second conduit from the left")  # fmt: skip
    piece = _replace(
        base.pieces[0],
        end_a=PieceEnd(
            fitting="insulated-throat set-screw connector in the lower left knockout of the drive's disconnect",
            insertion_mm=15.0,
        ),
        end_b=PieceEnd(
            fitting="Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft",
            insertion_mm=15.0,
        ),
    )
    return _replace(base, pieces=(piece,))


def two_piece_plan(style: TapeStyle = TapeStyle()) -> Plan:  # noqa: B008
    """Two pieces, the second cut after bending."""
    base = saddle_plan(style)
    second = _replace(
        base.pieces[0],
        label="piece 2",
        start=_replace(base.pieces[0].start, point_mm=(56 * INCH, 0.0, 8.95)),
        trim_after=True,
        extra_a_mm=20.0,
        trim_marks=(read_tape(20.0, style), read_tape(1260.0, style)),
        least_stock_mm=1400.0,
    )
    return _replace(base, pieces=(base.pieces[0], second), name="Shed, two sticks")


def _replace(struct: S, **changes: Any) -> S:
    return msgspec.structs.replace(struct, **changes)


def every_plan() -> dict[str, Plan]:
    """Plans by name: inch and mm, plane and space, crowded, long names, two pieces."""
    mm = TapeStyle(unit="mm", denominator=1)
    return {
        "saddle in": saddle_plan(),
        "saddle mm": saddle_plan(mm),
        "space in": space_plan(),
        "space mm": space_plan(mm),
        "crowded": crowded_plan(),
        "long names": long_name_plan(),
        "two pieces": two_piece_plan(),
    }


def job_run(key: str, name: str, raceway: str = "EMT 1/2", **more: object) -> JobRun:
    """A run as a job keeps it; its survey has a name and nothing to walk."""
    survey = WrittenSurvey(run=WrittenRun(name=name, raceway=raceway, walk=()))
    return JobRun(key=key, survey=survey, **more)  # type: ignore[arg-type]
