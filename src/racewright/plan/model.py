"""The plan of a run, field for field its JSON ("racewright plan 2", docs/plan-json.md): what card, page and files show.

Lengths mm, angles degrees (this is the edge), counted along the conduit from end A. What follows from the fields is a
property.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import radians
from typing import Literal, NamedTuple

import msgspec

from racewright.assembly.joints import Assembly, Joint, PieceEnd
from racewright.bends.model import Bend, BentPiece
from racewright.catalogue.raceways import Raceway, raceway_by_name
from racewright.cautions import Work
from racewright.errors import Finding, InputError
from racewright.fit.accuracy import Accuracy
from racewright.fit.forecast import Forecast
from racewright.fit.jacobian import angle_column, roll_column, walk
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.solids import Obstacle, Wall
from racewright.geometry.vector import Frame, Vec, cross, dot, norm, scale, sub, unit
from racewright.route.model import Crossing, ShapeKind
from racewright.route.model import Dimension as Dimension
from racewright.sequence.machine import Stance
from racewright.sequence.words import mark_names
from racewright.sticks.model import WHOLE_MM
from racewright.tools.benders import BenderProfile, HookEnd, Reference
from racewright.units.tape import TapeReading, TapeStyle

#: No piece that was bent by hand has more bends (our own choice).
MOST_BENDS = 120
#: No run between two boxes is cut into more pieces (our own choice: 2,000 ft of 10 ft sticks).
MOST_PIECES = 200
#: A path whose corners leave one plane by less than this (mm) is drawn and bent as flat.
FLAT_MM = 0.01


class BendPlanned(NamedTuple):
    """What a bend should have: its angle, where its mark stands from end A, and its plane; so far end B moves for each
    radian by which its angle alone is off (`reach_mm`), and its plane alone (`swing_mm`)."""

    angle_deg: float
    mark_mm: float
    roll_deg: float = 0.0
    reach_mm: float = 0.0
    swing_mm: float = 0.0


class MarkedBend(msgspec.Struct, frozen=True, kw_only=True):
    """One bend as the person makes it.

    `number` counts along the conduit from end A, `order` is the bending order, both from 1. `mark_mm` and `mark_tape`
    are where the `reference` mark of the shoe stands, hook toward end `hook`; `mark_rounding_mm` is tape less exact.
    `spin_deg` is how far the conduit turns in the bender since the bend made before (0 for the first); `line_deg` where
    the line drawn on it at the first bend faces (clockwise from up, seen from A); `spin_words` how to rotate it for
    that, `end_for_end` whether its ends are swapped first; `stance_words` says how the bender is held, `look_at` what
    to check once this bend is made. `pointer_deg` is what the pointer must show: `pointer_basis` says whether while
    bending ('under load', springback calibrated) or after letting go ('relaxed', not calibrated).
    `all_marks_mm`: 'A arrow', 'A center', 'A star', 'B arrow', ... -> exact mark for that hook and reference.
    `on_shoe`: a mark of a shoe stands on the pencil mark; else the bend begins there, seen from end `hook`.
    """

    number: int
    order: int
    shape: str
    role: str
    arc_start_mm: float
    arc_end_mm: float
    angle_deg: float
    roll_deg: float
    hook: HookEnd
    reference: Reference
    mark_mm: float
    mark_tape: str
    mark_rounding_mm: float
    pointer_deg: float
    pointer_basis: Literal["under load", "relaxed"]
    spin_deg: float
    spin_words: str
    stance: Stance
    stance_words: str
    end_for_end: bool
    look_at: str
    all_marks_mm: dict[str, float]
    on_shoe: bool = True
    line_deg: float = 0.0

    @property
    def faces_deg(self) -> float:
        """Which way the inside of this bend faces in the room while it is made: 0 up, 180 down."""
        return 180.0 if self.stance == "upside down" else 0.0

    @property
    def name(self) -> str:
        """'mark 2'."""
        return mark_names([self.number])


class PencilLine(msgspec.Struct, frozen=True):
    """A line to draw on the straight conduit: a bend's mark, or the line where an end is cut after bending. `at_mm` and
    `tape` count from end A along the straight conduit; `name` is the mark's number or the end's letter."""

    name: str
    at_mm: float
    tape: str
    is_cut: bool

    @property
    def words(self) -> str:
        """'mark 2', 'cut line B'."""
        return f"{'cut line' if self.is_cut else 'mark'} {self.name}"


class PieceStart(msgspec.Struct, frozen=True, kw_only=True):
    """Where end A lies in the room (x along the first leg, z away from its surface), which way the conduit leaves it,
    and which way a bend at roll 0 turns."""

    point_mm: Vec
    axis: Vec
    normal: Vec


class WayView(msgspec.Struct, frozen=True, kw_only=True):
    """One way to bend a piece: bend numbers in bending order, the end that the hook faces each time ('AAB'), the
    effort in points, and why in plain words."""

    order: tuple[int, ...]
    hooks: str
    effort: float
    reasons: tuple[str, ...]


class NoteBlock(msgspec.Struct, frozen=True, kw_only=True):
    """A titled block of the card."""

    title: str
    lines: tuple[str, ...]


class PlannedPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of conduit with its bends in material order. `label` is 'piece 1'. With `trim_after` the piece is cut
    after bending: `trim_marks` are where to cut, counted from the stock's end, and `least_stock_mm` the stock that will
    do (`extra_*_mm` more than the cut length at that end). `ways`: the best way first, then others with their reasons;
    `order_proved`: the first is proved to cost least. `run_start_mm` says where the piece begins in the whole run,
    `stock_mm` which stick or offcut it is cut from (0: none is long enough), `offcut` which of its survey's offcuts
    that is (from 1; 0: a new stick). `forecast` says how likely it fits."""

    label: str
    cut_length_mm: float
    cut_length_tape: str
    outside_diameter_mm: float
    bend_radius_mm: float
    least_stock_mm: float
    extra_a_mm: float
    extra_b_mm: float
    run_start_mm: float
    stock_mm: float
    forecast: Forecast | None
    ways: tuple[WayView, ...]
    order_proved: bool
    trim_after: bool
    trim_marks: tuple[TapeReading, ...]
    end_a: PieceEnd
    end_b: PieceEnd
    start: PieceStart
    bends: tuple[MarkedBend, ...]
    offcut: int = 0

    @property
    def piece(self) -> BentPiece:
        """The bent piece, in radians."""
        bends = (
            Bend(
                arc_start_mm=b.arc_start_mm,
                angle_rad=radians(b.angle_deg),
                roll_rad=radians(b.roll_deg),
                radius_mm=self.bend_radius_mm,
                shape=b.shape,
                role=b.role,
            )
            for b in self.bends
        )
        return BentPiece(
            cut_length_mm=self.cut_length_mm, outside_diameter_mm=self.outside_diameter_mm, bends=tuple(bends)
        )

    @property
    def cut_ends(self) -> tuple[Literal["A", "B"], ...]:
        """The ends that are cut after bending, along a line."""
        if not self.trim_after:
            return ()
        return ("A", "B") if self.extra_a_mm > 0.0 else ("B",)

    @property
    def pencil_lines(self) -> tuple[PencilLine, ...]:
        """Every line to draw on the straight conduit, in the order from end A. A cut line lies at the developed length,
        beyond the bends as well as before them."""
        lines = [PencilLine(str(b.number), b.mark_mm, b.mark_tape, False) for b in self.bends]
        at = {"A": (0.0, "0"), "B": (self.cut_length_mm, self.cut_length_tape)}
        lines += [PencilLine(end, *at[end], True) for end in self.cut_ends]
        return tuple(sorted(lines, key=lambda line: line.at_mm))

    @property
    def order_known(self) -> bool:
        """Whether it is known how to bend it: else it is not to be cut yet."""
        return bool(self.ways) or not self.bends

    @property
    def bends_planned(self) -> tuple[BendPlanned, ...]:
        """What its bends should have, from end A."""
        walked = walk(self.piece)
        end = walked.end.origin
        return tuple(
            BendPlanned(
                bend.angle_deg,
                bend.mark_mm,
                bend.roll_deg,
                reach_mm=norm(angle_column(placed, end, bend.hook)[0]),
                swing_mm=norm(roll_column(placed, end)[0]),
            )
            for bend, placed in zip(self.bends, walked.bends, strict=True)
        )

    @property
    def is_whole(self) -> bool:
        """Whether it is a whole stick or offcut: nothing is cut off."""
        return not self.trim_after and 0.0 < self.stock_mm < self.cut_length_mm + WHOLE_MM

    def on_it_mm(self, stations_mm: Sequence[float]) -> tuple[float, ...]:
        """Those of the run's stations that lie on this piece, counted from its end A."""
        start = self.run_start_mm
        return tuple(station - start for station in stations_mm if start <= station <= self.run_end_mm)

    @property
    def run_end_mm(self) -> float:
        """Where its end B lies along the run."""
        return self.run_start_mm + self.cut_length_mm

    @property
    def frame(self) -> Frame:
        """End A in the room."""
        return Frame(self.start.point_mm, self.start.axis, self.start.normal)

    @property
    def centreline(self) -> Centreline:
        """The piece's axis in the room."""
        turns = [
            Turn(b.arc_start_mm, radians(b.angle_deg), radians(b.roll_deg), self.bend_radius_mm) for b in self.bends
        ]
        return Centreline.from_turns(self.cut_length_mm, turns, self.frame)


class Shoe(msgspec.Struct, frozen=True, kw_only=True):
    """The shoe that the marks are for: see BenderProfile. `centre_mm` is `center_mm` under its former name."""

    name: str
    radius_mm: float
    arrow_lead_mm: float
    center_mm: float
    centre_mm: float
    star_mm: float
    take_up_mm: float
    gain_mm: float
    hook_reach_mm: float
    grip_mm: float
    springback_b0_rad: float | None
    springback_b1: float | None
    handle_length_mm: float
    shoe_width_mm: float
    source: str
    standing: str


def shoe_of(bender: BenderProfile) -> Shoe:
    """A bender as the plan has it."""
    fields = msgspec.structs.asdict(bender)
    return Shoe(center_mm=bender.centre_mm, **{name: fields[name] for name in Shoe.__struct_fields__ if name in fields})


class ThumbMark(msgspec.Struct, frozen=True, kw_only=True):
    """One mark of a rule of thumb beside the exact one, mm from end A and as tape readings; both for the card's own
    hook and shoe mark, which `label` names, so that the exact one is the card's."""

    label: str
    rule_mm: float
    rule_tape: str
    exact_mm: float
    exact_tape: str


class ThumbComparison(msgspec.Struct, frozen=True, kw_only=True):
    """A rule of thumb beside the exact marks: `rule` names it, `landing_rule` and `landing_exact` say in words
    where each would land ('apex rises 3 9/16, far leg 1/8 off the line')."""

    shape: str
    rule: str
    marks: tuple[ThumbMark, ...]
    landing_rule: str
    landing_exact: str


class ObstacleView(msgspec.Struct, frozen=True, kw_only=True):
    """An obstacle in room coordinates with the least clearance that the plan leaves to the conduit's surface."""

    name: str
    solid: Obstacle
    wanted_mm: float
    clearance_mm: float
    at: Vec
    nearest: Vec


class SurfaceView(msgspec.Struct, frozen=True, kw_only=True):
    """The wall, ceiling or floor behind some legs, in room coordinates, with the least clearance that the plan leaves
    to the conduit's surface: negative where the run goes behind it."""

    name: str
    solid: Wall
    clearance_mm: float


StepKind = Literal[
    "stop", "cut", "stock", "lay-out", "bend", "check", "trim", "ream", "thread", "loosen", "insert", "strap"
]


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One step of the whole job at the bench and on the wall: with which piece (from 1), and which of its bends (None:
    with no one bend; piece None: a plan written before said nothing of it). 'stop': what must be settled before all
    else, and why. `move`: which move of the assembly (from 1) it is. `care`: the kinds of work in it, each of which has
    its own caution ('cut', 'floor', 'enclosure')."""

    kind: StepKind
    title: str
    detail: str = ""
    piece: int | None = None
    bend: int | None = None
    move: int | None = None
    care: tuple[Work, ...] = ()


class PlannedShape(msgspec.Struct, frozen=True, kw_only=True):
    """A shape of the run. `label` is what its bends call it, `field` where the survey has it; `rise_mm` how far it
    leads aside, `flat_mm` the flat top of a saddle of four bends, `angle_deg` the angle of its first bend; `first` and
    `count`: which bends of the run it made, from 0; `crossing`: what a saddle goes over, where it was measured."""

    kind: ShapeKind
    label: str
    field: str
    rise_mm: float
    flat_mm: float
    angle_deg: float
    first: int = 0
    count: int = 0
    crossing: Crossing | None = None


class PlannedPull(msgspec.Struct, frozen=True, kw_only=True):
    """One wire pull: between which stations of the run, from which end to feed, and the tension (N)."""

    from_mm: float
    to_mm: float
    feed_from: Literal["A", "B", ""]
    tension_n: float


class PlanChecks(msgspec.Struct, frozen=True, kw_only=True):
    """Where straps go along the run, and the pulls. Of the straps `guides_mm` only guide: the conduit of a straight
    with expansion fittings slides in them. `fast_mm` are the tight ones of such a straight, each of which alone holds
    its part of the run fast. All others are tight. `path`: the run in the words of a pull, `length`: in
    those of a circuit ('' twice in a plan that was written before they stood in it)."""

    straps_mm: tuple[float, ...]
    pulls: tuple[PlannedPull, ...]
    guides_mm: tuple[float, ...] = ()
    fast_mm: tuple[float, ...] = ()
    path: str = ""
    length: str = ""


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A planned run. `corners_mm` are the corner points of the wanted centerline in room coordinates. `bender` None:
    nothing is bent, and no shoe is known. `joints`: in order from end A; `assembly`: how the run is put up (None: a
    plan of marks alone, or one written before it stood in it). `surfaces`: what carries the legs; none in a plan that
    was written before they stood in it. `along`: where couplings and straps go, and the pulls, in lines. `hand`: how
    well whoever bends it marks, bends and cuts. `digest`: six signs of what is cut, bent and put up, whatever the
    run, its ends and its tool are called, and whatever stick it is cut from: a sheet that bears others is of another
    plan, but for one that bears `digest_before`: the signs that this plan had while these still were in them."""

    format: Literal["racewright plan 2"] = "racewright plan 2"
    digest: str = ""
    digest_before: str = ""
    name: str
    raceway: str
    tape: TapeStyle
    pieces: tuple[PlannedPiece, ...]
    bender: Shoe | None
    corners_mm: tuple[Vec, ...]
    developed_length_mm: float
    total_bend_deg: float
    obstacles: tuple[ObstacleView, ...]
    dimensions: tuple[Dimension, ...]
    shapes: tuple[PlannedShape, ...]
    rules_of_thumb: tuple[ThumbComparison, ...]
    notes: tuple[NoteBlock, ...]
    along: tuple[str, ...] = ()
    joints: tuple[Joint, ...]
    assembly: Assembly | None = None
    checks: PlanChecks | None
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    measured: tuple[str, ...]
    findings: tuple[Finding, ...]
    not_included: tuple[str, ...] = ()
    surfaces: tuple[SurfaceView, ...] = ()
    hand: Accuracy = Accuracy()

    @property
    def conduit(self) -> Raceway:
        """The raceway's row of the catalogue."""
        return raceway_by_name(self.raceway)

    @property
    def shoe(self) -> BenderProfile:
        """The bender of what is bent. Raises InputError where nothing is."""
        if self.bender is None:
            raise InputError("nothing is bent in this run.", hint="cut it, join it and strap it as the card says")
        kind, _, size = self.raceway.partition(" ")
        figures = msgspec.structs.asdict(self.bender)
        figures["centre_mm"] = figures.pop("center_mm")
        return BenderProfile(
            raceway_type=kind, trade_size=size, outside_diameter_mm=self.pieces[0].outside_diameter_mm, **figures
        )

    @property
    def bends_planned(self) -> tuple[tuple[BendPlanned, ...], ...]:
        """What the bends of each piece should have."""
        return tuple(piece.bends_planned for piece in self.pieces)

    @property
    def planar(self) -> bool:
        """Whether the whole run lies in one plane."""
        normal = self._widest_turn()
        return normal is None or all(abs(dot(sub(p, self.corners_mm[0]), normal)) <= FLAT_MM for p in self.corners_mm)

    @property
    def view_normal(self) -> Vec:
        """The direction to look along for the side view of a flat run: so that the first leg runs to the right and,
        where there is a choice, up is away from the surface."""
        front: Vec = (0.0, -1.0, 0.0)
        normal = self._widest_turn() or front
        return normal if dot(normal, front) >= 0.0 else scale(normal, -1.0)

    def _widest_turn(self) -> Vec | None:
        """The normal of the corner that spans most; None where the run is one straight line."""
        points = self.corners_mm
        spans = [cross(sub(points[i], points[0]), sub(points[i + 1], points[i])) for i in range(1, len(points) - 1)]
        widest = max(spans, key=norm, default=(0.0, 0.0, 0.0))
        return unit(widest) if norm(widest) > 0.0 else None
