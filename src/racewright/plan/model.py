"""What a plan is: everything that the card, the JSON and the page show, derived from a survey and a bender."""

from __future__ import annotations

from typing import Literal

import msgspec

from racewright.bends.model import BentPiece
from racewright.catalogue.model import Raceway
from racewright.errors import Finding, InputError
from racewright.fit.forecast import Forecast
from racewright.fit.insertion import InsertionAnswer
from racewright.geometry.clearance import Obstacle
from racewright.geometry.vector import Vec
from racewright.inspection.check_run import RunCheck
from racewright.marks.mark import HookEnd, Reference
from racewright.route.model import Dimension as Dimension
from racewright.tools.model import BenderProfile
from racewright.units.tape import TapeReading, TapeStyle


class MarkedBend(msgspec.Struct, frozen=True, kw_only=True):
    """One bend as the person makes it. Lengths mm from end A, angles degrees (this is the edge).

    `number` counts along the conduit from end A, `order` is the bending order, both from 1. `spin_deg` is how far
    to turn the conduit about its axis since the bend made before (0 for the first), `spin_words` says it in words.
    `pointer_deg` is what the pointer must show: `pointer_basis` says whether while pulling ('under load', springback
    calibrated) or after letting go ('relaxed', not calibrated).
    `all_marks_mm`: 'A arrow', 'A centre', 'A star', 'B arrow', ... -> exact mark for that hook and reference.
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
    tape: TapeReading
    pointer_deg: float
    pointer_basis: Literal["under load", "relaxed"]
    spin_deg: float
    spin_words: str
    stance: str
    end_for_end: bool
    look_at: str
    all_marks_mm: dict[str, float]


class WayView(msgspec.Struct, frozen=True, kw_only=True):
    """One way to bend a piece: bend numbers in bending order, the end that the hook faces each time ('AAB'), the
    effort in the search's handfuls, and why in plain words."""

    order: tuple[int, ...]
    hooks: str
    effort: float
    reasons: tuple[str, ...]


class NoteBlock(msgspec.Struct, frozen=True, kw_only=True):
    """A titled block of the card: lines, or a table with `header` and `rows`."""

    title: str
    lines: tuple[str, ...] = ()
    header: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


class PlannedPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of conduit with its bends. `label` is 'piece 1'. `insert_a_mm`, `insert_b_mm` go into the fittings;
    `fitting_a`, `fitting_b` name them ('' = free end). `start_*` place the piece in the run's room coordinates
    (x along the first leg, z away from its surface). With `trim_after` the piece is cut after bending: `trim_marks`
    are where to cut, counted from the stock's end, and `least_stock_mm` the stock that will do (`extra_*_mm` more than
    the cut length at that end). `ways`: the best way first, then others with their reasons; `order_proved`: the first
    is proved to cost least. `run_start_mm` and `first_bend` say where the piece begins in the whole run, `stock_mm`
    which stick or offcut it is cut from."""

    label: str
    cut_length_mm: float
    cut_tape: TapeReading
    outside_diameter_mm: float
    bend_radius_mm: float
    bends: tuple[MarkedBend, ...]
    piece: BentPiece
    fitting_a: str
    fitting_b: str
    insert_a_mm: float
    insert_b_mm: float
    start_point: Vec
    start_axis: Vec
    start_normal: Vec
    least_stock_mm: float
    ways: tuple[WayView, ...] = ()
    order_proved: bool = False
    forecast: Forecast | None = None
    insertion: InsertionAnswer | None = None
    run_start_mm: float = 0.0
    first_bend: int = 0
    stock_mm: float = 0.0
    extra_a_mm: float = 0.0
    extra_b_mm: float = 0.0
    trim_after: bool = False
    trim_marks: tuple[TapeReading, ...] = ()


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


StepKind = Literal["cut", "stock", "lay-out", "bend", "check", "trim", "ream", "loosen", "insert", "strap"]


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One step of the whole job at the bench and on the wall."""

    kind: StepKind
    title: str
    detail: str = ""


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A planned run. `corners` are the corner points of the wanted centreline in room coordinates, `planar` says
    that they lie in one plane, whose normal is `view_normal`. `bender` None: nothing is bent, and no shoe is known."""

    name: str
    tape: TapeStyle
    raceway: Raceway
    bender: BenderProfile | None
    pieces: tuple[PlannedPiece, ...]
    corners: tuple[Vec, ...]
    planar: bool
    view_normal: Vec
    obstacles: tuple[ObstacleView, ...]
    dimensions: tuple[Dimension, ...]
    thumb: tuple[ThumbComparison, ...]
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]
    measured_lines: tuple[str, ...]
    blocks: tuple[NoteBlock, ...] = ()
    checks: RunCheck | None = None
    couplings_mm: tuple[float, ...] = ()
    developed_length_mm: float
    total_bend_deg: float

    @property
    def shoe(self) -> BenderProfile:
        """The bender of what is bent. Raises InputError where nothing is."""
        if self.bender is None:
            raise InputError("nothing is bent in this run.", hint="cut it, join it and strap it as the card says")
        return self.bender
