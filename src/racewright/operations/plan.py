"""Plan a surveyed run, with pictures; the pages of the bend card or of the 1:1 strip."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from racewright.cards.words import bender_words, tool_words
from racewright.drawing.project import trace
from racewright.drawing.scene import Box, Page, Scene
from racewright.drawing.svg import to_svg_pages
from racewright.geometry.vector import Vec
from racewright.operations.at_bench import PieceAtBench, pieces_at_bench
from racewright.operations.choices import ChoiceRow, choice_row
from racewright.operations.common import Answer, Known, Length, Paper, Part, SurveyRequest, length_of
from racewright.operations.jobs import SheetRequest, with_record
from racewright.operations.planned import paper_of, planned
from racewright.plan.angles import AngleTable, angle_tables
from racewright.plan.at_tool import PieceAtTool, at_tool
from racewright.plan.fitting_bodies import FittingBody, expansion_bodies
from racewright.plan.model import Plan, PlannedPiece
from racewright.plan.steps import step_cautions
from racewright.survey.written import WrittenSurvey

Sheets = Literal["card", "bench", "strip"]
Picture = Literal["side", "card", "strip", "text"]
#: What lies nearer than wanted by less than this does so by rounding.
_LOW_MM = 0.01
_COUNTS = {2: "two", 3: "three", 4: "four"}


class PlanRequest(SurveyRequest, frozen=True, kw_only=True):
    """Plan a run. `pictures` are drawn along, 'text' is the card for a terminal; the side view takes the size given
    (mm of paper)."""

    pictures: tuple[Picture, ...] = ("side",)
    paper: Paper | None = None
    side_width_mm: Annotated[float, msgspec.Meta(ge=60.0, le=600.0)] = 190.0
    side_height_mm: Annotated[float, msgspec.Meta(ge=40.0, le=600.0)] = 110.0


class SidePicture(Part, frozen=True, kw_only=True):
    """The side view of one piece: an SVG document, a caption, and what found no room on the drawing."""

    svg: str
    caption: str
    left_over: tuple[str, ...]


class Path3D(Part, frozen=True, kw_only=True):
    """A piece's axis in room coordinates (mm; x along the first leg, z away from its surface) as points close enough
    for drawing; `bend_middles` are the middles of the bends in the order of the numbers."""

    label: str
    radius_mm: float
    points: tuple[Vec, ...]
    bend_middles: tuple[Vec, ...]


class Clearance(Part, frozen=True, kw_only=True):
    """How much room the conduit leaves to a thing, and how much was wanted; `low`: less than that."""

    left: Length
    wanted: Length
    low: bool


class OtherAngle(ChoiceRow, frozen=True, kw_only=True):
    """One angle, with as many bends as the run takes there; `becomes`: what that is, where it is not what is planned
    ('four bends, not three'; '' = as many)."""

    bends: int
    becomes: str


class OtherAngles(Part, frozen=True, kw_only=True):
    """A planned offset or saddle at the usual angles. `label` is its name, `field` where the survey has it; `planned`
    is the row that the plan takes (null: another angle)."""

    label: str
    field: str
    rows: tuple[OtherAngle, ...]
    planned: int | None


class PlanAnswer(Answer, frozen=True, kw_only=True):
    """The plan; the side view of each piece, pages of the card and of the 1:1 strip (SVG) and the card as text, where
    asked for; the axes and the expansion fittings for a 3D view; and the worst of the findings ('' = none).
    `step_cautions`: what each of the plan's steps asks to take care of, and who decides; `bench`: its pieces in the
    words of the card; `at_tool`: of each piece, how likely it fits, the ways to bend it and the tool's limits;
    `bender_words`: which shoe's figures the marks are for, `tool` the same in a line; `clearances`: of the plan's
    obstacles; `angles`: its offsets and saddles at the usual angles; `take_up` and `gain` of the shoe (null: nothing
    is bent).
    """

    plan: Plan
    step_cautions: tuple[tuple[str, ...], ...]
    bench: tuple[PieceAtBench, ...]
    at_tool: tuple[PieceAtTool, ...]
    bender_words: str
    tool: str
    clearances: tuple[Clearance, ...]
    angles: tuple[OtherAngles, ...]
    take_up: Length | None
    gain: Length | None
    side: tuple[SidePicture, ...]
    card: tuple[str, ...]
    strip: tuple[str, ...]
    text: str
    paths: tuple[Path3D, ...]
    fittings: tuple[FittingBody, ...]
    worst: Literal["", "info", "caution", "problem"]


def plan(request: PlanRequest, known: Known) -> PlanAnswer:
    """Plan a run and draw what was asked for."""
    made = planned(request, known)
    paper = paper_of(request.paper, made)
    worst = made.findings[0].severity if made.findings else ""
    return PlanAnswer(
        plan=made,
        step_cautions=tuple(step_cautions(step) for step in made.steps),
        bench=pieces_at_bench(made),
        at_tool=tuple(at_tool(made, piece) for piece in made.pieces),
        bender_words=bender_words(made),
        tool=tool_words(made),
        clearances=tuple(
            Clearance(
                left=length_of(o.clearance_mm, made.tape),
                wanted=length_of(o.wanted_mm, made.tape),
                low=o.clearance_mm < o.wanted_mm - _LOW_MM,
            )
            for o in made.obstacles
        ),
        angles=_angles(made, request.survey),
        take_up=None if made.bender is None else length_of(made.bender.take_up_mm, made.tape),
        gain=None if made.bender is None else length_of(made.bender.gain_mm, made.tape),
        side=_sides(made, request.side_width_mm, request.side_height_mm) if "side" in request.pictures else (),
        card=to_svg_pages(printed("card", made, paper)) if "card" in request.pictures else (),
        strip=to_svg_pages(printed("strip", made, paper)) if "strip" in request.pictures else (),
        text=_text(made) if "text" in request.pictures else "",
        paths=tuple(_path(piece) for piece in made.pieces),
        fittings=expansion_bodies(made),
        worst=worst,
        findings=made.findings,
        not_included=made.not_included,
        cautions=made.cautions,
    )


def printed(what: Sheets, made: Plan, paper: Paper) -> Scene:
    """The pages of the card, of its bench page alone, or of the strip; what lays them out is loaded only for them."""
    if what == "strip":
        from racewright.cards.strip import strip_pages

        return strip_pages(made, paper)
    from racewright.cards.bend_card import bench_pages, card_pages

    return (card_pages if what == "card" else bench_pages)(made, paper)


def _text(made: Plan) -> str:
    from racewright.cards.text.bend_card import text_card

    return text_card(made, colour=False)


def _angles(plan: Plan, survey: WrittenSurvey) -> tuple[OtherAngles, ...]:
    """Every offset and saddle of a plan at other angles, with as many bends as it then has."""
    free = {
        f"run.walk[{i}].features[{j}].saddle"
        for i, part in enumerate(survey.run.walk)
        for j, feature in enumerate(part.features)
        if feature.saddle is not None and feature.saddle.bends == "auto"
    }
    return tuple(_other_angles(plan, table, free=table.shape.field in free) for table in angle_tables(plan))


def _other_angles(plan: Plan, table: AngleTable, *, free: bool) -> OtherAngles:
    rows, count = table.taken(free=free), table.shape.count
    return OtherAngles(
        label=table.shape.label,
        field=table.shape.field,
        rows=tuple(
            OtherAngle(
                **msgspec.structs.asdict(choice_row(row.choice, plan.tape)),
                bends=row.bends,
                becomes="" if row.bends == count else f"{_COUNTS[row.bends]} bends, not {_COUNTS[count]}",
            )
            for row in rows
        ),
        planned=next((i for i, row in enumerate(rows) if row.planned), None),
    )


def _sides(made: Plan, width_mm: float, height_mm: float) -> tuple[SidePicture, ...]:
    from racewright.cards.side_view import side_view

    out = []
    for index, piece in enumerate(made.pieces):
        view = side_view(made, index, Box(0.0, 0.0, width_mm, height_mm))
        title = f"{made.name}, {piece.label}"
        page = Page(width_mm=width_mm, height_mm=height_mm, items=tuple(view.items), label=title)
        svg = to_svg_pages(Scene(title=title, pages=(page,)))[0]
        out.append(SidePicture(svg=svg, caption=view.caption, left_over=view.left_over))
    return tuple(out)


def _path(piece: PlannedPiece) -> Path3D:
    line = piece.centreline
    middles = tuple(
        line.point_at((b.arc_start_mm + b.arc_end_mm) / 2.0) for b in sorted(piece.bends, key=lambda b: b.number)
    )
    return Path3D(
        label=piece.label,
        radius_mm=piece.outside_diameter_mm / 2.0,
        points=trace(line, step_deg=5.0),
        bend_middles=middles,
    )


class CardRequest(SheetRequest, frozen=True, kw_only=True):
    """Pages to print: the whole card, its bench page alone (what is needed to cut, mark, bend and put up the run), or
    the 1:1 strip. `paper` left out: letter for inches, a4 for mm."""

    what: Sheets = "card"
    paper: Paper | None = None


class CardAnswer(Answer, frozen=True, kw_only=True):
    """One SVG document a page, its size in mm."""

    title: str
    pages: tuple[str, ...]
    width_mm: float
    height_mm: float


def card(request: CardRequest, known: Known) -> CardAnswer:
    """Pages to print."""
    made = with_record(request, planned(request, known))
    paper = paper_of(request.paper, made)
    scene = printed(request.what, made, paper)
    page = scene.pages[0]
    return CardAnswer(
        title=scene.title,
        pages=to_svg_pages(scene),
        width_mm=page.width_mm,
        height_mm=page.height_mm,
        findings=made.findings,
        cautions=made.cautions,
    )
