"""Every operation's request and answer."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec

from racewright.geometry.clearance import Obstacle as Solid
from racewright.geometry.vector import Vec
from racewright.operations.common import (
    Answer,
    BenderRecord,
    Fraction,
    Length,
    LengthText,
    Name,
    Paper,
    Request,
    SurveyRequest,
    TapeUnit,
    Trouble,
)
from racewright.operations.plan_data import PlanData
from racewright.survey.written import WrittenSurvey

Degrees = Annotated[float, msgspec.Meta(ge=-180.0, le=180.0)]
BendNumber = Annotated[int, msgspec.Meta(ge=1, le=60)]
PieceNumber = Annotated[int, msgspec.Meta(ge=1, le=60)]
Picture = Literal["side", "card", "strip"]
ShapeName = Literal["offset", "saddle 3", "saddle 4"]


class CatalogueRequest(Request, frozen=True, kw_only=True):
    """What there is to choose from."""


class RacewayData(Answer, frozen=True, kw_only=True):
    """A raceway in a trade size; `name` ('EMT 1/2') is what a survey's `raceway` takes. `bender` is the name of the
    trade's shoe for it or ''."""

    name: str
    type: str
    trade_size: str
    outside_diameter_mm: float
    inside_diameter_mm: float
    least_radius_mm: float | None
    stock_length_mm: float
    bender: str
    source: str
    standing: str


class ShoeData(Answer, frozen=True, kw_only=True):
    """A bender that can be named; `own` says that it is the user's, from the server's file."""

    name: str
    raceway: str
    own: bool
    radius_mm: float
    take_up_mm: float
    gain_mm: float
    arrow_lead_mm: float
    centre_mm: float
    star_mm: float
    hook_reach_mm: float
    springback_known: bool
    source: str
    standing: str


class UnitChoice(Answer, frozen=True, kw_only=True):
    """A unit of length with the denominators its tape can have."""

    unit: TapeUnit
    denominators: tuple[int, ...]
    usual: int


class Catalogue(Answer, frozen=True, kw_only=True):
    """Everything a form offers. `end_fittings` are the values of a survey's `fitting`; `kinds_of_problem` those of
    the practice sheets."""

    version: str
    raceways: tuple[RacewayData, ...]
    benders: tuple[ShoeData, ...]
    units: tuple[UnitChoice, ...]
    end_fittings: tuple[str, ...]
    kinds_of_problem: tuple[str, ...]


class PlanRequest(SurveyRequest, frozen=True, kw_only=True):
    """Plan a run. `pictures` are drawn along; the side view takes the size given (mm of paper)."""

    pictures: tuple[Picture, ...] = ("side",)
    paper: Paper | None = None
    side_width_mm: Annotated[float, msgspec.Meta(ge=60.0, le=600.0)] = 190.0
    side_height_mm: Annotated[float, msgspec.Meta(ge=40.0, le=600.0)] = 110.0


class SidePicture(Answer, frozen=True, kw_only=True):
    """The side view of one piece: an SVG document, a caption, and what found no room on the drawing."""

    svg: str
    caption: str
    left_over: tuple[str, ...]


class Path3D(Answer, frozen=True, kw_only=True):
    """A piece's axis in room coordinates (mm; x along the first leg, z away from its surface) as points close enough
    for drawing; `bend_middles` are the middles of the bends in the order of the numbers."""

    label: str
    radius_mm: float
    points: tuple[Vec, ...]
    bend_middles: tuple[Vec, ...]


class PlanAnswer(Answer, frozen=True, kw_only=True):
    """The plan; the side view of each piece; pages of the card and of the 1:1 strip (SVG, where asked for); the card
    as text; the axes for a 3D view; and the worst of the findings ('' = none). `step_cautions`: what each of the
    plan's steps asks to take care of, and who decides; `bender_words`: which shoe's figures the marks are for."""

    plan: PlanData
    step_cautions: tuple[tuple[str, ...], ...]
    bender_words: str
    side: tuple[SidePicture, ...]
    card: tuple[str, ...]
    strip: tuple[str, ...]
    text: str
    paths: tuple[Path3D, ...]
    worst: Literal["", "info", "caution", "problem"]


class SketchRequest(SurveyRequest, frozen=True, kw_only=True):
    """The run as measured so far. A reading not taken yet is ''."""


class SketchedThing(Answer, frozen=True, kw_only=True):
    """Something beside the run; `field` is where the survey has it, `at` its middle."""

    name: str
    field: str
    solid: Solid
    at: Vec


class SketchedReading(Answer, frozen=True, kw_only=True):
    """Between which points of the room the reading of `field` was taken."""

    field: str
    start: Vec
    end: Vec


class SketchAnswer(Answer, frozen=True, kw_only=True):
    """The conduit's axis as points in the room (mm), readings not taken yet guessed; what stands beside it; the feet of
    its ends and turns on the surfaces that carry it; where the readings were taken; and `wrong`: what was written
    and cannot be taken."""

    points: tuple[Vec, ...]
    outside_diameter_mm: float
    things: tuple[SketchedThing, ...]
    surface: tuple[Vec, ...]
    readings: tuple[SketchedReading, ...]
    wrong: tuple[Trouble, ...]


class CardRequest(SurveyRequest, frozen=True, kw_only=True):
    """Pages to print: the card or the 1:1 strip. `paper` left away: letter for inches, a4 for mm."""

    what: Literal["card", "strip"] = "card"
    paper: Paper | None = None


class CardAnswer(Answer, frozen=True, kw_only=True):
    """One SVG document a page, its size in mm."""

    title: str
    pages: tuple[str, ...]
    width_mm: float
    height_mm: float


class LengthRequest(Request, frozen=True, kw_only=True):
    """Read a length as a person writes it: '31 5/16', '2 ft 3', '795 mm'. A number without a unit is in `unit`."""

    text: LengthText
    unit: TapeUnit = "in"
    fraction: Fraction = 16
    field: Name = ""
    allow_negative: bool = False
    allow_zero: bool = True


class LengthAnswer(Answer, frozen=True, kw_only=True):
    """`mm` exact; `tape` as shown on the tape, `off_mm` = shown - exact; `inches` and `millimetres` in words."""

    mm: float
    tape: str
    off_mm: float
    inches: str
    millimetres: str


class ChoicesRequest(Request, frozen=True, kw_only=True):
    """An offset or saddle of a rise at the usual angles. `flat` for a saddle of four bends; `room` is the length of
    run there is. `raceway` as in a survey ('EMT 1/2')."""

    shape: ShapeName
    rise: LengthText
    raceway: Name
    flat: LengthText = ""
    room: LengthText = ""
    units: TapeUnit = "in"
    fraction: Fraction | None = None
    bender: BenderRecord | None = None
    bender_name: Name = ""


class ChoiceRow(Answer, frozen=True, kw_only=True):
    """One angle. Where `possible` is false `reason` says why; lengths are null where the arcs would meet.
    `spacing` is from mark to mark, `shrink` how much shorter the run gets, `room` what it takes along the run,
    `straight` what is left straight between the bends."""

    angle_deg: float
    possible: bool
    reason: str
    total_deg: float
    straight: Length | None
    spacing: Length | None
    shrink: Length | None
    room: Length | None
    developed: Length | None


class ChoicesAnswer(Answer, frozen=True, kw_only=True):
    """The rows, for this radius, wanting at least this straight between bends."""

    rows: tuple[ChoiceRow, ...]
    radius: Length
    least_straight: Length
    bender: str


class OffReading(Request, frozen=True, kw_only=True, tag_field="what", tag="off"):
    """The piece is off by so much that way (negative: down, right, back) at `station` along it from end A ('' = at
    end B)."""

    way: Literal["up", "left", "forward"]
    off: LengthText
    station: LengthText = ""


class RiseReading(Request, frozen=True, kw_only=True, tag_field="what", tag="rise"):
    """The rise measured under the middle of bend `number`, from the surface the first leg lies on to the conduit's
    underside."""

    rise: LengthText
    number: BendNumber


class LeanReading(Request, frozen=True, kw_only=True, tag_field="what", tag="lean"):
    """The last leg leans that way by so many degrees more than it should."""

    way: Literal["up", "left"]
    lean_deg: Degrees


class AngleReading(Request, frozen=True, kw_only=True, tag_field="what", tag="angle"):
    """The angle that bend `number` really has, read with a level after letting go."""

    number: BendNumber
    angle_deg: Degrees


Reading = OffReading | RiseReading | LeanReading | AngleReading


class TweakRequest(SurveyRequest, frozen=True, kw_only=True):
    """The finished piece is off: what to correct. `piece` counts from 1. `may_spin`: it can be turned in the
    fitting at end A."""

    measured: Annotated[tuple[Reading, ...], msgspec.Meta(min_length=1, max_length=20)]
    piece: PieceNumber = 1
    may_spin: bool = False


class MoveData(Answer, frozen=True, kw_only=True):
    """One correction. 'angle': bend `number` gets `by_deg` more (negative: open it); 'roll': it and all that follows
    is rolled about the axis from A to B; 'spin': the whole piece is turned in the fitting at end A."""

    number: int
    what: Literal["angle", "roll", "spin"]
    by_deg: float


class TweakAnswer(Answer, frozen=True, kw_only=True):
    """`nothing_to_do`: within the tolerance as it is. `words` says the moves, one line each, then what they do to the
    far end and what stays off; `left_mm`, `left_deg` what stays off; `planned` and `corrected` are the axis as planned
    and as it will be (room, mm); `cautions`: what to take care of while it is corrected, and who decides."""

    nothing_to_do: bool
    moves: tuple[MoveData, ...]
    words: tuple[str, ...]
    left_mm: float
    left_deg: float
    planned: tuple[Vec, ...]
    corrected: tuple[Vec, ...]
    cautions: tuple[str, ...]


class MadeReading(Request, frozen=True, kw_only=True):
    """A bend that is made already, as measured; what is left away is taken from the plan. `mark` is where the
    reference mark of the plan really stood, from end A; `roll_off_deg` how far it is rolled from the plan (right-handed
    about the axis from A to B; a dog-leg)."""

    number: BendNumber
    mark: LengthText = ""
    angle_deg: Degrees | None = None
    roll_off_deg: Degrees | None = None


class RemarkRequest(SurveyRequest, frozen=True, kw_only=True):
    """Some bends are made and not as planned: new marks for the rest. `cut_free`: the length can still be cut;
    `stock`: the length of the piece in hand ("" = as planned)."""

    made: Annotated[tuple[MadeReading, ...], msgspec.Meta(min_length=1, max_length=60)]
    piece: PieceNumber = 1
    cut_free: bool = True
    stock: LengthText = ""


class NewMark(Answer, frozen=True, kw_only=True):
    """One bend still to be made, with the plan's hook and reference mark."""

    number: int
    mark: Length
    was: Length
    angle_deg: float
    spin_deg: float
    hook: Literal["A", "B"]
    reference: Literal["arrow", "centre", "star"]


class RemarkAnswer(Answer, frozen=True, kw_only=True):
    """`met`: the end meets its fitting within the tolerance; `words` say what changes, `problems` what of the end is
    not met and what cannot be made by hand; `cautions`: what to take care of, and who decides."""

    met: bool
    marks: tuple[NewMark, ...]
    cut: Length
    words: tuple[str, ...]
    problems: tuple[str, ...]
    cautions: tuple[str, ...]


class PracticeRequest(Request, frozen=True, kw_only=True):
    """A sheet of problems. The same seed, count, kinds, raceway and units give the same sheet."""

    seed: Annotated[int, msgspec.Meta(ge=0, le=2**31 - 1)] = 1
    count: Annotated[int, msgspec.Meta(ge=1, le=40)] = 6
    kinds: tuple[Name, ...] = ()
    raceway: Name = "EMT 1/2"
    units: TapeUnit = "in"
    fraction: Fraction | None = None


class PracticeResult(Answer, frozen=True, kw_only=True):
    """One thing asked: its name, the answer as text, and the exact figure in `unit` (mm or deg). `within` is how far
    an answer may be off and still count as right, in the same unit."""

    name: str
    text: str
    value: float
    unit: Literal["mm", "deg"]
    within: float


class Problem(Answer, frozen=True, kw_only=True):
    """One problem: what was measured, what is asked, the answers, and the way to them line by line. `picture` shows
    what was measured, `answer_picture` the bent conduit (SVG documents). `survey` is the run as a survey file where
    the problem is a whole run, else null."""

    number: int
    kind: str
    title: str
    given: tuple[str, ...]
    asked: tuple[str, ...]
    results: tuple[PracticeResult, ...]
    worked: tuple[str, ...]
    picture: str
    answer_picture: str
    survey: dict[str, Any] | None


class PracticeSheet(Answer, frozen=True, kw_only=True):
    """A sheet with its key. `note` says which shoe and radius the answers are for, and what to take care of."""

    seed: int
    raceway: str
    note: str
    problems: tuple[Problem, ...]


class SchemaRequest(Request, frozen=True, kw_only=True):
    """The JSON Schema of a survey file."""


class SchemaAnswer(Answer, frozen=True, kw_only=True):
    """JSON Schema, draft 2020-12."""

    survey: dict[str, Any]


class RunToOrder(Request, frozen=True, kw_only=True):
    """One run of those that are ordered together. `bender` is the asker's own, else the trade's. `cut`: its conduit is
    cut already, so the cut list leaves it out."""

    key: Annotated[str, msgspec.Meta(min_length=1, max_length=60)]
    survey: WrittenSurvey
    bender: BenderRecord | None = None
    cut: bool = False


class OrderRequest(Request, frozen=True, kw_only=True):
    """The bill and the cut list of several runs. The first run's unit is the tape's."""

    runs: Annotated[tuple[RunToOrder, ...], msgspec.Meta(min_length=1, max_length=60)]


class PlainTable(Answer, frozen=True, kw_only=True):
    """A table as text: its name, the head of each column, the rows."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class OrderAnswer(Answer, frozen=True, kw_only=True):
    """What to buy and how to cut it. `left_out` names the runs that have no plan, and why; `cautions`: for the order
    and the saw, and who decides."""

    bill: PlainTable
    cuts: PlainTable
    stops: PlainTable
    sums: PlainTable
    left_out: tuple[str, ...]
    cautions: tuple[str, ...]
