"""The plan as the page gets it: field for field what `racewright plan --json` prints. Lengths mm, angles degrees."""

from __future__ import annotations

from typing import Any, Literal, cast

import msgspec

from racewright.errors import Finding
from racewright.fit.forecast import Forecast
from racewright.geometry.clearance import Obstacle
from racewright.geometry.vector import Vec
from racewright.marks.mark import HookEnd, Reference
from racewright.operations.common import Part
from racewright.plan.model import NoteBlock, Step, ThumbComparison
from racewright.units.tape import TapeReading, TapeStyle


class BendData(Part, frozen=True, kw_only=True):
    """One bend as it is made. `number` counts from end A, `order` is the bending order; `mark_mm` and `mark_tape` are
    where the `reference` mark of the shoe stands, the hook toward end `hook`. `spin_deg` since the bend before."""

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
    pointer_deg: float
    pointer_basis: Literal["under load", "relaxed"]
    spin_deg: float
    spin_words: str
    stance: str
    end_for_end: bool
    look_at: str
    all_marks_mm: dict[str, float]
    mark_tape: str
    mark_rounding_mm: float


class EndData(Part, frozen=True, kw_only=True):
    """What stands at an end ('' = free end) and how far the conduit goes in past its face."""

    fitting: str
    insertion_mm: float


class StartData(Part, frozen=True, kw_only=True):
    """Where end A lies in the room, which way the conduit leaves it, and which way a bend at roll 0 turns."""

    point_mm: Vec
    axis: Vec
    normal: Vec


class WayData(Part, frozen=True, kw_only=True):
    """A way of bending the piece: bend numbers in order, the hook's end for each, and why."""

    order: tuple[int, ...]
    hooks: str
    effort: float
    reasons: tuple[str, ...]


class InsertionData(Part, frozen=True, kw_only=True):
    """How the piece goes in between its fittings. `captured`: not as long as both stay where they are; `loosen`: the
    end whose fitting must give way, `slide_mm` by how much; `steps` in words."""

    captured: bool
    possible: bool
    loosen: Literal["", "A", "B"]
    slide_mm: float
    coupling: str
    path_clear: bool
    steps: tuple[str, ...]


class PieceData(Part, frozen=True, kw_only=True):
    """One piece of conduit. With `trim_after` it is cut after bending, at `trim_marks` counted from the stock's end;
    `extra_a_mm` and `extra_b_mm` are what then comes off each end. `forecast` says how likely it fits, `insertion` how
    it goes in, `run_start_mm` where it begins in the run, `stock_mm` how long the stick is that it comes from."""

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
    insertion: InsertionData | None
    ways: tuple[WayData, ...]
    order_proved: bool
    trim_after: bool
    trim_marks: tuple[TapeReading, ...]
    end_a: EndData
    end_b: EndData
    start: StartData
    bends: tuple[BendData, ...]


class BenderData(Part, frozen=True, kw_only=True):
    """The shoe that the marks are for, with its source and how sure that is."""

    name: str
    radius_mm: float
    arrow_lead_mm: float
    centre_mm: float
    star_mm: float
    take_up_mm: float
    gain_mm: float
    hook_reach_mm: float
    grip_mm: float
    source: str
    standing: str


class ObstacleData(Part, frozen=True, kw_only=True):
    """A thing in the room: its solid, the clearance wanted, and what the plan leaves (`at` on it, `nearest` on the
    conduit's axis)."""

    name: str
    solid: Obstacle
    wanted_mm: float
    clearance_mm: float
    at: Vec
    nearest: Vec


class PullData(Part, frozen=True, kw_only=True):
    """One wire pull: between which stations of the run, from which end to feed, and the tension (N)."""

    from_mm: float
    to_mm: float
    feed_from: str
    tension_n: float


class ChecksData(Part, frozen=True, kw_only=True):
    """Where straps go along the run, and the pulls."""

    straps_mm: tuple[float, ...]
    pulls: tuple[PullData, ...]


class PlanData(Part, frozen=True, kw_only=True):
    """The whole plan: see docs/plan-json.md. `bender` null: nothing is bent, and no shoe is known."""

    format: Literal["racewright plan 1"]
    name: str
    raceway: str
    tape: TapeStyle
    pieces: tuple[PieceData, ...]
    bender: BenderData | None
    corners_mm: tuple[Vec, ...]
    developed_length_mm: float
    total_bend_deg: float
    obstacles: tuple[ObstacleData, ...]
    rules_of_thumb: tuple[ThumbComparison, ...]
    notes: tuple[NoteBlock, ...]
    couplings_mm: tuple[float, ...]
    checks: ChecksData | None
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    measured: tuple[str, ...]
    findings: tuple[Finding, ...]


def typed_plan(data: dict[str, Any]) -> PlanData:
    """Plain plan data with its types checked. It stays plain, so that a field that is new in the plan goes through."""
    msgspec.convert(data, PlanData)
    return cast(PlanData, data)
