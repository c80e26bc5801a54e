"""Operations on a surveyed run: its plan with pictures, and its pages to print."""

from __future__ import annotations

from racewright.cards.bend_card import card_pages
from racewright.cards.side_view import centreline_of, side_view
from racewright.cards.strip import strip_pages
from racewright.cards.text.bend_card import text_card
from racewright.cards.words import bender_words
from racewright.drawing.project import trace
from racewright.drawing.scene import Box, Page, Scene
from racewright.drawing.svg import to_svg_pages
from racewright.errors import LimitError, RacewrightError
from racewright.operations import messages as m
from racewright.operations.common import Paper, SurveyRequest
from racewright.operations.operations import OwnBenders
from racewright.operations.plan_data import typed_plan
from racewright.operations.which_tool import OWN_NAME, finder
from racewright.plan.as_json import plan_to_data
from racewright.plan.model import Plan, PlannedPiece
from racewright.plan.plan_run import plan_run
from racewright.plan.steps import step_cautions
from racewright.survey.read import read_survey
from racewright.survey.written import WrittenSurvey

#: No run between two boxes has more (common practice, no source); it keeps every question within the time limit.
MOST_PARTS = 81
MOST_FEATURES = 40


def check_size(survey: WrittenSurvey) -> None:
    """Raises LimitError for a run with more parts than any run between two boxes has."""
    walk = survey.run.walk
    for name, count, most in (
        ("parts (legs and turns)", len(walk), MOST_PARTS),
        ("things met on its legs", sum(len(part.features) for part in walk), MOST_FEATURES),
    ):
        if count > most:
            raise LimitError(
                f"the run has {count} {name}; the most that is planned at once is {most}.",
                hint="split it where a box stands and plan each part as a run of its own",
                quantity=name,
                asked=count,
                limit=most,
                unit="",
            )


def planned(request: SurveyRequest, own: OwnBenders) -> Plan:
    """The plan of a request's survey. Errors name fields from the request's top: 'survey.run.walk[0].leg'."""
    name = OWN_NAME if request.bender is not None else request.bender_name
    check_size(request.survey)
    try:
        survey = read_survey(request.survey)
        return plan_run(survey, bender_name=name, fraction=request.fraction, find=finder(request.bender, own))
    except RacewrightError as err:
        if err.field == "--bender":
            err.field = "bender_name"
        elif err.field.partition(".")[0] in ("run", "units", "fraction", "racewright"):
            err.field = f"survey.{err.field}"
        raise


def plan(request: m.PlanRequest, own: OwnBenders) -> m.PlanAnswer:
    """Plan a run and draw what was asked for."""
    made = planned(request, own)
    paper = _paper(request.paper, made)
    worst = made.findings[0].severity if made.findings else ""
    return m.PlanAnswer(
        plan=typed_plan(plan_to_data(made)),
        step_cautions=tuple(step_cautions(step) for step in made.steps),
        bender_words=bender_words(made),
        side=_sides(made, request.side_width_mm, request.side_height_mm) if "side" in request.pictures else (),
        card=to_svg_pages(card_pages(made, paper)) if "card" in request.pictures else (),
        strip=to_svg_pages(strip_pages(made, paper)) if "strip" in request.pictures else (),
        text=text_card(made, colour=False),
        paths=tuple(_path(piece) for piece in made.pieces),
        worst=worst,
    )


def card(request: m.CardRequest, own: OwnBenders) -> m.CardAnswer:
    """Pages to print."""
    made = planned(request, own)
    paper = _paper(request.paper, made)
    scene = card_pages(made, paper) if request.what == "card" else strip_pages(made, paper)
    page = scene.pages[0]
    return m.CardAnswer(title=scene.title, pages=to_svg_pages(scene), width_mm=page.width_mm, height_mm=page.height_mm)


def _paper(asked: Paper | None, made: Plan) -> Paper:
    return asked or ("letter" if made.tape.unit == "in" else "a4")


def _sides(made: Plan, width_mm: float, height_mm: float) -> tuple[m.SidePicture, ...]:
    out = []
    for index, piece in enumerate(made.pieces):
        view = side_view(made, index, Box(0.0, 0.0, width_mm, height_mm))
        title = f"{made.name}, {piece.label}"
        page = Page(width_mm=width_mm, height_mm=height_mm, items=tuple(view.items), label=title)
        svg = to_svg_pages(Scene(title=title, pages=(page,)))[0]
        out.append(m.SidePicture(svg=svg, caption=view.caption, left_over=view.left_over))
    return tuple(out)


def _path(piece: PlannedPiece) -> m.Path3D:
    line = centreline_of(piece)
    middles = tuple(
        line.point_at((b.arc_start_mm + b.arc_end_mm) / 2.0) for b in sorted(piece.bends, key=lambda b: b.number)
    )
    return m.Path3D(
        label=piece.label,
        radius_mm=piece.outside_diameter_mm / 2.0,
        points=trace(line, step_deg=5.0),
        bend_middles=middles,
    )
